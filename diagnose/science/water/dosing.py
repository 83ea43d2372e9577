"""Building a water from salts: grams or millilitres for a target, and everything else they bring along.

One salt for hardness, one for alkalinity, into water that holds less than the target of both.
"""

from collections.abc import Mapping
from dataclasses import dataclass
from types import MappingProxyType
from typing import Final, Literal

from diagnose.errors import OutOfRange
from diagnose.science.ranges import within
from diagnose.science.water.composition import Water
from diagnose.science.water.units import (
    CACO3_G_MOL,
    ION_CHARGE,
    ION_G_MOL,
    WATER_G_MOL,
    Ion,
    alkalinity_mg_l_caco3,
    hardness_mg_l_caco3,
)

Purpose = Literal["hardness", "alkalinity"]


@dataclass(frozen=True, slots=True)
class Salt:
    """A salt: formula, plain name, what it is for, its ions by number, its water of crystal, strongest concentrate."""

    formula: str
    name: str
    purpose: Purpose
    ions: tuple[tuple[Ion, int], ...]
    crystal_water: int
    strongest_g_l: float

    @property
    def g_mol(self) -> float:
        """Molar mass with the water of crystal."""
        return sum(ION_G_MOL[ion] * count for ion, count in self.ions) + self.crystal_water * WATER_G_MOL

    @property
    def mg_per_mg_caco3(self) -> float:
        """Milligrams of salt for one milligram of its purpose, as calcium carbonate."""
        wanted = ("Ca", "Mg") if self.purpose == "hardness" else ("HCO3",)
        charges = sum(ION_CHARGE[ion] * count for ion, count in self.ions if ion in wanted)
        return self.g_mol / (CACO3_G_MOL / 2.0 * charges)


SALTS: Final[Mapping[str, Salt]] = MappingProxyType(
    {
        salt.formula: salt
        for salt in (
            Salt("MgSO4.7H2O", "Epsom salt", "hardness", (("Mg", 1), ("SO4", 1)), 7, 250.0),
            Salt("CaCl2.2H2O", "calcium chloride dihydrate", "hardness", (("Ca", 1), ("Cl", 2)), 2, 250.0),
            Salt("CaCl2", "calcium chloride, anhydrous", "hardness", (("Ca", 1), ("Cl", 2)), 0, 250.0),
            Salt("MgCl2.6H2O", "magnesium chloride hexahydrate", "hardness", (("Mg", 1), ("Cl", 2)), 6, 250.0),
            Salt("CaSO4.2H2O", "gypsum", "hardness", (("Ca", 1), ("SO4", 1)), 2, 2.0),
            Salt("NaHCO3", "baking soda", "alkalinity", (("Na", 1), ("HCO3", 1)), 0, 80.0),
            Salt("KHCO3", "potassium bicarbonate", "alkalinity", (("K", 1), ("HCO3", 1)), 0, 250.0),
        )
    }
)
"""Salts in use. The strongest concentrates are round figures below the solubility at 20 degC, from memory of handbooks
(gypsum 2.4 g/L, baking soda 96 g/L, the others above 300 g/L)."""

DOSING_CAUTIONS = (
    "Food-grade salts only, weighed to 0.01 g; taste before anyone is served.",
    "Keep hardness and alkalinity concentrates in two bottles: together they turn cloudy and drop chalk.",
    "Calcium chloride gets hot in water: salt into water, eye protection. Label and date every bottle.",
    "People told to watch sodium or potassium should know what is in the water; that is for their doctor.",
    "Whether a machine may run on such water is for its maker to say.",
)

PURE_WATER = Water(
    calcium_mg_l=0.0,
    magnesium_mg_l=0.0,
    bicarbonate_mg_l=0.0,
    sodium_mg_l=0.0,
    potassium_mg_l=0.0,
    chloride_mg_l=0.0,
    sulfate_mg_l=0.0,
    chlorine_mg_l=0.0,
    tds_mg_l=0.0,
)
"""Distilled water, as a base to dose into."""

_FIELD: Final[Mapping[Ion, str]] = MappingProxyType(
    {
        "Ca": "calcium_mg_l",
        "Mg": "magnesium_mg_l",
        "Na": "sodium_mg_l",
        "K": "potassium_mg_l",
        "HCO3": "bicarbonate_mg_l",
        "Cl": "chloride_mg_l",
        "SO4": "sulfate_mg_l",
    }
)


@dataclass(frozen=True, slots=True)
class Recipe:
    """Which salts, by formula, and how strong the two concentrates are, in g of salt per litre of concentrate."""

    hardness_salt: str = "MgSO4.7H2O"
    alkalinity_salt: str = "NaHCO3"
    hardness_concentrate_g_l: float = 50.0
    alkalinity_concentrate_g_l: float = 50.0


@dataclass(frozen=True, slots=True)
class Dose:
    """One salt to add: grams, or millilitres of the concentrate; and its strength in the finished water in mg/L."""

    salt: str
    grams: float
    concentrate_ml: float
    salt_mg_l: float


