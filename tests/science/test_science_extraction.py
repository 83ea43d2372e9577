"""Extraction: what the formulas refuse, and the shape of the yield curve against published fractions."""

from itertools import pairwise

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st
from scipy.interpolate import PchipInterpolator

from diagnose.errors import OutOfRange
from diagnose.science.extraction import (
    SOLUBLE_SHARE_PCT,
    brew_ratio,
    effect_of_yield,
    extraction_yield,
    tds_for,
    washed_out,
)

# Waszkiewicz et al., arXiv 2512.21528 (2025): mean TDS of 5-s fractions at 9 bar, the first drop at 8 s, and the mean
# mass curve at 9 bar.
FRACTION_PCT = (24.4, 23.5, 25.2, 16.7, 9.20, 5.11, 2.92, 1.81, 1.23, 0.82, 0.55, 0.48)
MASS_CURVE = ((0, 0.0), (10, 0.04), (20, 1.51), (30, 7.62), (40, 21.5), (50, 40.6), (60, 60.5))
DOSE_G = 18.5


def solids(beverage_g: float, *, fitted: bool) -> float:
    """Integrate the solids in g up to a beverage mass, along the mean fractions or the authors' fit to them."""
    times, masses = zip(*MASS_CURVE, strict=True)
    seconds = np.linspace(8.0, 60.0, 5201)
    grams = PchipInterpolator(times, masses)(seconds)
    after = seconds - 8.0
    tds = (
        0.5 * 25.62 * (1 - np.tanh((after - 20.86) / 8.87))
        if fitted
        else np.interp(after, np.arange(2.5, 60.0, 5.0), FRACTION_PCT)
    )
    steps = (tds[1:] + tds[:-1]) / 200.0 * np.diff(grams)
    return float(np.interp(beverage_g, grams[1:], np.cumsum(steps)))


@pytest.mark.parametrize(("beverage_g", "published_pct"), [(18, 10.9), (27, 11.7), (36, 12.0), (54, 12.2)])
def test_integration_reproduces_the_published_cumulative_extraction(beverage_g: float, published_pct: float) -> None:
    """The data used to judge the shape give the extraction printed for them, so they were read rightly."""
    assert solids(beverage_g, fitted=True) / DOSE_G * 100 == pytest.approx(published_pct, abs=0.06)


@pytest.mark.parametrize(("from_g", "to_g"), [(18, 27), (18, 36), (27, 36), (36, 45), (36, 54)])
def test_range_holds_both_readings_of_the_fractions(from_g: float, to_g: float) -> None:
    """Fitted and measured fractions give factors within 1 % of the ends of the range, and the centre lies between."""
    effect = effect_of_yield(DOSE_G, from_g, to_g)
    fitted = solids(to_g, fitted=True) / solids(from_g, fitted=True)
    measured = solids(to_g, fitted=False) / solids(from_g, fitted=False)
    assert effect.extraction_low == pytest.approx(fitted, rel=0.01)
    assert effect.extraction_high == pytest.approx(measured, rel=0.01)
    assert effect.extraction_low < effect.extraction_factor < effect.extraction_high


def test_extraction_is_front_loaded() -> None:
    """Each further 9 g of a longer shot adds less than the 9 g before."""
    for parts in zip(*(washed_out(ratio) for ratio in (0.5, 1.0, 1.5, 2.0, 2.5, 3.0)), strict=True):
        gains = [after - before for before, after in pairwise(parts)]
        assert all(earlier > later > 0 for earlier, later in pairwise(gains))
        assert max(parts) < 1


def test_effect_keeps_the_level_of_the_shot_itself() -> None:
    """The published level of 12 % is not used: 20 % at 36 g stays 20 % at 36 g and 10 % TDS."""
    same = effect_of_yield(18, 36, 36, extraction_pct=20)
    assert (same.extraction_pct, same.tds_pct, same.capped) == (20.0, 10.0, False)
    longer = effect_of_yield(18, 36, 54, extraction_pct=20)
    assert longer.extraction_pct is not None
    assert longer.tds_pct is not None
    assert 20 < longer.extraction_pct < 22
    assert extraction_yield(longer.tds_pct, 54, 18) == pytest.approx(longer.extraction_pct)


def test_a_shorter_shot_is_stronger_and_less_extracted() -> None:
    """Running shorter raises strength and lowers extraction: the two move opposite ways."""
    shorter = effect_of_yield(18, 36, 27)
    assert shorter.strength_factor > 1 > shorter.extraction_factor
    assert shorter.extraction_low < shorter.extraction_factor < shorter.extraction_high
    assert (shorter.extraction_pct, shorter.tds_pct) == (None, None)


def test_solids_never_exceed_the_soluble_share() -> None:
    """A short shot said to be very extracted cannot gain more than coffee holds."""
    effect = effect_of_yield(18, 18, 54, extraction_pct=28)
    assert effect.capped
    assert effect.extraction_pct == pytest.approx(SOLUBLE_SHARE_PCT)
    assert effect.tds_pct == pytest.approx(10.0)


@given(
    dose=st.floats(7, 25),
    start=st.floats(0.8, 5),
    end=st.floats(0.8, 5),
    extraction=st.floats(5, SOLUBLE_SHARE_PCT),
)
def test_mass_balance_closes(dose: float, start: float, end: float, extraction: float) -> None:
    """Whatever the shot, solids in the cup equal extraction times dose and stay within the soluble share."""
    effect = effect_of_yield(dose, dose * start, dose * end, extraction)
    assert effect.tds_pct is not None
    assert effect.extraction_pct is not None
    assert effect.tds_pct * end == pytest.approx(effect.extraction_pct)
    assert effect.extraction_pct <= SOLUBLE_SHARE_PCT * (1 + 1e-12)
    assert effect.extraction_low <= effect.extraction_factor <= effect.extraction_high


@pytest.mark.parametrize(
    ("call", "said"),
    [
        (lambda: brew_ratio(36, 0), "1 to 1000 g"),
        (lambda: brew_ratio(0, 18), "1 to 20000 g"),
        (lambda: extraction_yield(60, 36, 18), "0.01 to 30 %"),
        (lambda: extraction_yield(float("nan"), 36, 18), "0.01 to 30 %"),
        (lambda: extraction_yield(16, 36, 18), "0 to 30 %"),
        (lambda: tds_for(45, 36, 18), "0.1 to 30 %"),
        (lambda: tds_for(20, 9, 18), "0 to 30 %"),
        (lambda: effect_of_yield(18, 36, 360), "0.3 to 8 g/g"),
        (lambda: effect_of_yield(18, 36, 40, 35), "0.1 to 30 %"),
    ],
)
def test_impossible_input_is_refused_with_range_and_unit(call: object, said: str) -> None:
    """Nothing is computed from a number that cannot be; the message says what could."""
    assert callable(call)
    with pytest.raises(OutOfRange, match=said):
        call()
