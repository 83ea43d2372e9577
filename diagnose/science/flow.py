"""Flow through the puck: projecting a shot's time, scaling laws of a packed bed, old grounds, pressure losses.

The scaling laws are guides for the size of a change. Measured flow need not follow pressure: in one published data
set it peaked near 5-6 bar (Waszkiewicz et al., arXiv 2512.21528, 2025), so no function here turns bar into seconds.
"""

import math
from dataclasses import dataclass
from typing import Literal

from diagnose.errors import OutOfRange
from diagnose.science.ranges import within

FIRST_DROPS_S = 7.0
"""First drops when nobody looked: about 5-10 s on a pump machine (common practice, no source)."""

FIRST_DROPS_SD_S = 3.0
FIRST_DROPS_READ_SD_S = 1.0
"""How far off first drops may be, assumed (4-15 s between kinds of machine) or seen (common practice, no source)."""

KNOWN_FLOW_SHARE = 0.15
STEADY_SHARE = 0.4
RISING_SHARE = 0.15
"""Standard deviation of a projection as a share of the correction it makes.

Errors of each rule against the mean mass curves at 6 and 9 bar of Waszkiewicz et al. (2025), from stops with at
least a fifth of the yield in the cup: 9-12 % with the flow known, 17-56 % with the steady course, up to 17 % with the
rising one.
"""

RISING_EXPONENT = 2.0 / 3.0
"""Time since first drops grows with about this power of mass on the same curves: flow rises during a shot."""

PRACTICE_PER_GRAM = (1.10, 1.15, 1.20)
"""Time factor for 1 g more on 18 g at the same yield: low, first guess, high (common practice: 3-6 s on 27 s)."""

