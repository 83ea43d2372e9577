"""Every rule and fact the engine cannot be trusted with is refused, and the largest sets let through do fire.

The limits are checked against the engine itself: at each of them all rules still fire.
"""

from typing import Any

import pytest

from diagnose.errors import EngineFault
from diagnose.inference.engine import EngineRule, Fact, Pattern, RuleSet, Test, unsafe


def rule(name: str, *patterns: Pattern) -> EngineRule:
    """Return a rule."""
    return EngineRule(name, patterns)


def shot(*tests: Test) -> Pattern:
    """Return a pattern for facts of kind shot."""
    return Pattern("shot", tests)


def broken(prop: Any, op: Any, value: Any) -> list[EngineRule]:  # noqa: ANN401
    """Return a rule of one pattern with one test, of whatever types."""
    return [rule("r", shot(Test(prop, op, value)))]


def thresholds(number: int, *tests: Test) -> list[EngineRule]:
    """Return rules that all apply to a time of 0, one for each threshold."""
    return [rule(f"r{n}", shot(Test("time", "<", n), *tests)) for n in range(1, number + 1)]


def nested(first: int, second: int) -> list[EngineRule]:
    """Return rules with `first` conditions behind the kind, and `second` more behind the last of these."""
    outer = [Test(f"a{n:02}", "<", 5) for n in range(first)]
    inner = [Test("b", "<", 5 + n) for n in range(second)]
    rules = [rule(f"outer {test.prop}", shot(test)) for test in outer]
    return rules + [rule(f"inner {test.value}", shot(outer[-1], test)) for test in inner]


def many_rules(number: int) -> list[EngineRule]:
    """Return this many rules, a hundred of each kind."""
    return [rule(f"r{n}", Pattern(f"k{n // 100}", (Test("p", "==", n % 100),))) for n in range(number)]


BROKEN: dict[str, tuple[list[EngineRule], str]] = {
    "no pattern": ([rule("r")], "0 patterns"),
    "17 patterns": ([rule("r", *[shot()] * 17)], "17 patterns"),
    "no name": ([rule("", shot())], "the name ''"),
    "reserved name": ([rule("~boot", shot())], "the name '~boot'"),
    "same name": ([rule("r", shot()), rule("r", Pattern("cup"))], "two rules"),
    "no kind": ([rule("r", Pattern(""))], "the kind ''"),
    "reserved kind": ([rule("r", Pattern("~boot"))], "the kind '~boot'"),
    "kind as property": (broken("kind", "!=", "shot"), "property 'kind'"),
    "sid": (broken("sid", "==", "s"), "property 'sid'"),
    "id": (broken("id", "==", "1"), "property 'id'"),
    "_t": (broken("_t", "==", 1), "property '_t'"),
    "no property": (broken("", "==", 1), "property ''"),
    "unknown comparison": (broken("p", "~", 1), "'~' is no comparison"),
    "text with <": (broken("p", "<", "x"), "text is compared with <"),
    "text with >=": (broken("p", ">=", "x"), "text is compared with >="),
    "truth value": (broken("p", "==", True), "True is neither"),
    "none": (broken("p", "==", None), "None is neither"),
    "list": (broken("p", "==", [1]), "[1] is neither"),
    "nan": (broken("p", "<", float("nan")), "nan is not finite"),
    "infinite": (broken("p", "<", float("-inf")), "-inf is not finite"),
    "too small": (broken("p", "<", 0.00009), "9e-05 is neither 0"),
    "too large": (broken("p", "<", -1e15), "-1000000000000000.0 is neither 0"),
    "whole number too large": (broken("p", "<", 2**53 + 1), "beyond 2**53"),
    "long text": (broken("p", "==", "é" * 15_001), "longer than 30000 bytes"),
    "201 with one end": ([rule(f"r{n}", shot(Test("p", "==", 1))) for n in range(201)], "201 patterns are the same"),
    "401 constants": ([rule(f"r{n}", shot(Test("p", "==", n))) for n in range(401)], "401 different conditions"),
    "401 kinds": ([rule(f"r{n}", Pattern(f"k{n}")) for n in range(401)], "401 different conditions"),
    "51 at once": (thresholds(51), "meet 51 conditions at once"),
    "51 unequal texts": ([rule(f"r{n}", shot(Test("p", "!=", f"x{n}"))) for n in range(51)], "meet 51 conditions"),
    "51 pending": (nested(26, 26), "meet 51 conditions at once"),
    "241 properties": ([rule("r", shot(*(Test(f"p{n}", "==", 1) for n in range(241))))], "241 properties"),
    "4096 rules": (many_rules(4096), "one of 4096 rules"),
}
LARGEST: dict[str, tuple[list[EngineRule], list[Fact], int]] = {
    "16 patterns": ([rule("r", *[shot()] * 16)], [{"kind": "shot"}], 1),
    "200 with one end": (
        [rule(f"r{n}", shot(Test("p", "==", 1))) for n in range(200)],
        [{"kind": "shot", "p": 1}],
        200,
    ),
    "400 constants": (
        [rule(f"r{n}", shot(Test("p", "==", n))) for n in range(400)],
        [{"kind": "shot", "p": p} for p in range(400)],
        400,
    ),
    "400 kinds": ([rule(f"r{n}", Pattern(f"k{n}")) for n in range(400)], [{"kind": f"k{n}"} for n in range(400)], 400),
    "50 at once": (thresholds(50), [{"kind": "shot", "time": 0}], 50),
    "50 texts": ([rule(f"r{n}", shot(Test("p", "!=", f"x{n}"))) for n in range(50)], [{"kind": "shot", "p": ""}], 50),
    "50 pending": (nested(25, 26), [{"kind": "shot", "b": 1, **{f"a{n:02}": 1 for n in range(25)}}], 51),
    "240 properties": (
        [rule("r", shot(*(Test(f"p{n}", "==", 1) for n in range(240))))],
        [{"kind": "shot", **{f"p{n}": 1 for n in range(300)}}],
        1,
    ),
    "4095 rules": (many_rules(4095), [{"kind": f"k{n // 100}", "p": n % 100} for n in range(4095)], 4095),
}


