"""Units of hardness and alkalinity, and ions counted as calcium carbonate, from molar masses.

Masses: IUPAC abridged standard atomic weights (2021). The German degree is 10 mg/L of calcium oxide, the French 10
mg/L of calcium carbonate, the English (Clark) one grain in an imperial gallon, the US grain one grain in a US gallon.
"""

from collections.abc import Mapping
from dataclasses import dataclass
from types import MappingProxyType
from typing import Final, Literal

from diagnose.science.ranges import within

ATOMIC_MASS: Final[Mapping[str, float]] = MappingProxyType(
    {
        "H": 1.008,
        "C": 12.011,
        "O": 15.999,
        "Na": 22.990,
        "Mg": 24.305,
        "S": 32.06,
        "Cl": 35.45,
        "K": 39.098,
        "Ca": 40.078,
    }
)
"""g/mol."""


def molar_mass(**atoms: int) -> float:
    """Return g/mol of a formula; its atoms and their numbers are the keywords, such as Ca=1, O=1."""
    return sum(ATOMIC_MASS[atom] * count for atom, count in atoms.items())


CACO3_G_MOL = molar_mass(Ca=1, C=1, O=3)
CAO_G_MOL = molar_mass(Ca=1, O=1)
WATER_G_MOL = molar_mass(H=2, O=1)
_GRAIN_MG = 64.79891
_US_GALLON_L = 3.785411784
_IMPERIAL_GALLON_L = 4.54609
_HIGHEST_MG_L = 100_000.0

Ion = Literal["Ca", "Mg", "Na", "K", "HCO3", "Cl", "SO4"]
HardnessUnit = Literal["mg/L CaCO3", "dH", "fH", "Clark", "gpg", "mmol/L", "meq/L"]

ION_G_MOL: Final[Mapping[Ion, float]] = MappingProxyType(
    {
        "Ca": molar_mass(Ca=1),
        "Mg": molar_mass(Mg=1),
        "Na": molar_mass(Na=1),
        "K": molar_mass(K=1),
        "HCO3": molar_mass(H=1, C=1, O=3),
        "Cl": molar_mass(Cl=1),
        "SO4": molar_mass(S=1, O=4),
    }
)
"""Molar mass of each ion, g/mol."""

ION_CHARGE: Final[Mapping[Ion, int]] = MappingProxyType(
    {"Ca": 2, "Mg": 2, "Na": 1, "K": 1, "HCO3": 1, "Cl": 1, "SO4": 2}
)
"""Number of charges of each ion, without the sign."""

MG_L_CACO3_PER: Final[Mapping[HardnessUnit, float]] = MappingProxyType(
    {
        "mg/L CaCO3": 1.0,
        "dH": 10.0 * CACO3_G_MOL / CAO_G_MOL,
        "fH": 10.0,
        "Clark": _GRAIN_MG / _IMPERIAL_GALLON_L,
        "gpg": _GRAIN_MG / _US_GALLON_L,
        "mmol/L": CACO3_G_MOL,
        "meq/L": CACO3_G_MOL / 2.0,
    }
)
"""How many mg/L as calcium carbonate one of each unit is."""


@dataclass(frozen=True, slots=True)
class InAllUnits:
    """One hardness or alkalinity in every unit. mmol/L counts calcium carbonate, so alkalinity goes by meq/L."""

    mg_l_caco3: float
    german_degrees: float
    french_degrees: float
    english_degrees: float
    us_grains_per_gallon: float
    mmol_l: float
    meq_l: float


def to_mg_l_caco3(value: float, unit: HardnessUnit) -> float:
    """Return a hardness or alkalinity given in `unit` as mg/L of calcium carbonate; OutOfRange when negative."""
    factor = MG_L_CACO3_PER[unit]
    return within(value, 0.0, _HIGHEST_MG_L / factor, "hardness or alkalinity", unit) * factor


def from_mg_l_caco3(value_mg_l_caco3: float, unit: HardnessUnit) -> float:
    """Return mg/L of calcium carbonate in `unit`; OutOfRange when negative."""
    within(value_mg_l_caco3, 0.0, _HIGHEST_MG_L, "hardness or alkalinity", "mg/L as CaCO3")
    return value_mg_l_caco3 / MG_L_CACO3_PER[unit]


def in_all_units(value_mg_l_caco3: float) -> InAllUnits:
    """Return a hardness or alkalinity in every unit; OutOfRange when negative."""
    return InAllUnits(
        mg_l_caco3=from_mg_l_caco3(value_mg_l_caco3, "mg/L CaCO3"),
        german_degrees=from_mg_l_caco3(value_mg_l_caco3, "dH"),
        french_degrees=from_mg_l_caco3(value_mg_l_caco3, "fH"),
        english_degrees=from_mg_l_caco3(value_mg_l_caco3, "Clark"),
        us_grains_per_gallon=from_mg_l_caco3(value_mg_l_caco3, "gpg"),
        mmol_l=from_mg_l_caco3(value_mg_l_caco3, "mmol/L"),
        meq_l=from_mg_l_caco3(value_mg_l_caco3, "meq/L"),
    )


def ion_as_caco3(ion: Ion, ion_mg_l: float) -> float:
    """Return mg/L of an ion as mg/L of calcium carbonate, charge for charge; OutOfRange when negative.

    Calcium and magnesium count as hardness, bicarbonate as alkalinity.
    """
    within(ion_mg_l, 0.0, _HIGHEST_MG_L, ion, "mg/L")
    return ion_mg_l * ION_CHARGE[ion] / ION_G_MOL[ion] * CACO3_G_MOL / 2.0


def caco3_as_ion(ion: Ion, value_mg_l_caco3: float) -> float:
    """Return mg/L of calcium carbonate as mg/L of an ion, charge for charge; OutOfRange when negative."""
    within(value_mg_l_caco3, 0.0, _HIGHEST_MG_L, ion, "mg/L as CaCO3")
    return value_mg_l_caco3 * 2.0 / CACO3_G_MOL * ION_G_MOL[ion] / ION_CHARGE[ion]


def hardness_mg_l_caco3(calcium_mg_l: float, magnesium_mg_l: float) -> float:
    """Return the total hardness of calcium and magnesium in mg/L as calcium carbonate; OutOfRange when negative."""
    return ion_as_caco3("Ca", calcium_mg_l) + ion_as_caco3("Mg", magnesium_mg_l)


def alkalinity_mg_l_caco3(bicarbonate_mg_l: float) -> float:
    """Return the alkalinity of bicarbonate in mg/L as calcium carbonate; OutOfRange when negative.

    Below pH 8.3 bicarbonate is all but all of it; above, carbonate and hydroxide add to what this gives.
    """
    return ion_as_caco3("HCO3", bicarbonate_mg_l)
