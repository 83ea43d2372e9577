"""What the science says of a jug of milk, with the digits its numbers support."""

from collections.abc import Callable
from dataclasses import dataclass, replace

from diagnose.report.digits import Figure, Values, figure
from diagnose.report.milk_reading import JugSaid
from diagnose.report.milk_words import BOILER_ROLES, Role
from diagnose.science.milk.heat import (
    ESPRESSO_SPECIFIC_HEAT_KJ_KGK,
    SKIM_MILK_SPECIFIC_HEAT_KJ_KGK,
    WHOLE_MILK_SPECIFIC_HEAT_KJ_KGK,
    Portion,
    Steaming,
    heat_balance,
    mixed_temperature_degc,
)
from diagnose.science.milk.report import MilkReport, MilkTimes, milk_report
from diagnose.science.milk.texturing import Progress
from diagnose.science.milk.volume import VolumeGrowth, milk_density_kg_l, volume_growth
from diagnose.science.steam import atmospheric_pressure_bar, gauge_pressure_bar

ASSUMED_BAR = Figure(1.0, 0.2)
"""Where no pressure was told: steam boilers are set to about 0.8 to 1.2 bar gauge (common practice, no source)."""

ESPRESSO_DEGC = Figure(67.0, 3.0)
"""Espresso in the cup: 67 give or take 3 degC (certification rules for Italian espresso, as quoted)."""

LIQUID_GROWTH_HALF = 0.5
"""Percentage points: the density of hot milk is only known that well (see `milk_density_kg_l`)."""

WET_DRYNESS = 0.9
"""What steam can be like from a boiler too full or a wand not purged (an example, no source)."""


@dataclass(frozen=True, slots=True)
class Drink:
    """Milk with espresso: grams, degC, and the share of the drink that is water from steam, in percent."""

    mass_g: Figure
    degc: Figure
    water_percent: Figure
    assumed_degc: bool


@dataclass(frozen=True, slots=True)
class Jug:
    """One jug reckoned through. `report` holds what needs no digits; None where something was not asked for."""

    report: MilkReport
    milk_g: Figure
    start_degc: Figure
    stop_degc: Figure
    gauge_bar: Figure
    steam_degc: Figure
    heat_kj: Figure
    condensate_g: Figure
    percent_of_milk: Figure
    percent_of_final: Figure
    final_g: Figure
    wet_extra_g: Figure
    at_wet_g: Figure
    air_percent: Figure
    air_s: Figure | None
    total_s: Figure | None
    liquid_growth_percent: Figure
    growth_percent: Figure | None
    air_growth_percent: Figure | None
    drink: Drink | None


class _Reckoner:
    """Holds what was told and takes numbers from the science."""

    def __init__(self, said: JugSaid) -> None:
        self.said = said
        self.values: dict[str, float] = {role: one.value for role, one in said.figures.items()}
        self.halves: dict[str, float] = {role: one.half for role, one in said.figures.items()}
        if BOILER_ROLES.isdisjoint(said.figures):
            self.values["boiler_bar"], self.halves["boiler_bar"] = ASSUMED_BAR.value, ASSUMED_BAR.half

    def told(self, role: Role) -> bool:
        """Tell whether a number was told."""
        return role in self.said.figures

    def steaming(self, values: Values) -> Steaming:
        """Return the jug; a volume of milk is weighed by its density, a boiler in degrees by its gauge."""
        altitude = values.get("altitude_m", 0.0)
        if "boiler_absolute_bar" in values:
            gauge = values["boiler_absolute_bar"] - atmospheric_pressure_bar(altitude)
        elif "boiler_degc" in values:
            gauge = gauge_pressure_bar(values["boiler_degc"], altitude)
        else:
            gauge = values["boiler_bar"]
        start = values["start_degc"]
        mass = values["milk_g"] if "milk_g" in values else values["milk_ml"] * milk_density_kg_l(start)
        skim = self.said.kind == "skim"
        return Steaming(
            milk_g=mass,
            start_degc=start,
            stop_degc=values["stop_degc"],
            gauge_pressure_bar=gauge,
            dryness=values.get("dryness", 1.0),
            altitude_m=altitude,
            specific_heat_kj_kgk=SKIM_MILK_SPECIFIC_HEAT_KJ_KGK if skim else WHOLE_MILK_SPECIFIC_HEAT_KJ_KGK,
        )

    def report(self, values: Values) -> MilkReport:
        """Return the report, with times where a rate or a time was told."""
        seen = None
        if "seen_s" in values:
            seen = Progress(values["seen_s"], values.get("seen_degc", values["stop_degc"]))
        return milk_report(self.steaming(values), seen, values.get("rate_degc_s"))

    def figure(self, get: Callable[[MilkReport], float]) -> Figure:
        """Return a number of the report with its half width."""
        return self.of(lambda values: get(self.report(values)))

    def seconds(self, get: Callable[[MilkTimes], float]) -> Figure:
        """Return a time to the second; nothing where there are none."""
        return _at_least(self.figure(lambda found: get(found.times) if found.times else 0.0), 0.5)

    def of(self, compute: Callable[[Values], float]) -> Figure:
        """Return a number made of the values, with its half width."""
        return figure(compute, self.values, self.halves) or Figure(0.0, 0.0)

    def growth(self, values: Values) -> VolumeGrowth:
        """Return how the volume grew; without a final volume, as if half as much again were in the jug."""
        jug = self.steaming(values)
        cold_ml = jug.milk_g / milk_density_kg_l(jug.start_degc)
        final_ml = values.get("final_ml", 1.5 * cold_ml)
        return volume_growth(jug.milk_g, jug.start_degc, jug.stop_degc, heat_balance(jug).condensate_g, final_ml)


