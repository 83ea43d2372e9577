"""Beans over time: the window since roast, an opened bag, the freezer, and what oxygen, moisture and warmth do."""

import math
from dataclasses import dataclass
from typing import Literal

from diagnose.model import Range
from diagnose.science.ranges import within

Roast = Literal["light", "medium", "dark"]
State = Literal["too_fresh", "in_window", "declining", "past", "undated"]
Reason = Literal[
    "gas_not_yet_left", "inside_window", "opened_two_weeks", "opened_four_weeks", "window_over", "kept_too_long",
    "no_roast_date",
]  # fmt: skip

WINDOWS_DAYS: dict[Roast, tuple[float, float]] = {"dark": (4, 21), "medium": (7, 28), "light": (10, 40)}
"""Days since roast, from and to, in which espresso is usually at its best (common practice, no source)."""

OPENED_DECLINES_DAYS = 14.0
OPENED_FLAT_DAYS = 28.0
CLOSED_SERVICEABLE_DAYS = 75.0
"""Opened: declining after two weeks, flat at three to five. Closed valve bag kept cool: usable for two to three
months, middle taken (common practice, no source). In a warm hopper the best is over after one to three days."""


@dataclass(frozen=True, slots=True)
class AgeState:
    """How a bag stands, why, and the usual window of its roast.

    "undated" beans are old more often than not (about 0.8, common practice).
    """

    state: State
    reasons: tuple[Reason, ...]
    window_days: tuple[float, float]


def age_state(days_since_roast: float | None, roast: Roast = "medium", days_open: float | None = None) -> AgeState:
    """Return whether beans are too fresh, in their window, declining, past it or undated, with the reasons.

    `days_open` is None for a closed bag. Beans past the window in a closed bag are "declining" until about 75 days:
    less lively, still serviceable. Common practice, no source.

    Raises OutOfRange: days outside 0-3650, or opened longer ago than roasted.
    """
    window = WINDOWS_DAYS[roast]
    opened = _opened(days_since_roast, days_open)
    if opened == "opened_four_weeks":
        return AgeState("past", (opened,), window)
    if days_since_roast is None:
        reasons: tuple[Reason, ...] = ("no_roast_date",) if opened is None else ("no_roast_date", opened)
        return AgeState("undated" if opened is None else "declining", reasons, window)
    within(days_since_roast, 0.0, 3650.0, "age since roast", "days")
    if days_since_roast < window[0]:
        return AgeState("too_fresh", ("gas_not_yet_left",), window)
    if days_since_roast > window[1]:
        return _after(days_since_roast, days_open, window)
    if opened is not None:
        return AgeState("declining", (opened,), window)
    return AgeState("in_window", ("inside_window",), window)


def _opened(days_since_roast: float | None, days_open: float | None) -> Reason | None:
    """Return what the time since opening says, if anything."""
    if days_open is None:
        return None
    within(days_open, 0.0, 3650.0 if days_since_roast is None else days_since_roast, "time since opening", "days")
    if days_open >= OPENED_FLAT_DAYS:
        return "opened_four_weeks"
    return "opened_two_weeks" if days_open >= OPENED_DECLINES_DAYS else None


def _after(days_since_roast: float, days_open: float | None, window: tuple[float, float]) -> AgeState:
    """Return the state beyond the window: a closed bag only declines for a while."""
    if days_since_roast > CLOSED_SERVICEABLE_DAYS:
        return AgeState("past", ("window_over", "kept_too_long"), window)
    return AgeState("declining" if days_open is None else "past", ("window_over",), window)


def thaw_time(mass_g: float) -> Range:
    """Return how long a frozen bag stays closed at room temperature before it is opened, in h.

    A usual bag two to three hours, a kilogram overnight; opening cold wets the beans. A sealed single dose is ground
    straight from the freezer instead. Common practice, no source.

    Raises OutOfRange: mass outside 5-5000 g.
    """
    within(mass_g, 5.0, 5000.0, "frozen beans", "g")
    return Range("thaw", 2.0, 3.0, "h") if mass_g <= 500.0 else Range("thaw", 8.0, 12.0, "h")


def oxygen_factor(from_kpa: float, to_kpa: float) -> float:
    """Return the factor on the speed of deterioration of ground coffee when the oxygen pressure changes.

    0.5 to 21.3 kPa gave x20 (Cardelli & Labuza, LWT 34:273-278, 2001); between those a power law is assumed.

    Raises OutOfRange: a pressure outside 0.5-21.3 kPa.
    """
    within(from_kpa, 0.5, 21.3, "oxygen pressure", "kPa")
    within(to_kpa, 0.5, 21.3, "oxygen pressure", "kPa")
    return float(20.0 ** (math.log(to_kpa / from_kpa) / math.log(21.3 / 0.5)))


def water_activity_factor(from_aw: float, to_aw: float) -> float:
    """Return the factor on the same speed when water activity changes: +60 % for each 0.1.

    Cardelli & Labuza, LWT 34:273-278 (2001), ground coffee.

    Raises OutOfRange: a water activity outside 0.05-0.6.
    """
    within(from_aw, 0.05, 0.6, "water activity", "")
    within(to_aw, 0.05, 0.6, "water activity", "")
    return float(1.6 ** ((to_aw - from_aw) / 0.1))


def warmth_factor(from_c: float, to_c: float) -> float:
    """Return the factor on the same speed when the store is warmer: Arrhenius with 13 kJ/mol.

    Cardelli & Labuza, LWT 34:273-278 (2001): about 15-23 % per 10 degC, a weak lever. It is for ground coffee near
    room temperature and says nothing of freezing whole beans, so frost is refused.

    Raises OutOfRange: a temperature outside 4-45 degC.
    """
    within(from_c, 4.0, 45.0, "storage temperature", "degC")
    within(to_c, 4.0, 45.0, "storage temperature", "degC")
    return math.exp(13000.0 / 8.314 * (1.0 / (from_c + 273.15) - 1.0 / (to_c + 273.15)))
