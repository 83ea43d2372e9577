"""Scald times and keeping milk cold: published figures for warnings, never a replacement for local codes.

The maker's manual, the food code of the place and a doctor come before any number here.
"""

from dataclasses import dataclass
from typing import Final

from diagnose.science.ranges import within


@dataclass(frozen=True, slots=True)
class ScaldTime:
    """Seconds of contact with hot water until a deep second and a third degree burn; None where not tabulated."""

    temperature_degc: float
    second_degree_s: float
    third_degree_s: float | None


SCALD_TIMES: Final = (
    ScaldTime(45.0, 7200.0, 10800.0),
    ScaldTime(47.0, 1200.0, 2700.0),
    ScaldTime(48.0, 900.0, 1200.0),
    ScaldTime(49.0, 480.0, 600.0),
    ScaldTime(51.0, 120.0, 252.0),
    ScaldTime(55.0, 17.0, 30.0),
    ScaldTime(60.0, 3.0, 5.0),
    ScaldTime(65.0, 2.0, None),
    ScaldTime(66.0, 1.5, None),
    ScaldTime(68.0, 1.0, None),
)
"""Adult skin. Tables quoted by burn-prevention pages (45 to 60 degC one table; 65, 66 and 68 degC other pages), which
go back to Moritz and Henriques, Am J Pathol 23:695-720 (1947), not read here. Children scald sooner."""

COLD_HOLD_MAX_DEGC = 5.0
"""Milk is kept at or below this (FDA Food Code 3-501.16, 41 degF, quoted in a state's adoption). Local code first."""

HOT_HOLD_MIN_DEGC = 57.0
"""Hot holding at or above this (same section, 135 degF)."""

TIME_CONTROL_HOURS = 4.0
"""Out of the cold, started at 5 degC or below, marked, written procedure, then discarded (Food Code 3-501.19)."""

COOL_TIME_CONTROL_MAX_DEGC = 21.0
"""70 degF, the ceiling that goes with the six hours."""

COOKED_FROM_DEGC = 70.0
"""Above about this milk tastes more and more cooked. Gradual: whey protein unfolding is slow at 65 degC and some
fourteen times faster at 80 than at 70 (Dannenberg & Kessler 1988, coefficients from memory); there is no cliff."""


def scald_time(temperature_degc: float) -> ScaldTime | None:
    """Return the first tabulated row at or above a temperature, whose times are the shorter; None below 43 degC.

    Above the last row, the last row: a second or less. Raises OutOfRange outside 0 to 200 degC.
    """
    within(temperature_degc, 0.0, 200.0, "temperature", "degC")
    if temperature_degc < 43.0:
        return None
    return next((row for row in SCALD_TIMES if row.temperature_degc >= temperature_degc), SCALD_TIMES[-1])
