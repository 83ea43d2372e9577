"""From a case to the numbers rules test: each against the person's own recipe and spread, with the assumptions made.

No shot is judged against a fixed time. Where no recipe is known, one of common practice is assumed (1:2 in 27 s, with
a wide spread) and the reply says so.
"""

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, replace
from math import hypot
from statistics import fmean

from diagnose.case.fold import Case
from diagnose.case.history import NO_HISTORY, History, series
from diagnose.model import Quantity
from diagnose.rulebase.vocabulary import MEASURES
from diagnose.science.extraction import extraction_yield
from diagnose.science.flow import time_at_yield
from diagnose.science.variation import spread

ASSUMED_RATIO = 2.0  # common practice, no source
ASSUMED_TIME_S = 27.0  # common practice, no source
ASSUMED_SIGMA_S = 3.5  # wide, since the recipe itself is a guess: 20 to 34 s pass for on time
# A spread estimated from few shots is often too small, and then chance passes for a cure: below ten shots it is taken
# to be at least this (simulated: faults of two sigma declared fixed are truly fixed in 96 % without, 98 % with it).
LEAST_SIGMA_S = 2.0
ENOUGH_SHOTS = 10
# Published pooled standard deviations of shot time at fixed settings run from 1.8 to 3.2 s: Waszkiewicz et al.,
# arXiv 2512.21528 (2025), open data.
DEFAULT_SIGMA_S = 2.5
PLAUSIBLE_RATIO = (0.8, 5.0)  # yield over dose; outside, one of the two numbers is more likely misread
PLAUSIBLE_EXTRACTION = (10.0, 28.0)  # %; about 28-30 % of roasted coffee dissolves at all


@dataclass(frozen=True, slots=True)
class Target:
    """The recipe a shot is judged against. `assumed` names the parts nobody gave."""

    dose_g: float | None
    yield_g: float | None
    time_s: float
    sigma_s: float
    assumed: tuple[str, ...]


@dataclass(frozen=True, slots=True)
class Measures:
    """Numbers for the rules by name, the target they were judged against, and doubts about the input."""

    values: Mapping[str, float]
    target: Target
    doubts: tuple[str, ...] = ()
    projected_s: float | None = None


def target_of(case: Case, history: History = NO_HISTORY) -> Target:
    """Return the recipe of this case, completed by common practice."""
    recipe, assumed = case.recipe, []
    dose = _value(recipe.get("dose"))
    ratio = _value(recipe.get("ratio"))
    yield_g = _value(recipe.get("yield"))
    said_dose = _value(case.measured("dose"))
    if yield_g is None and (dose or said_dose):
        yield_g = (dose or said_dose or 0.0) * (ratio or ASSUMED_RATIO)
        if ratio is None:
            assumed.append("yield")
    time = _value(recipe.get("time"))
    if time is None:
        assumed.append("time")
    sigma = _sigma(history.times) or (ASSUMED_SIGMA_S if time is None else DEFAULT_SIGMA_S)
    return Target(dose, yield_g, time or ASSUMED_TIME_S, sigma, tuple(assumed))


def _sigma(times: Sequence[float]) -> float | None:
    """Return the person's own spread in s once five shots at one setting tell it."""
    own = spread(times)
    return own if own is None or len(times) >= ENOUGH_SHOTS else max(own, LEAST_SIGMA_S)


def measures_of(case: Case, history: History = NO_HISTORY) -> Measures:
    """Return the numbers of the current shot, in canonical units, as far as they can be computed."""
    target = target_of(case, history)
    values = {name: quantity.value for name, quantity in case.stated.items()}
    doubts: list[str] = []
    if case.shot is not None:
        values |= {name: quantity.value for name, quantity in case.shot.measures.items()}
    if "ratio" in values and "dose" in values:
        values.setdefault("yield", values["ratio"] * values["dose"])
    dose, yield_g = values.get("dose"), values.get("yield")
    if dose and yield_g:
        if _plausible(yield_g / dose):
            values["brew_ratio"] = yield_g / dose
        else:
            doubts.append("ratio")
            yield_g = None
    values |= _against_recipe(dose, yield_g, target, values)
    drink, wanted = yield_g, target.yield_g
    if not dose and not values.get("yield") and (told := values.get("ratio")) and _plausible(told):
        drink, wanted = told, _recipe_ratio(case)  # grams a gram: no dose is needed to compare them
        values["yield_ratio"] = drink / wanted
    projected = _time(values, (drink, wanted), target, case)
    if "time" in values:
        values |= series(history.times, values["time"], target.sigma_s)
        values["time_z"] = _together(values["time_z"], history.times, target)
    values |= _extraction(values, dose, yield_g, doubts)
    values["shots_told"] = float(len(case.shots))
    usual = [shot.measures["first_drops"].value for shot in case.shots[:-1] if "first_drops" in shot.measures]
    if usual and "first_drops" in values and fmean(usual) > 0:
        values["first_drops_ratio"] = values["first_drops"] / fmean(usual)
    return Measures(values, target, tuple(doubts), projected)


def _plausible(ratio: float) -> bool:
    """Return whether a yield over a dose can be true."""
    return PLAUSIBLE_RATIO[0] <= ratio <= PLAUSIBLE_RATIO[1]


