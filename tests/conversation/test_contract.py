"""The reply others rely on: its JSON, its Python attributes, the results promised in README."""

import json
import subprocess
import sys
from collections.abc import Callable
from datetime import datetime

import pytest

from diagnose import Conversation, Reply
from diagnose.model import Setting
from diagnose.rulebase.base import RuleBase

Clock = Callable[[], datetime]
GUSHER = "gushing today, 18 g in, 44 g out in 16 s, tastes sour, recipe is 18 in 36 out 27 s"

KEYS: dict[str, type | tuple[type, ...]] = {
    "format": int,
    "setting": str,
    "complaint": (str, type(None)),
    "other_complaints": list,
    "heard": list,
    "not_understood": list,
    "findings": list,
    "causes": list,
    "step": (dict, type(None)),
    "notices": list,
    "verdict": (dict, type(None)),
    "trace": list,
    "text": str,
}
STEP_KINDS = {"question", "check", "adjust", "fix", "repeat", "accept", "hand_over"}
UNITS = {"g", "s", "degC", "bar", "mg/L", "days", "notch", "mL", "%", "ratio", "g/s", "count"}


@pytest.fixture
def ask(rules: RuleBase, clock: Clock) -> Callable[..., Reply]:
    """Return a function that says lines in a new talk and returns the last reply."""

    def say(*lines: str, setting: Setting = "home") -> Reply:
        talk = Conversation(rules=rules, setting=setting, clock=clock)
        return [talk.say(line) for line in lines][-1]

    return say


def checked(reply: Reply) -> dict[str, object]:
    """Return the reply as JSON would carry it, after checking its form."""
    data: dict[str, object] = json.loads(json.dumps(reply.to_dict(), allow_nan=False))
    for key, kind in KEYS.items():
        assert isinstance(data[key], kind), key
    assert data["format"] == 1
    probabilities = [cause["probability"] for cause in data["causes"]]  # type: ignore[attr-defined]
    assert probabilities == sorted(probabilities, reverse=True)
    assert all(0 <= p <= 1 for p in probabilities)
    for said in data["heard"]:  # type: ignore[attr-defined]
        assert said["kind"] in {"measurement", "observation", "tried", "belief", "answer", "command"}
        if said["kind"] == "measurement":
            assert said["unit"] in UNITS
    step = data["step"]
    if isinstance(step, dict):
        assert step["kind"] in STEP_KINDS
        assert set(step) >= {"kind", "id", "text", "variable", "direction", "amount", "hold", "expect", "answers"}
        cost = step["cost"]
        assert cost is None or (set(cost) == {"seconds", "grams"} and min(cost.values()) >= 0)
        assert [a["number"] for a in step["answers"]] == list(range(1, len(step["answers"]) + 1))
    for fired in data["trace"]:  # type: ignore[attr-defined]
        assert fired["file"].endswith(".yaml")
        assert fired["line"] > 0
    return data


def test_a_gusher_in_service_gets_one_sized_step(ask: Callable[..., Reply]) -> None:
    """First cause grind too coarse; one step on the grind, finer, with an amount and an expected range."""
    reply = ask(GUSHER, setting="service")
    data = checked(reply)
    assert reply.complaint == "shot"
    assert reply.causes[0].id == "grind_too_coarse"
    assert {"nothing_wrong", "unknown"} <= {cause.id for cause in reply.causes}
    assert reply.step is not None
    assert (reply.step.kind, reply.step.variable, reply.step.direction) == ("adjust", "grind", "finer")
    assert reply.step.amount is not None
    assert reply.step.amount.unit == "notch"
    assert reply.step.hold == ("dose", "yield")
    (wanted,) = reply.step.expect
    assert (wanted.name, wanted.unit) == ("time", "s")
    assert 14.4 < wanted.low < wanted.high < 35
    flow = next(finding for finding in reply.findings if finding.id == "flow")
    assert (flow.levels, flow.source, flow.unit) == (("gushing",), "measured", "s")
    assert flow.value == pytest.approx(14.4, abs=0.05)
    assert any(fired.rule == "flow/gushing" and "flow.yaml" in fired.file for fired in reply.trace)
    assert data["causes"][0]["area"] == "grinder"  # type: ignore[index]


def test_a_step_says_what_it_takes_where_there_is_time_to_read(ask: Callable[..., Reply], rules: RuleBase) -> None:
    """Seconds and grams are the rule's own in each setting; the text says them at home and in training only."""
    texts: dict[Setting, str] = {"home": "(about 2 min, 36 g)", "training": "(about 2 min, 36 g)", "service": ""}
    for setting, said in texts.items():
        reply = ask(GUSHER, setting=setting)
        step = checked(reply)["step"]
        cost = rules.steps["grind_finer"].cost.of(setting)
        assert cost is not None
        assert isinstance(step, dict)
        assert (step["id"], step["cost"]) == ("grind_finer", {"seconds": cost.seconds, "grams": cost.grams})
        assert step["text"].endswith(said)
        assert ("(about" in step["text"]) == bool(said)


def test_a_question_says_what_it_takes_in_numbers_alone(ask: Callable[..., Reply], rules: RuleBase) -> None:
    """The cost of a question is that of its answer, without the reading, and is not put into words."""
    reply = ask("my coffee is bitter")
    step = checked(reply)["step"]
    assert isinstance(step, dict)
    asked = rules.findings[step["finding"]].ask
    cost = asked.cost.of("home") if asked else None
    assert cost is not None
    assert step["cost"] == {"seconds": cost.seconds, "grams": cost.grams}
    assert "(about" not in reply.text


