"""Hardness as people have it, kept in one unit, and the most scale it leaves."""

import pytest

from diagnose.errors import DiagnoseError
from diagnose.logbook import Logbook
from diagnose.logbook.contents import JsonValue
from diagnose.upkeep.water import WaterUse, known_water, read_number, remember_water


@pytest.mark.parametrize(
    ("typed", "expected"),
    [
        # Definitions: a German degree is 10 mg/L of CaO, that is 17.848 mg/L of CaCO3 (molar masses 56.077, 100.087);
        # a French degree 10 mg/L of CaCO3; a US grain per gallon 17.118 mg/L; a Clark degree 14.254 mg/L.
        ("8 dH", 142.78),
        ("8dh", 142.78),
        ("8 °dH", 142.78),
        ("14,3 fH", 143.0),
        ("10 gpg", 171.18),
        ("10 Clark", 142.54),
        ("1.5 mmol/L", 150.13),
        ("3 meq/L", 150.13),
        ("150", 150.0),
        ("150 ppm", 150.0),
        ("150 mg/L", 150.0),
        ("150 mg/L CaCO3", 150.0),
        (" 0 ", 0.0),
    ],
)
def test_hardness_is_read_in_the_units_of_strips_and_suppliers(typed: str, expected: float) -> None:
    """All become mg/L as calcium carbonate."""
    assert read_number("water_hardness", typed) == pytest.approx(expected, rel=1e-4)


@pytest.mark.parametrize(
    ("name", "typed", "said"),
    [
        ("water_hardness", "hard", "a number, in mg/L as CaCO3 or with one of dH, fH, Clark, gpg, mmol/L, meq/L"),
        ("water_hardness", "8 dX", "cannot be read"),
        ("water_hardness", "-8", "cannot be read"),
        ("water_hardness", "nan", "cannot be read"),
        ("water_hardness", "2000", "up to 1500 mg/L"),
        ("water_hardness", "90 dH", "up to 1500 mg/L"),
        ("water_use", "2 dH", "a number of litres"),
        ("water_use", "9" * 400, "up to 2000 L/day"),
        ("filter_capacity", "many", "a number of litres"),
    ],
)
def test_what_no_water_has_is_refused_with_what_would_do(name: str, typed: str, said: str) -> None:
    """The message says what the number takes."""
    with pytest.raises(DiagnoseError) as raised:
        read_number(name, typed)
    assert said in str(raised.value)


def test_a_year_of_water_leaves_what_the_mass_balance_says() -> None:
    """20 L a day with 200 mg/L of carbonate hardness: 1.46 kg a year if all of it stayed (computed by hand)."""
    assert WaterUse(200.0, None, 20.0).scale_g(365) == pytest.approx(1460.0)
    assert WaterUse(200.0, 80.0, 20.0).carbonate_hardness == 80.0
    assert WaterUse(None, 80.0, 20.0).scale_g(1) == pytest.approx(1.6)
    assert WaterUse(200.0, 80.0).scale_g(365) is None
    assert WaterUse(litres_per_day=20.0).scale_g(365) is None


def test_what_was_told_before_stays(book: Logbook) -> None:
    """Telling the litres later does not forget the hardness."""
    assert known_water(book) == known_water(None) == WaterUse()
    remember_water(book, {"water_hardness": 150.0})
    remember_water(book, {"water_use": 2.0, "filter_capacity": 60.0})
    assert known_water(book) == WaterUse(150.0, None, 2.0, 60.0)


@pytest.mark.parametrize(
    "kept",
    [
        "soft",
        {"water_hardness": 150},
        {"water_hardness": {"value": 8, "unit": "dH"}},
        {"water_hardness": {"value": "150", "unit": "mg/L"}},
        {"water_hardness": {"value": True, "unit": "mg/L"}},
        {"water_hardness": {"value": -3, "unit": "mg/L"}},
        {"water_hardness": {"value": 1e9, "unit": "mg/L"}},
    ],
)
def test_a_fact_of_another_form_is_passed_over(book: Logbook, kept: JsonValue) -> None:
    """A log may come from elsewhere; new numbers can still be told on top."""
    book.remember("water", kept)
    assert known_water(book) == WaterUse()
    remember_water(book, {"water_hardness": 150.0})
    assert known_water(book).hardness == 150.0
