"""Scatter of repeated shots: individuals charts, run rules, and how many repeats tell two settings apart.

Sources: NIST/SEMATECH e-Handbook of Statistical Methods 6.3.2.2 (individuals chart, constants d2 and D4); Western
Electric Statistical Quality Control Handbook (1956) and L. S. Nelson, J. Quality Technology 16:237-239 (1984) for
the run rules, quoted from memory; Abramowitz & Stegun 26.7.3-26.7.4 for Student's t.
"""

import math
from collections.abc import Sequence
from dataclasses import dataclass
from itertools import pairwise
from statistics import NormalDist, fmean, median
from typing import Literal

from diagnose.errors import OutOfRange
from diagnose.science.ranges import within

D2 = 1.128
"""Mean range of two standard normal values, as printed in control chart tables (exactly 2 / sqrt(pi))."""

D4 = 3.267
"""Upper limit factor of the moving range of two, as printed in the same tables."""

D4_MEDIAN = 0.954
"""Median range of two standard normal values, for sigma from the median moving range (from memory, and derived)."""

SPREAD_FROM = 5
"""Values needed before their own spread is trusted."""

Rule = Literal["beyond_3_sigma", "two_of_three_beyond_2_sigma", "nine_on_one_side", "range_beyond_limit"]


Change = Literal["drift", "shift"]


@dataclass(frozen=True, slots=True)
class Trend:
    """How values change over time: steadily or at once, how clearly in sigma, and by how much where at once."""

    kind: Change
    sigmas: float
    moved: float


@dataclass(frozen=True, slots=True)
class Signal:
    """One sign of a special cause: the rule, and the index (from 0) of the value that completed it."""

    rule: Rule
    index: int


@dataclass(frozen=True, slots=True)
class IndividualsChart:
    """An individuals and moving range chart, in the unit of the values; `moving_range` is the mean moving range."""

    centre: float
    moving_range: float
    sigma: float
    lower: float
    upper: float
    mr_upper: float
    signals: tuple[Signal, ...]


def individuals(values: Sequence[float]) -> IndividualsChart:
    """Return the individuals chart of values in time order: centre +/- 3 MRbar / d2, range limit D4 MRbar.

    Signals: a value beyond 3 sigma; two of three beyond 2 sigma on one side (Western Electric; Nelson's test 5);
    nine on one side of the centre (Nelson's test 2); a moving range beyond its limit.

    Raises OutOfRange: fewer than 2 values, or a value that is not finite.
    """
    if len(values) < 2:
        raise OutOfRange(f"{len(values)} values is outside 2 to any number of values; log another shot.")
    if not all(map(math.isfinite, values)):
        raise OutOfRange("a value is outside minus to plus infinity in its unit (not a number); correct the log.")
    ranges = [abs(after - before) for before, after in pairwise(values)]
    centre, moving_range = fmean(values), fmean(ranges)
    sigma, mr_upper = moving_range / D2, D4 * moving_range
    signals = (*_run_signals([value - centre for value in values], sigma), *_range_signals(ranges, mr_upper))
    ordered = tuple(sorted(signals, key=lambda signal: (signal.index, signal.rule)))
    return IndividualsChart(centre, moving_range, sigma, centre - 3 * sigma, centre + 3 * sigma, mr_upper, ordered)


def _run_signals(deviations: list[float], sigma: float) -> list[Signal]:
    """Return the signals of the three run rules."""
    found = []
    for index, deviation in enumerate(deviations):
        side = math.copysign(1.0, deviation)
        same = [side * earlier for earlier in deviations[max(0, index - 8) : index + 1]]
        if same[-1] > 3 * sigma:
            found.append(Signal("beyond_3_sigma", index))
        if same[-1] > 2 * sigma and sum(value > 2 * sigma for value in same[-3:]) >= 2:
            found.append(Signal("two_of_three_beyond_2_sigma", index))
        if len(same) == 9 and min(same) > 0:
            found.append(Signal("nine_on_one_side", index))
    return found


def _range_signals(ranges: list[float], mr_upper: float) -> list[Signal]:
    """Return the moving ranges beyond their limit, at the later of the two values."""
    return [Signal("range_beyond_limit", index) for index, size in enumerate(ranges, start=1) if size > mr_upper]


def spread(values: Sequence[float]) -> float | None:
    """Return sigma = MRbar / d2 of values at one setting in time order, or None for fewer than five.

    The moving range ignores slow drift, which a plain standard deviation would count as scatter.

    Raises OutOfRange: a value that is not finite.
    """
    return individuals(values).sigma if len(values) >= SPREAD_FROM else None


