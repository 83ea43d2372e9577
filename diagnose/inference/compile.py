"""From rule files to engine rules, each with the file and line it came from.

What is known is told to the engine as exclusions: "not sour" excludes sour, "gushing" excludes every other level.
A condition "finding is one of these levels" is then a plain conjunction (all other levels excluded), which needs
neither `or` nor negation. What remains possible is told as facts of its own in the last stratum, where one rule per
finding and level hands on the evidence of all causes at once.
"""

from collections.abc import Iterable, Iterator, Mapping
from dataclasses import dataclass

from diagnose.inference.engine import EngineRule, Pattern, Test
from diagnose.rulebase.base import RuleBase
from diagnose.rulebase.schema import Condition, Finding

MEASURE, EXCLUDED, POSSIBLE = "measure", "excluded", "possible"


@dataclass(frozen=True, slots=True)
class Origin:
    """Where an engine rule comes from and what firing it means.

    `target` is the notice, the finding or the finding whose evidence is handed on; `level` its level; `shows` the
    (cause, index) of the entries this rule carries.
    """

    file: str
    line: int
    target: str
    level: str = ""
    shows: tuple[tuple[str, int], ...] = ()


Entry = tuple[EngineRule, Origin]


@dataclass(frozen=True, slots=True)
class Stratum:
    """One set of engine rules run to its fixpoint before the next, with the origin of each rule by name."""

    rules: tuple[EngineRule, ...]
    origins: Mapping[str, Origin]


@dataclass(frozen=True, slots=True)
class Strata:
    """All strata in order: stop notices, numbers to findings, findings to findings, findings to evidence."""

    stop: Stratum
    numbers: Stratum
    derived: Stratum
    evidence: Stratum


def compile_rules(base: RuleBase) -> Strata:
    """Return the strata of a rule base."""
    stop = [_notice_rule(base, name) for name, notice in base.notices.items() if notice.when]
    numbers: list[Entry] = []
    derived: list[Entry] = []
    for name, finding in base.findings.items():
        for index, rule in enumerate(finding.read):
            entry = _read_rule(base, name, finding, index)
            (numbers if any(condition.measure for condition in rule.when) else derived).append(entry)
    return Strata(_stratum(stop), _stratum(numbers), _stratum(derived), _stratum(_evidence_rules(base)))


def _stratum(entries: Iterable[Entry]) -> Stratum:
    entries = list(entries)
    return Stratum(tuple(rule for rule, _ in entries), {rule.name: origin for rule, origin in entries})


def patterns(base: RuleBase, conditions: Iterable[Condition]) -> tuple[Pattern, ...]:
    """Return the engine patterns that hold together exactly when all `conditions` are known to hold."""
    found: list[Pattern] = []
    for condition in conditions:
        if condition.measure is not None:
            found.append(Pattern(MEASURE, (Test("name", "==", condition.measure), *_bounds(condition))))
        elif condition.finding is not None:
            others = (level for level in base.findings[condition.finding].levels if level not in condition.levels)
            found += [
                Pattern(EXCLUDED, (Test("finding", "==", condition.finding), Test("level", "==", other)))
                for other in others
            ]
    return tuple(found)


def _bounds(condition: Condition) -> Iterator[Test]:
    """Yield the comparisons of a condition on a measure."""
    if condition.below is not None:
        yield Test("value", "<", condition.below)
    if condition.at_most is not None:
        yield Test("value", "<=", condition.at_most)
    if condition.above is not None:
        yield Test("value", ">", condition.above)
    if condition.at_least is not None:
        yield Test("value", ">=", condition.at_least)


def _notice_rule(base: RuleBase, name: str) -> Entry:
    document = base.document("notices", name)
    rule = EngineRule(f"notice/{name}", patterns(base, base.notices[name].when))
    return rule, Origin(document.file, document.line("when"), name)


def _read_rule(base: RuleBase, name: str, finding: Finding, index: int) -> Entry:
    spec, document = finding.read[index], base.document("findings", name)
    same = [other.level for other in finding.read]
    label = spec.level if same.count(spec.level) == 1 else f"{spec.level}/{index + 1}"
    rule = EngineRule(f"{name}/{label}", patterns(base, spec.when))
    return rule, Origin(document.file, document.line("read", index), name, spec.level)


def _evidence_rules(base: RuleBase) -> list[Entry]:
    """Return one rule per finding, level and condition; it carries the entries of all causes under that condition."""
    carried: dict[tuple[str, tuple[Condition, ...]], list[tuple[str, int]]] = {}
    for cause, spec in base.causes.items():
        for index, show in enumerate(spec.shows):
            carried.setdefault((show.finding, show.applies_when), []).append((cause, index))
    entries = []
    numbering: dict[str, int] = {}
    for (finding, conditions), shows in carried.items():
        numbering[finding] = numbering.get(finding, 0) + 1
        suffix = "" if numbering[finding] == 1 else f"/{numbering[finding]}"
        document = base.document("findings", finding)
        extra = patterns(base, conditions)
        for level in base.findings[finding].levels:
            tests = (Test("finding", "==", finding), Test("level", "==", level))
            rule = EngineRule(f"evidence/{finding}/{level}{suffix}", (Pattern(POSSIBLE, tests), *extra))
            origin = Origin(document.file, document.line("levels", level), finding, level, tuple(shows))
            entries.append((rule, origin))
    return entries
