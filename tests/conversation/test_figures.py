"""Short notes from the numbers told: extraction, beans, old grounds, chance, brew temperature, packed beds."""

from collections.abc import Callable, Mapping
from dataclasses import replace
from datetime import datetime

import pytest

from diagnose import Conversation
from diagnose.case.fold import Case, Observation
from diagnose.conversation.assess import Assessment, Assessor
from diagnose.conversation.figures import (
    age_note,
    chance_note,
    extraction_note,
    figure_notes,
    packed_bed_note,
    purge_note,
    reading_note,
    storage_note,
    temperature_note,
    thaw_note,
)
from diagnose.conversation.wording import Wording
from diagnose.inference.next_step import Choice
from diagnose.model import Quantity, Setting, Shot
from diagnose.rulebase.base import RuleBase
from diagnose.sizing import SIZES, Request

Clock = Callable[[], datetime]
Assess = Callable[..., Assessment]
UNITS = {"time": "s", "tds": "%", "bean_age": "days", "days_open": "days", "brew_temperature": "degC"}
OF_SHOT = {"dose", "yield", "time", "tds"}
RECIPE = {"dose": Quantity.exact(18, "g"), "yield": Quantity.exact(36, "g"), "time": Quantity.exact(27, "s")}


@pytest.fixture(scope="module")
def wording(rules: RuleBase) -> Wording:
    """Return the words of the rules."""
    return Wording(rules)


@pytest.fixture(scope="module")
def assess(rules: RuleBase) -> Assess:
    """Return a function that assesses one shot, with `step` as the thing to do where one is named."""
    assessor = Assessor(rules)

    def assessed(
        numbers: Mapping[str, float], step: str = "", setting: Setting = "home", **seen: tuple[str, str]
    ) -> Assessment:
        told = {name: Quantity.exact(value, UNITS.get(name, "g")) for name, value in numbers.items()}
        shot = Shot(1, {name: told[name] for name in told.keys() & OF_SHOT})
        case = Case(
            setting,
            (shot,),
            RECIPE,
            {name: told[name] for name in told.keys() - OF_SHOT},
            {name: Observation((level,), "said", text) for name, (level, text) in seen.items()},
            current=1,
        )
        found = assessor.assess(case)
        if not step:
            return found
        size = rules.steps[step].size
        request = Request(rules.steps[step], case, found.measures)
        sized = SIZES[size](request) if size is not None else found.sized
        return replace(found, choice=Choice("do", step, 0.0, 0.0), sized=sized, repeat_first=False)

    return assessed


SHOT = {"dose": 18.0, "yield": 36.0, "time": 27.0}


@pytest.mark.parametrize(
    ("tds", "said"),
    [
        (8.5, "17 % extracted, where 18 to 22 % is usual; 20 % at this weight would read about 10.0 %."),
        (9.5, "19 % extracted, which is usual (18 to 22 %): taste decides."),
        (12.0, "24 % extracted, where 18 to 22 % is usual; 20 % at this weight would read about 10.0 %."),
        (2.0, ""),
    ],
)
def test_a_reading_gives_the_extraction(assess: Assess, wording: Wording, tds: float, said: str) -> None:
    """TDS x 36 / 18, and 20 % x 18 / 36: the standard mass balance. A reading of 2 % is impossible and not used."""
    assert extraction_note(wording, assess({**SHOT, "tds": tds})) == said


def test_no_reading_no_extraction(assess: Assess, wording: Wording) -> None:
    """Nothing is guessed from taste."""
    assert extraction_note(wording, assess(SHOT)) == ""
    assert reading_note(wording, assess({**SHOT, "yield": 54.0}, "yield_shorter")) == ""


def test_another_yield_says_what_the_meter_should_then_read(assess: Assess, wording: Wording) -> None:
    """54 g at 6.8 % is 20.4 % out; less comes with 36 g, and whatever it is, TDS x 36 / 18 gives it back."""
    found = assess({**SHOT, "yield": 54.0, "tds": 6.8}, "yield_shorter")
    low, high = (float(part) for part in found.sized.fields["extracted"].removesuffix(" %").split(" to "))
    assert 18 <= low < high <= 20.4
    assert low - 0.75 <= float(found.sized.fields["tds"]) * 36 / 18 <= high + 0.75
    assert reading_note(wording, found).startswith("20 % extracted so far; at the new weight expect")
    assert extraction_note(wording, found) == ""


def test_a_repeat_says_how_often_the_next_is_closer_by_itself(assess: Assess, wording: Wording) -> None:
    """20 s against 27 +/- 2.5 s is 2.8 sigma: P(|Z| < 2.8) is 0.9949 by any printed normal table."""
    waiting = replace(assess({**SHOT, "time": 20.0}), repeat_first=True)
    assert "99 of 100" in chance_note(wording, waiting)
    assert "96 of 100" in chance_note(wording, replace(assess({**SHOT, "time": 21.8}), repeat_first=True))
    assert chance_note(wording, replace(waiting, repeat_first=False)) == ""


def test_old_grounds_are_stated_by_what_the_grinder_keeps(assess: Assess, wording: Wording) -> None:
    """A guess is named as one where purging is the step; beside a grind step only the person's own number is used."""
    guessed = purge_note(wording, assess(SHOT, "purge_and_repeat"))
    assert "keeps about 3 g" in guessed
    assert "with 3 g thrown out the next shot still holds 7 % old grounds, the one after 1 %" in guessed
    told = purge_note(wording, assess({**SHOT, "retained": 5.0}, "grind_finer"))
    assert told == "With 5 g kept and 5 g thrown out, the next shot still holds 11 % old grounds, the one after 2 %."
    assert purge_note(wording, assess(SHOT, "grind_finer")) == ""
    assert purge_note(wording, assess(SHOT, "dose_less")) == ""