def robust_sigma(values: Sequence[float]) -> float:
    """Return sigma from the median moving range, which one odd value does not widen: median / 0.954.

    0.954 is the median range of two standard normal values, sqrt(2) times the upper quartile 0.6745.

    Raises OutOfRange: fewer than 2 values.
    """
    within(len(values), 2, 1_000_000, "number of values")
    return median(abs(after - before) for before, after in pairwise(values)) / D4_MEDIAN


def trend(values: Sequence[float], sigma: float) -> Trend:
    """Return whether values in time order, of known scatter, drift steadily or shift at once, and how clearly.

    A line and a single step (two values on each side at the least) are fitted by least squares; the better of the two
    counts, by how far it lowers the sum of squares: sqrt(SS of the mean - SS of the fit) / sigma, which for a line is
    the z of its slope.

    Raises OutOfRange: fewer than 3 values, or sigma not above 0.
    """
    within(len(values), 3, 1_000_000, "number of values")
    within(sigma, 1e-9, 1e9, "scatter")
    count, centre = len(values), fmean(values)
    places = [place - (count - 1) / 2.0 for place in range(count)]
    line = sum(p * (v - centre) for p, v in zip(places, values, strict=True)) ** 2 / sum(p * p for p in places)
    steps = [(_step(values, at), at) for at in range(2, count - 1)]
    step, at = max(steps, default=(0.0, 0))
    kind: Change = "drift" if line >= step else "shift"
    moved = fmean(values[at:]) - fmean(values[:at]) if kind == "shift" else 0.0
    return Trend(kind, math.sqrt(max(line, step)) / sigma, moved)


def _step(values: Sequence[float], at: int) -> float:
    """Return by how much a step before the value at index `at` lowers the sum of squares."""
    after = len(values) - at
    return at * after / len(values) * (fmean(values[:at]) - fmean(values[at:])) ** 2


def student_quantile(probability: float, freedom: int) -> float:
    """Return Student's t quantile, by bisection on the finite series of Abramowitz & Stegun 26.7.3-26.7.4.

    Raises OutOfRange: probability outside 0.0001-0.9999 or degrees of freedom outside 1-1000.
    """
    within(probability, 0.0001, 0.9999, "probability")
    within(freedom, 1, 1000, "degrees of freedom")
    wanted = abs(2.0 * probability - 1.0)
    low, high = 0.0, math.pi / 2.0
    for _ in range(60):
        middle = (low + high) / 2.0
        low, high = (middle, high) if _central(middle, freedom) < wanted else (low, middle)
    return math.copysign(math.sqrt(freedom) * math.tan(low), probability - 0.5)


def _central(angle: float, freedom: int) -> float:
    """Return P(|T| < sqrt(freedom) tan(angle)): the finite sine and cosine series."""
    sine, cosine = math.sin(angle), math.cos(angle)
    odd = freedom % 2
    term = cosine if odd else 1.0
    total = 0.0
    for k in range(1 + odd, freedom, 2):
        total += term
        term *= k / (k + 1) * cosine**2
    return 2.0 / math.pi * (angle + sine * total) if odd else sine * total


def repeats_needed(sigma: float, difference: float, alpha: float = 0.05, power: float = 0.8) -> int:
    """Return the shots per setting that tell two settings apart (both numbers in one unit), two-sided.

    Smallest n with n >= 2 (t_alpha + t_power)^2 (sigma / difference)^2 at 2n - 2 degrees of freedom, the textbook
    normal formula with Student's quantiles in place of z.

    Raises OutOfRange: a number not positive, alpha outside 0.001-0.5, power outside 0.5-0.99, or over 500 repeats.
    """
    within(sigma, 1e-9, 1e9, "scatter")
    within(difference, 1e-9, 1e9, "difference")
    within(alpha, 0.001, 0.5, "alpha")
    within(power, 0.5, 0.99, "power")
    double_square = 2.0 * (sigma / difference) ** 2
    normal = NormalDist()
    z_based = double_square * (normal.inv_cdf(1.0 - alpha / 2.0) + normal.inv_cdf(power)) ** 2
    within(z_based, 0.0, 490.0, "number of repeats", "shots per setting")
    n = max(2, math.floor(z_based))  # Student's quantiles are wider, so fewer never suffice
    while n < double_square * sum(student_quantile(p, 2 * n - 2) for p in (1.0 - alpha / 2.0, power)) ** 2:
        n += 1
    return n
