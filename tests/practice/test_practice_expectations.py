"""What a talk must show: each thing that can be looked at is found where it is, and missed where it is not."""

from collections.abc import Callable, Sequence
from datetime import datetime

import pytest

from diagnose import Conversation, Reply
from diagnose.practice.expectations import LOOKS, missed, read
from diagnose.rulebase.base import RuleBase

GUSHER = "gushing, 18 g in, 44 g out in 16 s, sour, recipe is 18 in 36 out 27 s"


@pytest.fixture(scope="module")
def chats(rules: RuleBase, clock: Callable[[], datetime]) -> list[list[Reply]]:
    """Return two chats: a gusher that is put right, and a burning smell."""
    first = Conversation(rules=rules, setting="training", clock=clock)
    second = Conversation(rules=rules, clock=clock)
    lines = (GUSHER, "why", "18 in, 36 out in 27 s, tastes good")
    return [[first.say(line) for line in lines], [second.say("a burning smell"), second.say("start over")]]


def found(text: str, chats: Sequence[Sequence[Reply]]) -> str | None:
    """Return what was found instead of the one thing `text` expects."""
    (wanted,), faults = read(text, 1)
    assert faults == []
    return missed(wanted, chats)


@pytest.mark.parametrize(
    "text",
    [
        "turn 1: complaint shot",
        "turn 1: first cause `grind_too_coarse`",
        "turn 1: step adjust",
        "turn 1: step adjust `grind_finer`",
        "turn 1: amount 1 to 4 notch",
        "turn 1: verdict none",
        "turn 1: rule flow/gushing",
        "turn 1: notice grinder_fingers",
        "turn 1: heard measurement dose",
        "turn 1: heard observation",
        "turn 1: begins with heard",
        "turn 2: heard command why",
        "turn 3: verdict helped",
        "turn 3: step accept accept",
        "turn 3: amount none",
        "turn 3: notice none",
        "turn 4: begins with stop",
        "turn 4: without causes",
        "turn 4: notice burning_smell",
        "turn 5: step none",
        "turn 5: complaint none",
        "turn 5: first cause none",
        "turn 5: root none",
        "talk: questions 0",
        "talk: questions at most 2",
    ],
)
def test_what_is_there_is_found(chats: list[list[Reply]], text: str) -> None:
    """Every look finds what the talk shows; turns are counted through all chats."""
    assert found(text, chats) is None


@pytest.mark.parametrize(
    ("text", "instead"),
    [
        ("turn 1: complaint milk", "shot"),
        ("turn 1: first cause grind_too_fine", "grind_too_coarse"),
        ("turn 1: step question", "adjust grind_finer, adjust"),
        ("turn 1: step adjust grind_coarser", "adjust grind_finer, adjust"),
        ("turn 1: amount none", "notch"),
        ("turn 1: amount 1 to 4 g", "notch"),
        ("turn 1: amount 7 to 9 notch", "notch"),
        ("turn 3: amount 1 to 4 notch", "none"),
        ("turn 1: verdict helped", "none"),
        ("turn 3: verdict none", "helped"),
        ("turn 3: verdict not helped", "helped"),
        ("turn 1: rule flow/choked", "flow/gushing"),
        ("turn 1: notice none", "grinder_fingers"),
        ("turn 1: heard belief", "measurement dose"),
        ("turn 1: begins with stop", "heard"),
        ("turn 1: without step", "stop"),
        ("turn 5: heard none", "command start_over, command"),
        ("talk: questions 1", "0"),
    ],
)
def test_what_is_not_there_is_missed(chats: list[list[Reply]], text: str, instead: str) -> None:
    """What was found instead is said."""
    other = found(text, chats)
    assert other is not None
    assert instead in other


def test_a_step_that_did_not_help(rules: RuleBase, clock: Callable[[], datetime]) -> None:
    """The verdict on a step without effect is that it has not helped."""
    talk = Conversation(rules=rules, clock=clock, setting="service")
    replies = [talk.say(line) for line in (GUSHER, "18 in, 44 out in 16 s, no better")]
    assert found("turn 2: verdict not helped", [replies]) is None


def test_a_question_still_open_counts_once(rules: RuleBase, clock: Callable[[], datetime]) -> None:
    """Asking why does not make a question two, another question does, and so does a new chat."""
    chats = []
    for _ in range(2):
        talk = Conversation(rules=rules, clock=clock)
        chats.append([talk.say(line) for line in ("my coffee is bitter", "why", "don't know")])
    assert found("talk: questions 4", chats) is None
    assert found("talk: questions at most 4", chats) is None
    assert found("talk: questions at most 3", chats) == "4"


@pytest.mark.parametrize("key", LOOKS)
def test_everything_needs_a_word_behind_it(key: str) -> None:
    """Nothing is expected by naming only where to look; the message says what is wanted there."""
    expected, (fault,) = read(f"turn 1: {key}", 1)
    assert expected == []
    assert LOOKS[key].shown in fault


def test_the_good_part_of_a_line_is_kept() -> None:
    """One fault in a line does not hide another, nor what is well said."""
    expected, faults = read("turn 2: colour brown; step repeat; step hop", 7)
    assert [str(wanted) for wanted in expected] == ["turn 2: step repeat"]
    assert len(faults) == 2
    assert "first cause" in faults[0]
