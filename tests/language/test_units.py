"""Units against published factors, and the names of measures against the rules' vocabulary."""

import pytest

from diagnose.language import understand
from diagnose.language.measuring import IN_RECIPE
from diagnose.language.shots import OF_SHOT, SETTINGS
from diagnose.language.units import CANONICAL, UNITS
from diagnose.rulebase.vocabulary import RECIPE, SAID
from tests.language.helpers import lexicon


@pytest.mark.parametrize(
    ("spelling", "value", "canonical"),
    [
        # NIST Special Publication 811 (2008), Appendix B.8: exact factors.
        ("oz", 1.0, 28.349523125),
        ("lb", 1.0, 453.59237),
        ("fl oz", 1.0, 29.5735295625),
        ("psi", 1.0, 0.06894757),
        ("f", 212.0, 100.0),
        ("f", 32.0, 0.0),
        ("kpa", 100.0, 1.0),
        # Water hardness as CaCO3, the rounded factors in general use (US Geological Survey for grains; German, French
        # and Clark degrees as tabulated by water suppliers; from memory).
        ("gpg", 1.0, 17.1),
        ("dh", 1.0, 17.85),
        ("fh", 1.0, 10.0),
        ("clark", 1.0, 14.25),
        ("mmol / l", 1.0, 100.09),
    ],
)
def test_a_unit_converts_as_published(spelling: str, value: float, canonical: float) -> None:
    """Each unit leads to the canonical unit of its dimension."""
    assert UNITS[spelling].canonical(value) == pytest.approx(canonical, rel=2e-3, abs=1e-9)


@pytest.mark.parametrize("spelling", sorted(UNITS))
def test_a_unit_converts_back_to_itself(spelling: str) -> None:
    """A believable range is said back in the person's unit, so each unit must convert both ways."""
    unit = UNITS[spelling]
    assert unit.own(unit.canonical(12.5)) == pytest.approx(12.5)


def test_bicarbonate_counts_as_alkalinity_by_equivalents() -> None:
    """61.017 mg/L of bicarbonate neutralise as much acid as 50.04 mg/L of CaCO3 (equivalent masses, IUPAC 2013)."""
    (said,) = understand("bicarbonate 61.017 mg/L", lexicon()).statements
    assert said.quantity is not None
    assert said.quantity.value == pytest.approx(50.04, abs=0.01)


def test_every_measure_named_here_is_in_the_vocabulary() -> None:
    """Names and canonical units are those the rules are written in."""
    assert set(SAID) >= OF_SHOT | SETTINGS
    assert {f"recipe_{name}" for name in IN_RECIPE} == set(RECIPE)
    assert {measure.unit for measure in SAID.values()} <= set(CANONICAL.values())
