"""Flow through the puck: projecting a shot's time, scaling laws of a packed bed, old grounds in the grinder.

The scaling laws are guides for the size of a change. Measured flow need not follow pressure: in one published data
set it peaked near 5-6 bar (Waszkiewicz et al., arXiv 2512.21528, 2025), so no function here turns bar into seconds.
"""

import math
from dataclasses import dataclass

from diagnose.errors import OutOfRange
from diagnose.science.ranges import within

FIRST_DROPS_S = 7.0
"""First drops when nobody looked: about 5-10 s on a pump machine (common practice, no source)."""

FIRST_DROPS_SD_S = 3.0
FIRST_DROPS_READ_SD_S = 1.0
"""How far off first drops may be, assumed (4-15 s between kinds of machine) or seen (common practice, no source)."""

KNOWN_FLOW_SHARE = 0.15
RISING_SHARE = 0.25
STEADY_SHARE = 0.4
"""Standard deviation of a projection as a share of the correction it makes.

Errors against the mean mass curves at 6 and 9 bar of Waszkiewicz et al. (2025), from stops with at least a fifth of
the yield in the cup: 9-12 % with the flow known, up to 17 % with the rising course, 17-56 % with the steady one. The
rising course was fitted to the same curves, so its share is taken wider (judgement).
"""

RISING_EXPONENT = 2.0 / 3.0
"""Time since first drops grows with about this power of mass on the same curves: flow rises during a shot."""

PRACTICE_PER_GRAM = (1.10, 1.15, 1.20)
"""Time factor for 1 g more on 18 g at the same yield: low, first guess, high (common practice: 3-6 s on 27 s)."""


@dataclass(frozen=True, slots=True)
class Projection:
    """Time at the wanted yield in s, and the standard deviation of the projection alone (0 without correction)."""

    seconds: float
    sd: float


@dataclass(frozen=True, slots=True)
class TimeFactor:
    """A factor on shot time with its plausible range and where it comes from."""

    value: float
    low: float
    high: float
    source: str


def _shot(time_s: float, yield_g: float, target_g: float) -> None:
    within(time_s, 1.0, 600.0, "shot time", "s")
    within(yield_g, 0.5, 500.0, "yield", "g")
    within(target_g, 0.5, 500.0, "target yield", "g")


def _start(time_s: float, first_drops_s: float | None) -> tuple[float, float]:
    """Return first drops and their standard deviation in s; a gusher's assumed drops lie halfway at the latest."""
    if first_drops_s is None:
        return min(FIRST_DROPS_S, time_s / 2.0), FIRST_DROPS_SD_S
    within(first_drops_s, 0.0, 120.0, "time of first drops", "s")
    if first_drops_s >= time_s:
        raise OutOfRange(f"first drops {first_drops_s:g} s is outside 0 to {time_s:g} s, the shot's own time.")
    return first_drops_s, FIRST_DROPS_READ_SD_S


def time_at_yield(
    time_s: float, yield_g: float, target_g: float, first_drops_s: float | None = None, flow_g_s: float | None = None
) -> Projection:
    """Return when a shot stopped early or late would have reached, or did reach, the wanted yield.

    Flow known: time now + missing mass / flow at that moment, never before the first drops. First drops t1 known: a
    flow that rises as it usually does, t1 + (t - t1) (Y / y)^(2/3). Neither known: t1 taken as 7 s and a steady flow,
    t1 + (t - t1) Y / y, with wide doubt. On the mean mass curves at 6 and 9 bar of Waszkiewicz et al., arXiv
    2512.21528 (2025), steady flow from the true first drops is 13-15 % late for shots stopped early; simple proportion
    (t Y / y) ignores the dead time: 57 s for a shot that took 38.5 s. The standard deviation grows with the correction.

    Raises OutOfRange: time outside 1-600 s, a yield outside 0.5-500 g, flow outside 0.05-30 g/s, or first drops
        that are not before the end of the shot.
    """
    _shot(time_s, yield_g, target_g)
    first, first_sd = _start(time_s, first_drops_s)
    if flow_g_s is not None:
        within(flow_g_s, 0.05, 30.0, "flow", "g/s")
        seconds = max(first, time_s + (target_g - yield_g) / flow_g_s)
        return Projection(seconds, KNOWN_FLOW_SHARE * abs(seconds - time_s))
    exponent, share = (1.0, STEADY_SHARE) if first_drops_s is None else (RISING_EXPONENT, RISING_SHARE)
    stretch = (target_g / yield_g) ** exponent
    correction = (time_s - first) * (stretch - 1.0)
    return Projection(time_s + correction, math.hypot(share * correction, first_sd * (stretch - 1.0)))


