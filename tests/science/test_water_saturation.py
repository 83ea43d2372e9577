"""The saturation indices: directions, the two forms together, and where the formulas end."""

import pytest
from hypothesis import given
from hypothesis import strategies as st

from diagnose.errors import OutOfRange
from diagnose.science.water.saturation import (
    activity_pf,
    bicarbonate_pk,
    calcite_pk,
    indices,
    saturation,
    saturation_ph,
    saturation_ph_simple,
)
from diagnose.science.water.scale import (
    DESCALING_CAUTIONS,
    carbonate_hardness_mg_l_caco3,
    descaling,
    scale_bound_g,
)

waters = st.tuples(st.floats(50.0, 500.0), st.floats(20.0, 300.0), st.floats(20.0, 250.0))


@given(waters, st.floats(5.0, 125.0))
def test_hotter_scales_more(water: tuple[float, float, float], degc: float) -> None:
    """At one pH, a warmer water is always nearer to scaling: calcite dissolves less in hot water."""
    assert saturation(7.5, degc + 5.0, *water).langelier > saturation(7.5, degc, *water).langelier


@given(waters, st.floats(20.0, 93.0))
def test_forms_agree_within_a_third_of_a_unit(water: tuple[float, float, float], degc: float) -> None:
    """Over tap waters and temperatures up to brewing the two forms stay within 0.35."""
    assert abs(saturation_ph(degc, *water) - saturation_ph_simple(degc, *water)) < 0.35


@given(waters, st.floats(6.0, 9.0))
def test_indices_hang_together(water: tuple[float, float, float], ph: float) -> None:
    """Langelier + Ryznar = pHs, by their definitions."""
    found = saturation(ph, 93.0, *water)
    assert found.langelier + found.ryznar == pytest.approx(found.ph_saturation)


def test_tenfold_calcium_is_one_unit() -> None:
    """Ten times the calcium at the same solids moves the index by exactly one."""
    few, many = saturation(7.0, 25.0, 300.0, 20.0, 100.0), saturation(7.0, 25.0, 300.0, 200.0, 100.0)
    assert many.langelier - few.langelier == pytest.approx(1.0)


def test_activity_of_pure_and_of_salty_water() -> None:
    """Pure water has no correction; I = 0.01 at 25 degC gives 0.045 (Davies, A = 0.509)."""
    assert activity_pf(25.0, 0.0) == 0.0
    assert activity_pf(25.0, 400.0) == pytest.approx(0.509 * (0.1 / 1.1 - 0.003), abs=0.0005)


def test_carbonate_hardness_is_the_smaller_part() -> None:
    """Chalk needs both calcium and alkalinity."""
    assert carbonate_hardness_mg_l_caco3(180.0, 109.0) == 109.0
    assert carbonate_hardness_mg_l_caco3(17.0, 109.0) == 17.0


def test_scale_bound_is_linear() -> None:
    """Half the water, half the days: a quarter of the chalk."""
    assert scale_bound_g(10.0, 200.0, 182.5) == pytest.approx(scale_bound_g(20.0, 200.0) / 4.0)


def test_descaling_stoichiometry() -> None:
    """100 g of chalk: 128 g of anhydrous or 140 g of monohydrate citric acid, 44 g of gas (molar masses)."""
    dry, crystal = descaling(100.0), descaling(100.0, water_of_crystal=1)
    assert dry.citric_acid_g == pytest.approx(128.0, abs=0.1)
    assert crystal.citric_acid_g == pytest.approx(140.0, abs=0.1)
    assert dry.carbon_dioxide_g == crystal.carbon_dioxide_g == pytest.approx(44.0, abs=0.1)


def test_descaling_cautions_defer_and_warn() -> None:
    """The cautions name the manual, eye protection, chlorine and the technician."""
    said = " ".join(DESCALING_CAUTIONS)
    assert all(word in said for word in ("manual", "eye protection", "chlorine", "technician"))


def test_impossible_is_refused() -> None:
    """Each argument is held to its range, with the unit in the message."""
    for make, says in (
        (lambda: saturation_ph(131.0, 150.0, 68.0, 40.0), "0 to 130 degC"),
        (lambda: saturation_ph_simple(25.0, 0.0, 68.0, 40.0), "1 to 5000 mg/L"),
        (lambda: saturation_ph(25.0, 150.0, 0.0, 40.0), "0.1 to 3000 mg/L as CaCO3"),
        (lambda: saturation_ph(25.0, 150.0, 68.0, -1.0), "0.1 to 3000 mg/L as CaCO3"),
        (lambda: bicarbonate_pk(300.0), "0 to 130 degC"),
        (lambda: calcite_pk(-5.0), "0 to 130 degC"),
        (lambda: indices(15.0, 25.0, 8.0), "4 to 10"),
        (lambda: scale_bound_g(-1.0, 100.0), "0 to 5000 L/day"),
        (lambda: scale_bound_g(1.0, -100.0), "0 to 5000 mg/L as CaCO3"),
        (lambda: scale_bound_g(1.0, 100.0, -1.0), "0 to 36500 days"),
        (lambda: carbonate_hardness_mg_l_caco3(-1.0, 5.0), "mg/L as CaCO3"),
        (lambda: carbonate_hardness_mg_l_caco3(1.0, -5.0), "mg/L as CaCO3"),
        (lambda: descaling(-1.0), "0 to 10000 g"),
        (lambda: descaling(1.0, 2), "0 to 1"),
    ):
        with pytest.raises(OutOfRange, match=says):
            make()
