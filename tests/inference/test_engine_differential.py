"""The engine against two oracles on random rule sets: a naive fixpoint in Python, and CLIPS.

CLIPS (C Language Integrated Production System, first written at NASA) is an independent implementation of forward
chaining; it is used through clipspy. All cases are drawn from fixed seeds, from everything `EngineRule` can say.
"""

import itertools
import json
import math
import operator
from collections import Counter
from collections.abc import Iterable, Iterator
from dataclasses import dataclass
from random import Random
from typing import Any

import clips
import pytest

from diagnose.inference.engine import EngineRule, Fact, FactValue, Pattern, RuleSet, Test

OPERATORS = {
    "==": operator.eq,
    "!=": operator.ne,
    "<": operator.lt,
    "<=": operator.le,
    ">": operator.gt,
    ">=": operator.ge,
}
NUMBERS = (-1.5, 0, 0.5, 2, 2.0, 9.3, 17.5)
TEXTS = ("x", "y", "", 'é"q\\', "2.0")
KINDS, DERIVED, PROPS = ("a", "b"), ("d", "e"), ("p", "q")
MOST_FIRINGS = 1_500

FactKey = frozenset[tuple[str, FactValue]]
Firing = tuple[str, tuple[FactKey, ...]]


@dataclass(frozen=True)
class Case:
    """Rules, the facts to begin with, and what each rule derives: a kind, with q, and p from its first fact."""

    rules: list[EngineRule]
    facts: list[Fact]
    derives: dict[str, tuple[str, float]]

    def derive(self, name: str, first: Fact) -> list[Fact]:
        """Return the facts a firing adds: none or one."""
        if name not in self.derives:
            return []
        kind, q = self.derives[name]
        return [{"kind": kind, "q": q, **({"p": first["p"]} if "p" in first else {})}]


def key(fact: Fact) -> FactKey:
    """Return a fact as a value to compare and count."""
    return frozenset(fact.items())


# The naive fixpoint: try every combination of known facts, again and again, until no new one fires.


def holds(test: Test, fact: Fact) -> bool:
    """Return whether one comparison holds: property there, same type, comparison true."""
    value = fact.get(test.prop)
    if value is None or isinstance(value, str) != isinstance(test.value, str):
        return False
    return bool(OPERATORS[test.op](value, test.value))


def matches(pattern: Pattern, fact: Fact) -> bool:
    """Return whether a fact matches a pattern."""
    return fact["kind"] == pattern.kind and all(holds(test, fact) for test in pattern.tests)


def fixpoint(case: Case) -> set[Firing] | None:
    """Return every firing of a case; None if there are too many to be worth the time."""
    known = {key(fact): fact for fact in case.facts}
    fired: set[Firing] = set()
    while True:
        new: set[Firing] = set()
        for rule in case.rules:
            choices = [[k for k, fact in known.items() if matches(pattern, fact)] for pattern in rule.patterns]
            if math.prod(map(len, choices)) > MOST_FIRINGS:
                return None
            new |= {(rule.name, combination) for combination in itertools.product(*choices)} - fired
        if not new:
            return fired
        fired |= new
        for name, combination in new:
            known |= {key(fact): fact for fact in case.derive(name, known[combination[0]])}


# Random cases.


def random_test(random: Random) -> Test:
    """Return a comparison with a number or, less often, a text."""
    prop = random.choice(PROPS)
    if random.random() < 0.3:
        return Test(prop, random.choice(("==", "!=")), random.choice(TEXTS))
    return Test(prop, random.choice(("==", "!=", "!=", "<", "<=", "<=", ">", ">=", ">=")), random.choice(NUMBERS))


def random_pattern(random: Random) -> Pattern:
    """Return a pattern with up to three tests, sometimes with none."""
    tests = tuple(random_test(random) for _ in range(random.choice((0, 1, 1, 1, 2, 3))))
    return Pattern(random.choice(KINDS * 2 + DERIVED), tests)


def random_rules(random: Random) -> Iterator[EngineRule]:
    """Yield one to eight rules, most with one or two patterns, a few with the sixteen that are the most."""
    for number in range(random.randint(1, 8)):
        patterns = [random_pattern(random) for _ in range(random.choice((1, 1, 1, 2, 2, 2, 3, 4)))]
        if random.random() < 0.03:
            patterns += [random.choice(patterns) for _ in range(16 - len(patterns))]
        yield EngineRule(f"r{number}", tuple(patterns))


def random_fact(random: Random) -> Fact:
    """Return a fact that may lack properties, have the other type, or a value no rule mentions."""
    fact: dict[str, FactValue] = {"kind": random.choice((*KINDS * 4, *DERIVED, "other"))}
    for prop in PROPS:
        chance = random.random()
        if chance < 0.6:
            fact[prop] = random.choice((*NUMBERS, -0.0, 3, 17.499999999999996, 1e-300, -1e300))
        elif chance < 0.85:
            fact[prop] = random.choice((*TEXTS, "z"))
    return fact


def random_case(seed: int) -> Case:
    """Return the case of this seed."""
    random = Random(seed)
    rules = list(random_rules(random))
    deriving = [rule.name for rule in rules if random.random() < 0.5]
    derives = {name: (random.choice(DERIVED), random.choice((0.5, 9.3))) for name in deriving}
    return Case(rules, [random_fact(random) for _ in range(random.randint(0, 25))], derives)


