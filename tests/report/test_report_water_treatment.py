"""Blending two waters and building a water up with salts."""

import pytest

from diagnose.errors import DiagnoseError, OutOfRange
from diagnose.report.answer import Answer
from diagnose.report.said import Asked
from diagnose.report.water_answer import answer
from diagnose.report.water_reading import read_request
from diagnose.science.water.dosing import Recipe

RAW = "hardness 250 ppm, alkalinity 200 ppm"


def ask(text: str, recipe: Recipe | None = None) -> Answer:
    """Return the answer to a text."""
    return answer(read_request(text), recipe)


def test_blend_by_mass_balance() -> None:
    """250/200 with osmosis water 10/8 to alkalinity 50: (50 - 8) / (200 - 8) = 21.875 %, hardness 62.5 (by hand)."""
    found = ask(f"{RAW}, blend with hardness 10 ppm, alkalinity 8 ppm to alkalinity 50 ppm")
    assert found.fields["blend_first_share_percent"] == pytest.approx(21.875, abs=0.06)
    assert found.fields["blend_second_share_percent"] == pytest.approx(78.125, abs=0.06)
    assert found.fields["blend_hardness_mg_l_caco3"] == pytest.approx(62.5, abs=0.6)
    assert found.fields["blend_alkalinity_mg_l_caco3"] == 50.0
    assert found.fields["blend_ph"] is None
    assert "Blend for alkalinity 50 ppm as CaCO3: 21.9 % of the first water" in found.text
    assert "Second water: hardness 10 ppm as CaCO3, alkalinity 8 ppm as CaCO3." in found.text


def test_blend_example() -> None:
    """Label water with Ca 5, HCO3 8 to alkalinity 50: (50 - 6.56) / (109.08 - 6.56) = 42.4 % (by hand)."""
    found = ask("Ca 72 mg/L, Mg 26 mg/L, HCO3 133 mg/L, blend with Ca 5 mg/L, HCO3 8 mg/L to alkalinity 50 mg/L")
    assert found.fields["blend_first_share_percent"] == 42.4
    assert found.fields["blend_calcium_mg_l"] == pytest.approx(0.424 * 72 + 0.576 * 5, abs=0.5)
    assert found.fields["blend_hardness_mg_l_caco3"] is None
    assert "What only one of the two waters tells of stays unknown in the blend" in found.text


@pytest.mark.parametrize(
    ("text", "share"),
    [
        (f"{RAW}, blend with distilled water to hardness 100 ppm", 40.0),
        ("TDS 200 mg/L, blend with TDS 0 to TDS 100 mg/L", 50.0),
        ("alkalinity 200 ppm, blend with RO water to 50 ppm alkalinity", 25.0),
    ],
)
def test_blend_with_pure_water(text: str, share: float) -> None:
    """Pure water dilutes: the share is the ratio of target to what there is."""
    assert ask(text).fields["blend_first_share_percent"] == pytest.approx(share)


def test_a_target_in_ppm_of_a_meter_always_asks_for_its_salt() -> None:
    """Blending to a meter's number needs to know what it counts."""
    asked = ask("TDS 150 ppm, blend with distilled water to TDS 100 ppm").fields["questions"]
    assert isinstance(asked, list)
    assert len(asked) == 1


@pytest.mark.parametrize(
    ("text", "says", "kind"),
    [
        (f"{RAW}, blend with KH 0 to alkalinity 400 ppm", "0 to 200 mg/L as CaCO3", OutOfRange),
        (f"{RAW}, blend with GH 0 to alkalinity 40 ppm", "alkalinity of both waters is needed", OutOfRange),
        (f"{RAW}, blend with KH 0", "What shall the blend reach", DiagnoseError),
        ("blend with KH 0 to alkalinity 40 ppm", "the first water", Asked),
        (f"{RAW}, blend with KH 0 to alkalinity 40 ppm, dose 5 L to hardness 300 ppm", "two steps", DiagnoseError),
    ],
)
def test_what_cannot_be_blended(text: str, says: str, kind: type[DiagnoseError]) -> None:
    """A target outside the two waters, or half an order, is refused with what to do."""
    with pytest.raises(kind, match=says):
        ask(text)


