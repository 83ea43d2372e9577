"""Extraction: how much of the dry coffee went into the cup, how strong the drink is, and what more yield changes.

Strength is total dissolved solids (TDS, % of the drink's mass), extraction is the share of the dose that
dissolved (%). Both hold for espresso and for filter coffee.
"""

import math
from dataclasses import dataclass

from diagnose.errors import OutOfRange
from diagnose.science.ranges import within

SOLUBLE_SHARE_PCT = 30.0
"""Upper end of the soluble share of roasted coffee, 28-30 % of the dose (quoted in training material)."""

MEASURED_HALF_RATIO = 0.545
"""Beverage : dose ratio at which half has left, by the mean fractions: part out = r / (r + 0.545), within 0.6 %."""

FITTED_RATE = 2.28
"""Washout rate by the authors' fit to those fractions: part out = 1 - exp(-2.28 r), within 0.7 %.

Both are fitted to the twelve TDS fractions at nine bar and the mean mass curve of Waszkiewicz et al., arXiv
2512.21528 (2025), between 6 and 60 g from 18.5 g. Replicates there scatter enough to allow either reading; they
differ in how much a long shot still gives.
"""


@dataclass(frozen=True, slots=True)
class YieldEffect:
    """What another yield does to a shot, everything else held.

    Factors multiply the present value; `extraction_low` and `extraction_high` bound `extraction_factor`.
    `extraction_pct` and `tds_pct` are None unless the present extraction was given. `capped` says that the soluble
    share, not the curve, set the result.
    """

    strength_factor: float
    extraction_factor: float
    extraction_low: float
    extraction_high: float
    extraction_pct: float | None
    tds_pct: float | None
    capped: bool


def _dose(dose_g: float) -> float:
    return within(dose_g, 1.0, 1000.0, "dose", "g")


def _beverage(beverage_g: float) -> float:
    return within(beverage_g, 1.0, 20000.0, "beverage", "g")


def brew_ratio(beverage_g: float, dose_g: float) -> float:
    """Return espresso's brew ratio, beverage out : dose in (2.0 for 36 g from 18 g).

    Filter coffee's "ratio" is water in : dose, a different denominator; do not mix them (Batali, Ristenpart &
    Guinard, Sci Rep 10:16450, 2020).

    Raises OutOfRange: dose outside 1-1000 g or beverage outside 1-20000 g.
    """
    return _beverage(beverage_g) / _dose(dose_g)


def extraction_yield(tds_pct: float, beverage_g: float, dose_g: float) -> float:
    """Return the extraction yield in % of the dry dose: TDS x beverage / dose.

    Standard definition, for example Batali, Ristenpart & Guinard, Sci Rep 10:16450 (2020).

    Raises OutOfRange: TDS outside 0.01-30 %, a mass out of range, or more solids than the dose can give.
    """
    within(tds_pct, 0.01, 30.0, "TDS", "%")
    extraction_pct = tds_pct * brew_ratio(beverage_g, dose_g)
    if extraction_pct > SOLUBLE_SHARE_PCT:
        raise OutOfRange(
            f"extraction {extraction_pct:.1f} % is outside 0 to {SOLUBLE_SHARE_PCT:g} % of the dose, more than coffee "
            "holds; check dose, beverage mass and the TDS sample (filtered, stirred, cool)."
        )
    return extraction_pct


def tds_for(extraction_pct: float, beverage_g: float, dose_g: float) -> float:
    """Return the strength (TDS, %) of a drink at an extraction yield: the mass balance turned round.

    Raises OutOfRange: extraction outside 0.1-30 %, a mass out of range, or a drink stronger than 30 %.
    """
    within(extraction_pct, 0.1, SOLUBLE_SHARE_PCT, "extraction", "%")
    return within(extraction_pct / brew_ratio(beverage_g, dose_g), 0.0, 30.0, "resulting TDS", "%")


def washed_out(ratio: float) -> tuple[float, float]:
    """Return which part of what a shot could ever give is out at a beverage : dose ratio, by two readings (0 to 1).

    First by the fit, then by the mean fractions (`FITTED_RATE`, `MEASURED_HALF_RATIO`). Front-loaded: each further
    gram gives less. Normalised to 1 for an endless shot: the level of that data set (about 12 % of the dose) is far
    below normal practice and is not used.

    Raises OutOfRange: ratio outside 0.3-8.
    """
    within(ratio, 0.3, 8.0, "brew ratio", "g/g")
    return 1.0 - math.exp(-FITTED_RATE * ratio), ratio / (ratio + MEASURED_HALF_RATIO)


def effect_of_yield(dose_g: float, from_g: float, to_g: float, extraction_pct: float | None = None) -> YieldEffect:
    """Return how strength and extraction change when a shot runs to another yield, all else held.

    Published fractions give the shape (`washed_out`): its two readings bound the factor, their geometric mean is the
    factor. The level is the shot's own: `extraction_pct` is its extraction at `from_g`, as measured or assumed. The
    solids in the cup never exceed the soluble share.

    Raises OutOfRange: a mass out of range, a ratio outside 0.3-8, or an extraction outside 0.1-30 %.
    """
    start, end = brew_ratio(from_g, dose_g), brew_ratio(to_g, dose_g)
    low, high = sorted(after / before for before, after in zip(washed_out(start), washed_out(end), strict=True))
    factor = math.sqrt(low * high)
    if extraction_pct is None:
        return YieldEffect(factor * start / end, factor, low, high, None, None, capped=False)
    limit = SOLUBLE_SHARE_PCT / within(extraction_pct, 0.1, SOLUBLE_SHARE_PCT, "extraction", "%")
    capped = factor > limit
    low, factor, high = min(low, limit), min(factor, limit), min(high, limit)
    extraction = extraction_pct * factor
    return YieldEffect(factor * start / end, factor, low, high, extraction, extraction / end, capped)
