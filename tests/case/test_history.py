"""What shots at one setting say together: alike, scattered, drifting, shifted, or one odd among them."""

import pytest

from diagnose.case.fold import Case
from diagnose.case.history import History, history_of, series
from diagnose.case.measures import measures_of
from diagnose.model import Quantity, Shot


def grams(value: float) -> Quantity:
    """Return an exact mass."""
    return Quantity.exact(value, "g")


def seconds(value: float) -> Quantity:
    """Return an exact time."""
    return Quantity.exact(value, "s")


def pulled(dial: float | None, time: float, dose: float | None = None) -> dict[str, Quantity]:
    """Return the measures of an earlier shot."""
    found = {"time": seconds(time)}
    if dial is not None:
        found["dial"] = Quantity.exact(dial, "notch")
    return found if dose is None else {**found, "dose": grams(dose)}


def case_of(shot: dict[str, Quantity]) -> Case:
    """Return a case with one current shot."""
    return Case("home", (Shot(1, shot),), {"dose": grams(18), "yield": grams(36), "time": seconds(27)}, current=1)


def test_history_keeps_bags_and_doses_apart() -> None:
    """Shots of this bag at this dose tell of the grind now; others are stretches of their own, in order."""
    case = case_of(pulled(9, 20, 18))
    old = [pulled(10, 30, 18), pulled(11, 33), pulled(11, 38, 20)]
    new = [pulled(9, 22, 18), pulled(9, 21), pulled(8, 30, 19), pulled(9, 23, 18.2)]
    found = history_of(case, old, new)
    assert found.grind == ((9, 22), (9, 21), (9, 23))
    assert found.times == (22, 21, 23)
    assert found.before == (((10, 30), (11, 33)), ((11, 38),), ((8, 30),))
    assert history_of(case) == History()


def test_without_a_dial_untouched_shots_at_the_same_dose_are_compared() -> None:
    """Only what was pulled since the grind was last moved counts, and no shot with a dial's number of its own."""
    told = [pulled(None, 25, 18), pulled(None, 26), pulled(None, 31, 20), pulled(4, 40)]
    assert history_of(case_of(pulled(None, 27, 18)), told, untouched=told).times == (25, 26)
    assert history_of(case_of(pulled(9, 27, 18)), told, untouched=told).times == ()


def test_a_first_shot_has_nothing_to_be_compared_with() -> None:
    """No measures are made up."""
    assert series((), 27, 2.5) == {}
    assert "alike" not in measures_of(case_of(pulled(9, 27, 18))).values


def test_two_shots_are_compared_in_spreads_of_their_difference() -> None:
    """27 and 30 s at a spread of 2 s differ by 3 / (2 sqrt 2)."""
    assert series((27,), 30, 2.0) == {"alike": 2, "repeat_off": pytest.approx(3 / (2 * 2**0.5))}


def test_one_odd_shot_does_not_pass_for_scatter() -> None:
    """27, 28, 27, 26, then 14 s: far off the others, whose own spread stays small."""
    found = series((27, 28, 27, 26), 14, 2.5)
    assert found["repeat_off"] > 4
    assert found["scatter_ratio"] < 1
    assert found["drift"] < 3 or found["repeat_off"] > found["drift"]


def test_scatter_drift_and_shift_are_told_apart() -> None:
    """Up and down is scatter; a second more each time is drift; from one shot to the next is a shift of so many s."""
    jumpy = series((20, 34, 22), 35, 2.5)
    assert jumpy["scatter_ratio"] == pytest.approx(13 / 0.954 / 2.5)
    drifting = series((30, 29, 27, 26, 24), 23, 2.0)
    assert drifting["drift"] > 3
    assert drifting["shift"] == 0
    shifted = series((28, 27, 28, 20, 19), 20, 2.0)
    assert shifted["shift"] > 3.5
    assert shifted["drift"] == 0
    assert shifted["shift_s"] == pytest.approx(-8, abs=0.1)


def test_the_measures_of_a_shot_carry_its_series() -> None:
    """Times at the dial's number are compared with the current one."""
    found = measures_of(case_of(pulled(9, 27, 18)), History(times=(26, 28, 27)))
    assert found.values["alike"] == 4
    assert found.values["repeat_off"] == 0
