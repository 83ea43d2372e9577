"""What a pocket meter's "ppm" means: it measures conductivity and multiplies by the factor of some salt.

Three salts are in use and few meters say which, so the same water reads up to two fifths apart. The published
brewing-water table counts by the 442 mixture (40 % sodium sulfate, 40 % sodium bicarbonate, 20 % sodium chloride).
"""

from collections.abc import Mapping
from dataclasses import dataclass
from types import MappingProxyType
from typing import Final, Literal

from diagnose.science.ranges import within

Convention = Literal["KCl", "NaCl", "442"]

# Calibration solutions at 25 degC, in uS/cm and ppm, as a meter maker's conversion table has them.
_CONDUCTIVITY = (0.0, 447.0, 1413.0)
_PPM: Final[Mapping[Convention, tuple[float, float, float]]] = MappingProxyType(
    {"KCl": (0.0, 225.6, 744.7), "NaCl": (0.0, 215.5, 702.1), "442": (0.0, 300.0, 1000.0)}
)


@dataclass(frozen=True, slots=True)
class MeterReadings:
    """One conductivity as ppm by each convention, and how far the highest lies above the lowest, in percent."""

    conductivity_us_cm: float
    kcl_ppm: float
    nacl_ppm: float
    mix_442_ppm: float
    spread_percent: float


def _along(x: float, xs: tuple[float, float, float], ys: tuple[float, float, float]) -> float:
    """Return y at x on the two straight lines through three points."""
    left = 0 if x <= xs[1] else 1
    return ys[left] + (ys[left + 1] - ys[left]) * (x - xs[left]) / (xs[left + 1] - xs[left])


def ppm_from_conductivity(conductivity_us_cm: float, convention: Convention) -> float:
    """Return what a meter of a convention shows at a conductivity (25 degC).

    Straight lines through zero and the two usual calibration solutions, 447 and 1413 uS/cm; very dilute water reads
    up to a tenth lower than this. Raises OutOfRange outside 0 to 1413 uS/cm.
    """
    within(conductivity_us_cm, 0.0, _CONDUCTIVITY[-1], "conductivity", "uS/cm")
    return _along(conductivity_us_cm, _CONDUCTIVITY, _PPM[convention])


def conductivity_from_ppm(ppm: float, convention: Convention) -> float:
    """Return the conductivity (uS/cm at 25 degC) behind a meter's ppm.

    Raises OutOfRange outside 0 and what the convention shows at 1413 uS/cm.
    """
    points = _PPM[convention]
    within(ppm, 0.0, points[-1], f"meter reading ({convention})", "ppm")
    return _along(ppm, points, _CONDUCTIVITY)


def meter_readings(conductivity_us_cm: float) -> MeterReadings:
    """Return a conductivity as ppm by every convention; OutOfRange outside 1 to 1413 uS/cm."""
    within(conductivity_us_cm, 1.0, _CONDUCTIVITY[-1], "conductivity", "uS/cm")
    kcl = ppm_from_conductivity(conductivity_us_cm, "KCl")
    nacl = ppm_from_conductivity(conductivity_us_cm, "NaCl")
    mix = ppm_from_conductivity(conductivity_us_cm, "442")
    return MeterReadings(conductivity_us_cm, kcl, nacl, mix, 100.0 * (max(kcl, nacl, mix) / min(kcl, nacl, mix) - 1.0))


def convert_ppm(ppm: float, told_by: Convention, wanted: Convention) -> float:
    """Return a meter's ppm by another convention; OutOfRange as `conductivity_from_ppm`."""
    return ppm_from_conductivity(conductivity_from_ppm(ppm, told_by), wanted)
