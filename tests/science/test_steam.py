"""Steam by gauge: agreement with a reference library over the whole range, altitude, wetness, and reading backwards."""

from collections.abc import Callable

import pytest
from hypothesis import given
from hypothesis import strategies as st
from iapws import IAPWS97

from diagnose.errors import OutOfRange
from diagnose.science.steam import (
    atmospheric_pressure_bar,
    boiling_point_degc,
    gauge_pressure_bar,
    saturated_steam,
    saturation_pressure_bar,
    saturation_temperature_degc,
)

PRESSURES = [step / 5.0 for step in range(16)]


@pytest.mark.parametrize("altitude_m", [0.0, 2500.0, 5000.0])
@pytest.mark.parametrize("gauge_bar", PRESSURES)
def test_agrees_with_reference_library(gauge_bar: float, altitude_m: float) -> None:
    """Temperature agrees with the `iapws` library to 0.0001 K and both enthalpies to 0.01 kJ/kg."""
    ours = saturated_steam(gauge_bar, altitude_m)
    liquid = IAPWS97(P=ours.absolute_pressure_bar / 10.0, x=0)
    vapour = IAPWS97(P=ours.absolute_pressure_bar / 10.0, x=1)
    assert ours.temperature_degc == pytest.approx(liquid.T - 273.15, abs=1e-4)
    assert ours.water_enthalpy_kj_kg == pytest.approx(liquid.h, abs=0.01)
    assert ours.steam_enthalpy_kj_kg == pytest.approx(vapour.h, abs=0.01)
    assert ours.evaporation_enthalpy_kj_kg == pytest.approx(vapour.h - liquid.h, abs=0.015)


@given(st.floats(min_value=0.1, max_value=20.0))
def test_saturation_reads_both_ways(pressure_bar: float) -> None:
    """The pressure at the boiling temperature of a pressure is that pressure (IAPWS R7-97 is one equation)."""
    assert saturation_pressure_bar(saturation_temperature_degc(pressure_bar)) == pytest.approx(pressure_bar, rel=1e-9)


def test_published_saturation_pressure() -> None:
    """1 bar absolute is reached at 99.606 degC (IAPWS R7-97, table 36, read backwards)."""
    assert saturation_pressure_bar(372.755919 - 273.15) == pytest.approx(1.0, abs=1e-6)


def test_gauge_is_not_absolute() -> None:
    """A gauge at 1.0 bar stands for about 2 bar absolute, some 21 degC above the row a steam table has for 1.0."""
    ours = saturated_steam(1.0)
    assert ours.absolute_pressure_bar == pytest.approx(2.01325)
    assert ours.temperature_degc - saturation_temperature_degc(1.0) == pytest.approx(20.8, abs=0.1)


def test_altitude_cools_the_same_gauge_reading() -> None:
    """At 2000 m the same 1.0 bar gauge is cooler by more than 3 degC, and open water boils 6.65 degC lower."""
    assert saturated_steam(1.0).temperature_degc - saturated_steam(1.0, 2000.0).temperature_degc > 3.0
    assert boiling_point_degc() - boiling_point_degc(2000.0) == pytest.approx(6.65, abs=0.01)


def test_wet_steam_lies_between_water_and_vapour() -> None:
    """Dryness 1 is vapour, 0 is water, 0.9 is nine tenths of the way."""
    steam = saturated_steam(1.0)
    assert steam.enthalpy_kj_kg() == pytest.approx(steam.steam_enthalpy_kj_kg)
    assert steam.enthalpy_kj_kg(0.0) == steam.water_enthalpy_kj_kg
    assert steam.enthalpy_kj_kg(0.9) == pytest.approx(2706.5 - 0.1 * 2201.0, abs=0.1)


@pytest.mark.parametrize("altitude_m", [0.0, 1500.0])
def test_gauge_of_a_boiler_in_degrees(altitude_m: float) -> None:
    """A machine that shows degrees gives back the gauge pressure, down to none at the boiling point."""
    for bar in (0.0, 0.9, 1.2, 2.9):
        degc = saturated_steam(bar, altitude_m).temperature_degc
        assert gauge_pressure_bar(degc, altitude_m) == pytest.approx(bar, abs=1e-6)


def test_slope_near_a_working_boiler() -> None:
    """Near 1.1 bar gauge a tenth of a bar is about 1.5 degC (steam tables)."""
    assert saturated_steam(1.15).temperature_degc - saturated_steam(1.05).temperature_degc == pytest.approx(
        1.5, abs=0.05
    )


def test_air_pressure_of_the_standard_atmosphere() -> None:
    """Sea level has 1.01325 bar and 3000 m 0.70109 bar (ISO 2533:1975, the latter from memory)."""
    assert atmospheric_pressure_bar() == 1.01325
    assert atmospheric_pressure_bar(3000.0) == pytest.approx(0.70109, abs=1e-4)


@pytest.mark.parametrize(
    ("reading", "says"),
    [
        (lambda: saturated_steam(-0.1), "0 to 3 bar gauge"),
        (lambda: saturated_steam(3.1), "0 to 3 bar gauge"),
        (lambda: saturated_steam(1.0, 9000.0), "-430 to 5000 m"),
        (lambda: saturated_steam(1.0).enthalpy_kj_kg(1.1), "0 to 1"),
        (lambda: saturation_temperature_degc(0.0), "0.1 to 20 bar"),
        (lambda: saturation_pressure_bar(300.0), "45 to 213 degC"),
        (lambda: gauge_pressure_bar(93.0), "0 to 3 bar gauge"),
        (lambda: gauge_pressure_bar(160.0), "0 to 3 bar gauge"),
    ],
)
def test_refused_with_range_and_unit(reading: Callable[[], object], says: str) -> None:
    """What no machine shows is refused with the range and the unit."""
    with pytest.raises(OutOfRange, match=says):
        reading()
