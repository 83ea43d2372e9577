"""The shipped rules in the engine and in CLIPS: the same findings, stop notices, evidence and firings.

CLIPS (C Language Integrated Production System, first written at NASA), used through clipspy, is an independent
implementation of forward chaining. Numbers are drawn near the bounds of the rules, findings near their conditions.
For a longer run by hand: ``python tests/rules/test_rules_against_clips.py [CASES]`` (20,000 when left out).
"""

import json
import sys
from collections import Counter
from collections.abc import Iterable, Sequence
from random import Random
from typing import Any

import clips
import pytest

from diagnose.case.fold import Observation
from diagnose.inference.compile import Strata
from diagnose.inference.engine import EngineRule, Fact, FactValue, OnFire, Pattern
from diagnose.inference.forward import ForwardChainer, Known
from diagnose.rulebase.base import RuleBase
from diagnose.rulebase.loader import load

SEEDS, CASES, BY_HAND = (20, 21, 22, 23), 500, 20_000  # 2,000 cases in the suite
SLOTS = ("name", "finding", "level", "value")
NEAR = (-1.0, -0.01, -1e-9, 0.0, 0.0, 1e-9, 0.01, 1.0)


def literal(value: FactValue) -> str:
    """Return a value as CLIPS writes it: a text in quotes, a number as a float (0.0 added so that -0.0 is 0.0)."""
    return json.dumps(value, ensure_ascii=False) if isinstance(value, str) else repr(value + 0.0)


def clips_pattern(place: int, pattern: Pattern) -> str:
    """Return a pattern in CLIPS."""
    slots = []
    for prop in SLOTS:
        tests = [test for test in pattern.tests if test.prop == prop]
        equal = [test for test in tests if isinstance(test.value, str)]
        if equal:
            assert [test.op for test in tests] == ["=="]
            slots.append(f"({prop} {literal(equal[0].value)})")
        elif tests:
            bounds = "".join(f"&:({test.op} ?v{place} {literal(test.value)})" for test in tests)
            slots.append(f"({prop} ?v{place}{bounds})")
    assert {test.prop for test in pattern.tests} <= set(SLOTS)
    return f'?f{place} <- (fact (kind "{pattern.kind}") {" ".join(slots)})'


class ClipsSet:
    """Stands in for a set of the engine: same rules, same calls, run by CLIPS."""

    def __init__(self, rules: Sequence[EngineRule]) -> None:
        """Build the rules once."""
        self.names = [rule.name for rule in rules]
        self.environment = clips.Environment()
        for router in self.environment.routers():
            router.deactivate()  # it is asked about every character CLIPS reads, and only words error messages
        self.environment.define_function(self._fired, "fired")
        self.environment.build("(deftemplate fact (slot kind) (slot name) (slot finding) (slot level) (slot value))")
        self.pending: list[tuple[int, tuple[Any, ...]]] = []
        for number, rule in enumerate(rules):
            patterns = " ".join(clips_pattern(place, pattern) for place, pattern in enumerate(rule.patterns))
            matched = " ".join(f"?f{place}" for place in range(len(rule.patterns)))
            self.environment.build(f"(defrule r{number} {patterns} => (fired {number} {matched}))")

    def _fired(self, number: int, *facts: Any) -> None:  # noqa: ANN401  clipspy has no types
        self.pending.append((number, facts))

    def _assert(self, facts: Iterable[Fact]) -> None:
        for fact in facts:
            slots = " ".join(f"({name} {literal(fact[name])})" for name in SLOTS if name in fact)
            self.environment.assert_string(f'(fact (kind "{fact["kind"]}") {slots})')

    def run(self, facts: Iterable[Fact], on_fire: OnFire) -> None:
        """Assert the facts, fire, assert what was derived, until nothing fires."""
        self.environment.reset()
        self._assert(facts)
        while self.environment.run():
            fired, self.pending = self.pending, []
            for number, matched in fired:
                told = tuple({n: v for n, v in fact if not isinstance(v, clips.Symbol)} for fact in matched)
                self._assert(on_fire(self.names[number], told))


