"""Judging a water and reporting on it: the words, the reasons, the gaps said out loud."""

import json
from dataclasses import asdict, replace

import pytest

from diagnose.errors import OutOfRange
from diagnose.science.water.composition import Water
from diagnose.science.water.corrosion import corrosion, stainless_grade
from diagnose.science.water.judgement import judge, level_of
from diagnose.science.water.report import water_report
from diagnose.science.water.saturation import Saturation
from diagnose.science.water.standard import BREWING_WATER, compare, compare_item
from diagnose.science.water.units import caco3_as_ion

TAP = Water(calcium_mg_l=72.0, magnesium_mg_l=26.0, bicarbonate_mg_l=133.0)
TARGET = Water(
    calcium_mg_l=caco3_as_ion("Ca", 68.0),
    magnesium_mg_l=0.0,
    alkalinity_mg_l_caco3=40.0,
    tds_mg_l=150.0,
    ph=7.0,
    sodium_mg_l=10.0,
    chloride_mg_l=8.0,
    chlorine_mg_l=0.0,
)


def test_tap_water_report() -> None:
    """Ca 72, Mg 26, HCO3 133 mg/L: about 287 hardness, 109 alkalinity, scaling in a boiler, pH said to be assumed."""
    report = water_report(TAP)
    assert report.hardness is not None
    assert report.alkalinity is not None
    assert round(report.hardness.mg_l_caco3) == 287
    assert round(report.hardness.german_degrees) == 16
    assert round(report.alkalinity.mg_l_caco3) == 109
    assert report.judgement.overall == "scaling"
    assert report.judgement.cup == "flat"
    assert report.scale_bound_g_per_1000_l == report.alkalinity.mg_l_caco3
    notes = " ".join(report.notes)
    assert "7.5" in notes
    assert "231 mg/L" in notes
    assert "Chloride" in notes


def test_report_serialises() -> None:
    """As plain dicts it goes to JSON and back unchanged."""
    plain = asdict(water_report(TAP))
    assert json.loads(json.dumps(plain))["judgement"]["overall"] == "scaling"


def test_table_target_water_is_balanced() -> None:
    """Water on the published targets is within every range and turns from under-saturated to about balanced."""
    report = water_report(TARGET)
    assert report.brew is not None
    assert report.boiler is not None
    assert report.brew.langelier < report.boiler.langelier < 0.5
    assert (report.judgement.overall, report.judgement.cup) == ("balanced", "even")
    assert {entry.standing for entry in report.comparison} == {"within"}
    assert report.notes == ()


def test_half_a_unit_of_ph_moves_the_index_as_much() -> None:
    """The note on an assumed pH is true: the index moves one for one."""
    one, other = water_report(replace(TARGET, ph=7.0)).boiler, water_report(replace(TARGET, ph=7.5)).boiler
    assert one is not None
    assert other is not None
    assert other.langelier - one.langelier == pytest.approx(0.5)


def test_hardness_alone_is_taken_as_calcium() -> None:
    """With drops for hardness and alkalinity only, the index is reckoned on the scaling side and says so."""
    drops = Water(hardness_mg_l_caco3=180.0, alkalinity_mg_l_caco3=109.0, ph=7.5, tds_mg_l=250.0)
    report = water_report(drops)
    assert report.brew is not None
    assert report.calcium_hardness_mg_l_caco3 is None
    assert any("taken as calcium" in note for note in report.notes)
    assert compare(drops)[2].standing == "not known"


def test_hardness_less_magnesium_is_calcium() -> None:
    """Stated hardness and magnesium give the calcium part; a disagreement never makes it negative."""
    assert Water(
        hardness_mg_l_caco3=100.0, magnesium_mg_l=caco3_as_ion("Mg", 30.0)
    ).calcium_hardness() == pytest.approx(70)
    assert Water(hardness_mg_l_caco3=10.0, magnesium_mg_l=24.3).calcium_hardness() == 0.0


@pytest.mark.parametrize(
    ("water", "says"),
    [
        (Water(ph=7.0), "no saturation index"),
        (Water(calcium_mg_l=40.0), "no saturation index"),
        (Water(calcium_mg_l=0.0, magnesium_mg_l=16.5, bicarbonate_mg_l=48.8), "no chalk"),
        (Water(calcium_mg_l=40.0, bicarbonate_mg_l=0.0), "no chalk"),
    ],
)
def test_no_index_without_its_parts(water: Water, says: str) -> None:
    """Where calcium or alkalinity is unknown or nil there is no index, and the report says why."""
    report = water_report(water)
    assert (report.brew, report.boiler) == (None, None)
    assert report.judgement.boiler == "not known"
    assert any(says in note for note in report.notes)


def test_conductivity_gives_solids_and_meter_readings() -> None:
    """447 uS/cm counts as 300 mg/L by the 442 convention (a meter maker's table), told beside the other two."""
    report = water_report(replace(TAP, conductivity_us_cm=447.0))
    assert report.dissolved_solids_mg_l == pytest.approx(300.0)
    assert report.meter is not None
    assert report.meter.nacl_ppm == pytest.approx(215.5)
    beyond = water_report(replace(TAP, conductivity_us_cm=2000.0))
    assert (beyond.meter, beyond.dissolved_solids_mg_l) == (None, None)


@pytest.mark.parametrize(
    ("langelier", "word"),
    [
        (-1.1, "corrosive"),
        (-0.6, "slightly corrosive"),
        (-0.5, "balanced"),
        (0.5, "balanced"),
        (0.9, "slightly scaling"),
        (1.1, "scaling"),
    ],
)
def test_words_for_the_index(langelier: float, word: str) -> None:
    """Half a unit either way is balanced (common practice), beyond one it is plain."""
    assert level_of(langelier) == word


