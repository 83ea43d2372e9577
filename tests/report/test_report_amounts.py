"""Numbers, units and names as labels, strips and people write them."""

import pytest

from diagnose.report.amounts import read
from diagnose.report.names import named
from diagnose.report.units import MILK_UNITS, WATER_UNITS
from diagnose.report.water_words import NAMES


def names(text: str) -> list[tuple[str | None, float]]:
    """Return what each number of a water text is taken for."""
    reading = read(text, WATER_UNITS)
    found = zip(named(reading, NAMES), reading.amounts, strict=True)
    return [(name.key if name else None, amount.value) for name, amount in found]


@pytest.mark.parametrize(
    "text",
    [
        "Ca 72 mg/L, Mg 26 mg/L, HCO3 133 mg/L",
        "Ca²⁺ 72 mg/l; Mg²⁺ 26 mg/l; HCO₃⁻ 133 mg/l",
        "Ca2+ 72mg/L Mg++ 26mg/L HCO3- 133mg/L",
        "Ca 2+: 72 mg/L\nMg 2+: 26 mg/L\nHCO3 -: 133 mg/L",
        "calcium = 72 mg/L, magnesium = 26 mg/L, hydrogen carbonate = 133 mg/L",
        "72 mg/L calcium, 26 mg/L magnesium, 133 mg/L bicarbonate",
        "72 mg/L Ca 26 mg/L Mg 133 mg/L HCO3",
        "Calcio 72 mg/L Magnesio 26 mg/L Bicarbonati 133 mg/L",
        "Ca 72 mg L⁻¹, Mg 26 mg per litre, HCO3 133 ppm",
        "Ca 72,0 mg/L; Mg 26,0 mg/L; HCO3 1.33e2 mg/L",
    ],
)
def test_one_label_in_many_spellings(text: str) -> None:
    """Formulas with and without charges, names before or behind, decimal commas: the same three ions."""
    assert names(text) == [("Ca", 72.0), ("Mg", 26.0), ("HCO3", 133.0)]


@pytest.mark.parametrize(
    ("text", "expected"),
    [
        ("SO4 2- 30 mg/L", [("SO4", 30.0)]),
        ("SO42- 30 mg/L, SO4-- 3 mg/L", [("SO4", 30.0), ("SO4", 3.0)]),
        ("Cl-5 mg/L", [("Cl", 5.0)]),
        ("Cl2 0.2 mg/L", [("chlorine", 0.2)]),
        ("K1 mg/L", [("K", 1.0)]),
        ("F 0.1 mg/L, NO3 1 F 0.1", [("fluoride", 0.1), ("nitrate", 1.0), ("fluoride", 0.1)]),
        ("pH 7.2. GH 8", [("ph", 7.2), ("GH", 8.0)]),
        ("pH 7,25 KH 5", [("ph", 7.25), ("KH", 5.0)]),
        ("14 dH KH 9", [(None, 14.0), ("KH", 9.0)]),
        ("14 dH hardness, 9 dH KH", [("hardness", 14.0), ("KH", 9.0)]),
        ("14 dH hardness, pH 7, 9 dH KH", [("hardness", 14.0), ("ph", 7.0), ("KH", 9.0)]),
        ("total hardness 1,250 ppm", [("hardness", 1250.0)]),
        ("calcium hardness 68 mg/L", [("Ca hardness", 68.0)]),
        ("Ca -5 mg/L", [("Ca", -5.0)]),
        ("hardness: -5 dH", [("hardness", -5.0)]),
        ("CaCO3", []),
    ],
)
def test_names_go_to_their_numbers(text: str, expected: list[tuple[str | None, float]]) -> None:
    """Each number gets the name that a reader would give it."""
    assert names(text) == expected


