"""What the science says of a water, with the digits its numbers support; of a mixture as of a water told."""

from collections.abc import Callable, Mapping
from dataclasses import dataclass, replace
from typing import Literal

from diagnose.report.digits import Figure, Values, figure
from diagnose.report.water_said import WaterSaid
from diagnose.science.water.composition import Water
from diagnose.science.water.corrosion import corrosion
from diagnose.science.water.judgement import Judgement, Level, judge, level_of
from diagnose.science.water.report import ASSUMED_PH, WaterReport, water_report
from diagnose.science.water.saturation import BOILER_DEGC, BREW_DEGC, Saturation, saturation
from diagnose.science.water.units import MG_L_CACO3_PER

ASSUMED_PH_HALF = 0.5
VAGUE_FROM = 0.25
"""An index known no better than this is given as a range: one unit of it is the whole way from balanced to scaling."""

_ASSUMED = "assumed_ph"
OWN_UNITS: Mapping[str, float] = {
    "mg_l_caco3": 1.0,
    "dh": MG_L_CACO3_PER["dH"],
    "fh": MG_L_CACO3_PER["fH"],
    "clark": MG_L_CACO3_PER["Clark"],
    "gpg": MG_L_CACO3_PER["gpg"],
    "mmol_l": MG_L_CACO3_PER["mmol/L"],
    "meq_l": MG_L_CACO3_PER["meq/L"],
}
"""Ending of a field's name to mg/L as CaCO3 in one of the unit."""


@dataclass(frozen=True, slots=True)
class Source:
    """Where a water comes from: named values with half widths, and how a water is made of them."""

    make: Callable[[Values], Water]
    values: Values
    halves: Values

    @classmethod
    def told(cls, said: WaterSaid) -> "Source":
        """Return the source of a water as it was told."""
        return cls(lambda values: Water(**values), dict(said.values), dict(said.halves))

    @property
    def water(self) -> Water:
        """Return the water."""
        return self.make(self.values)

    def figure(self, get: Callable[[Water], float | None]) -> Figure | None:
        """Return what `get` takes from the water, with its half width; None where it is not known."""
        return figure(lambda values: get(self.make(values)), self.values, self.halves)


@dataclass(frozen=True, slots=True)
class Index:
    """Both indices at a temperature, and the level the first stands for at the ends of its half width."""

    degc: Figure
    langelier: Figure
    ryznar: Figure
    low: Level
    level: Level
    high: Level

    @property
    def vague(self) -> bool:
        """Tell whether only a range can be given."""
        return self.langelier.half >= VAGUE_FROM

    def ends(self, name: Literal["langelier", "ryznar"]) -> tuple[float, float]:
        """Return the ends of an index to a tenth, alike unless it is vague."""
        figure = self.langelier if name == "langelier" else self.ryznar
        half = figure.half if self.vague else 0.0
        return round(figure.value - half, 1) + 0.0, round(figure.value + half, 1) + 0.0


@dataclass(frozen=True, slots=True)
class Findings:
    """One water reckoned through; what is not known is None. Hardness and the like are mg/L as CaCO3."""

    source: Source
    report: WaterReport
    hardness: Figure | None
    alkalinity: Figure | None
    calcium: Figure | None
    solids: Figure | None
    brew: Index | None
    boiler: Index | None
    water: Index | None
    judgement: Judgement
    corrosion_reasons: tuple[str, ...]


def findings(source: Source, places: Mapping[str, Figure] | None = None) -> Findings:
    """Return everything about a water; `places` are temperatures for brewing, boiler and the water itself.

    Raises OutOfRange for what the formulas do not cover.
    """
    places = places or {}
    report = water_report(source.water)
    brew = _index(source, places.get("brewing", Figure(BREW_DEGC, 0.0)))
    boiler = _index(source, places.get("boiler", Figure(BOILER_DEGC, 0.0)))
    at_rest = places.get("water")
    return Findings(
        source=source,
        report=report,
        hardness=source.figure(Water.total_hardness),
        alkalinity=source.figure(Water.total_alkalinity),
        calcium=source.figure(Water.calcium_hardness),
        solids=source.figure(Water.dissolved_solids),
        brew=brew,
        boiler=boiler,
        water=None if at_rest is None else _index(source, at_rest),
        judgement=judge(report.water, _saturation(brew), _saturation(boiler)),
        corrosion_reasons=corrosion(_as_shown(source))[1],
    )


def saturation_at(water: Water, degc: float) -> Saturation | None:
    """Return the indices at any temperature, on the basis `water_report` takes; None where it has none.

    Raises OutOfRange outside 0 to 130 degC, and as `water_report`.
    """
    report = water_report(water)
    calcium = report.calcium_hardness_mg_l_caco3
    if calcium is None and report.hardness is not None:
        calcium = report.hardness.mg_l_caco3
    if report.brew is None or calcium is None or report.alkalinity is None:
        return None
    solids = report.dissolved_solids_mg_l
    solids = water.known_ions_mg_l() if solids is None else solids
    ph = report.brew.langelier + report.brew.ph_saturation
    return saturation(ph, degc, min(max(solids, 1.0), 5000.0), calcium, report.alkalinity.mg_l_caco3)


def _index(source: Source, degc: Figure) -> Index | None:
    """Return the indices at a temperature with their half widths; half a unit of pH where none was told."""

    def at(values: Values) -> Saturation | None:
        water = source.make({name: value for name, value in values.items() if name not in {_ASSUMED, "at_degc"}})
        return saturation_at(water if water.ph is not None else replace(water, ph=values[_ASSUMED]), values["at_degc"])

    def langelier(values: Values) -> float | None:
        found = at(values)
        return None if found is None else found.langelier

    def ryznar(values: Values) -> float | None:
        found = at(values)
        return None if found is None else found.ryznar

    values = {**source.values, _ASSUMED: ASSUMED_PH, "at_degc": degc.value}
    halves = {**source.halves, "at_degc": degc.half, _ASSUMED: ASSUMED_PH_HALF}
    first, second = figure(langelier, values, halves), figure(ryznar, values, halves)
    if first is None or second is None:
        return None
    levels = (level_of(first.value + side * first.half) for side in (-1.0, 0.0, 1.0))
    return Index(degc, first, second, *levels)


def _saturation(index: Index | None) -> Saturation | None:
    """Return the middle of an index as the science has it."""
    if index is None:
        return None
    ph_saturation = index.langelier.value + index.ryznar.value
    return Saturation(index.degc.value, ph_saturation, index.langelier.value, index.ryznar.value)


def _as_shown(source: Source) -> Water:
    """Return the water with each number rounded to the digits it deserves, for sentences that give numbers."""
    shown = {}
    for name in Water.__slots__:
        one = source.figure(lambda water, name=name: getattr(water, name))  # type: ignore[misc]
        shown[name] = None if one is None else one.rounded
    return Water(**shown)
