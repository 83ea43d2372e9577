"""What the engine room promises: which rules fire, on what, in which order, and how a run ends.

Expected firings are written out by hand from the meaning stated in `diagnose.inference.engine`.
"""

import gc
import itertools
import json
import os
import subprocess
import sys
from collections.abc import Iterable, Iterator
from pathlib import Path
from typing import Any

import durable_rules_engine
import pytest

from diagnose.errors import EngineFault, EngineUnavailable
from diagnose.inference.engine import EngineRule, Fact, FactValue, Pattern, RuleSet, Test

Log = list[tuple[str, tuple[dict[str, FactValue], ...]]]


def fire(rules: Iterable[EngineRule], facts: Iterable[Fact], derive: dict[str, list[Fact]] | None = None) -> Log:
    """Run the rules once and return each firing in order."""
    log: Log = []

    def on_fire(name: str, matched: tuple[Fact, ...]) -> Iterable[Fact]:
        log.append((name, tuple(dict(fact) for fact in matched)))
        return (derive or {}).get(name, ())

    with RuleSet(rules) as rule_set:
        assert rule_set.run(facts, on_fire) == len(log)
    return log


def rule(name: str, *patterns: Pattern) -> EngineRule:
    """Return a rule."""
    return EngineRule(name, patterns)


def shot(*tests: Test) -> Pattern:
    """Return a pattern for facts of kind shot."""
    return Pattern("shot", tests)


class Recorder:
    """Stands before the compiled module, keeps what it was handed, and fails where it is told to."""

    error = durable_rules_engine.error

    def __init__(self) -> None:
        """Start with an empty record."""
        self.calls: list[tuple[str, tuple[Any, ...]]] = []
        self.failing: set[str] = set()
        self.answers: dict[str, Any] = {}

    def __getattr__(self, name: str) -> Any:  # noqa: ANN401
        """Return the module's function, recorded."""

        def call(*arguments: Any) -> Any:  # noqa: ANN401
            self.calls.append((name, arguments))
            if name in self.failing:
                raise self.error("error code: 303")
            answer = getattr(durable_rules_engine, name)(*arguments)
            return self.answers.get(name, answer)

        return call

    def handed(self, name: str) -> list[tuple[Any, ...]]:
        """Return the arguments of each call of one function."""
        return [arguments for called, arguments in self.calls if called == name]


@pytest.fixture
def recorder(monkeypatch: pytest.MonkeyPatch) -> Recorder:
    """Put a recorder in the compiled module's place."""
    found = Recorder()
    monkeypatch.setitem(sys.modules, "durable_rules_engine", found)
    return found


# Which rules fire.


@pytest.mark.parametrize(
    ("op", "constant", "matching"),
    [
        ("==", 9.0, [9.0]),
        ("!=", 9.0, [8.5, 9.5]),
        ("<", 9.0, [8.5]),
        ("<=", 9.0, [8.5, 9.0]),
        (">", 9.0, [9.5]),
        (">=", 9.0, [9.0, 9.5]),
        ("==", "sour", ["sour"]),
        ("!=", "sour", ["bitter", "9.0"]),
    ],
)
def test_comparisons(op: Any, constant: FactValue, matching: list[FactValue]) -> None:  # noqa: ANN401
    """A comparison holds for values of its own type only, and never for a property that is not there."""
    facts: list[Fact] = [{"kind": "shot", "p": value} for value in (8.5, 9.0, 9.5, "sour", "bitter", "9.0")]
    log = fire([rule("r", shot(Test("p", op, constant)))], [*facts, {"kind": "shot"}, {"kind": "shot", "q": constant}])
    assert {matched[0]["p"] for _, matched in log} == set(matching)
    assert len(log) == len(matching)


def test_fires_once_for_each_way_to_fill_the_patterns() -> None:
    """Two cups and three pours are six firings; matched facts come in the order of the patterns."""
    facts = [{"kind": "cup", "n": n} for n in (1, 2)] + [{"kind": "pour", "n": n} for n in (1, 2, 3)]
    log = fire([rule("both", Pattern("pour"), Pattern("cup"))], facts)
    assert len(log) == 6
    assert {(pour["n"], cup["n"]) for _, (pour, cup) in log} == set(itertools.product((1, 2, 3), (1, 2)))
    assert all((pour["kind"], cup["kind"]) == ("pour", "cup") for _, (pour, cup) in log)


def test_one_fact_may_serve_several_patterns() -> None:
    """A rule whose patterns overlap fires on a single fact, and on each pair of two."""
    overlapping = rule("r", shot(Test("time", "<", 20)), shot(Test("time", "<", 25)))
    short: dict[str, FactValue]
    shorter: dict[str, FactValue]
    short, shorter = {"kind": "shot", "time": 19.0}, {"kind": "shot", "time": 18.0}
    assert fire([overlapping], [short]) == [("r", (short, short))]
    pairs = [matched for _, matched in fire([overlapping], [short, shorter])]
    assert sorted(pairs, key=str) == sorted(itertools.product((short, shorter), repeat=2), key=str)


