"""How far the milk rose in the jug, and how much of that is air: warm milk and condensate take room too."""

from bisect import bisect_left
from dataclasses import dataclass

from diagnose.science.ranges import within

# Homogenised whole milk (3.6 % fat, 8.6 % solids-not-fat), kg/L at degC: a university dairy-science table.
_MILK_DENSITY = ((4.4, 1.033), (10.0, 1.032), (20.0, 1.029), (38.9, 1.022))
_WATER_DENSITY_KG_L = 0.983
"""Water at 60 degC, where the condensate ends up (IAPWS-IF97: 983.2 kg/m3 at atmospheric pressure)."""


@dataclass(frozen=True, slots=True)
class VolumeGrowth:
    """Growth of the jug's content in percent of the cold milk's volume, and its parts, which add up to it."""

    total_percent: float
    air_percent: float
    condensate_percent: float
    warming_percent: float
    air_ml: float


def milk_density_kg_l(temperature_degc: float) -> float:
    """Return the density of whole milk.

    Between 4.4 and 38.9 degC by straight lines through a dairy-science table; beyond it by the nearest line, good to
    about 0.5 % at 65 degC. Raises OutOfRange outside 0 to 80 degC.
    """
    within(temperature_degc, 0.0, 80.0, "milk temperature", "degC")
    index = bisect_left(_MILK_DENSITY, (temperature_degc, 0.0))
    index = min(max(index, 1), len(_MILK_DENSITY) - 1)
    (left, low), (right, high) = _MILK_DENSITY[index - 1], _MILK_DENSITY[index]
    return low + (high - low) * (temperature_degc - left) / (right - left)


def volume_growth(
    milk_g: float, start_degc: float, stop_degc: float, condensate_g: float, final_ml: float
) -> VolumeGrowth:
    """Return how much of the rise in the jug is air, condensate and warming.

    Volumes are taken to add. Raises OutOfRange when the final volume is less than the liquid alone takes up (less
    2 % for reading the jug), or above four times it, or the milk is not 10 to 5000 g.
    """
    within(milk_g, 10.0, 5000.0, "jug of milk", "g")
    within(condensate_g, 0.0, milk_g, "condensate", "g")
    cold_ml = milk_g / milk_density_kg_l(start_degc)
    warm_ml = milk_g / milk_density_kg_l(stop_degc)
    condensate_ml = condensate_g / _WATER_DENSITY_KG_L
    liquid_ml = warm_ml + condensate_ml
    within(final_ml, 0.98 * liquid_ml, 4.0 * liquid_ml, "final volume", "mL")
    air_ml = final_ml - liquid_ml
    shares = (final_ml - cold_ml, air_ml, condensate_ml, warm_ml - cold_ml)
    total, air, water, warming = (100.0 * share / cold_ml for share in shares)
    return VolumeGrowth(total, air, water, warming, air_ml)
