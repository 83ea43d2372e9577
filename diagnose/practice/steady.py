"""Simulated bars whose machine is steady: how often the grind is moved for nothing, and what that does to the scatter.

Every shot is judged, and every step sized, by the functions a talk uses. Scatter of single shots is taken from the
pooled 1.8-3.2 s of published repeats at one setting (Waszkiewicz et al., arXiv 2512.21528, 2025).
"""

from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from math import copysign, floor
from random import Random
from statistics import fmean

from diagnose.case.fold import Case, Observation
from diagnose.case.history import history_of
from diagnose.case.measures import measures_of
from diagnose.model import Quantity, Shot
from diagnose.rulebase.base import RuleBase
from diagnose.rulebase.schema import Step
from diagnose.sizing import Request
from diagnose.sizing.grind import DIAL_DIRECTION, grind_decision, grind_step

SEED = 20240607
TARGET_S = 27.0
RECIPE = {"dose": Quantity.exact(18, "g"), "yield": Quantity.exact(36, "g"), "time": Quantity.exact(TARGET_S, "s")}
SCATTERS_S = (1.8, 2.5, 3.2)
SECONDS_A_NOTCH = (1.5, 3.0, 6.0)  # dials fine and coarse
SHOTS_A_BAR = 60


@dataclass(frozen=True, slots=True)
class Process:
    """Scatter of single shots in s, seconds a notch finer adds, and how many s off target the first shot stands."""

    sigma: float
    per_notch: float
    shift: float = 0.0


@dataclass(frozen=True, slots=True)
class Bar:
    """What became of shots: share that triggered an adjustment, mean squared miss in s2, and that of the scatter."""

    triggered: float
    squared_miss: float
    squared_scatter: float

    @property
    def inflation(self) -> float:
        """Return how many times adjusting multiplied the variance about the target."""
        return self.squared_miss / self.squared_scatter


def keep_bar(base: RuleBase, process: Process, bars: int, *, shots: int = SHOTS_A_BAR, seed: int = SEED) -> Bar:
    """Run `bars` steady bars for `shots` each.

    The recipe is told, and that a higher number is finer; scatter and response of the dial are not.
    """
    rng = Random(seed)  # noqa: S311 - simulated scatter, nothing secret
    scatter = [[rng.gauss(0.0, process.sigma) for _ in range(shots)] for _ in range(bars)]
    pulled = [shot for errors in scatter for shot in _bar(base, process, errors)]
    triggered = fmean(moved for _, _, moved in pulled)
    return Bar(triggered, fmean(miss**2 for miss, _, _ in pulled), fmean(error**2 for _, error, _ in pulled))


def _bar(base: RuleBase, process: Process, errors: Sequence[float]) -> Iterator[tuple[float, float, bool]]:
    """Yield miss in s, scatter in s and whether the grind was moved after it, for each shot of one bar."""
    steps = {step.direction: step for step in base.steps.values() if step.size == "grind_step"}
    notch, told = 0, list[Shot]()
    for number, error in enumerate(errors, 1):
        time_s = TARGET_S + process.shift + process.per_notch * notch + error
        told.append(_shot(number, time_s, notch))
        finer = _move(steps["finer" if time_s < TARGET_S else "coarser"], told)
        notch += finer
        yield time_s - TARGET_S, error, finer != 0


def _shot(number: int, time_s: float, notch: int) -> Shot:
    """Return a shot as a scale, a timer with tenths and the dial's number tell it."""
    time, dial = Quantity.exact(max(1.0, round(time_s, 1)), "s"), Quantity.exact(notch, "notch")
    return Shot(number, {"dose": RECIPE["dose"], "yield": RECIPE["yield"], "time": time, "dial": dial})


def _move(step: Step, told: Sequence[Shot]) -> int:
    """Return by how many notches finer the advice after the last shot moves the dial: 0 where it is left alone."""
    finer_is = Observation(("higher",), "said", "")
    case = Case("home", tuple(told), RECIPE, observations={DIAL_DIRECTION: finer_is}, current=len(told))
    history = history_of(case, [shot.measures for shot in told[:-1]])
    request = Request(step, case, measures_of(case, history), history)
    if grind_decision(request) != "adjust":
        return 0
    amount = grind_step(request).amount
    if amount is None:
        return 0
    notches = max(1, floor((amount.low + amount.high) / 2 + 0.5))
    return int(copysign(notches, 1 if step.direction == "finer" else -1))