def cases(number: int, first_seed: int) -> Iterator[tuple[Case, set[Firing]]]:
    """Yield this many cases with the firings the naive fixpoint finds."""
    found = 0
    for seed in itertools.count(first_seed):
        case = random_case(seed)
        expected = fixpoint(case)
        if expected is not None:
            found += 1
            yield case, expected
        if found == number:
            return


def engine_firings(case: Case) -> Counter[Firing]:
    """Return how often each firing came out of the engine."""
    log: Counter[Firing] = Counter()

    def on_fire(name: str, matched: tuple[Fact, ...]) -> Iterable[Fact]:
        log[name, tuple(map(key, matched))] += 1
        return case.derive(name, matched[0])

    with RuleSet(case.rules) as rules:
        firings = rules.run(case.facts, on_fire)
    assert firings == log.total()
    return log


@pytest.mark.slow
def test_fires_what_a_naive_fixpoint_fires() -> None:
    """On 1,500 random cases each firing of the fixpoint comes exactly once, and nothing else."""
    firings = chained = 0
    for case, expected in cases(1_500, first_seed=0):
        assert engine_firings(case) == Counter(expected), case
        firings += len(expected)
        chained += any(fact["kind"] in DERIVED for _, facts in expected for fact in map(dict, facts))
    assert firings > 15_000
    assert chained > 300


# CLIPS: a slot for each property and type, nil where the fact has no such value.

TEMPLATE = "(deftemplate fact (slot kind) (slot p-n) (slot p-s) (slot q-n) (slot q-s))"
SYMBOLS = {"==": "=", "!=": "<>"}


def literal(value: FactValue) -> str:
    """Return a value as CLIPS writes it, as float or in quotes; adding 0.0 because -0.0 is another fact to CLIPS."""
    return json.dumps(value, ensure_ascii=False) if isinstance(value, str) else repr(value + 0.0)


def clips_test(test: Test, variable: str) -> str:
    """Return a comparison in CLIPS."""
    if isinstance(test.value, str):
        return f"({'eq' if test.op == '==' else 'neq'} {variable} {literal(test.value)})"
    return f"({SYMBOLS.get(test.op, test.op)} {variable} {literal(test.value)})"


def clips_pattern(place: int, pattern: Pattern) -> str:
    """Return a pattern in CLIPS, tests behind a check of the type; the first one names p, which may be handed on."""
    slots = []
    for prop, (suffix, check) in itertools.product(PROPS, (("n", "numberp"), ("s", "stringp"))):
        tests = [test for test in pattern.tests if test.column == (prop, suffix == "s")]
        if not tests and (place or prop != "p"):
            continue
        variable = f"?{prop}{suffix}{place}"
        parts = [f"({check} {variable})", *(clips_test(test, variable) for test in tests)]
        slots.append(f"({prop}-{suffix} {variable}{'&:(and ' + ' '.join(parts) + ')' if tests else ''})")
    return f'?f{place} <- (fact (kind "{pattern.kind}") {" ".join(slots)})'


def clips_rule(rule: EngineRule, case: Case) -> str:
    """Return a rule in CLIPS: it reports what it matched and asserts what it derives."""
    facts = " ".join(f"?f{place}" for place in range(len(rule.patterns)))
    then = f"(fired {rule.name} {facts})"
    if rule.name in case.derives:
        kind, q = case.derives[rule.name]
        then += f' (assert (fact (kind "{kind}") (p-n ?pn0) (p-s ?ps0) (q-n {q})))'
    return f"(defrule {rule.name} {' '.join(itertools.starmap(clips_pattern, enumerate(rule.patterns)))} => {then})"


def clips_fact(fact: Fact) -> str:
    """Return a fact in CLIPS."""
    slots = [f"({p}-{'s' if isinstance(fact[p], str) else 'n'} {literal(fact[p])})" for p in PROPS if p in fact]
    return f'(fact (kind "{fact["kind"]}") {" ".join(slots)})'


def clips_firings(environment: Any, case: Case) -> Counter[Firing]:  # noqa: ANN401  clipspy has no types
    """Return how often each firing came out of CLIPS."""
    numbers: list[tuple[str, tuple[int, ...]]] = []

    def fired(name: str, *facts: Any) -> None:  # noqa: ANN401
        numbers.append((str(name), tuple(fact.index for fact in facts)))

    environment.clear()
    environment.define_function(fired)
    environment.build(TEMPLATE)
    for rule in case.rules:
        environment.build(clips_rule(rule, case))
    environment.reset()
    for fact in case.facts:
        environment.assert_string(clips_fact(fact))
    environment.run()
    known = {fact.index: from_clips(fact) for fact in environment.facts()}
    return Counter((name, tuple(known[index] for index in facts)) for name, facts in numbers)


def from_clips(fact: Any) -> FactKey:  # noqa: ANN401
    """Return a CLIPS fact as the key of ours."""
    return key({slot.partition("-")[0]: value for slot, value in fact if not isinstance(value, clips.Symbol)})


@pytest.mark.slow
def test_fires_what_clips_fires() -> None:
    """On 2,000 random cases the engine and CLIPS fire the same rules on the same facts, equally often."""
    environment = clips.Environment()
    for router in environment.routers():
        router.deactivate()  # it is asked about every character CLIPS reads, and only words error messages
    firings = 0
    for case, _ in cases(2_000, first_seed=1_000_000):
        expected = clips_firings(environment, case)
        assert engine_firings(case) == expected, case
        firings += expected.total()
    assert firings > 15_000