def test_a_good_shot_is_left_alone(ask: Callable[..., Reply]) -> None:
    """On recipe and great: nothing wrong, at nine in ten, and accept."""
    reply = ask("20 g in, 40 g out, 27 s, tastes great")
    checked(reply)
    assert reply.causes[0].id == "nothing_wrong"
    assert reply.causes[0].probability > 0.85
    assert reply.step is not None
    assert reply.step.kind == "accept"


def test_scatter_is_not_chased(ask: Callable[..., Reply]) -> None:
    """Two seconds from day to day with the same taste is nothing to act on."""
    reply = ask("27 s yesterday, 29 s today, same taste")
    checked(reply)
    assert reply.step is not None
    assert reply.step.kind in {"accept", "repeat"}


def test_danger_comes_before_coffee(ask: Callable[..., Reply]) -> None:
    """Burning smell and a tripping breaker: stop notices first, then hand over, no causes in the text."""
    reply = ask("burning smell from the machine and the breaker trips", setting="service")
    checked(reply)
    assert reply.step is not None
    assert reply.step.kind == "hand_over"
    assert reply.notices[0].severity == "stop"
    assert reply.parts[0].kind == "stop"
    assert "Most likely" not in reply.text


def test_three_sensible_turns_without_knowing_anything(rules: RuleBase, clock: Clock) -> None:
    """Bitter, don't know, don't know: each turn asks something else or names a step."""
    talk = Conversation(rules=rules, clock=clock)
    steps = [talk.say(line).step for line in ("my coffee is bitter", "dont know", "dont know")]
    assert all(step is not None for step in steps)
    assert len({step.id for step in steps if step is not None}) == 3


def test_dont_know_to_everything_ends_honestly(rules: RuleBase, clock: Clock) -> None:
    """Nobody is asked for ever: after a few questions there is a step, and the talk comes to an end."""
    talk = Conversation(rules=rules, clock=clock)
    reply = talk.say("my espresso tastes bad")
    asked = 0
    for _ in range(40):
        assert reply.step is not None
        if reply.step.kind in {"accept", "hand_over"}:
            break
        if reply.step.kind in {"question", "check"}:
            asked += 1
            reply = talk.say("dont know")
        else:
            reply = talk.say("no change")
    assert reply.step is not None
    assert reply.step.kind in {"accept", "hand_over"}
    assert asked <= 12


@pytest.mark.parametrize("seed", ["0", "1", "42"])
def test_same_input_same_output_whatever_the_hash_seed(seed: str) -> None:
    """The JSON of a talk is the same in every process."""
    lines = f"{GUSHER}\n24 s, 36 out, better\nwhy\n"
    command = [sys.executable, "-m", "diagnose", "--json", "--no-log", "--setting", "service"]
    outputs = {
        subprocess.run(
            command, input=lines, capture_output=True, text=True, check=True, env={"PYTHONHASHSEED": value}
        ).stdout
        for value in ("7", seed)
    }
    assert len(outputs) == 1
    assert len(next(iter(outputs)).splitlines()) == 3


BAD = [
    "",
    "   ",
    "x" * 10_000,
    "18 g " * 2_000,
    "\x00\x1b[31m\x07 red",
    "☕😡👎",
    "Kaffee schmeckt bitter und läuft zu schnell",
    "コーヒーが酸っぱい",
    "0 g in",
    "-5 s",
    "18 kg in",
    "brewed at 300 C",
    "18 in 18 out 18 s 18 18 18",
    "18 g in and 20 g in, 25 s and 40 s",
    "not sour, sour, not bitter, bitter",
    "{}{0}{amount}%s%d\\",
    "1:0",
    "999999999999999999999 g in 1e400 s",
    "gushing and choking at once",
    "what is the meaning of life",
]


@pytest.mark.parametrize("text", BAD, ids=range(len(BAD)))
def test_bad_input_gets_an_answer_and_never_an_error(ask: Callable[..., Reply], text: str) -> None:
    """Whatever is typed first or in between, there is a reply of the right form that says something."""
    for lines in ((text,), (GUSHER, text), ("my coffee is bitter", text)):
        reply = ask(*lines)
        checked(reply)
        assert reply.text.strip()


@pytest.mark.parametrize("text", ["0 g in", "-5 s", "18 kg in", "brewed at 300 C"])
def test_impossible_numbers_are_said_and_not_used(ask: Callable[..., Reply], text: str) -> None:
    """An impossible value is named as not used, with the range, and becomes no measurement."""
    reply = ask(text)
    assert reply.refused
    assert reply.refused[0].reason
    assert not [said for said in reply.heard if said.kind == "measurement"]
    assert reply.refused[0].text in reply.text


def test_the_persons_theory_is_kept_apart_and_answered(ask: Callable[..., Reply]) -> None:
    """A theory never becomes a finding; it is taken up kindly."""
    plain = ask("18 in 36 out 16 s, sour, recipe 18 in 36 out 27 s", setting="service")
    theory = ask("18 in 36 out 16 s, sour, recipe 18 in 36 out 27 s, I think it is channelling", setting="service")
    assert [f.id for f in plain.findings] == [f.id for f in theory.findings]
    assert [c.probability for c in plain.causes] == [c.probability for c in theory.causes]


def test_an_unknown_setting_is_refused(rules: RuleBase) -> None:
    """A wrong setting is a clear error, not a surprise later."""
    with pytest.raises(Exception, match="home, service, training"):
        Conversation(rules=rules, setting="moon")  # type: ignore[arg-type]
