"""Everything there is to say about one water, as plain values a command can print or serialise."""

from dataclasses import dataclass

from diagnose.science.water.composition import Water
from diagnose.science.water.judgement import Judgement, judge
from diagnose.science.water.meter import MeterReadings, meter_readings
from diagnose.science.water.saturation import BOILER_DEGC, BREW_DEGC, Saturation, saturation
from diagnose.science.water.scale import carbonate_hardness_mg_l_caco3
from diagnose.science.water.standard import Comparison, compare
from diagnose.science.water.units import InAllUnits, in_all_units

ASSUMED_PH = 7.5
"""Taken where no pH is given: the upper end of the published table's range, a common tap water (common practice)."""

_LEAST_MG_L = 0.1


@dataclass(frozen=True, slots=True)
class WaterReport:
    """One water reckoned through; `dataclasses.asdict` gives it as plain dicts, lists and numbers.

    What cannot be known is None. `notes` says in sentences what was taken for granted or is missing.
    `scale_bound_g_per_1000_l` is what 1000 litres would leave if all of the carbonate hardness came out: an upper
    bound.
    """

    water: Water
    hardness: InAllUnits | None
    alkalinity: InAllUnits | None
    calcium_hardness_mg_l_caco3: float | None
    dissolved_solids_mg_l: float | None
    meter: MeterReadings | None
    brew: Saturation | None
    boiler: Saturation | None
    scale_bound_g_per_1000_l: float | None
    judgement: Judgement
    comparison: tuple[Comparison, ...]
    notes: tuple[str, ...]


@dataclass(frozen=True, slots=True)
class _Basis:
    """The four numbers an index needs, and what was assumed to have them; calcium or alkalinity None when unknown."""

    ph: float
    tds_mg_l: float
    calcium: float | None
    alkalinity: float | None
    assumed: tuple[str, ...]


def _basis(water: Water) -> _Basis:
    """Return the numbers for the indices, filling gaps on the side of more scale and saying so."""
    assumed: list[str] = []
    ph, tds, calcium = water.ph, water.dissolved_solids(), water.calcium_hardness()
    if calcium is None and water.hardness_mg_l_caco3 is not None:
        calcium = water.hardness_mg_l_caco3
        assumed.append("All of the hardness is taken as calcium, which puts the indices up to 0.2 high.")
    if ph is None:
        ph = ASSUMED_PH
        assumed.append(f"No pH was given: {ASSUMED_PH:g} is taken; half a unit of pH moves the indices by as much.")
    if tds is None:
        tds = water.known_ions_mg_l()
        assumed.append(f"Dissolved solids are taken as the {tds:.0f} mg/L of ions known, a lower bound.")
    return _Basis(ph, min(max(tds, 1.0), 5000.0), calcium, water.total_alkalinity(), tuple(assumed))


def _saturations(basis: _Basis) -> tuple[tuple[Saturation | None, Saturation | None], tuple[str, ...]]:
    """Return saturation at brew and boiler temperature, or None twice and why."""
    calcium, alkalinity = basis.calcium, basis.alkalinity
    if calcium is None or alkalinity is None:
        return (None, None), ("Without calcium (or hardness) and alkalinity no saturation index can be reckoned.",)
    if calcium < _LEAST_MG_L or alkalinity < _LEAST_MG_L:
        return (None, None), ("Without calcium or without bicarbonate no chalk can form, so there is no index.",)
    brew = saturation(basis.ph, BREW_DEGC, basis.tds_mg_l, calcium, alkalinity)
    boiler = saturation(basis.ph, BOILER_DEGC, basis.tds_mg_l, calcium, alkalinity)
    return (brew, boiler), basis.assumed


def water_report(water: Water) -> WaterReport:
    """Return the report for what is known of a water.

    Raises OutOfRange outside pH 4 to 10, or calcium hardness or alkalinity above 3000 mg/L, which no formula here
    covers; the water has checked itself for the impossible.
    """
    basis = _basis(water)
    (brew, boiler), notes = _saturations(basis)
    if water.chloride_mg_l is None:
        notes += ("Chloride was not given, and it is what pits stainless steel: look it up on the supplier's sheet.",)
    bound = None
    if basis.calcium is not None and basis.alkalinity is not None:
        bound = carbonate_hardness_mg_l_caco3(basis.calcium, basis.alkalinity)
    conductivity = water.conductivity_us_cm
    hardness, alkalinity = water.total_hardness(), water.total_alkalinity()
    return WaterReport(
        water=water,
        hardness=None if hardness is None else in_all_units(hardness),
        alkalinity=None if alkalinity is None else in_all_units(alkalinity),
        calcium_hardness_mg_l_caco3=water.calcium_hardness(),
        dissolved_solids_mg_l=water.dissolved_solids(),
        meter=meter_readings(conductivity) if conductivity is not None and 1.0 <= conductivity <= 1413.0 else None,
        brew=brew,
        boiler=boiler,
        scale_bound_g_per_1000_l=bound,
        judgement=judge(water, brew, boiler),
        comparison=compare(water),
        notes=notes,
    )