def test_equal_facts_are_one() -> None:
    """17 and 17.0 are one fact, 0.0 and -0.0 too, however often they are given or derived; "17" is another."""
    same: list[Fact] = [{"kind": "shot", "dose": 17}, {"dose": 17.0, "kind": "shot"}, {"kind": "shot", "dose": 17}]
    log = fire([rule("r", shot())], [*same, {"kind": "shot", "dose": "17"}], {"r": same})
    assert sorted(str(matched[0]["dose"]) for _, matched in log) == ["17", "17.0"]
    assert len(fire([rule("r", shot())], [{"kind": "shot", "dose": zero} for zero in (0, 0.0, -0.0)])) == 1


def test_matched_facts_are_whole_read_only_and_free_of_the_driver() -> None:
    """What `on_fire` gets has every property of the fact, numbers as floats, and cannot be changed."""
    given: Fact = {"kind": "shot", "dose": 18, "note": "first today"}
    seen: list[Fact] = []

    def on_fire(_: str, matched: tuple[Fact, ...]) -> list[Fact]:
        seen.extend(matched)
        return []

    with RuleSet([rule("r", shot(Test("dose", ">", 17)))]) as rules:
        rules.run([given], on_fire)
    assert [dict(fact) for fact in seen] == [given]
    assert isinstance(seen[0]["dose"], float)
    with pytest.raises(TypeError):
        seen[0]["dose"] = 1  # type: ignore[index]


def test_derived_facts_let_later_rules_fire() -> None:
    """A chain of three rules runs to its end, and a rule that derives what is known does not start it again."""
    chain = [rule("c", Pattern("c")), rule("b", Pattern("b")), rule("a", Pattern("a"))]
    derive: dict[str, list[Fact]] = {"a": [{"kind": "b"}], "b": [{"kind": "c"}, {"kind": "a"}], "c": [{"kind": "a"}]}
    assert [name for name, _ in fire(chain, [{"kind": "a"}], derive)] == ["a", "b", "c"]


def test_facts_no_rule_looks_at_are_fine() -> None:
    """Unknown kinds and unknown properties change nothing, given or derived."""
    facts: list[Fact] = [
        {"kind": "tamper", "p": 1},
        {"kind": "shot", "unknown": "x"},
        {"kind": ""} | {"kind": "s'\"\\"},
    ]
    assert len(fire([rule("r", shot())], facts, {"r": [{"kind": "never"}]})) == 1


def test_nothing_to_do_is_fine() -> None:
    """No facts, or no rules, is no firing."""
    assert fire([rule("r", shot())], []) == []
    assert fire([], [{"kind": "shot"}]) == []


@pytest.mark.parametrize(
    "value", [1e-300, -1e300, 5e-324, 1e15, 2**53, "x" * 100_000, "\ud800", "a\0b", '"]}', "\\", "é"]
)
def test_facts_hold_any_text_and_any_finite_number(value: FactValue) -> None:
    """A value far outside the constants of the rules is compared like any other."""
    tests = [Test("p", ">", 0.001), Test("p", "<=", 0.001), Test("p", "!=", "a")]
    log = fire([rule(test.op, shot(test)) for test in tests], [{"kind": "shot", "p": value}])
    expected = "!=" if isinstance(value, str) else ">" if value > 0.001 else "<="
    assert [name for name, _ in log] == [expected]


def test_names_may_be_any_text() -> None:
    """Names that mean something to the engine, to JSON or to nobody are names."""
    odd = ["$or", "$m", 'a"b', "\\", "é", "all", "m0$not", "kind!"]
    rules = [rule(name, Pattern(name, (Test(name, "==", name),))) for name in odd]
    assert [name for name, _ in fire(rules, [{"kind": name, name: name} for name in odd])] == odd


# In which order.

ORDERED = [
    rule("pair", shot(Test("time", "<", 30)), Pattern("taste")),
    rule("single", shot(Test("time", ">=", 20))),
    rule("later", Pattern("guess", (Test("p", "!=", 2.5),))),
]
ORDERED_FACTS: list[Fact] = [
    {"kind": "shot", "time": 19.5},
    {"kind": "shot", "time": 25},
    {"kind": "shot", "time": "long"},
    {"kind": "taste", "lean": "sour"},
    {"kind": "taste", "strength": 1},
]


def ordered_log(facts: Iterable[Fact], *, backwards: bool = False) -> str:
    """Return the firings of `ORDERED` as text; each `single` and `pair` derives guesses."""
    guesses: list[Fact] = [{"kind": "guess", "p": p} for p in (3, "2.5", 1.5, 2.5)]
    guesses = guesses[::-1] if backwards else guesses
    return json.dumps(fire(ORDERED, facts, {"single": guesses, "pair": guesses}))


