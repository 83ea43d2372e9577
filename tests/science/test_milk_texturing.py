"""The window for air, shutting early, time, and the jug's growth split into air, condensate and warming."""

import pytest
from hypothesis import given
from hypothesis import strategies as st

from diagnose.errors import OutOfRange
from diagnose.science.milk.heat import Steaming, heat_balance
from diagnose.science.milk.texturing import (
    SERVING_DEGC,
    Progress,
    seconds_at_rate,
    seconds_until,
    shut_steam_at_degc,
    texturing_window,
)
from diagnose.science.milk.volume import milk_density_kg_l, volume_growth

JUG = Steaming(200.0, 5.0, 65.0)


@given(st.floats(0.0, 60.0), st.floats(61.0, 80.0))
def test_window_parts_make_the_whole(start_degc: float, stop_degc: float) -> None:
    """Air and rolling degrees always add up to the rise, and neither is negative."""
    window = texturing_window(start_degc, stop_degc)
    assert window.air_degrees + window.roll_degrees == pytest.approx(stop_degc - start_degc)
    assert min(window.air_degrees, window.roll_degrees) >= 0.0
    assert 0.0 <= window.air_percent <= 100.0


def test_warm_milk_loses_most_of_its_air_window() -> None:
    """With air up to 38 degC, milk from the fridge (4) has 34 degrees for it and milk at 20 to 30 only 18 to 8."""
    degrees = [texturing_window(start, 60.0, 38.0).air_degrees for start in (4.0, 20.0, 30.0)]
    assert degrees == [34.0, 18.0, 8.0]


def test_milk_past_body_warmth_has_no_window() -> None:
    """Milk that starts above the end of the window has no air degrees; milk stopped below it has no rolling ones."""
    assert texturing_window(45.0, 60.0).air_degrees == 0.0
    assert texturing_window(5.0, 30.0).roll_degrees == 0.0


def test_first_third_of_the_rise_is_too_short() -> None:
    """A third of the rise from 4 to 60 degC ends at 23 degC; the window to 37 degC is about 59 % of it."""
    assert texturing_window(4.0, 60.0).air_percent == pytest.approx(58.9, abs=0.1)


def test_shut_early() -> None:
    """For 60 degC the steam is shut at 57 to 58 with a strong wand and at 55 to 57 by a dial (common practice)."""
    wand, dial = shut_steam_at_degc(60.0), shut_steam_at_degc(60.0, "dial thermometer")
    assert (wand.low, wand.high) == (57.0, 58.0)
    assert (dial.low, dial.high) == (55.0, 57.0)


def test_serving_ranges_are_below_cooked() -> None:
    """Every serving range is 5 to 10 degrees wide and ends at 65 degC or lower."""
    assert all(5.0 <= each.high - each.low <= 10.0 and each.high <= 65.0 for each in SERVING_DEGC.values())


def test_time_goes_with_condensate() -> None:
    """At a steady flow of steam, time to a temperature is as the steam condensed by then."""
    halfway = Progress(10.0, 35.0)
    assert seconds_until(JUG, halfway, 35.0) == pytest.approx(10.0)
    whole = seconds_until(JUG, halfway, 65.0)
    assert whole == pytest.approx(10.0 * 19.374 / (200 * 3.93 * 30.0 / (2706.5 - 4.19 * 35.0)), abs=0.01)
    assert 20.0 < whole < 22.0


def test_time_at_an_observed_rate() -> None:
    """60 degrees at 2 degC per second are 30 s."""
    assert seconds_at_rate(5.0, 65.0, 2.0) == pytest.approx(30.0)


@given(st.floats(0.0, 20.0), st.floats(45.0, 75.0), st.floats(1.2, 2.5))
def test_growth_parts_add_up(start_degc: float, stop_degc: float, growth: float) -> None:
    """Air, condensate and warming make up the whole growth."""
    steam_g = heat_balance(Steaming(200.0, start_degc, stop_degc)).condensate_g
    parts = volume_growth(200.0, start_degc, stop_degc, steam_g, growth * 200.0)
    assert parts.air_percent + parts.condensate_percent + parts.warming_percent == pytest.approx(parts.total_percent)


def test_condensate_is_not_foam() -> None:
    """A jug with no air taken in still grows by about 12 %: that is condensate and warming."""
    liquid_ml = 200.0 / milk_density_kg_l(65.0) + 19.37 / 0.983
    parts = volume_growth(200.0, 5.0, 65.0, 19.37, liquid_ml)
    assert parts.air_ml == pytest.approx(0.0, abs=1e-9)
    assert parts.total_percent == pytest.approx(12.2, abs=0.1)
    assert parts.condensate_percent > 4.0 * parts.warming_percent


@given(st.floats(0.0, 79.0))
def test_milk_gets_lighter_as_it_warms(degc: float) -> None:
    """Density falls with temperature all the way, also beyond the table's ends."""
    assert milk_density_kg_l(degc) > milk_density_kg_l(degc + 1.0)


def test_impossible_is_refused() -> None:
    """Rates, times, temperatures and volumes that cannot be are refused."""
    for make in (
        lambda: texturing_window(5.0, 60.0, 60.0),
        lambda: texturing_window(70.0, 75.0),
        lambda: shut_steam_at_degc(95.0),
        lambda: seconds_at_rate(5.0, 65.0, 0.0),
        lambda: seconds_until(JUG, Progress(0.0, 30.0), 65.0),
        lambda: seconds_until(JUG, Progress(5.0, 5.0), 65.0),
        lambda: milk_density_kg_l(90.0),
        lambda: volume_growth(200.0, 5.0, 65.0, 19.4, 150.0),
        lambda: volume_growth(200.0, 5.0, 65.0, -1.0, 250.0),
        lambda: volume_growth(2.0, 5.0, 65.0, 1.0, 250.0),
    ):
        with pytest.raises(OutOfRange):
            make()