def _at(langelier: float) -> Saturation:
    """Return a boiler at an index."""
    return Saturation(121.0, 7.0 - langelier, langelier, 7.0 - 2.0 * langelier)


@pytest.mark.parametrize(
    ("water", "langelier", "word"),
    [
        (Water(chloride_mg_l=200.0), 1.5, "scaling and corrosive"),
        (Water(chloride_mg_l=8.0), 1.5, "scaling"),
        (Water(chloride_mg_l=8.0), 0.8, "slightly scaling"),
        (Water(chloride_mg_l=200.0), 0.0, "corrosive"),
        (Water(chloride_mg_l=8.0), -1.5, "corrosive"),
        (Water(chloride_mg_l=40.0), 0.0, "slightly corrosive"),
        (Water(chloride_mg_l=8.0), 0.0, "balanced"),
        (Water(chloride_mg_l=8.0), -0.8, "slightly corrosive"),
    ],
)
def test_one_word_for_scale_and_corrosion(water: Water, langelier: float, word: str) -> None:
    """Scale in the boiler and what eats at metal are joined into one word, neither hiding the other."""
    assert judge(water, None, _at(langelier)).overall == word


@pytest.mark.parametrize(
    ("water", "grade", "says"),
    [
        (Water(), "not known", ""),
        (Water(chloride_mg_l=5.0), "low", "304"),
        (Water(chloride_mg_l=20.0), "low", "316"),
        (Water(chloride_mg_l=40.0), "raised", "30 mg/L"),
        (Water(chloride_mg_l=120.0), "high", "titanium"),
        (Water(chloride_mg_l=400.0), "high", "beyond"),
        (Water(ph=5.5), "high", "below 6"),
        (Water(ph=6.2), "raised", "6.5"),
        (Water(ph=7.0), "not known", ""),
        (Water(hardness_mg_l_caco3=5.0, alkalinity_mg_l_caco3=5.0), "raised", "level probe"),
        (Water(hardness_mg_l_caco3=5.0, alkalinity_mg_l_caco3=60.0), "not known", ""),
        (Water(bicarbonate_mg_l=40.0, sulfate_mg_l=60.0), "raised", "sulfate"),
        (Water(bicarbonate_mg_l=40.0, sulfate_mg_l=0.0), "not known", ""),
        (Water(conductivity_us_cm=5.0), "raised", "10 to 500"),
        (Water(conductivity_us_cm=300.0), "not known", ""),
    ],
)
def test_corrosion_grades(water: Water, grade: str, says: str) -> None:
    """Chloride, acid, softness and copper guidance each give a grade with its reason."""
    found, reasons = corrosion(water)
    assert found == grade
    assert says in " ".join(reasons)


def test_worst_corrosion_counts() -> None:
    """Of several findings the worst gives the grade and all give reasons."""
    found, reasons = corrosion(Water(chloride_mg_l=5.0, ph=5.0, conductivity_us_cm=700.0))
    assert found == "high"
    assert len(reasons) == 3


@pytest.mark.parametrize(
    ("hardness", "alkalinity", "cup", "says"),
    [
        (30.0, 20.0, "sharp", "thinner"),
        (70.0, 55.0, "even", "suits"),
        (150.0, 120.0, "flat", "more body"),
        (None, None, "not known", ""),
    ],
)
def test_lean_of_the_cup(hardness: float | None, alkalinity: float | None, cup: str, says: str) -> None:
    """Alkalinity leans the taste, hardness the body (common practice)."""
    water = Water(hardness_mg_l_caco3=hardness, alkalinity_mg_l_caco3=alkalinity)
    found = judge(water, None, None)
    assert found.cup == cup
    assert says in " ".join(found.reasons)


def test_comparison_gives_distances() -> None:
    """180 mg/L of calcium hardness is 112 above the published target of 68 and 95 above the range's end of 85."""
    calcium = compare(TAP)[2]
    assert calcium.standing == "above"
    assert calcium.from_target == pytest.approx(111.8, abs=0.1)
    assert calcium.outside == pytest.approx(94.8, abs=0.1)
    soft = compare_item(BREWING_WATER[2], 10.0)
    assert (soft.standing, soft.outside) == ("below", -7.0)


def test_ends_of_a_range_are_within() -> None:
    """75 and 250 mg/L of dissolved solids belong to the published range; just beyond they do not."""
    solids = BREWING_WATER[1]
    standings = [compare_item(solids, value).standing for value in (74.9, 75.0, 250.0, 250.1)]
    assert standings == ["below", "within", "within", "above"]


@pytest.mark.parametrize(
    ("values", "says"),
    [
        ({"calcium_mg_l": -1.0}, "calcium .* 0 to 5000 mg/L"),
        ({"ph": 15.0}, "pH .* 0 to 14"),
        ({"conductivity_us_cm": 1e6}, "0 to 10000 uS/cm"),
        ({"tds_mg_l": float("nan")}, "0 to 5000 mg/L"),
    ],
)
def test_impossible_waters_are_refused(values: dict[str, float], says: str) -> None:
    """A water that cannot be is refused when it is made."""
    with pytest.raises(OutOfRange, match=says):
        Water(**values)


def test_chloride_table_is_not_stretched() -> None:
    """Outside its rows or between its columns the table answers nothing."""
    with pytest.raises(OutOfRange, match="0 to 300 mg/L"):
        stainless_grade(301.0, 60)
    with pytest.raises(OutOfRange, match="60, 80 and 120"):
        stainless_grade(30.0, 93)  # type: ignore[arg-type]
