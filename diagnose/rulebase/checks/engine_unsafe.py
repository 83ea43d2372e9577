"""A rule lies outside what the rule engine handles correctly.

Numbers are 0 or between 0.0001 and 1e15 in size. A rule has at most 16 tests, where "finding is these levels" counts
one for each level it rules out, so a finding with many levels uses them up. Further: at most 200 rules with the same
condition, 400 different numbers compared with one measure, 50 tests that one number can pass at once, 4095 rules.
"""

from collections import Counter
from collections.abc import Iterator
from dataclasses import dataclass
from itertools import pairwise

from diagnose.model import Problem
from diagnose.rulebase.base import RuleBase
from diagnose.rulebase.checks.mentions import When, problem, whens
from diagnose.rulebase.checks.regions import interval
from diagnose.rulebase.schema import Condition

CODE = "engine-unsafe"
SMALLEST, LARGEST = 1e-4, 1e15
MAX_TESTS = 16
MAX_SAME_TEST = 200
MAX_CONSTANTS = 400
MAX_AT_ONCE = 50
MAX_RULES = 4095

COMPILED = frozenset({"read", "applies_when", "when"})


@dataclass(frozen=True, slots=True)
class _Bound:
    """One number compared with a measure, and where it stands."""

    condition: Condition
    value: float
    when: When


def check(base: RuleBase) -> Iterator[Problem]:
    """Yield a problem for each rule the engine cannot be trusted with, and for each limit of the whole set."""
    bounds: dict[str, list[_Bound]] = {}
    for when in whens(base):
        for index, condition in enumerate(when.conditions):
            for key, value in _numbers(condition):
                if value != 0 and not SMALLEST <= abs(value) < LARGEST:
                    what = f"{value:g} is outside what the engine compares correctly ({SMALLEST:g} to {LARGEST:g})."
                    path = (*when.path, index, key)
                    yield base.document(when.by_kind, when.by).problem(path, CODE, what, "Use a unit that fits it.")
                bounds.setdefault(str(condition.measure), []).append(_Bound(condition, value, when))
    for measure, found in bounds.items():
        yield from _measure_limits(base, measure, found)
    yield from _rule_limits(base)


def _numbers(condition: Condition) -> Iterator[tuple[str, float]]:
    for key in ("below", "at_most", "above", "at_least"):
        value: float | None = getattr(condition, key)
        if value is not None:
            yield key, value


def _measure_limits(base: RuleBase, measure: str, bounds: list[_Bound]) -> Iterator[Problem]:
    """Yield the limits passed by all comparisons with one measure together, at the place that passes them."""
    constants: set[float] = set()
    for bound in bounds:
        constants.add(bound.value)
        if len(constants) > MAX_CONSTANTS:
            what = f"{measure} is compared with more than {MAX_CONSTANTS} different numbers."
            yield problem(base, bound.when, CODE, what, "Let several rules use the same bounds.")
            return
    tests = {bound.condition: bound.when for bound in bounds}
    most = max(([test for test in tests if value in interval(test)] for value in _tried(constants)), key=len)
    if len(most) > MAX_AT_ONCE:
        what = f"one {measure} can pass {len(most)} different tests at once, more than {MAX_AT_ONCE}."
        todo = "Read the measure into the levels of one finding, and let rules name these."
        yield problem(base, tests[most[MAX_AT_ONCE]], CODE, what, todo)


def _tried(constants: set[float]) -> list[float]:
    """Return the constants, the middles between neighbours, and a number beyond each end."""
    ordered = sorted(constants)
    return [ordered[0] - 1, *ordered, *((low + high) / 2 for low, high in pairwise(ordered)), ordered[-1] + 1]


def _rule_limits(base: RuleBase) -> Iterator[Problem]:
    """Yield rules with too many tests, conditions that too many rules share, and too many rules."""
    rules = [when for when in whens(base) if when.role in COMPILED]
    shared: Counter[tuple[str, Condition]] = Counter()
    for when in rules:
        tests = sum(_tests(base, condition) for condition in when.conditions) + (when.role == "applies_when")
        if tests > MAX_TESTS:
            what = f"this needs {tests} tests, the engine takes {MAX_TESTS} (each level ruled out is one)."
            todo = "Name fewer findings here; a `read` rule can join several into one finding."
            yield problem(base, when, CODE, what, todo)
    for when, count in _rules_made(base, rules).items():
        for condition in sorted(set(when.conditions), key=when.conditions.index):
            before = shared[(when.role, condition)]
            shared[(when.role, condition)] += count
            if before <= MAX_SAME_TEST < before + count:
                name = condition.finding or condition.measure
                what = f"more than {MAX_SAME_TEST} rules have this same condition on {name}."
                yield problem(base, when, CODE, what, "Join them: one finding read once, then named by the rules.")
    evidence = {(show.finding, show.applies_when) for cause in base.causes.values() for show in cause.shows}
    total = sum(len(base.findings[name].levels) for name, _ in evidence if name in base.findings)
    total += sum(when.role != "applies_when" for when in rules)
    if total > MAX_RULES:
        todo = "Use fewer different `applies_when`, or findings with fewer levels."
        yield Problem("causes", 0, 0, CODE, f"the files make {total} engine rules, at most {MAX_RULES} fit.", todo)


def _rules_made(base: RuleBase, rules: list[When]) -> dict[When, int]:
    """Return how many engine rules each list of conditions makes.

    Evidence under a condition makes one rule for each level of the finding, whichever causes it speaks about.
    """
    made: dict[When, int] = {}
    seen: set[tuple[str, tuple[Condition, ...]]] = set()
    for when in rules:
        made[when] = 1
        if when.role == "applies_when":
            index = int(when.path[1])
            finding = base.causes[when.by].shows[index].finding
            new = (finding, when.conditions) not in seen and finding in base.findings
            seen.add((finding, when.conditions))
            made[when] = len(base.findings[finding].levels) if new else 0
    return made


def _tests(base: RuleBase, condition: Condition) -> int:
    """Return how many tests a condition becomes: one for a measure, one for each level a finding must not have."""
    finding = base.findings.get(condition.finding or "")
    return 1 if finding is None else sum(level not in condition.levels for level in finding.levels)