Fixed = Literal["yield", "ratio"]


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

    Flow known: time now + missing mass / flow at that moment, never before the first drops. Flow unknown: t1 +
    (t - t1) Y / y with first drops t1 (said, or 7 s), a flow that was the same since the first drops. Simple
    proportion (t Y / y) ignores the dead time and is badly wrong: 57 s for a shot that took 38.5 s, on the mean
    6-bar curve of Waszkiewicz et al., arXiv 2512.21528 (2025). The standard deviation grows with the correction.

    Raises OutOfRange: time outside 1-600 s, a yield outside 0.5-500 g, flow outside 0.05-30 g/s, or first drops
        that are not before the end of the shot.
    """
    if flow_g_s is None:
        return _project((time_s, yield_g, target_g), first_drops_s, 1.0, STEADY_SHARE)
    _shot(time_s, yield_g, target_g)
    within(flow_g_s, 0.05, 30.0, "flow", "g/s")
    first, _ = _start(time_s, first_drops_s)
    seconds = max(first, time_s + (target_g - yield_g) / flow_g_s)
    return Projection(seconds, KNOWN_FLOW_SHARE * abs(seconds - time_s))


def time_at_yield_rising(
    time_s: float, yield_g: float, target_g: float, first_drops_s: float | None = None
) -> Projection:
    """Return the same projection for a flow that rises as it usually does: t1 + (t - t1) (Y / y)^(2/3).

    The exponent fits the mean mass curves at 6 and 9 bar of Waszkiewicz et al. (2025), where the steady course is
    13-15 % late for shots stopped early and early for shots stopped late.

    Raises OutOfRange: as for `time_at_yield`.
    """
    return _project((time_s, yield_g, target_g), first_drops_s, RISING_EXPONENT, RISING_SHARE)


def _project(
    shot: tuple[float, float, float], first_drops_s: float | None, exponent: float, share: float
) -> Projection:
    """Stretch the time since first drops by a power of the mass ratio; add the two uncertainties in quadrature."""
    time_s, yield_g, target_g = shot
    _shot(time_s, yield_g, target_g)
    first, first_sd = _start(time_s, first_drops_s)
    stretch = (target_g / yield_g) ** exponent
    correction = (time_s - first) * (stretch - 1.0)
    return Projection(time_s + correction, math.hypot(share * correction, first_sd * (stretch - 1.0)))


def darcy_flow(
    permeability_m2: float, area_m2: float, pressure_pa: float, viscosity_pa_s: float, depth_m: float
) -> float:
    """Return the volume flow in m3/s through a bed: Q = k A dP / (mu L), Darcy's law.

    Measured beds have k of 1e-14 to 1e-13 m2 when spent (Corrochano et al., J Food Eng 150:106-116, 2015); a running
    espresso puck behaves like 2e-15 to 6e-15 m2 (backed out of Waszkiewicz et al., arXiv 2512.21528, 2025).

    Raises OutOfRange: k outside 1e-17 to 1e-9 m2, area outside 1e-5 to 1 m2, pressure outside 0 to 3e6 Pa, viscosity
    outside 1e-4 to 1e-2 Pa s, or depth outside 1e-4 to 1 m.
    """
    within(permeability_m2, 1e-17, 1e-9, "permeability", "m2")
    within(area_m2, 1e-5, 1.0, "area", "m2")
    within(pressure_pa, 0.0, 3e6, "pressure", "Pa")
    within(viscosity_pa_s, 1e-4, 1e-2, "viscosity", "Pa s")
    within(depth_m, 1e-4, 1.0, "bed depth", "m")
    return permeability_m2 * area_m2 * pressure_pa / (viscosity_pa_s * depth_m)


def kozeny_carman(diameter_um: float, porosity: float) -> float:
    """Return the permeability in m2 of a bed of spheres: d^2 e^3 / (180 (1 - e)^2), Kozeny-Carman.

    Use it for ratios; from dry particle sizes its level disagreed with measured coffee beds (Corrochano et al.,
    J Food Eng 150:106-116, 2015).

    Raises OutOfRange: diameter outside 1-2000 um or porosity outside 0.01-0.9.
    """
    within(diameter_um, 1.0, 2000.0, "particle diameter", "um")
    within(porosity, 0.01, 0.9, "porosity", "")
    return float((diameter_um * 1e-6) ** 2 * porosity**3 / (180.0 * (1.0 - porosity) ** 2))


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
    dose_ratio: float = 1.0,
    particle_size_ratio: float = 1.0,
    temperature_from_c: float = 93.0,
    temperature_to_c: float = 93.0,
    fixed: Fixed = "yield",
) -> float:
    """Return the ideal factor on shot time at fixed pressure: dose^1 or ^2, size^-2, viscosity^1.

    From Darcy and Kozeny-Carman, t ~ mu L m / (d^2 A dP) with depth L ~ dose; the beverage mass m is held (`fixed`
    "yield") or grows with the dose ("ratio"). Swelling, gas and fines act too. For dose alone practice says more:
    `dose_time_factor`.

    Raises OutOfRange: a ratio outside 0.3-3 or a temperature outside 0-110 degC.
    """
    within(dose_ratio, 0.3, 3.0, "dose ratio", "")
    within(particle_size_ratio, 0.3, 3.0, "particle size ratio", "")
    depth_and_mass = dose_ratio if fixed == "yield" else dose_ratio**2
    viscosity = viscosity_mpa_s(temperature_to_c) / viscosity_mpa_s(temperature_from_c)
    return depth_and_mass * viscosity / particle_size_ratio**2


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


def upstream_loss_bar(flow_g_s: float) -> float:
    """Return the pressure in bar lost between group head and basket at a flow.

    Fit of Waszkiewicz et al., arXiv 2512.21528 (2025): 0.01718 Q^2 + 0.03671 Q + 0.2832, one machine. A gauge before
    the group reads high by this much.

    Raises OutOfRange: flow outside 0-10 g/s.
    """
    within(flow_g_s, 0.0, 10.0, "flow", "g/s")
    return 0.01718 * flow_g_s**2 + 0.03671 * flow_g_s + 0.2832
