"""Caffeine in what is tasted, against published intakes of no concern. Count by dose, not by cups.

Not medical advice: some people tolerate less, and a doctor's word goes first. Tasting need not mean swallowing.
"""

from dataclasses import dataclass
from typing import Literal

from diagnose.model import Range
from diagnose.science.ranges import within

Person = Literal["adult", "pregnant"]

CONTENT_SHARE = (0.010, 0.014)
"""Caffeine in roasted arabica, g per g (from memory; robusta holds about twice as much)."""

EXTRACTED_SHARE = (0.75, 0.90)
"""Part of it that an espresso takes out (from memory)."""


@dataclass(frozen=True, slots=True)
class CaffeineLimits:
    """Intakes in mg that raise no safety concern; `single_mg` is None where none is published apart."""

    daily_mg: float
    single_mg: float | None


def caffeine_mg(dose_g: float) -> Range:
    """Return the caffeine in mg that an espresso of arabica carries: dose x 1.0-1.4 % x 75-90 %.

    Blends with robusta carry more than the range says.

    Raises OutOfRange: dose outside 0.1-100 g.
    """
    within(dose_g, 0.1, 100.0, "dose", "g")
    low, high = (dose_g * 1000.0 * c * e for c, e in zip(CONTENT_SHARE, EXTRACTED_SHARE, strict=True))
    return Range("caffeine", low, high, "mg")


def limits(person: Person = "adult") -> CaffeineLimits:
    """Return the daily and single intakes of no concern: EFSA NDA Panel, EFSA Journal 13(5):4102 (2015).

    Adults 400 mg a day, 200 mg at once; pregnant or lactating 200 mg a day.
    """
    return CaffeineLimits(400.0, 200.0) if person == "adult" else CaffeineLimits(200.0, None)


def shots_per_day(dose_g: float, person: Person = "adult") -> Range:
    """Return how many shots of a dose, swallowed, reach the daily intake: from the strong to the weak estimate.

    Raises OutOfRange: as `caffeine_mg`.
    """
    shot, daily_mg = caffeine_mg(dose_g), limits(person).daily_mg
    return Range("shots", daily_mg / shot.high, daily_mg / shot.low, "shots/day")
