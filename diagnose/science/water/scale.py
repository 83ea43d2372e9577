"""Scale: the most a water could leave in a year, and the acid it takes to dissolve it."""

from dataclasses import dataclass

from diagnose.science.ranges import within
from diagnose.science.water.units import CACO3_G_MOL, WATER_G_MOL, molar_mass

CITRIC_ACID_G_MOL = molar_mass(C=6, H=8, O=7)
"""Anhydrous, C6H8O7."""

CO2_G_MOL = molar_mass(C=1, O=2)

DESCALING_CAUTIONS = (
    "Only what the machine's manual allows, by its steps: acids attack aluminium, zinc plating and some seals.",
    "Gloves and eye protection, and an open window. Acid descaler and anything with chlorine must never meet.",
    "Chalk gives off gas in acid: never in a closed vessel. Rinse until the water tastes of nothing.",
    "Boilers and anything behind panels are for a technician.",
)


@dataclass(frozen=True, slots=True)
class Descaling:
    """Acid to dissolve chalk completely, and the carbon dioxide that comes off, in g."""

    scale_g: float
    citric_acid_g: float
    carbon_dioxide_g: float


def carbonate_hardness_mg_l_caco3(calcium_mg_l_caco3: float, alkalinity_mg_l_caco3: float) -> float:
    """Return what could leave as chalk: the smaller of calcium hardness and alkalinity, mg/L as calcium carbonate.

    Raises OutOfRange outside 0 to 5000 mg/L.
    """
    within(calcium_mg_l_caco3, 0.0, 5000.0, "calcium hardness", "mg/L as CaCO3")
    within(alkalinity_mg_l_caco3, 0.0, 5000.0, "alkalinity", "mg/L as CaCO3")
    return min(calcium_mg_l_caco3, alkalinity_mg_l_caco3)


def scale_bound_g(litres_per_day: float, carbonate_hardness_mg_l: float, days: float = 365.0) -> float:
    """Return the grams of chalk if every bit of the carbonate hardness stayed in the machine.

    Mass balance: an upper bound, of which a fraction is left behind in truth.
    Raises OutOfRange outside 0 to 5000 litres a day, 0 to 5000 mg/L as CaCO3 and 0 to 36,500 days.
    """
    within(litres_per_day, 0.0, 5000.0, "water use", "L/day")
    within(carbonate_hardness_mg_l, 0.0, 5000.0, "carbonate hardness", "mg/L as CaCO3")
    within(days, 0.0, 36_500.0, "time", "days")
    return litres_per_day * carbonate_hardness_mg_l * days / 1000.0


def descaling(scale_g: float, water_of_crystal: int = 0) -> Descaling:
    """Return the citric acid that dissolves so much chalk: 2 mol of acid for 3 mol of calcium carbonate.

    `water_of_crystal` is 0 for the anhydrous acid and 1 for the monohydrate. By stoichiometry alone; descalers are
    dosed with some to spare, as their label says. Raises OutOfRange outside 0 to 10,000 g or for other crystals.
    """
    within(scale_g, 0.0, 10_000.0, "scale", "g")
    within(water_of_crystal, 0, 1, "water of crystal", "mol/mol")
    moles = scale_g / CACO3_G_MOL
    acid_g_mol = CITRIC_ACID_G_MOL + water_of_crystal * WATER_G_MOL
    return Descaling(scale_g, 2.0 / 3.0 * moles * acid_g_mol, moles * CO2_G_MOL)
