"""The energy balance of steaming: how much steam condenses in the jug, and what the drink's temperature becomes.

Steam gives up its heat by turning to water in the milk, so warming milk always thins it. The balance is the textbook
one for direct steam heating: steam x (its enthalpy - that of water at the end) = milk x specific heat x rise. What
the jug and the air take is left out, so the figures are the least water that can go in.
"""

from collections.abc import Sequence
from dataclasses import dataclass, replace

from diagnose.errors import OutOfRange
from diagnose.science.ranges import within
from diagnose.science.steam import SaturatedSteam, boiling_point_degc, saturated_steam

WATER_SPECIFIC_HEAT_KJ_KGK = 4.19
"""Mean of liquid water between 0 and 100 degC (IAPWS-IF97 gives 4.18 to 4.22)."""

WHOLE_MILK_SPECIFIC_HEAT_KJ_KGK = 3.93
"""Whole milk at 0 to 60 degC, from memory of dairy handbooks, which give 3.8 to 4.0."""

SKIM_MILK_SPECIFIC_HEAT_KJ_KGK = 3.95
"""Skim milk: dairy tables quote 0.933 to 0.954 cal/(g K), that is 3.90 to 3.99."""

ESPRESSO_SPECIFIC_HEAT_KJ_KGK = 4.1
"""A drink of nine tenths water; an estimate by its solids."""

LOWEST_SPECIFIC_HEAT_KJ_KGK = 3.6
"""Below any milk or plant drink: milk is seven eighths water, so figures such as 2.5 cannot be right."""


@dataclass(frozen=True, slots=True)
class Steaming:
    """One jug of milk and the steam it is heated with.

    Raises OutOfRange when the milk is not 10 to 5000 g, starts below 0 or above 60 degC, stops no warmer than it
    started, above 95 degC or above the boiling point of the altitude, when the dryness is not 0.5 to 1 (wetter is
    water, not steam) or the specific heat not 3.6 to 4.2 kJ/(kg K); and what `saturated_steam` raises.
    """

    milk_g: float
    start_degc: float
    stop_degc: float
    gauge_pressure_bar: float = 1.0
    dryness: float = 1.0
    altitude_m: float = 0.0
    specific_heat_kj_kgk: float = WHOLE_MILK_SPECIFIC_HEAT_KJ_KGK

    def __post_init__(self) -> None:
        """Check every number once, so that the formulas need not."""
        within(self.milk_g, 10.0, 5000.0, "jug of milk", "g")
        within(self.start_degc, 0.0, 60.0, "starting temperature of milk", "degC")
        hottest = min(95.0, boiling_point_degc(self.altitude_m))
        within(self.stop_degc, 0.0, hottest, "final temperature of milk", "degC")
        if self.stop_degc <= self.start_degc:
            raise OutOfRange(
                f"steam cannot take milk from {self.start_degc:g} degC to {self.stop_degc:g} degC: "
                f"give a final temperature above {self.start_degc:g} and up to {hottest:.1f} degC."
            )
        lowest = LOWEST_SPECIFIC_HEAT_KJ_KGK
        within(self.specific_heat_kj_kgk, lowest, 4.2, "specific heat of milk", "kJ/(kg K)")
        within(self.dryness, 0.5, 1.0, "steam dryness (share of vapour)", "")
        self.steam()

    def steam(self) -> SaturatedSteam:
        """Return the steam in the boiler."""
        return saturated_steam(self.gauge_pressure_bar, self.altitude_m)


@dataclass(frozen=True, slots=True)
class HeatBalance:
    """What steaming does: the heat the milk takes up, the water it gains, and that water's share in percent."""

    heat_kj: float
    condensate_g: float
    final_mass_g: float
    percent_of_milk: float
    percent_of_final: float


def condensate_g(jug: Steaming, at_degc: float) -> float:
    """Return the grams of steam condensed by the time the milk reaches `at_degc`.

    Raises OutOfRange unless start <= at_degc <= 95.
    """
    within(at_degc, jug.start_degc, 95.0, "milk temperature", "degC")
    given = jug.steam().enthalpy_kj_kg(jug.dryness) - WATER_SPECIFIC_HEAT_KJ_KGK * at_degc
    return jug.milk_g * jug.specific_heat_kj_kgk * (at_degc - jug.start_degc) / given


def heat_balance(jug: Steaming) -> HeatBalance:
    """Return heat, condensate and dilution of a jug steamed from its start to its stop temperature."""
    steam_g = condensate_g(jug, jug.stop_degc)
    final_g = jug.milk_g + steam_g
    heat_kj = jug.milk_g / 1000.0 * jug.specific_heat_kj_kgk * (jug.stop_degc - jug.start_degc)
    return HeatBalance(heat_kj, steam_g, final_g, 100.0 * steam_g / jug.milk_g, 100.0 * steam_g / final_g)


def wet_steam_extra_g(jug: Steaming) -> float:
    """Return the grams of water the jug gains beyond what dry steam would have left in it."""
    return condensate_g(jug, jug.stop_degc) - condensate_g(replace(jug, dryness=1.0), jug.stop_degc)


@dataclass(frozen=True, slots=True)
class Portion:
    """One part of a drink: grams, degC and kJ/(kg K)."""

    mass_g: float
    temperature_degc: float
    specific_heat_kj_kgk: float = WATER_SPECIFIC_HEAT_KJ_KGK


def mixed_temperature_degc(portions: Sequence[Portion]) -> float:
    """Return the temperature of portions poured together, no heat lost: sum(m c T) / sum(m c).

    A cup counts as a portion too (stoneware about 0.9 kJ/(kg K)), which is why a cold one shows in the drink.
    Raises OutOfRange for no portions, a mass not above 0, or a temperature outside 0 to 100 degC.
    """
    if not portions:
        raise OutOfRange("a drink needs at least one portion: give mass in g and temperature in degC.")
    for portion in portions:
        within(portion.mass_g, 0.1, 5000.0, "portion", "g")
        within(portion.temperature_degc, 0.0, 100.0, "portion's temperature", "degC")
        within(portion.specific_heat_kj_kgk, 0.1, 4.3, "specific heat", "kJ/(kg K)")
    capacity = sum(portion.mass_g * portion.specific_heat_kj_kgk for portion in portions)
    heat = sum(portion.mass_g * portion.specific_heat_kj_kgk * portion.temperature_degc for portion in portions)
    return heat / capacity