@dataclass(frozen=True, slots=True)
class Dosing:
    """What to add, what each ion gains in mg/L, and the water that results."""

    volume_l: float
    doses: tuple[Dose, ...]
    adds_mg_l: tuple[tuple[Ion, float], ...]
    water: Water
    cautions: tuple[str, ...] = DOSING_CAUTIONS


def salt_named(formula: str, purpose: Purpose) -> Salt:
    """Return a salt; OutOfRange when it is unknown or serves the other purpose, naming those that would do."""
    salt = SALTS.get(formula)
    if salt is None or salt.purpose != purpose:
        fitting = ", ".join(each.formula for each in SALTS.values() if each.purpose == purpose)
        raise OutOfRange(f"{formula} is no salt for {purpose} here: take one of {fitting}.")
    return salt


def ions_mg_l(salt: Salt, salt_mg_l: float) -> dict[Ion, float]:
    """Return what a salt brings in mg/L of each ion, by molar mass."""
    return {ion: salt_mg_l * count * ION_G_MOL[ion] / salt.g_mol for ion, count in salt.ions}


def _dose(salt: Salt, missing_mg_l_caco3: float, volume_l: float, concentrate_g_l: float) -> Dose:
    """Return the dose that makes up what is missing."""
    within(concentrate_g_l, 0.1, salt.strongest_g_l, f"concentrate of {salt.formula}", "g/L")
    salt_mg_l = missing_mg_l_caco3 * salt.mg_per_mg_caco3
    grams = salt_mg_l * volume_l / 1000.0
    return Dose(salt.formula, grams, 1000.0 * grams / concentrate_g_l, salt_mg_l)


def _missing(target: float, held: float | None, purpose: Purpose) -> float:
    """Return how much is missing; OutOfRange when unknown, or the water holds more than the target already."""
    if held is None:
        raise OutOfRange(f"the {purpose} of the water to dose is needed: measure it, in mg/L as CaCO3.")
    within(target, held, 1000.0, f"target {purpose}, to which salts only add,", "mg/L as CaCO3")
    return target - held


def _with_ions(base: Water, adds: Mapping[Ion, float]) -> Water:
    """Return the base with the ions added; an ion not known in the base stays unknown, the two targets do not."""
    known: dict[str, float | None] = {}
    for ion, field in _FIELD.items():
        held: float | None = getattr(base, field)
        known[field] = None if held is None else held + adds.get(ion, 0.0)
    hardness, alkalinity = base.total_hardness(), base.total_alkalinity()
    solids = base.tds_mg_l
    return Water(
        **known,
        chlorine_mg_l=base.chlorine_mg_l,
        hardness_mg_l_caco3=_plus(hardness, hardness_mg_l_caco3(adds.get("Ca", 0.0), adds.get("Mg", 0.0))),
        alkalinity_mg_l_caco3=_plus(alkalinity, alkalinity_mg_l_caco3(adds.get("HCO3", 0.0))),
        tds_mg_l=_plus(solids, sum(adds.values())),
    )


def _plus(held: float | None, added: float) -> float | None:
    """Return the sum, or None when what is held is not known."""
    return None if held is None else held + added


def dose_salts(
    hardness_mg_l: float,
    alkalinity_mg_l: float,
    volume_l: float,
    recipe: Recipe | None = None,
    base: Water = PURE_WATER,
) -> Dosing:
    """Return the salts that bring a volume of water to a hardness and an alkalinity (mg/L as calcium carbonate).

    Stoichiometry from molar masses. The volume of the concentrates themselves is left out (a few mL in a litre).
    Raises OutOfRange outside 0.1 to 10,000 L, a target below what the base holds or above 1000 mg/L, a salt that
    does not serve, or a concentrate stronger than stays dissolved.
    """
    within(volume_l, 0.1, 10_000.0, "volume of water", "L")
    recipe = recipe or Recipe()
    hardness_salt = salt_named(recipe.hardness_salt, "hardness")
    alkalinity_salt = salt_named(recipe.alkalinity_salt, "alkalinity")
    hardness = _missing(hardness_mg_l, base.total_hardness(), "hardness")
    alkalinity = _missing(alkalinity_mg_l, base.total_alkalinity(), "alkalinity")
    doses = (
        _dose(hardness_salt, hardness, volume_l, recipe.hardness_concentrate_g_l),
        _dose(alkalinity_salt, alkalinity, volume_l, recipe.alkalinity_concentrate_g_l),
    )
    adds = ions_mg_l(hardness_salt, doses[0].salt_mg_l) | ions_mg_l(alkalinity_salt, doses[1].salt_mg_l)
    in_order = tuple((ion, adds[ion]) for ion in _FIELD if ion in adds)
    return Dosing(volume_l, doses, in_order, _with_ions(base, adds))