def reckon(said: JugSaid) -> Jug:
    """Return the jug reckoned through.

    Raises OutOfRange for what no formula covers: see `Steaming`, `seconds_until` and `volume_growth`.
    """
    one = _Reckoner(said)
    report = one.report(one.values)
    timed, grown = report.times is not None, one.told("final_ml")
    return Jug(
        report=_worded(report, said),
        milk_g=one.figure(lambda found: found.jug.milk_g),
        start_degc=said.figures["start_degc"],
        stop_degc=said.figures["stop_degc"],
        gauge_bar=one.figure(lambda found: found.jug.gauge_pressure_bar),
        steam_degc=one.figure(lambda found: found.steam.temperature_degc),
        heat_kj=one.figure(lambda found: found.balance.heat_kj),
        condensate_g=one.figure(lambda found: found.balance.condensate_g),
        percent_of_milk=one.figure(lambda found: found.balance.percent_of_milk),
        percent_of_final=one.figure(lambda found: found.balance.percent_of_final),
        final_g=one.figure(lambda found: found.balance.final_mass_g),
        wet_extra_g=one.figure(lambda found: found.wet_steam_extra_g),
        at_wet_g=one.of(lambda values: heat_balance(replace(one.steaming(values), dryness=WET_DRYNESS)).condensate_g),
        air_percent=one.figure(lambda found: found.window.air_percent),
        air_s=one.seconds(lambda times: times.air_s) if timed else None,
        total_s=one.seconds(lambda times: times.total_s) if timed else None,
        liquid_growth_percent=_at_least(
            one.of(lambda values: one.growth(values).condensate_percent + one.growth(values).warming_percent),
            LIQUID_GROWTH_HALF,
        ),
        growth_percent=one.of(lambda values: one.growth(values).total_percent) if grown else None,
        air_growth_percent=one.of(lambda values: one.growth(values).air_percent) if grown else None,
        drink=_drink(one) if one.told("espresso_g") else None,
    )


def _at_least(figure: Figure, half: float) -> Figure:
    """Return a figure no finer than what the formula or a person's eye is good for."""
    return Figure(figure.value, max(figure.half, half))


def _worded(report: MilkReport, said: JugSaid) -> MilkReport:
    """Return the report with its sentences made from the temperatures as they are shown."""
    start, stop = (said.figures[role].rounded for role in ("start_degc", "stop_degc"))
    worded = milk_report(replace(report.jug, start_degc=start, stop_degc=stop))
    return replace(report, cautions=worded.cautions)


def _drink(one: _Reckoner) -> Drink:
    """Return the drink that milk and espresso make."""
    assumed = not one.told("espresso_degc")
    one.values.setdefault("espresso_degc", ESPRESSO_DEGC.value)
    one.halves.setdefault("espresso_degc", ESPRESSO_DEGC.half)

    def degc(values: Values) -> float:
        jug = one.steaming(values)
        milk = Portion(heat_balance(jug).final_mass_g, jug.stop_degc, jug.specific_heat_kj_kgk)
        espresso = Portion(values["espresso_g"], values["espresso_degc"], ESPRESSO_SPECIFIC_HEAT_KJ_KGK)
        return mixed_temperature_degc((espresso, milk))

    def mass(values: Values) -> float:
        return heat_balance(one.steaming(values)).final_mass_g + values["espresso_g"]

    def water(values: Values) -> float:
        return 100.0 * heat_balance(one.steaming(values)).condensate_g / mass(values)

    return Drink(one.of(mass), one.of(degc), one.of(water), assumed)