def test_salts_into_pure_water() -> None:
    """68 hardness by Epsom salt is 167.5 mg/L and brings 65.3 sulfate; 40 alkalinity by soda 67.1 and 18.4 sodium.

    From IUPAC masses, as recipe tables print them; in 5 L that is 0.84 g and 0.34 g, or 16.7 and 6.7 mL at 50 g/L.
    """
    found = ask("distilled water, dose 5 L to hardness 68 ppm, alkalinity 40 ppm").fields
    assert (found["dose_hardness_salt_g"], found["dose_alkalinity_salt_g"]) == (0.84, 0.34)
    assert (found["dose_hardness_concentrate_ml"], found["dose_alkalinity_concentrate_ml"]) == (16.7, 6.7)
    assert found["dose_adds_sulfate_mg_l"] == pytest.approx(65.3, abs=0.5)
    assert found["dose_adds_sodium_mg_l"] == pytest.approx(18.4, abs=0.1)
    assert (found["dose_hardness_mg_l_caco3"], found["dose_alkalinity_mg_l_caco3"]) == (68.0, 40.0)
    assert found["reasons"] == []


def test_other_salts() -> None:
    """68 hardness by calcium chloride dihydrate is 99.9 mg/L, 40 alkalinity by KHCO3 80.0 mg/L with 31.3 potassium."""
    recipe = Recipe("CaCl2.2H2O", "KHCO3", 100.0, 100.0)
    found = ask("pure water, dose 10 L to hardness 68 ppm, alkalinity 40 ppm", recipe)
    assert found.fields["dose_hardness_salt_g"] == pytest.approx(0.999, abs=0.006)
    assert found.fields["dose_alkalinity_salt_g"] == 0.80
    assert found.fields["dose_adds_potassium_mg_l"] == pytest.approx(31.3, abs=0.5)
    assert "potassium bicarbonate (KHCO3): 0.80 g, or 8.0 mL of a concentrate of 100 g in a litre" in found.text


def test_salts_into_a_told_water() -> None:
    """Only what is missing is added, no finer than the water is known; what needs nothing is left out."""
    found = ask("GH 2, KH 3, dose 5 L to hardness 68 ppm")
    missing = 68.0 - 2 * 17.848
    assert found.fields["dose_hardness_salt_g"] == pytest.approx(missing * 2.4626 * 5 / 1000, abs=0.06)
    assert "baking soda" not in found.text
    assert "Hardness: 2 dH" in found.text
    assert "Nothing is missing" in ask("hardness 68 ppm, KH 3, dose 5 L to hardness 68 ppm").text


def test_nothing_told_is_pure_water() -> None:
    """A volume and targets alone start from pure water, and the answer says so; dosing has its own cautions."""
    found = ask("dose 5 L to hardness 68 ppm, alkalinity 40 ppm")
    assert "pure water, as nothing is told of it" in found.text
    assert "two bottles" in found.text
    assert "0.01 g" in found.text
    assert "keeps a few mg/L" in ask("osmosis water, dose 1 L to hardness 68 ppm").text


@pytest.mark.parametrize(
    ("text", "says"),
    [
        ("GH 14, KH 9, dose 5 L to hardness 68 ppm", "only add"),
        ("GH 2, dose 5 L to hardness 68 ppm", "alkalinity of the water to dose is needed"),
        ("dose 5 L", "at least one"),
        ("dose 5 L to hardness 68 ppm, hardness 80 ppm", "each once"),
        ("dose 5 L to TDS 100 mg/L", "hardness and an alkalinity"),
    ],
)
def test_what_cannot_be_dosed(text: str, says: str) -> None:
    """Salts only add; what is missing in the order is named."""
    with pytest.raises(DiagnoseError, match=says):
        ask(text)
