"""The energy balance in the jug: closure, directions, and what it refuses."""

from dataclasses import replace

import pytest
from hypothesis import given
from hypothesis import strategies as st

from diagnose.errors import OutOfRange
from diagnose.science.milk.heat import (
    WATER_SPECIFIC_HEAT_KJ_KGK,
    Portion,
    Steaming,
    condensate_g,
    heat_balance,
    mixed_temperature_degc,
    wet_steam_extra_g,
)

JUG = Steaming(200.0, 5.0, 65.0)

jugs = st.builds(
    Steaming,
    milk_g=st.floats(50.0, 1000.0),
    start_degc=st.floats(0.0, 30.0),
    stop_degc=st.floats(40.0, 80.0),
    gauge_pressure_bar=st.floats(0.0, 3.0),
    dryness=st.floats(0.5, 1.0),
    altitude_m=st.floats(0.0, 3000.0),
)


@given(jugs)
def test_heat_given_is_heat_taken(jug: Steaming) -> None:
    """What the steam gives on condensing and cooling to the final temperature is what the milk took up."""
    balance = heat_balance(jug)
    kept = WATER_SPECIFIC_HEAT_KJ_KGK * jug.stop_degc
    given_kj = balance.condensate_g / 1000.0 * (jug.steam().enthalpy_kj_kg(jug.dryness) - kept)
    assert given_kj == pytest.approx(balance.heat_kj, rel=1e-9)
    assert balance.final_mass_g == pytest.approx(jug.milk_g + balance.condensate_g)
    assert balance.percent_of_final < balance.percent_of_milk


def test_the_jug_of_the_textbook_range() -> None:
    """200 g from 5 to 65 degC at 1.0 bar gauge takes 19.4 g of steam, 8.8 % of the cup (energy balance)."""
    balance = heat_balance(JUG)
    assert round(balance.condensate_g, 1) == 19.4
    assert round(balance.percent_of_final, 1) == 8.8


def test_colder_milk_gains_more_water() -> None:
    """Starting colder thins the milk more, not only takes longer."""
    assert heat_balance(replace(JUG, start_degc=2.0)).percent_of_milk > heat_balance(JUG).percent_of_milk


def test_boiler_pressure_hardly_changes_dilution() -> None:
    """From 0.8 to 2.0 bar gauge the condensate changes by less than 1 %: pressure buys speed, not dryness."""
    low, high = (heat_balance(replace(JUG, gauge_pressure_bar=bar)).condensate_g for bar in (0.8, 2.0))
    assert 0.0 < (low - high) / low < 0.01


def test_wet_steam_brings_its_own_water() -> None:
    """Steam a tenth wet leaves about 1.9 g more in 200 g of milk; dry steam leaves nothing more."""
    assert wet_steam_extra_g(replace(JUG, dryness=0.9)) == pytest.approx(21.30 - 19.37, abs=0.01)
    assert wet_steam_extra_g(JUG) == 0.0


def test_condensate_grows_from_nothing() -> None:
    """At the starting temperature no steam has condensed; on the way some has."""
    assert condensate_g(JUG, 5.0) == 0.0
    assert 0.0 < condensate_g(JUG, 30.0) < condensate_g(JUG, 65.0)


def test_equal_portions_meet_in_the_middle() -> None:
    """Two like portions mix to the mean, and one alone keeps its temperature."""
    assert mixed_temperature_degc([Portion(100.0, 20.0), Portion(100.0, 60.0)]) == pytest.approx(40.0)
    assert mixed_temperature_degc([Portion(30.0, 71.0)]) == pytest.approx(71.0)


def test_a_cold_cup_costs_degrees() -> None:
    """A 250 g stoneware cup at 20 degC takes about 8 degC from a 236 g drink at 61.6 degC (heat balance)."""
    drink, cup = Portion(236.0, 61.6, 3.96), Portion(250.0, 20.0, 0.9)
    assert 61.6 - mixed_temperature_degc([drink, cup]) == pytest.approx(8.07, abs=0.05)


@pytest.mark.parametrize(
    ("changed", "says"),
    [
        ({"milk_g": 5.0}, "10 to 5000 g"),
        ({"start_degc": -1.0}, "0 to 60 degC"),
        ({"stop_degc": 96.0}, "0 to 95 degC"),
        ({"stop_degc": 5.0}, "above 5"),
        ({"dryness": 0.4}, "0.5 to 1"),
        ({"gauge_pressure_bar": 4.0}, "0 to 3 bar gauge"),
        ({"specific_heat_kj_kgk": 2.5}, "3.6 to 4.2"),
        ({"stop_degc": 90.0, "altitude_m": 4000.0}, "0 to 86"),
    ],
)
def test_impossible_jugs_are_refused(changed: dict[str, float], says: str) -> None:
    """A jug that cannot be is refused when it is made; on a mountain milk boils before 90 degC."""
    with pytest.raises(OutOfRange, match=says):
        replace(JUG, **changed)


def test_impossible_mixtures_are_refused() -> None:
    """No portion, no mass, or boiling over: refused. So is asking for milk colder than it started."""
    for portions in ([], [Portion(0.0, 20.0)], [Portion(10.0, 120.0)], [Portion(10.0, 20.0, 9.0)]):
        with pytest.raises(OutOfRange):
            mixed_temperature_degc(portions)
    with pytest.raises(OutOfRange, match="5 to 95 degC"):
        condensate_g(JUG, 4.0)