def viscosity_mpa_s(temperature_c: float) -> float:
    """Return the viscosity of liquid water in mPa.s at 0.1 MPa; ten bar more change it by less than 0.1 % when hot.

    Four-term sum of the IAPWS Revised Supplementary Release on Properties of Liquid Water at 0.1 MPa (SR6-08, 2011).

    Raises OutOfRange: temperature outside 0-110 degC.
    """
    within(temperature_c, 0.0, 110.0, "water temperature", "degC")
    reduced = (temperature_c + 273.15) / 300.0
    terms = ((280.68, -1.9), (511.45, -7.7), (61.131, -19.6), (0.45903, -40.0))
    return math.fsum(factor * reduced**power for factor, power in terms) / 1000.0


def time_factor(
    particle_size_ratio: float = 1.0, temperature_from_c: float = 93.0, temperature_to_c: float = 93.0
) -> float:
    """Return the ideal factor on shot time at fixed pressure, dose and yield: size^-2 and viscosity^1.

    From Darcy and Kozeny-Carman, t ~ mu / d^2. Swelling, gas and fines act too, and a dial tells no sizes: use it for
    how large a change is. For dose practice says more: `dose_time_factor`.

    Raises OutOfRange: a ratio outside 0.3-3 or a temperature outside 0-110 degC.
    """
    within(particle_size_ratio, 0.3, 3.0, "particle size ratio", "")
    return viscosity_mpa_s(temperature_to_c) / viscosity_mpa_s(temperature_from_c) / particle_size_ratio**2


def size_ratio_for(time_ratio: float) -> float:
    """Return the ratio of particle sizes that makes a shot so many times as long: t^(-1/2), `time_factor` inverted.

    Raises OutOfRange: time ratio outside 0.2-5.
    """
    return math.sqrt(1.0 / within(time_ratio, 0.2, 5.0, "time ratio", ""))


def dose_time_factor(from_g: float, to_g: float) -> TimeFactor:
    """Return the first guess of how shot time changes with dose at the same grind and yield, until a log says.

    Common practice, no source: about x1.15 (1.10-1.20) for 1 g more on 18 g, as headspace shrinks too; the ideal
    law gives only x1.056. Carried to other doses as a power of the dose ratio.

    Raises OutOfRange: a dose outside 5-40 g.
    """
    within(from_g, 5.0, 40.0, "dose", "g")
    within(to_g, 5.0, 40.0, "dose", "g")
    relative = math.log(to_g / from_g) / math.log(19.0 / 18.0)
    first, value, last = (per_gram**relative for per_gram in PRACTICE_PER_GRAM)
    return TimeFactor(value, min(first, last), max(first, last), "common_practice")


def old_grounds_share(retained_g: float, dose_g: float, n: int) -> float:
    """Return the share of grounds from the old setting in the n-th dose after a change, well mixed: (r / (r + D))^n.

    Mass balance; the retained mass is the grinder's own.

    Raises OutOfRange: retained outside 0-100 g, dose outside 1-100 g, or n below 1.
    """
    within(retained_g, 0.0, 100.0, "retained grounds", "g")
    within(dose_g, 1.0, 100.0, "dose", "g")
    within(n, 1, 1000, "dose number", "")
    return float((retained_g / (retained_g + dose_g)) ** n)


def purge_for(retained_g: float, share: float) -> float:
    """Return how many g to grind away in one go until only `share` of what the grinder holds is old.

    Inverse of `old_grounds_share` with n = 1: r (1 / share - 1); half means purging the retained mass once.

    Raises OutOfRange: retained outside 0-100 g or share outside 0.01-1.
    """
    within(retained_g, 0.0, 100.0, "retained grounds", "g")
    within(share, 0.01, 1.0, "share of old grounds", "")
    return retained_g * (1.0 / share - 1.0)