def _recipe_ratio(case: Case) -> float:
    """Return the recipe's grams out for one gram in, from its ratio or its two masses; else the assumed one."""
    dose, yield_g = _value(case.recipe.get("dose")), _value(case.recipe.get("yield"))
    return _value(case.recipe.get("ratio")) or (yield_g / dose if dose and yield_g else ASSUMED_RATIO)


def _value(quantity: Quantity | None) -> float | None:
    return None if quantity is None else quantity.value


def _against_recipe(
    dose: float | None, yield_g: float | None, target: Target, values: Mapping[str, float]
) -> dict[str, float]:
    """Return dose and yield against recipe and basket."""
    found: dict[str, float] = {}
    if dose and target.dose_g:
        found["dose_off"], found["dose_ratio"] = dose - target.dose_g, dose / target.dose_g
    if dose and "basket_size" in values:
        found["dose_over_basket"] = dose - values["basket_size"]
    if yield_g and target.yield_g:
        found["yield_ratio"] = yield_g / target.yield_g
    return found


def _time(
    values: dict[str, float], drink: tuple[float | None, float | None], target: Target, case: Case
) -> float | None:
    """Enter the time at the recipe's yield against the recipe; return it, or None when no time was given.

    `drink` is the yield and the recipe's: both in g, or both in g for a gram of coffee.
    """
    time = values.get("time")
    if time is None:
        return None
    seconds, doubt = time, 0.0
    if drink[0] and drink[1]:
        flow = values.get("flow_rate") if "yield" in values else None  # in g/s, so of use beside grams alone
        projection = time_at_yield(time, drink[0], drink[1], values.get("first_drops"), flow)
        seconds, doubt = projection.seconds, projection.sd
    sigma = hypot(target.sigma_s, doubt)
    values["time_ratio"] = seconds / target.time_s
    values["time_z"] = (seconds - target.time_s) / sigma
    values["time_spread"] = target.sigma_s
    values["same_side"] = float(_same_side(case, values["time_z"], target))
    if len(case.shots) > 1 and "time" in case.shots[-2].measures:
        values["time_change_z"] = (time - case.shots[-2].measures["time"].value) / target.sigma_s
    return seconds


def _together(newest: float, times: Sequence[float], target: Target) -> float:
    """Return the newest deviation in sigma, or the mean of the last two here where only together they are off.

    By chance two steady shots have a mean beyond two sigma once in two hundred times.
    """
    mean = (newest + (times[-1] - target.time_s) / target.sigma_s) / 2.0 if times else newest
    return mean if abs(newest) <= 2.0 < abs(mean) else newest


def _same_side(case: Case, newest: float, target: Target) -> int:
    """Return how many shots in a row, the current one included, lie beyond two sigma on one side of the recipe."""
    count = 0
    earlier = [shot.measures["time"].value for shot in case.shots[:-1] if "time" in shot.measures]
    for z in [newest, *((time - target.time_s) / target.sigma_s for time in reversed(earlier))]:
        if abs(z) <= 2.0 or (z > 0) != (newest > 0):
            break
        count += 1
    return count


def _extraction(
    values: Mapping[str, float], dose: float | None, yield_g: float | None, doubts: list[str]
) -> dict[str, float]:
    """Return the extraction yield from dissolved solids, if it can be true and was not measured itself."""
    if "extraction" in values or "tds" not in values or not dose or not yield_g:
        return {}  # measured beats computed
    extraction = values["tds"] * yield_g / dose
    if not PLAUSIBLE_EXTRACTION[0] <= extraction <= PLAUSIBLE_EXTRACTION[1]:
        doubts.append("extraction")
        return {}
    return {"extraction": extraction_yield(values["tds"], yield_g, dose)}


# The number a person would recognise behind a computed one.
_BASIS = {
    "time_ratio": "projected",
    "time_z": "projected",
    "dose_off": "dose",
    "dose_ratio": "dose",
    "dose_over_basket": "dose",
    "yield_ratio": "yield",
    "brew_ratio": "brew_ratio",
    "first_drops_ratio": "first_drops",
    "time_change_z": "time",
}


def basis_of(measure: str, measures: Measures) -> tuple[float | None, str | None]:
    """Return the value and unit a person would recognise behind a measure, or (None, None)."""
    name = _BASIS.get(measure, measure)
    if name == "projected":
        return measures.projected_s, "s"
    value = measures.values.get(name)
    return (None, None) if value is None else (value, MEASURES[name].unit)


def variants(case: Case, middle: Measures, history: History = NO_HISTORY) -> list[Measures]:
    """Return the measures for the number given, and for both ends where the person gave a range."""
    of_shot = case.shot.measures.values() if case.shot else ()
    if all(quantity.low == quantity.high for quantity in (*case.stated.values(), *of_shot)):
        return [middle]
    return [middle, *(measures_of(_at_end(case, end), history) for end in ("low", "high"))]


def _at_end(case: Case, end: str) -> Case:
    """Return the case with every range taken at its low or high end."""

    def moved(quantities: Mapping[str, Quantity]) -> dict[str, Quantity]:
        return {name: replace(quantity, value=getattr(quantity, end)) for name, quantity in quantities.items()}

    shots = tuple(replace(shot, measures=moved(shot.measures)) for shot in case.shots)
    return replace(case, shots=shots, stated=moved(case.stated))
