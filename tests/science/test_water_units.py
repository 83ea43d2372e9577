"""Units, ions and meters: there and back again, and what is refused."""

from typing import get_args

import pytest
from hypothesis import given
from hypothesis import strategies as st

from diagnose.errors import OutOfRange
from diagnose.science.water.meter import (
    Convention,
    conductivity_from_ppm,
    convert_ppm,
    meter_readings,
    ppm_from_conductivity,
)
from diagnose.science.water.units import (
    HardnessUnit,
    Ion,
    caco3_as_ion,
    from_mg_l_caco3,
    in_all_units,
    ion_as_caco3,
    to_mg_l_caco3,
)


@given(st.floats(0.0, 1000.0), st.sampled_from(get_args(HardnessUnit)))
def test_units_there_and_back(mg_l: float, unit: HardnessUnit) -> None:
    """A hardness turned into any unit and back is the same."""
    assert to_mg_l_caco3(from_mg_l_caco3(mg_l, unit), unit) == pytest.approx(mg_l)


@given(st.floats(0.0, 1000.0), st.sampled_from(get_args(Ion)))
def test_ions_there_and_back(mg_l: float, ion: Ion) -> None:
    """An ion counted as calcium carbonate and back is the same."""
    assert caco3_as_ion(ion, ion_as_caco3(ion, mg_l)) == pytest.approx(mg_l)


def test_one_number_in_every_unit_agrees() -> None:
    """17.848 mg/L is one German degree (10 mg/L CaO) in every column, by the definitions of the degrees."""
    every = in_all_units(17.848)
    assert every.german_degrees == pytest.approx(1.0, abs=1e-4)
    assert every.french_degrees == pytest.approx(1.7848)
    assert every.english_degrees == pytest.approx(1.252, abs=1e-3)
    assert every.us_grains_per_gallon == pytest.approx(1.0427, abs=1e-3)
    assert every.meq_l == pytest.approx(2.0 * every.mmol_l)


@given(st.floats(1.0, 1413.0))
def test_conventions_are_ordered(conductivity_us_cm: float) -> None:
    """The 442 mixture always reads highest and sodium chloride lowest, 38 to 43 % apart."""
    every = meter_readings(conductivity_us_cm)
    assert every.nacl_ppm < every.kcl_ppm < every.mix_442_ppm
    assert 38.0 < every.spread_percent < 43.0


@given(st.floats(0.0, 1413.0), st.sampled_from(get_args(Convention)))
def test_meter_there_and_back(conductivity_us_cm: float, convention: Convention) -> None:
    """The conductivity behind a meter's ppm is the one it was made of."""
    ppm = ppm_from_conductivity(conductivity_us_cm, convention)
    assert conductivity_from_ppm(ppm, convention) == pytest.approx(conductivity_us_cm)


def test_ppm_between_conventions() -> None:
    """225.6 ppm by KCl is 300 ppm by 442 (a meter maker's table)."""
    assert convert_ppm(225.6, "KCl", "442") == pytest.approx(300.0)


def test_impossible_is_refused() -> None:
    """Negative amounts and conductivities beyond the meters' calibration are refused."""
    for make in (
        lambda: from_mg_l_caco3(-1.0, "fH"),
        lambda: to_mg_l_caco3(float("inf"), "gpg"),
        lambda: ion_as_caco3("Ca", -0.1),
        lambda: caco3_as_ion("Mg", -0.1),
        lambda: ppm_from_conductivity(2000.0, "442"),
        lambda: conductivity_from_ppm(1001.0, "442"),
        lambda: meter_readings(0.0),
    ):
        with pytest.raises(OutOfRange):
            make()
