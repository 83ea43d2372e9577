"""Earlier shots that bear on the current one, and what they say together: alike, scattered, drifting, or one odd.

Only shots at one setting are compared: the same number on the dial, or told with no change advised in between.
"""

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from statistics import fmean

from diagnose.case.fold import Case
from diagnose.model import Quantity
from diagnose.science.variation import robust_sigma, trend

# Doses this close count as the same. Common practice, no source: on a 27 s shot a gram more takes about 3 to 6 s
# longer, so 0.3 g stays below the 2.5 s by which equal shots differ anyway.
SAME_DOSE_G = 0.3
LOOKED_BACK = 10  # shots that a trend is looked for in
LEAST_SERIES = 3


@dataclass(frozen=True, slots=True)
class History:
    """Earlier shots that bear on this one, oldest first, the current shot left out.

    `times` in s at the current setting; `grind` as (dial, time in s) of this bag at this dose; `before` the same of
    bags, kit and doses before, one stretch each.
    """

    times: tuple[float, ...] = ()
    grind: tuple[tuple[float, float], ...] = ()
    before: tuple[tuple[tuple[float, float], ...], ...] = ()


NO_HISTORY = History()


def history_of(
    case: Case, *stretches: Sequence[Mapping[str, Quantity]], untouched: Sequence[Mapping[str, Quantity]] = ()
) -> History:
    """Return what earlier shots say of the current one's setting and dose.

    `stretches` are shots (measures by name, oldest first) from one new bag or kit to the next; the last one is of the
    bag in use. A dose once told holds for the shots of its stretch until another is told, which begins a stretch too.
    `untouched` are those since the grind was last moved as far as the talk knows; they count where no dial is told.
    """
    dial, dose = case.measured("dial"), case.measured("dose")
    now: list[tuple[float, float]] = []
    before: list[list[tuple[float, float]]] = []
    for place, shots in enumerate(stretches, 1):
        held, since = None, None
        before.append([])
        for measures in shots:
            held = measures.get("dose", held)
            if "dial" not in measures or "time" not in measures:
                continue
            pair = measures["dial"].value, measures["time"].value
            if place == len(stretches) and _same(held, dose):
                now.append(pair)
                continue
            if not _same(held, since):
                before.append([])
            since = held if held is not None else since
            before[-1].append(pair)
    times = [time for notch, time in now if dial is not None and notch == dial.value]
    if dial is None:
        alike = (shot for shot in untouched if "dial" not in shot and _same(shot.get("dose"), dose))
        times = [shot["time"].value for shot in alike if "time" in shot]
    return History(tuple(times), tuple(now), tuple(tuple(stretch) for stretch in before if stretch))


def _same(one: Quantity | None, other: Quantity | None) -> bool:
    """Return whether two doses count as the same; an unknown one passes for any."""
    return one is None or other is None or abs(one.value - other.value) < SAME_DOSE_G + 1e-9


def series(times: Sequence[float], newest: float, sigma: float) -> dict[str, float]:
    """Return what shots at one setting say together, by the names of measures; `times` without the newest, in s.

    `alike`: how many there are, the newest counted. `repeat_off`: how far the newest is from the mean of the others,
    in spreads `sigma` (s) of such a difference. `scatter_ratio`: their own spread, which one odd shot does not widen,
    over `sigma`. `drift` and `shift`: how clear a steady or a sudden change is, in sigma; 0 where it is not the better
    description. `shift_s`: how many s a sudden one was.
    """
    if not times:
        return {}
    found = {"alike": float(len(times) + 1)}
    spread = sigma * (1.0 + 1.0 / len(times)) ** 0.5
    found["repeat_off"] = abs(newest - fmean(times)) / spread
    every = [*times, newest][-LOOKED_BACK:]
    if len(every) >= LEAST_SERIES:
        found["scatter_ratio"] = robust_sigma(every) / sigma
        change = trend(every, sigma)
        found |= {"drift": 0.0, "shift": 0.0, change.kind: change.sigmas, "shift_s": change.moved}
    return found