def test_order_of_facts_does_not_matter() -> None:
    """All 120 orders of five facts, and derived facts either way round, give the same sequence of firings."""
    expected = ordered_log(ORDERED_FACTS)
    assert expected.count('"pair"') == 4
    for order in itertools.permutations(ORDERED_FACTS):
        assert ordered_log(order) == expected
    assert ordered_log(ORDERED_FACTS, backwards=True) == expected


def test_rule_that_stands_first_fires_first() -> None:
    """The order of the rules decides, not their names and not which facts came first."""
    rules = [rule(name, shot()) for name in ("b", "c", "a")]
    facts: list[Fact] = [{"kind": "shot", "n": n} for n in range(3)]
    assert [name for name, _ in fire(rules, facts)] == ["b"] * 3 + ["c"] * 3 + ["a"] * 3
    assert [name for name, _ in fire(rules[::-1], facts)] == ["a"] * 3 + ["c"] * 3 + ["b"] * 3


@pytest.mark.parametrize("hash_seed", ["1", "4242"])
def test_hash_seed_does_not_matter(hash_seed: str) -> None:
    """Another process with another hash seed fires the same sequence."""
    code = "import test_engine; print(test_engine.ordered_log(test_engine.ORDERED_FACTS))"
    environment = os.environ | {"PYTHONHASHSEED": hash_seed}
    environment["PYTHONPATH"] = os.pathsep.join([str(Path(__file__).parent), *sys.path])
    command = [sys.executable, "-c", code]
    found = subprocess.run(command, env=environment, capture_output=True, text=True, check=True)
    assert found.stdout.strip() == ordered_log(ORDERED_FACTS)


def test_engine_is_handed_whole_numbers_only(recorder: Recorder) -> None:
    """No decimal sign, exponent or text of ours reaches the engine, so that no locale can change what is compared."""
    tests = (Test("time", "<", 25.5), Test("time", ">=", -0.0001), Test("taste", "!=", "sour, 1.5"))
    with RuleSet([rule("r 1.5", shot(*tests))]) as rules:
        assert rules.run([{"kind": "shot", "time": 9.3, "taste": "x.y"}], lambda *_: [{"kind": "shot", "time": 1e-300}])
    (created,) = recorder.handed("create_ruleset")
    texts = [created[1], *(fact for _, fact in recorder.handed("assert_fact"))]
    assert len(texts) == 4
    for text in texts:
        assert not set(text) & set(".+-\\ ")
        assert "sour" not in text


# Running, failing, ending.


@pytest.mark.parametrize("error", [ValueError("mine"), KeyboardInterrupt()])
def test_errors_of_on_fire_come_through(error: BaseException) -> None:
    """An exception ends the run at once, in the middle of the firings, and the next run starts from nothing."""
    fired: list[str] = []

    def on_fire(name: str, _: tuple[Fact, ...]) -> Iterator[Fact]:
        fired.append(name)
        yield {"kind": "shot", "n": len(fired)}
        if len(fired) == 2:
            raise error

    with RuleSet([rule("r", shot())]) as rules:
        with pytest.raises(type(error)) as raised:
            rules.run([{"kind": "shot", "n": 0}], on_fire)
        assert raised.value is error
        assert fired == ["r", "r"]
        assert rules.run([{"kind": "shot", "n": 0}], lambda *_: ()) == 1


def test_endless_rules_are_stopped() -> None:
    """A rule that feeds itself raises after `max_firings` firings; exactly that many are allowed."""
    fired: list[Fact] = []

    def on_fire(_: str, matched: tuple[Fact, ...]) -> list[Fact]:
        fired.extend(matched)
        return [{"kind": "shot", "n": len(fired)}]

    with RuleSet([rule("r", shot())]) as rules:
        with pytest.raises(EngineFault, match="50 firings"):
            rules.run([{"kind": "shot"}], on_fire, max_firings=50)
        assert len(fired) == 50
        facts: list[Fact] = [{"kind": "shot", "n": n} for n in range(50)]
        assert rules.run(facts, lambda *_: (), max_firings=50) == 50


def test_thousand_sessions_leave_no_state() -> None:
    """Each run starts from nothing and leaves nothing the engine would know of."""
    with RuleSet([rule("r", shot(), Pattern("cup"))]) as rules:
        for n in range(1_000):
            assert rules.run([{"kind": "shot", "n": n}], lambda *_: [{"kind": "cup"}]) == 0
            assert rules.run([{"kind": "cup", "n": n}, {"kind": "shot"}], lambda *_: [{"kind": "cup"}]) == 2
        with pytest.raises(durable_rules_engine.error, match="309"):  # no such session
            durable_rules_engine.get_state(rules._handle, "s")


