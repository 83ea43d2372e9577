"""What ``diagnose practice steady`` does: simulate, and print the figures against their limits."""

import json
import sys
from collections.abc import Iterator
from dataclasses import dataclass
from math import inf
from pathlib import Path

from diagnose.practice.fixing import EFFECTS, Bench, Declared, weighed
from diagnose.practice.steady import SCATTERS_S, SECONDS_A_NOTCH, SHOTS_A_BAR, Process, keep_bar
from diagnose.rulebase.base import RuleBase
from diagnose.rulebase.loader import load

FORMAT = 1
OK, MISSED = 0, 1
MOST_TRIGGERED, MOST_INFLATION, LEAST_TRUE, MOST_SHOTS = 0.05, 1.10, 0.97, 4.5
SHOTS_A_TRY = 9


@dataclass(frozen=True, slots=True)
class Figure:
    """One figure with the limits it has to keep, both included."""

    what: str
    value: float
    low: float = 0.0
    high: float = inf

    @property
    def met(self) -> bool:
        """Return whether the figure keeps its limits."""
        return self.low <= self.value <= self.high

    @property
    def limit(self) -> str:
        """Return the limit in words."""
        return f"at most {self.high:g}" if self.high < inf else f"at least {self.low:g}"


def run(rules: str | Path | None = None, *, shots: int, seed: int, as_json: bool = False) -> int:
    """Simulate and print; return 0 if every limit is kept, else 1. `shots` is the size of each of the simulations.

    Raises RuleBaseError where the rules do not load.
    """
    base = load(rules)
    found = [*steady_figures(base, shots, seed), *fixed_figures(base, shots, seed)]
    missed = [figure for figure in found if not figure.met]
    if as_json:
        figures = [{"what": f.what, "value": f.value, "limit": f.limit, "met": f.met} for f in found]
        answer = {"format": FORMAT, "shots": shots, "seed": seed, "figures": figures, "met": not missed}
        sys.stdout.write(json.dumps(answer, ensure_ascii=False) + "\n")
    else:
        sys.stdout.write("\n".join(_lines(found)) + "\n")
    return MISSED if missed else OK


def steady_figures(base: RuleBase, shots: int, seed: int) -> Iterator[Figure]:
    """Yield the worst share of shots adjusted and the worst inflation of variance over scatters and dials."""
    count = max(1, shots // SHOTS_A_BAR)
    processes = [Process(sigma, per_notch) for sigma in SCATTERS_S for per_notch in SECONDS_A_NOTCH]
    bars = [keep_bar(base, process, count, seed=seed) for process in processes]
    where = f"steady, worst of {len(bars)} bars"
    yield Figure(f"{where}: share of shots adjusted", max(bar.triggered for bar in bars), high=MOST_TRIGGERED)
    yield Figure(f"{where}: variance, times that left alone", max(bar.inflation for bar in bars), high=MOST_INFLATION)


def fixed_figures(base: RuleBase, shots: int, seed: int) -> Iterator[Figure]:
    """Yield how true "fixed" is, by the weighing of every shot and as a talk says it."""
    bench, tries = Bench(base), max(1, shots // SHOTS_A_TRY)
    for effect in EFFECTS:
        yield from _of_one(f"{effect:g} sigma, every shot weighed", weighed(effect, tries, seed=seed))
    for effect in EFFECTS:
        yield from _of_one(f"{effect:g} sigma, as a talk says it", bench.talked(effect, tries, seed=seed))


def _of_one(name: str, found: Declared) -> Iterator[Figure]:
    yield Figure(f"{name}: declared fixed and truly so", found.true, low=LEAST_TRUE)
    yield Figure(f"{name}: shots to say so, on average", found.shots, high=MOST_SHOTS)


def _lines(figures: list[Figure]) -> Iterator[str]:
    """Yield the table, a line a figure."""
    width = max(len(figure.what) for figure in figures)
    for figure in figures:
        yield f"{figure.what:<{width}}  {figure.value:6.3f}  {figure.limit:<13}  {'met' if figure.met else 'MISSED'}"
