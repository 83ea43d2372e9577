"""Blending and dosing: mass balance, what else comes along, and what cannot be done."""

from collections.abc import Callable
from dataclasses import replace

import pytest
from hypothesis import given
from hypothesis import strategies as st

from diagnose.errors import OutOfRange
from diagnose.science.water.blending import blend, blend_to, share_of_first
from diagnose.science.water.composition import Water
from diagnose.science.water.dosing import DOSING_CAUTIONS, PURE_WATER, SALTS, Recipe, dose_salts, ions_mg_l
from diagnose.science.water.units import ION_CHARGE

RAW = Water(hardness_mg_l_caco3=250.0, alkalinity_mg_l_caco3=200.0, ph=7.8, tds_mg_l=380.0, chloride_mg_l=40.0)
PURIFIED = Water(hardness_mg_l_caco3=10.0, alkalinity_mg_l_caco3=8.0, ph=6.0, tds_mg_l=15.0, chloride_mg_l=2.0)


def test_blend_mixes_all_but_ph() -> None:
    """Hardness, alkalinity, solids and ions mix in proportion; the pH of a blend is not known."""
    half = blend(RAW, PURIFIED, 0.5)
    assert half.hardness_mg_l_caco3 == 130.0
    assert half.alkalinity_mg_l_caco3 == 104.0
    assert half.tds_mg_l == 197.5
    assert half.chloride_mg_l == 21.0
    assert half.ph is None


def test_blend_keeps_gaps() -> None:
    """What one of the two lacks, the blend lacks."""
    assert blend(RAW, replace(PURIFIED, chloride_mg_l=None), 0.5).chloride_mg_l is None


def test_blend_of_ions_with_stated_hardness() -> None:
    """A water known by its ions and one known by drops still give hardness and alkalinity."""
    mixed = blend(Water(calcium_mg_l=72.0, magnesium_mg_l=26.0, bicarbonate_mg_l=133.0), PURIFIED, 0.5)
    assert mixed.total_hardness() == pytest.approx((286.9 + 10.0) / 2.0, abs=0.05)
    assert mixed.total_alkalinity() == pytest.approx((109.1 + 8.0) / 2.0, abs=0.05)


@pytest.mark.parametrize(("axis", "target"), [("hardness", 62.5), ("alkalinity", 50.0), ("dissolved solids", 94.84375)])
def test_blend_to_each_axis(axis: str, target: float) -> None:
    """The target is met on the axis aimed at; these three targets all ask for the share 0.21875."""
    found = blend_to(RAW, PURIFIED, axis, target)  # type: ignore[arg-type]
    assert found.first_share == pytest.approx(0.21875)
    assert found.water.total_hardness() == pytest.approx(62.5)


@given(st.floats(0.0, 1.0))
def test_share_is_found_again(share: float) -> None:
    """The share that made a mixture is the share found for it."""
    made = blend(RAW, PURIFIED, share)
    assert share_of_first(made.total_hardness() or 0.0, 250.0, 10.0) == pytest.approx(share, abs=1e-9)


def test_blends_that_cannot_be() -> None:
    """A target outside both waters, twin waters, an unknown amount, a share above one: refused with what to do."""
    with pytest.raises(OutOfRange, match="8 to 200"):
        blend_to(RAW, PURIFIED, "alkalinity", 250.0)
    with pytest.raises(OutOfRange, match="another second water"):
        share_of_first(5.0, 10.0, 10.0)
    with pytest.raises(OutOfRange, match="measure"):
        blend_to(RAW, Water(ph=7.0), "hardness", 50.0)
    with pytest.raises(OutOfRange, match="0 to 1"):
        blend(RAW, PURIFIED, 1.5)


hardness_salts = st.sampled_from([name for name, salt in SALTS.items() if salt.purpose == "hardness"])
alkalinity_salts = st.sampled_from([name for name, salt in SALTS.items() if salt.purpose == "alkalinity"])


