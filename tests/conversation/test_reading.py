"""Whole replies to what people type in a hurry: units left out, numbers of several shots, cries of danger."""

from collections.abc import Callable
from datetime import datetime

import pytest

from diagnose import Conversation, Reply
from diagnose.rulebase.base import RuleBase

Say = Callable[..., list[Reply]]


@pytest.fixture
def say(rules: RuleBase, clock: Callable[[], datetime]) -> Say:
    """Return a function that says lines in a new talk and returns all replies."""

    def talk(*lines: str) -> list[Reply]:
        chat = Conversation(rules=rules, clock=clock)
        return [chat.say(line) for line in lines]

    return talk


def levels(reply: Reply) -> dict[str, tuple[str, ...]]:
    """Return the findings of a reply with the levels that remain."""
    return {finding.id: finding.levels for finding in reply.findings}


@pytest.mark.parametrize(
    "lines",
    [
        ("my boiler is 0.8 bar gauge", "I steam 200 g from the fridge to 65"),
        ("I steam 200 g from the fridge to 65, my boiler is 0.8 bar gauge",),
    ],
)
def test_steaming_without_units_gets_its_window(say: Say, lines: tuple[str, ...]) -> None:
    """The end is said back with its unit, and the note holds air, stop and water: 19 g at 0.8 bar gauge.

    Checked by hand with steam tables (from memory): saturated steam at 1.81 bar holds 2702 kJ/kg, water at 65 degC
    272 kJ/kg; 200 g of milk (3.9 kJ/(kg K)) by 60 K take 46.8 kJ, so 46.8 / (2702 - 272) = 19.3 g.
    """
    reply = say(*lines)[-1]
    assert "milk to 65 °C" in reply.text
    note = " ".join(reply.text.split())
    assert "From 5 to 65 °C: air in until about 37 °C, then roll; shut the steam at 62 to 63 °C." in note
    assert "About 19 g of water comes with the steam." in note


def test_a_range_of_milk_keeps_its_two_ends(say: Say) -> None:
    """From 38 to 62 degC is no 50 degC: the milk began too warm for air."""
    (reply,) = say("milk has big bubbles, from 38 to 62 C")
    assert {"milk_start_temp": ("warm",)}.items() <= levels(reply).items()
    assert "too warm to take air in" in " ".join(reply.text.split())


def test_a_ratio_without_dose_is_held_against_the_recipes(say: Say) -> None:
    """1:3 against the usual 1:2 is half as much again: far too long, at no dose, and the usual ratio is said."""
    (assumed,) = say("1:3 in 20 s, sour")
    assert levels(assumed)["yield"] == ("far_long",)
    assert "dose" not in levels(assumed)
    assert "1:2" in assumed.text
    own = say("my recipe is 1:3 in 30 s", "1:3 in 30 s, sour")[-1]
    assert levels(own)["yield"] == ("on_recipe",)
    weighed = say("my recipe is 18 in 54 out in 30 s", "1:2 in 20 s, sour")[-1]
    assert levels(weighed)["yield"] == ("far_short",)


@pytest.mark.parametrize(("ratio", "level"), [("1:2", "on_recipe"), ("1:2.3", "long"), ("1:1.6", "short")])
def test_the_ratio_reads_like_the_same_weights(say: Say, ratio: str, level: str) -> None:
    """The same ratio told by dose and drink gives the same reading of yield and speed."""
    dose = 20
    drink = dose * float(ratio.partition(":")[2])
    (alone,), (weighed,) = say(f"{ratio} in 20 s"), say(f"{dose} g in, {drink:g} g out in 20 s")
    assert levels(alone)["yield"] == levels(weighed)["yield"] == (level,)
    assert levels(alone)["flow"] == levels(weighed)["flow"]


def test_extraction_that_was_measured_beats_what_is_computed(say: Say) -> None:
    """18 g, 36 g and 9.5 % make 19 %, in range; the person's own 24 % counts instead."""
    (computed,) = say("18 in 36 out 27 s, TDS 9.5 %, bitter")
    (measured,) = say("18 in 36 out 27 s, TDS 9.5 EY 24, bitter")
    (alone,) = say("EY 24 %, bitter")
    assert levels(computed)["extraction_yield"] == ("in_range",)
    assert levels(measured)["extraction_yield"] == levels(alone)["extraction_yield"] == ("high",)


def test_brews_of_minutes_are_taken_and_judged_by_no_espresso_recipe(say: Say) -> None:
    """A press of four and a half minutes is heard, asks for no unit and counts as no slow shot."""
    (reply,) = say("french press, 4:30, bitter")
    assert "Not used" not in reply.text
    assert "flow" not in levels(reply)


def test_three_shots_in_a_row_are_three_shots(say: Say) -> None:
    """The third is the one talked about, each with its own time."""
    (reply,) = say("last three 22 23 21")
    assert [said.shot for said in reply.heard] == [1, 2, 3]
    assert "21 s" in reply.text


def test_half_a_cup_from_a_pod_machine_points_at_the_needle(say: Say) -> None:
    """Among the first three, whatever is not on the list counted too."""
    (reply,) = say("pod machine only drips half a cup")
    assert "pod_needle_blocked" in [cause.id for cause in reply.causes][:3]


def test_a_latte_that_tastes_like_nothing_is_about_coffee_in_milk(say: Say) -> None:
    """The drink lacks coffee: too much milk, or a weak shot under it."""
    (reply,) = say("my latte tastes like nothing")
    assert reply.causes[0].id in {"too_much_milk", "shot_weak_under_milk"}


@pytest.mark.parametrize(
    ("cry", "notice"),
    [
        ("es riecht nach Gas", "gas"),
        ("ça sent le gaz", "gas"),
        ("huele a gas", "gas"),
        ("Stromschlag", "electric_shock"),
        ("descarga eléctrica", "electric_shock"),
        ("Feuer", "burning_smell"),
        ("fuego", "burning_smell"),
        ("verbrüht", "skin_burn"),
        ("brûlé", "skin_burn"),
        ("quemadura", "skin_burn"),
        ("chest pain after ten shots", "heart_help"),
        ("my heart is racing, too much espresso", "heart_help"),
        ("the carbon monoxide alarm is beeping", "monoxide_out"),
        ("my finger is caught in the burrs", "cut_or_crushed"),
    ],
)
def test_a_cry_of_danger_stops_the_talk(say: Say, cry: str, notice: str) -> None:
    """The stop notice comes first, in the reply's list and in its text, and no step on coffee stands beside it."""
    (reply,) = say(cry)
    assert [one.id for one in reply.notices][:1] == [notice]
    assert reply.text.startswith("STOP: ")
    assert reply.step is None or reply.step.kind == "hand_over"


@pytest.mark.parametrize("say_", ["Gasherd, sour", "moka à feu doux, bitter", "no huele a gas", "café brûlé, sour"])
def test_what_only_sounds_like_it_does_not(say: Say, say_: str) -> None:
    """A gas hob, a low flame, burnt coffee and a denied smell stop nothing."""
    (reply,) = say(say_)
    assert not reply.text.startswith("STOP")
