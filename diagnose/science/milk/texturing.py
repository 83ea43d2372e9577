"""Time and temperature at the wand: the window for taking air in, when to shut the steam, how long it takes.

Air goes in early, while the milk is below body warmth; after that the wand only rolls and heats. Borcherding and
others (2008, quoted in reviews of milk foam) found the fat all liquid above 37 degC and the foam sound again there.
"""

from collections.abc import Mapping
from dataclasses import dataclass
from types import MappingProxyType
from typing import Final, Literal

from diagnose.model import Range
from diagnose.science.milk.heat import Steaming, condensate_g
from diagnose.science.ranges import within

AIR_UNTIL_DEGC = 37.0
"""Where taking air in should end; baristas feel it as the jug no longer cool, 35 to 40 degC (common practice)."""

SERVING_DEGC: Final[Mapping[str, Range]] = MappingProxyType(
    {
        "dairy": Range("milk_stop", 55.0, 65.0, "degC"),
        "drink at once or child": Range("milk_stop", 50.0, 55.0, "degC"),
        "soy, almond or pea": Range("milk_stop", 55.0, 60.0, "degC"),
        "oat": Range("milk_stop", 55.0, 65.0, "degC"),
    }
)
"""Final temperatures by drink (common practice, no source); 60 degC is the usual aim for dairy milk."""

Reading = Literal["dial thermometer", "strong wand"]
SHUT_EARLY_DEGC: Final[Mapping[Reading, tuple[float, float]]] = MappingProxyType(
    {"dial thermometer": (3.0, 5.0), "strong wand": (2.0, 3.0)}
)
"""How far the milk goes on rising after the valve is shut: a dial lags, a strong wand runs on (common practice)."""


@dataclass(frozen=True, slots=True)
class Progress:
    """What was seen so far: seconds of steam and the milk temperature then."""

    seconds: float
    temperature_degc: float


@dataclass(frozen=True, slots=True)
class TexturingWindow:
    """Degrees left for taking air in and for rolling, and the share of the whole rise that is air time, in percent."""

    air_until_degc: float
    air_degrees: float
    roll_degrees: float
    air_percent: float


def texturing_window(start_degc: float, stop_degc: float, air_until_degc: float = AIR_UNTIL_DEGC) -> TexturingWindow:
    """Return how the rise from start to stop divides into taking air in and rolling.

    Milk that starts above `air_until_degc` leaves no air degrees. Raises OutOfRange unless 0 <= start <= 60 and
    start < stop <= 95 degC, or when air is to end outside 30 to 45 degC.
    """
    jug = Steaming(100.0, start_degc, stop_degc)
    within(air_until_degc, 30.0, 45.0, "end of taking air in", "degC")
    end = min(max(air_until_degc, jug.start_degc), jug.stop_degc)
    air, whole = end - jug.start_degc, jug.stop_degc - jug.start_degc
    return TexturingWindow(end, air, whole - air, 100.0 * air / whole)


def shut_steam_at_degc(target_degc: float, reading: Reading = "strong wand") -> Range:
    """Return the range of readings at which to shut the steam so that the milk ends at the target.

    Raises OutOfRange outside 40 to 80 degC.
    """
    within(target_degc, 40.0, 80.0, "target temperature of milk", "degC")
    least, most = SHUT_EARLY_DEGC[reading]
    return Range("shut_steam", target_degc - most, target_degc - least, "degC")


def seconds_at_rate(start_degc: float, stop_degc: float, rate_degc_s: float) -> float:
    """Return the seconds from start to stop at an observed heating rate.

    Raises OutOfRange for a rate outside 0.05 to 20 degC per second, or temperatures `Steaming` refuses.
    """
    within(rate_degc_s, 0.05, 20.0, "heating rate", "degC/s")
    jug = Steaming(100.0, start_degc, stop_degc)
    return (jug.stop_degc - jug.start_degc) / rate_degc_s


def seconds_until(jug: Steaming, seen: Progress, at_degc: float) -> float:
    """Return the seconds of steam from the start of steaming until the milk reaches `at_degc`.

    A wand gives steam at a steady rate, so time goes with the steam condensed, not with degrees: late degrees take
    a little longer, since the jug holds more by then and each gram of steam gives less.
    Raises OutOfRange unless 1 to 600 s were seen and the milk had risen by at least 1 degC.
    """
    within(seen.seconds, 1.0, 600.0, "time seen", "s")
    within(seen.temperature_degc, jug.start_degc + 1.0, 95.0, "temperature seen", "degC")
    steam_so_far = condensate_g(jug, seen.temperature_degc)
    return seen.seconds * condensate_g(jug, at_degc) / steam_so_far