@given(hardness_salts, alkalinity_salts, st.floats(0.0, 300.0), st.floats(0.0, 200.0), st.floats(0.5, 50.0))
def test_dosing_meets_both_targets(hard: str, alkaline: str, hardness: float, alkalinity: float, volume: float) -> None:
    """Whatever the salts, the finished water has the hardness and alkalinity asked for, and its charges balance."""
    plan = dose_salts(hardness, alkalinity, volume, Recipe(hard, alkaline, 2.0, 50.0))
    assert plan.water.total_hardness() == pytest.approx(hardness, abs=1e-6)
    assert plan.water.total_alkalinity() == pytest.approx(alkalinity, abs=1e-6)
    adds = dict(plan.adds_mg_l)
    masses = {"Ca": 40.078, "Mg": 24.305, "Na": 22.990, "K": 39.098, "HCO3": 61.016, "Cl": 35.45, "SO4": 96.056}
    charge = {ion: adds[ion] / masses[ion] * ION_CHARGE[ion] for ion in adds}
    positive = sum(charge.get(ion, 0.0) for ion in ("Ca", "Mg", "Na", "K"))
    assert positive == pytest.approx(sum(charge.values()) - positive, abs=1e-6)


def test_grams_and_millilitres() -> None:
    """5 L of 68/40 from pure water: 0.84 g Epsom salt or 16.7 mL of 50 g/L; 0.34 g baking soda or 6.7 mL."""
    epsom, soda = dose_salts(68.0, 40.0, 5.0).doses
    assert (round(epsom.grams, 2), round(epsom.concentrate_ml, 1)) == (0.84, 16.7)
    assert (round(soda.grams, 2), round(soda.concentrate_ml, 1)) == (0.34, 6.7)


def test_dosing_adds_to_what_is_there() -> None:
    """A base that holds some of each gets only the rest, and its own ions stay."""
    base = replace(PURE_WATER, calcium_mg_l=20.0, bicarbonate_mg_l=24.4, sodium_mg_l=5.0, tds_mg_l=60.0)
    plan = dose_salts(100.0, 40.0, 1.0, base=base)
    assert plan.doses[0].salt_mg_l == pytest.approx((100.0 - 49.95) * 2.4626, abs=0.1)
    assert plan.water.sodium_mg_l == pytest.approx(5.0 + dict(plan.adds_mg_l)["Na"])
    assert plan.water.tds_mg_l == pytest.approx(60.0 + sum(dict(plan.adds_mg_l).values()))


def test_dosing_leaves_the_unknown_unknown() -> None:
    """A base known only by drops keeps its unknown ions unknown, and its hardness and alkalinity come right."""
    plan = dose_salts(80.0, 45.0, 1.0, base=Water(hardness_mg_l_caco3=20.0, alkalinity_mg_l_caco3=15.0))
    assert plan.water.magnesium_mg_l is None
    assert plan.water.tds_mg_l is None
    assert plan.water.total_hardness() == pytest.approx(80.0)
    assert plan.water.total_alkalinity() == pytest.approx(45.0)


def test_dosing_cautions() -> None:
    """The cautions speak of food grade, two bottles, eye protection and the maker."""
    said = " ".join(DOSING_CAUTIONS)
    assert all(word in said for word in ("Food-grade", "two bottles", "eye protection", "maker"))


def test_salt_brings_its_ions() -> None:
    """100 mg/L baking soda gives 27.4 mg/L sodium and 72.6 mg/L bicarbonate (molar masses)."""
    ions = ions_mg_l(SALTS["NaHCO3"], 100.0)
    assert ions["Na"] == pytest.approx(27.37, abs=0.01)
    assert ions["HCO3"] == pytest.approx(72.63, abs=0.01)


def test_doses_that_cannot_be() -> None:
    """Less than is there already, the wrong salt, too strong a concentrate, an unknown base: refused."""
    impossible: tuple[tuple[Callable[[], object], str], ...] = (
        (lambda: dose_salts(5.0, 40.0, 1.0, base=PURIFIED), "10 to 1000"),
        (lambda: dose_salts(68.0, 40.0, 1.0, base=Water(hardness_mg_l_caco3=5.0)), "alkalinity of the water"),
        (lambda: dose_salts(68.0, 40.0, 1.0, Recipe(hardness_salt="NaHCO3")), "MgSO4.7H2O"),
        (lambda: dose_salts(68.0, 40.0, 1.0, Recipe(alkalinity_salt="NaCl")), "NaHCO3, KHCO3"),
        (lambda: dose_salts(68.0, 40.0, 1.0, Recipe("CaSO4.2H2O")), "0.1 to 2 g/L"),
        (lambda: dose_salts(68.0, 40.0, 0.0), "0.1 to 10000 L"),
    )
    for make, says in impossible:
        with pytest.raises(OutOfRange, match=says):
            make()