def test_sets_do_not_know_of_each_other(recorder: Recorder) -> None:
    """A set can be run inside another's firing; no two sets of a process have the same name."""
    inner = RuleSet([rule("inner", shot())])
    outer = RuleSet([rule("outer", shot())])
    log: list[str] = []

    def note(name: str, _: tuple[Fact, ...]) -> list[Fact]:
        log.append(name)
        return []

    assert outer.run([{"kind": "shot"}], lambda *_: [{"kind": "n", "n": inner.run([{"kind": "shot"}], note)}]) == 1
    assert log == ["inner"]
    names = [name for name, _ in recorder.handed("create_ruleset")]
    assert len(set(names)) == 2
    inner.close()
    outer.close()


def test_a_running_set_can_neither_run_nor_close() -> None:
    """Both would pull the session from under the engine, so both raise; afterwards both work."""
    rules = RuleSet([rule("r", shot())])
    facts: list[Fact] = [{"kind": "shot"}]
    with pytest.raises(EngineFault, match="already running"):
        rules.run(facts, lambda *_: [{"kind": "n", "n": rules.run(facts, lambda *_: ())}])
    with pytest.raises(EngineFault, match="is running"):
        rules.run(facts, lambda *_: rules.close() or ())  # type: ignore[func-returns-value]
    assert rules.run(facts, lambda *_: ()) == 1
    rules.close()
    rules.close()
    with pytest.raises(EngineFault, match="closed"):
        rules.run(facts, lambda *_: ())


def test_a_forgotten_set_gives_its_memory_back(recorder: Recorder) -> None:
    """Collecting a set that was never closed deletes it in the engine, once."""
    rules = RuleSet([rule("r", shot())])
    handle = rules._handle
    assert recorder.handed("delete_ruleset") == []
    del rules
    gc.collect()
    assert recorder.handed("delete_ruleset") == [(handle,)]


def test_missing_engine_says_what_to_do(monkeypatch: pytest.MonkeyPatch) -> None:
    """An import that fails names the compiler, the headers and the command that works on every Python."""
    monkeypatch.setitem(sys.modules, "durable_rules_engine", None)
    with pytest.raises(EngineUnavailable) as raised:
        RuleSet([rule("r", shot())])
    command = "CPPFLAGS=-DPyEval_CallObject=PyObject_CallObject pip install --force-reinstall --no-binary durable-rules"
    for words in ("C compiler", "Python headers", f"{command} durable-rules"):
        assert words in str(raised.value)
    assert isinstance(raised.value.__cause__, ImportError)


def test_importing_the_room_does_not_import_the_engine() -> None:
    """The compiled module is loaded when a set is made, so that help and checks work without it."""
    code = "import sys, diagnose.inference.engine; sys.exit('durable_rules_engine' in sys.modules)"
    assert subprocess.run([sys.executable, "-c", code], check=False).returncode == 0


def test_errors_of_the_engine_are_faults(recorder: Recorder) -> None:
    """An error code of the compiled module becomes an EngineFault, while compiling and while running."""
    recorder.failing = {"create_ruleset"}
    with pytest.raises(EngineFault, match="refused the rules: error code: 303"):
        RuleSet([rule("r", shot())])
    recorder.failing = set()
    rules = RuleSet([rule("r", shot())])
    recorder.failing = {"complete_and_start_action"}
    with pytest.raises(EngineFault, match="engine failed: error code: 303"):
        rules.run([{"kind": "shot"}], lambda *_: ())


@pytest.mark.parametrize(("call", "answer", "words"), [("start_action_for_state", None, "did not start a session")])
def test_a_session_that_does_not_start_is_a_fault(recorder: Recorder, call: str, answer: None, words: str) -> None:
    """Deleting a session that never fired would crash, so it is left alone and the set is given up."""
    rules = RuleSet([rule("r", shot())])
    recorder.answers = {call: answer}
    with pytest.raises(EngineFault, match=words):
        rules.run([{"kind": "shot"}], lambda *_: ())
    assert recorder.handed("delete_state") == []


def test_a_fact_taken_for_another_is_a_fault(recorder: Recorder) -> None:
    """The engine knows facts by a 32-bit hash of their number; if two ever fall together the run ends."""
    rules = RuleSet([rule("r", shot())])
    real = durable_rules_engine.assert_fact

    def assert_fact(handle: int, fact: str) -> tuple[int, int]:
        code, state = real(handle, fact)
        return (2 if '"id":"2"' in fact else code), state

    recorder.__dict__["assert_fact"] = assert_fact
    with pytest.raises(EngineFault, match="fact 2 for an earlier one"):
        rules.run([{"kind": "shot", "n": n} for n in range(3)], lambda *_: ())
    assert len(recorder.handed("delete_state")) == 1
