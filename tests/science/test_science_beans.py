"""Beans and caffeine: windows by roast, opened bags, thawing, storage, and intakes that are refused or added up."""

import pytest

from diagnose.errors import OutOfRange
from diagnose.science.beans import (
    WINDOWS_DAYS,
    Roast,
    age_state,
    oxygen_factor,
    thaw_time,
    warmth_factor,
    water_activity_factor,
)
from diagnose.science.caffeine import caffeine_mg, limits, shots_per_day


@pytest.mark.parametrize(
    ("days", "roast", "state"),
    [
        (3, "dark", "too_fresh"),
        (4, "dark", "in_window"),
        (21, "dark", "in_window"),
        (22, "dark", "declining"),
        (6, "medium", "too_fresh"),
        (7, "medium", "in_window"),
        (28, "medium", "in_window"),
        (9, "light", "too_fresh"),
        (40, "light", "in_window"),
        (41, "light", "declining"),
        (75, "light", "declining"),
        (76, "light", "past"),
    ],
)
def test_closed_bag_by_roast(days: float, roast: Roast, state: str) -> None:
    """Dark 4-21, medium 7-28, light 10-40 days, then declining to about 75 days (common practice, no source)."""
    assert age_state(days, roast).state == state


@pytest.mark.parametrize(
    ("days", "opened", "state", "reasons"),
    [
        (20, 13, "in_window", ("inside_window",)),
        (20, 14, "declining", ("opened_two_weeks",)),
        (28, 28, "past", ("opened_four_weeks",)),
        (35, 5, "past", ("window_over",)),
        (80, 5, "past", ("window_over", "kept_too_long")),
        (5, 1, "too_fresh", ("gas_not_yet_left",)),
        (None, None, "undated", ("no_roast_date",)),
        (None, 3, "undated", ("no_roast_date",)),
        (None, 20, "declining", ("no_roast_date", "opened_two_weeks")),
        (None, 40, "past", ("opened_four_weeks",)),
    ],
)
def test_opened_or_undated_bag(days: float | None, opened: float | None, state: str, reasons: tuple[str, ...]) -> None:
    """An opened bag declines from two weeks and is past at four, with or without a date; the reasons say which."""
    result = age_state(days, "medium", opened)
    assert (result.state, result.reasons) == (state, reasons)
    assert result.window_days == WINDOWS_DAYS["medium"]


def test_lighter_roasts_rest_longer_and_last_longer() -> None:
    """Both ends of the window move later from dark to light."""
    dark, medium, light = (WINDOWS_DAYS[roast] for roast in ("dark", "medium", "light"))
    assert dark[0] < medium[0] < light[0]
    assert dark[1] < medium[1] < light[1]


def test_thawing_takes_hours() -> None:
    """A bag two to three hours, a kilogram overnight (common practice, no source)."""
    bag, kilogram = thaw_time(250), thaw_time(1000)
    assert (bag.low, bag.high, bag.unit) == (2, 3, "h")
    assert kilogram.low > bag.high


def test_temperature_is_the_weak_lever_of_three() -> None:
    """Ten degrees stay inside the published 15-23 % from 10 to 35 degC, far below oxygen and moisture."""
    for start in (10, 15, 20, 25):
        assert 1.15 <= warmth_factor(start, start + 10) <= 1.23
    assert warmth_factor(20, 30) < water_activity_factor(0.2, 0.3) < oxygen_factor(0.5, 21.3)
    assert oxygen_factor(0.5, 5) * oxygen_factor(5, 21.3) == pytest.approx(20)
    assert oxygen_factor(21.3, 0.5) == pytest.approx(1 / 20)


def test_caffeine_is_counted_by_dose() -> None:
    """Twice the dose is twice the caffeine; two to three 18 g doubles reach an adult's day, one or so in pregnancy."""
    single, double = caffeine_mg(9), caffeine_mg(18)
    assert double.low == pytest.approx(2 * single.low)
    assert double.high == pytest.approx(2 * single.high)
    assert double.unit == "mg"
    adult, pregnant = shots_per_day(18), shots_per_day(18, "pregnant")
    assert 1.7 < adult.low < 2 < adult.high < 3
    assert pregnant.high == pytest.approx(adult.high / 2)
    assert limits("pregnant").single_mg is None


@pytest.mark.parametrize(
    ("call", "said"),
    [
        (lambda: age_state(-1), "0 to 3650 days"),
        (lambda: age_state(10, "dark", 11), "0 to 10 days"),
        (lambda: age_state(None, "dark", -1), "0 to 3650 days"),
        (lambda: thaw_time(0), "5 to 5000 g"),
        (lambda: oxygen_factor(0, 21), "0.5 to 21.3 kPa"),
        (lambda: oxygen_factor(1, 101), "0.5 to 21.3 kPa"),
        (lambda: water_activity_factor(0, 0.3), "0.05 to 0.6"),
        (lambda: water_activity_factor(0.3, 1), "0.05 to 0.6"),
        (lambda: warmth_factor(-18, 20), "4 to 45 degC"),
        (lambda: warmth_factor(20, -18), "4 to 45 degC"),
        (lambda: caffeine_mg(0), "0.1 to 100 g"),
    ],
)
def test_impossible_input_is_refused_with_range_and_unit(call: object, said: str) -> None:
    """Nothing is computed from a number that cannot be; the message says what could."""
    assert callable(call)
    with pytest.raises(OutOfRange, match=said):
        call()
