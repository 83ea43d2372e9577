"""Notes beside the one thing to do: milk, caffeine, a result nobody expected, what another yield does."""

from collections.abc import Callable
from datetime import datetime

import pytest

from diagnose import Conversation, Reply
from diagnose.model import Setting
from diagnose.rulebase.base import RuleBase

Clock = Callable[[], datetime]
Say = Callable[..., list[Reply]]
ANYTHING = "Did anything else change (dose, yield, beans, tamp)?"
FAST = "18 g in, 36 g out in 14 s, sour, recipe 18 in 36 out 27 s"


@pytest.fixture
def say(rules: RuleBase, clock: Clock) -> Say:
    """Return a function that says lines in a new talk and returns all replies."""

    def talk(*lines: str, setting: Setting = "home") -> list[Reply]:
        chat = Conversation(rules=rules, setting=setting, clock=clock)
        return [chat.say(line) for line in lines]

    return talk


def test_milk_from_start_to_stop_gets_its_window_and_its_water(say: Say) -> None:
    """200 g from 5 to 65 degC: 19.37 g of dry steam at 1.0 bar gauge condense (computed with IAPWS-IF97 enthalpies).

    Air until 37 degC (all milk fat is liquid there: Borcherding and others, 2008); shutting 2 to 3 degC early is common
    practice, no source.
    """
    _, reply = say("milk has big bubbles", "200 g of milk from 5 to 65 C")
    line = (
        "From 5 to 65 °C: air in until about 37 °C, then roll; shut the steam at 62 to 63 °C. "
        "About 19 g of water comes with the steam."
    )
    assert line in reply.text.splitlines()


def test_the_milk_note_is_given_once(say: Say) -> None:
    """The next turn does not repeat it; with another end it is new."""
    _, first, again, other = say(
        "milk has big bubbles", "200 g of milk from 5 to 65 C", "dont know", "no, I stopped the milk at 60 C"
    )
    assert "air in until" in first.text
    assert "air in until" not in again.text
    assert "From 5 to 60 °C" in other.text


def test_a_start_nobody_said_is_the_fridge_only_if_the_fridge_was_named(say: Say) -> None:
    """Straight from the fridge is 5 degC (the most FDA Food Code 3-501.16 allows); cold alone is no number."""
    (fridge,) = say("milk has big bubbles, milk straight from the fridge, steamed to 62 C")
    (cold,) = say("milk has big bubbles, cold milk, steamed to 62 C")
    assert "From 5 to 62 °C" in fridge.text
    assert "air in until" not in cold.text


@pytest.mark.parametrize(
    ("told", "said", "unsaid"),
    [
        ("milk from 5 to 80 C", "then roll.", "shut the steam"),
        ("milk started at 38 C, stopped the milk at 62 C", "too warm to take air in", "air in until"),
    ],
)
def test_nobody_is_told_to_scorch_milk_or_to_air_it_warm(say: Say, told: str, said: str, unsaid: str) -> None:
    """Beyond 70 degC no reading to shut at is given; from 37 degC on there is no air to take in."""
    _, reply = say("milk has big bubbles", told)
    assert said in reply.text
    assert unsaid not in reply.text


def test_a_machine_that_froths_by_itself_is_not_told_how_to_hold_the_jug(say: Say) -> None:
    """Without a wand there is nothing to roll."""
    _, reply = say("milk has big bubbles, it froths by itself with a milk hose", "milk from 5 to 62 C")
    assert [finding.levels for finding in reply.findings if finding.id == "wand_kind"] == [("automatic",)]
    assert "then roll" not in reply.text


def test_caffeine_is_counted_at_every_third_shot(say: Say) -> None:
    """Three shots of 18 g: 54 g x 1.0-1.4 % x 75-90 % is 405 to 680 mg (shares from memory).

    The limits are those of EFSA Journal 13(5):4102 (2015): 200 mg at once, 400 mg a day, 200 mg a day in pregnancy.
    """
    replies = say(FAST, *(f"18 in 36 out {time} s" for time in (15, 16, 17, 18, 19)))
    counted = [number for number, reply in enumerate(replies, 1) if "caffeine" in reply.text]
    assert counted == [3, 6]
    text = replies[2].text
    assert "3 shots, 400 to 680 mg" in text
    assert "200 mg at once and 400 mg a day (200 mg in pregnancy)" in text
    assert "6 shots, 810 to 1360 mg" in replies[5].text


def test_doses_nobody_weighed_are_not_counted(say: Say) -> None:
    """Times alone give no caffeine."""
    assert not any("caffeine" in reply.text for reply in say("my coffee is sour, 14 s", "15 s", "16 s", "17 s"))


@pytest.mark.parametrize(("time", "asked"), [(40, True), (11, True), (22, False)])
def test_a_time_outside_what_was_promised_raises_the_question(say: Say, time: int, asked: bool) -> None:
    """Too far and the wrong way are both a surprise, a time inside the range is none."""
    first, reply = say(FAST, f"18 in, 36 out, {time} s")
    assert first.step is not None
    (wanted,) = first.step.expect
    assert (wanted.low <= time <= wanted.high) is not asked
    assert (ANYTHING in reply.text) is asked
    kinds = [part.kind for part in reply.parts if part.kind in {"step", "ask"} or part.text.startswith(ANYTHING)]
    assert ("note" in kinds[:1]) is asked
    assert kinds.count("note") == asked


def test_the_question_is_asked_once_in_a_talk(say: Say) -> None:
    """Whoever was asked knows by then."""
    replies = say(FAST, "18 in 36 out 40 s", "18 in 36 out 15 s", "18 in 36 out 45 s")
    assert sum(ANYTHING in reply.text for reply in replies) == 1


def test_a_dial_that_moved_further_than_advised_explains_the_time(say: Say) -> None:
    """Six notches instead of one or two: the surprise has its reason."""
    _, reply = say(f"{FAST}, notch 10, higher is finer", "notch 16, 18 in 36 out 45 s")
    assert ANYTHING not in reply.text


def test_a_shorter_shot_says_what_it_does_to_the_cup(say: Say) -> None:
    """54 g to 36 g from 18 g: stronger and a little less extracted, in whole percent, said once."""
    (reply,) = say("18 g in, 54 g out in 34 s, bitter, recipe 18 in 36 out 27 s")
    assert reply.step is not None
    assert reply.step.id == "yield_shorter"
    assert reply.text.count("stronger, with") == 1
    assert "{effect}" not in reply.text


def test_a_yield_step_without_weights_promises_nothing_of_strength(rules: RuleBase) -> None:
    """Each text has room for the effect, which stays empty where no dose is known."""
    for name in ("yield_longer", "yield_shorter", "recipe_longer", "recipe_shorter"):
        assert rules.text(rules.steps[name].text).count("{effect}") == 1