@pytest.mark.parametrize("form", BROKEN)
def test_unsafe_finds(form: str) -> None:
    """Each form outside the safe subset is found, alone, with something to do about it; and no set is made of it."""
    rules, what = BROKEN[form]
    (found,) = unsafe(rules)
    assert what in found.what
    assert found.rule in {rule.name for rule in rules}
    assert found.todo.endswith(".")
    with pytest.raises(EngineFault) as fault:
        RuleSet(rules)
    assert str(found) in str(fault.value)


@pytest.mark.parametrize("form", LARGEST)
def test_largest_sets_are_safe_and_fire(form: str) -> None:
    """At each limit nothing is found, and the engine still fires everything."""
    rules, facts, firings = LARGEST[form]
    assert unsafe(rules) == []
    fired: set[str] = set()

    def on_fire(name: str, _: tuple[Fact, ...]) -> list[Fact]:
        fired.add(name)
        return []

    with RuleSet(rules) as rule_set:
        assert rule_set.run(facts, on_fire) == firings
    assert fired == {rule.name for rule in rules}


def test_unsafe_lists_all_faults_in_the_order_of_the_rules() -> None:
    """Two faults in one rule and one in another are three forms."""
    rules = [rule("a", shot(Test("id", "<", "x"))), rule("b", Pattern("~"))]
    assert [(form.rule, form.what.split()[0]) for form in unsafe(rules)] == [("a", "the"), ("a", "text"), ("b", "the")]


def test_conditions_no_fact_meets_together_do_not_add_up() -> None:
    """Sixty equalities, or thirty thresholds on either side of a gap, are met by one fact once, or thirty times."""
    equal = [rule(f"{n}", shot(Test("dose", "==", n))) for n in range(60)]
    below = [rule(f"below {n}", shot(Test("time", "<", n))) for n in range(1, 31)]
    above = [rule(f"above {n}", shot(Test("time", ">", n))) for n in range(40, 70)]
    assert unsafe([*equal, *below, *above]) == []
    overlapping = [rule(f"above {n}", shot(Test("time", ">", -n))) for n in range(30)]
    assert "61 conditions" in unsafe([*equal, *below, *overlapping])[0].what
    behind = [rule(f"{n}", shot(Test("time", "<", n), Test("zone", "==", n))) for n in range(60)]
    assert unsafe(behind) == []  # an equality comes before the thresholds, wherever it is written


@pytest.mark.parametrize(
    "fact",
    [
        {"kind": "shot", "p": True},
        {"kind": "shot", "p": None},
        {"kind": "shot", "p": [1]},
        {"kind": "shot", "p": float("nan")},
        {"kind": "shot", "p": float("inf")},
        {"kind": "shot", "p": 2**53 + 1},
        {"kind": "shot", "p": 10**400},
        {"kind": "shot", "sid": "s"},
        {"kind": "shot", "id": "1"},
        {"kind": "shot", "_t": 1},
        {"kind": "shot", "": 1},
        {"kind": "shot", 1: 1},
        {"kind": "~boot"},
        {"kind": 1},
        {"kind": ""},
        {"p": 1},
    ],
)
def test_facts_that_are_refused(fact: Any) -> None:  # noqa: ANN401
    """A fact the engine could not hold raises, given or derived, and leaves the set usable."""
    with RuleSet([rule("r", shot())]) as rules:
        with pytest.raises(EngineFault, match=r"cannot be asserted|needs a kind"):
            rules.run([fact], lambda *_: ())
        with pytest.raises(EngineFault, match=r"cannot be asserted|needs a kind"):
            rules.run([{"kind": "shot"}], lambda *_: [fact])
        assert rules.run([{"kind": "shot"}], lambda *_: ()) == 1