def chainers(rules: RuleBase) -> tuple[ForwardChainer, ForwardChainer]:
    """Return the compiled rules in the engine and in CLIPS."""
    engine, other = ForwardChainer(rules), ForwardChainer(rules)
    sets = {name: ClipsSet(getattr(other._strata, name).rules) for name in Strata.__slots__}
    other._sets = sets  # type: ignore[assignment]
    return engine, other


class Draw:
    """Draws numbers near the bounds that rules test and findings near the conditions that rules make."""

    def __init__(self, rules: RuleBase, seed: int) -> None:
        """Collect bounds and the findings that rules ask about."""
        self.rng, self.rules = Random(seed), rules
        self.bounds: dict[str, list[float]] = {}
        when = [c for finding in rules.findings.values() for rule in finding.read for c in rule.when]
        when += [c for notice in rules.notices.values() for c in notice.when]
        when += [c for cause in rules.causes.values() for show in cause.shows for c in show.applies_when]
        for c in when:
            if c.measure is not None:
                given = [bound for bound in (c.below, c.at_most, c.above, c.at_least) if bound is not None]
                self.bounds.setdefault(c.measure, []).extend(given)
        self.asked = sorted({c.finding for c in when if c.finding is not None})

    def values(self) -> dict[str, float]:
        """Return some measures, each near a bound."""
        measures = self.rng.sample(sorted(self.bounds), self.rng.randint(0, 8))
        return {name: self.rng.choice(self.bounds[name]) + self.rng.choice(NEAR) for name in measures}

    def observations(self) -> dict[str, Observation]:
        """Return some findings, half of them such as rules ask about, with one or more levels left open."""
        rng = self.rng
        names = {*rng.sample(self.asked, rng.randint(0, 6))}
        names |= {*rng.sample(sorted(self.rules.findings), rng.randint(0, 5))}
        if rng.random() < 0.6:
            names.add("brewer")
        found = {}
        for name in sorted(names):
            levels = list(self.rules.findings[name].levels)
            count = rng.choice((1, 1, 1, rng.randint(1, len(levels))))
            found[name] = Observation(tuple(rng.sample(levels, count)), "said", "")
        return found


def firings(known: Known) -> Counter[tuple[str, frozenset[str], str]]:
    """Return how often each rule fired on what, in any order."""
    return Counter((firing.rule, frozenset(firing.facts), firing.result) for firing in known.trace)


def compare(rules: RuleBase, count: int, seed: int) -> tuple[int, float]:
    """Compare engine and CLIPS on this many cases; return how many rules fired, and the share that ever did."""
    both, draw, total = chainers(rules), Draw(rules, seed), 0
    fired: set[str] = set()
    for _ in range(count):
        case = [draw.values() for _ in range(draw.rng.choice((1, 1, 3)))], draw.observations()
        here, there = (chainer.run(*case) for chainer in both)
        assert here.findings == there.findings, case
        assert here.stops == there.stops, case
        assert here.active == there.active, case
        assert sorted(here.disagreements) == sorted(there.disagreements), case
        assert firings(here) == firings(there), case
        fired |= {firing.rule for firing in here.trace}
        total += len(here.trace)
    strata = both[0]._strata
    every = {rule.name for name in ("stop", "numbers", "derived") for rule in getattr(strata, name).rules}
    return total, len(every & fired) / len(every)


@pytest.mark.slow
@pytest.mark.parametrize("seed", SEEDS)
def test_shipped_rules_conclude_in_clips_what_they_conclude_here(rules: RuleBase, seed: int) -> None:
    """On random cases findings, stop notices, evidence and every single firing are the same."""
    total, share = compare(rules, CASES, seed)
    assert total > 5_000
    assert share > 0.9


if __name__ == "__main__":
    cases = int(sys.argv[1]) if len(sys.argv) > 1 else BY_HAND
    firings_seen, share_fired = compare(load(None), cases, SEEDS[0])
    sys.stdout.write(f"{cases} cases, {firings_seen} firings, the same; {share_fired:.1%} of the forward rules fired\n")