def test_hotter_water_hardly_moves_the_time(assess: Assess, wording: Wording) -> None:
    """Thinner water is a second or so; nobody should look for it on the clock."""
    assert "about 1 s faster" in temperature_note(wording, assess(SHOT, "brew_hotter"))
    assert "about 1 s slower" in temperature_note(wording, assess(SHOT, "brew_cooler"))
    assert temperature_note(wording, assess({"dose": 18.0}, "brew_hotter")) == ""


@pytest.mark.parametrize(
    ("numbers", "roast", "said"),
    [
        (
            {"bean_age": 2.0},
            "",
            "2 days from roast the beans still give off gas; dark roasts are best from about day 4",
        ),
        ({"bean_age": 8.0}, "", ""),
        (
            {"bean_age": 8.0},
            "light",
            "8 days from roast the beans still give off gas; this roast is usually best from day 10",
        ),
        ({"bean_age": 8.0}, "dark", ""),
        ({"bean_age": 30.0}, "very_dark", "30 days from roast the beans are past their best"),
        ({"bean_age": 90.0}, "", "90 days from roast the beans are stale"),
        ({"bean_age": 20.0, "days_open": 16.0}, "", "A bag open for 16 days is fading"),
        ({"days_open": 40.0}, "", "A bag open for 40 days is most likely flat"),
        ({"bean_age": 5.0, "days_open": 40.0}, "", ""),
        ({}, "light", ""),
    ],
)
def test_beans_are_placed_in_the_window_of_their_roast(
    assess: Assess, wording: Wording, numbers: Mapping[str, float], roast: str, said: str
) -> None:
    """Windows by common practice, no source; said only outside them, and only where any roast left open would be."""
    seen = {"roast": (roast, roast)} if roast else {}
    note = age_note(wording, assess({**SHOT, **numbers}, **seen))
    assert note.startswith(said)
    assert bool(note) is bool(said)


def test_frozen_beans_get_their_hours(assess: Assess, wording: Wording) -> None:
    """A bag 2 to 3 h, a kilo overnight (common practice, no source); damp beans that were never frozen get none."""
    frozen = thaw_note(wording, assess(SHOT, bean_state=("cold_or_damp", "frozen beans")))
    assert "2 to 3 hours for a usual bag and 8 to 12 for a kilo" in frozen
    assert thaw_note(wording, assess(SHOT, bean_state=("cold_or_damp", "damp beans"))) == ""
    assert thaw_note(wording, assess(SHOT, "let_beans_warm")) == frozen


def test_storage_is_weighed_as_published(assess: Assess, wording: Wording) -> None:
    """Cardelli & Labuza, LWT 34:273-278 (2001): x20 for oxygen, +60 % for 0.1 of aw, 15-23 % for 10 degC."""
    note = storage_note(wording, assess(SHOT, "fresh_beans"))
    assert "up to 20 times" in note
    assert "(4 times)" in note
    assert "20 %" in note
    assert storage_note(wording, assess(SHOT, "grind_finer")) == ""


def test_a_trainer_hears_the_law_of_packed_beds(assess: Assess, wording: Wording) -> None:
    """Time goes with size^-2 (Darcy, Kozeny-Carman): 1 / 0.81 is 23 %, and 14 to 27 s is sqrt(14 / 27) = 72 %."""
    told = {**SHOT, "time": 14.0}
    note = packed_bed_note(wording, assess(told, "grind_finer", "training"))
    assert "a tenth finer take about 23 % longer" in note
    assert "70 % of the present size" in note
    assert packed_bed_note(wording, assess(told, "grind_finer")) == ""
    assert packed_bed_note(wording, assess(told, "dose_more", "training")) == ""


def test_two_notes_at_most_and_the_new_ones_first(assess: Assess, wording: Wording) -> None:
    """What the turn before already called for does not push out what is new."""
    before = assess({**SHOT, "tds": 8.5, "bean_age": 2.0})
    now = assess({**SHOT, "tds": 8.5, "bean_age": 2.0}, bean_state=("cold_or_damp", "frozen beans"))
    first, second = figure_notes(wording, before, None)
    assert first.startswith("17 % extracted")
    assert second.startswith("2 days from roast")
    told = figure_notes(wording, now, before)
    assert len(told) == 2
    assert told[0].startswith("Frozen beans")


def test_a_queue_is_spared_all_but_what_the_step_needs(assess: Assess, wording: Wording) -> None:
    """In service only thawing, where that is the step, says how long."""
    told = {**SHOT, "tds": 8.5, "bean_age": 2.0}
    assert figure_notes(wording, assess(told, "", "service"), None) == []
    (only,) = figure_notes(wording, assess(told, "let_beans_warm", "service"), None)
    assert only.startswith("Frozen beans")


def test_a_note_is_said_once_in_a_talk(rules: RuleBase, clock: Clock) -> None:
    """The next turn leaves it out."""
    chat = Conversation(rules=rules, clock=clock)
    first, second = (chat.say(line) for line in ("18 g in 36 g out 27 s, tds 8.5, sour", "don't know"))
    assert "17 % extracted" in first.text
    assert "extracted" not in second.text


def test_the_caffeine_note_says_how_many_shots_make_a_day(rules: RuleBase, clock: Clock) -> None:
    """400 mg (EFSA Journal 13(5):4102, 2015) over 135 to 227 mg a shot of 18 g is 1.8 to 3.0 shots."""
    chat = Conversation(rules=rules, clock=clock)
    *_, third = (chat.say(f"18 g in, 36 g out in {time} s, sour") for time in (14, 15, 16))
    assert "a day's worth is 2 to 3 such shots" in third.text