@pytest.mark.parametrize(
    ("text", "value", "half", "bound"),
    [
        ("72", 72.0, 0.5, ""),
        ("72.0", 72.0, 0.05, ""),
        ("7,2", 7.2, 0.05, ""),
        ("7,25", 7.25, 0.005, ""),
        ("1,250", 1250.0, 0.5, ""),
        ("1.5e2", 150.0, 5.0, ""),
        ("1/2 L", 0.5, 0.0, ""),
        ("½ L", 0.5, 0.05, ""),
        ("< 5", 5.0, 0.5, "below"),
        ("at least 21", 21.0, 0.5, "above"),
        ("~180", 180.0, 18.0, "about"),
        ("70-80", 75.0, 10.0 / 12.0**0.5, ""),
        ("between 70 and 80 mg/L", 75.0, 10.0 / 12.0**0.5, ""),
        ("between 70, 80 mg/L", 70.0, 0.5, ""),
    ],
)
def test_how_exactly_a_number_is_told(text: str, value: float, half: float, bound: str) -> None:
    """Half a unit of the last digit; of a range the standard uncertainty of a rectangle (JCGM 100:2008, 4.3.7)."""
    amount = read(text, WATER_UNITS).amounts[0]
    assert amount.value == pytest.approx(value)
    assert amount.half == pytest.approx(half)
    assert amount.bound == bound


@pytest.mark.parametrize(
    ("text", "unit", "basis"),
    [
        ("150 mg/L (as CaCO3)", "mg/L", "CaCO3"),
        ("150 mg/L as calcium carbonate", "mg/L", "CaCO3"),
        ("150 ppm CaCO3", "ppm", "CaCO3"),
        ("150 mg/L Ca 72", "mg/L", ""),
        ("100 mg/L as CaO", "mg/L", "CaO"),
        ("12 gr/gal", "gpg", ""),
        ("14 °dH", "dH", ""),
        ("14 °e", "Clark", ""),
        ("2 mval/l", "meq/L", ""),
        ("447 µS/cm", "uS/cm", ""),
        ("447 microsiemens", "uS/cm", ""),
        ("0.45 mS/cm", "mS/cm", ""),
        ("72 cl", None, ""),
    ],
)
def test_units_of_water(text: str, unit: str | None, basis: str) -> None:
    """Units with what they count; a unit that is none of water is none."""
    amount = read(text, WATER_UNITS).amounts[0]
    assert (amount.unit.name if amount.unit else None) == unit
    assert amount.basis == basis


@pytest.mark.parametrize(
    ("text", "unit", "basis"),
    [
        ("1.0 bar gauge", "bar", "gauge"),
        ("1.0 bar(g)", "bar", "gauge"),
        ("2.0 bar absolute", "bar", "absolute"),
        ("1.0 barg", "bar gauge", ""),
        ("2.0 bara", "bar absolute", ""),
        ("2 °C/s", "°C/s", ""),
        ("2 degrees C per second", "°C/s", ""),
        ("1.5 dl", "dL", ""),
        ("5000 ft", "ft", ""),
    ],
)
def test_units_of_milk(text: str, unit: str, basis: str) -> None:
    """Pressures say on which scale they are read."""
    amount = read(text, MILK_UNITS).amounts[0]
    assert amount.unit is not None
    assert (amount.unit.name, amount.basis) == (unit, basis)


def test_two_numbers_of_one_unit_keep_their_order() -> None:
    """From 65 to 5 C is downwards, not a range to be sorted."""
    (pair,) = read("65 to 5 C", MILK_UNITS).amounts
    assert [one.value for one in pair.numbers] == [65.0, 5.0]
    assert len(read("30 s to 40 C", MILK_UNITS).amounts) == 2


def test_what_is_no_number_is_still_an_amount() -> None:
    """Dates and pairs are kept, so that they can be named as not used."""
    reading = read("tested 4.5.2026 at 1:30, 2nd strip", WATER_UNITS)
    assert [reading.quote(one.first, one.last) for one in reading.amounts] == ["4.5.2026", "1:30", "2nd"]
