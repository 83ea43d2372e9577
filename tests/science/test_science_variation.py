"""Scatter: run rules, spread, Student's t and repeats against a reference library."""

import math

import pytest
from scipy import stats

from diagnose.errors import OutOfRange
from diagnose.science.variation import (
    D2,
    D4,
    SPREAD_FROM,
    Signal,
    individuals,
    repeats_needed,
    robust_sigma,
    spread,
    student_quantile,
    trend,
)

ZIGZAG = (-1.0, 1.0) * 4
"""Centre 0, mean moving range 2, sigma 1.773: quiet ground for a signal to stand on."""


def test_printed_constants_are_those_of_the_normal_distribution() -> None:
    """d2 = 2 / sqrt(pi) and D4 = 1 + 3 d3 / d2 with d3 = sqrt(2 - 4 / pi), to the digits tables print."""
    d2, d3 = 2 / math.sqrt(math.pi), math.sqrt(2 - 4 / math.pi)
    assert pytest.approx(d2, abs=0.0005) == D2
    assert pytest.approx(1 + 3 * d3 / d2, abs=0.0007) == D4


def test_charts_published_as_in_control_give_no_signal() -> None:
    """NIST/SEMATECH 6.3.2.2 and ten real shots at 4 bar (arXiv 2512.21528) are in control."""
    assert individuals((49.6, 47.6, 49.9, 51.3, 47.8, 51.2, 52.6, 52.4, 53.6, 52.1)).signals == ()
    assert individuals((35.12, 41.84, 40.62, 38.38, 39.03, 44.19, 42.85, 41.34, 41.70, 40.38)).signals == ()


def test_a_value_beyond_three_sigma_and_its_jump_are_signals() -> None:
    """One wild shot after steady ones breaks its own limit, and the two ranges it makes break theirs."""
    chart = individuals((*ZIGZAG, *ZIGZAG, 12.0, -1.0))
    assert [(signal.rule, signal.index) for signal in chart.signals] == [
        ("beyond_3_sigma", 16),
        ("range_beyond_limit", 16),
        ("range_beyond_limit", 17),
    ]


@pytest.mark.parametrize(("value", "rules"), [(7.5, ["beyond_3_sigma"]), (5.5, [])])
def test_the_limit_lies_at_three_sigma(value: float, rules: list[str]) -> None:
    """3.5 sigma out is a signal and 2.7 sigma is none, by the chart's own sigma with the value counted in."""
    chart = individuals((*ZIGZAG, *ZIGZAG, value))
    assert (value - chart.centre) / chart.sigma == pytest.approx(3.5 if rules else 2.7, abs=0.1)
    assert [signal.rule for signal in chart.signals] == rules


@pytest.mark.parametrize("side", [1.0, -1.0])
def test_two_of_three_beyond_two_sigma_on_one_side(side: float) -> None:
    """The second of two such values completes the rule, with one value between them allowed, on either side."""
    values = [side * value for value in (*ZIGZAG, *ZIGZAG, 5.0, 2.0, 5.0, 1.0, -2.0, -2.0, -3.0, -3.0)]
    assert individuals(values).signals == (Signal("two_of_three_beyond_2_sigma", 18),)


def test_two_beyond_two_sigma_on_opposite_sides_are_no_signal() -> None:
    """Opposite sides speak of scatter, not of a shift."""
    assert "two_of_three_beyond_2_sigma" not in {s.rule for s in individuals((*ZIGZAG, *ZIGZAG, 5.0, -5.0)).signals}


def test_nine_on_one_side_and_not_eight() -> None:
    """The ninth value in a row on one side of the centre is the signal."""
    values = (-1.0, -2.0) * 5 + (1.0, 2.0) * 5
    assert [s for s in individuals(values).signals if s.rule == "nine_on_one_side"] == [
        Signal("nine_on_one_side", 8),
        Signal("nine_on_one_side", 9),
        Signal("nine_on_one_side", 18),
        Signal("nine_on_one_side", 19),
    ]
    assert individuals((-1.0, -2.0) * 4 + (1.0, 2.0) * 4).signals == ()


def test_identical_values_have_no_spread_and_no_signal() -> None:
    """A log of equal times is in control with zero width."""
    chart = individuals([27.0] * 12)
    assert (chart.sigma, chart.lower, chart.upper, chart.signals) == (0.0, 27.0, 27.0, ())


def test_spread_waits_for_five_values() -> None:
    """Four shots say nothing reliable; five give MRbar / 1.128."""
    assert SPREAD_FROM == 5
    assert spread(()) is None
    assert spread((30, 28, 31, 27)) is None
    assert spread((30, 28, 31, 27, 29)) == pytest.approx((2 + 3 + 4 + 2) / 4 / 1.128)


def test_spread_ignores_slow_drift() -> None:
    """A grinder that warms by half a second a shot adds little to the moving range and much to a plain SD."""
    times = [27.0 + (0.5 if shot % 2 else -0.5) - 0.5 * shot for shot in range(20)]
    drifting = spread(times)
    assert drifting is not None
    assert drifting < 1.2 < stats.tstd(times)


@pytest.mark.parametrize("freedom", [1, 2, 3, 4, 5, 9, 10, 30, 57, 200, 1000])
@pytest.mark.parametrize("probability", [0.0005, 0.05, 0.3, 0.5, 0.8, 0.975, 0.995, 0.9999])
def test_student_quantile_agrees_with_the_reference_library(freedom: int, probability: float) -> None:
    """Same quantiles as scipy.stats.t to nine digits, odd and even degrees of freedom."""
    reference = stats.t.ppf(probability, freedom)
    assert student_quantile(probability, freedom) == pytest.approx(reference, rel=1e-9, abs=1e-9)


@pytest.mark.parametrize(("sigma", "difference"), [(2, 2), (2, 3), (2, 4), (3, 3), (3, 5), (1, 4), (2, 1), (5, 1)])
def test_repeats_are_the_smallest_number_with_the_power_asked(sigma: float, difference: float) -> None:
    """By the noncentral t distribution (scipy), n reaches 80 % power and n - 1 does not, give or take 1 %."""

    def power(n: int) -> float:
        freedom, shift = 2 * n - 2, difference / sigma * math.sqrt(n / 2)
        limit = stats.t.ppf(0.975, freedom)
        return float(stats.nct.sf(limit, freedom, shift))

    n = repeats_needed(sigma, difference)
    assert power(n) > 0.79
    assert n == 2 or power(n - 1) < 0.81


def test_more_power_or_less_risk_takes_more_shots() -> None:
    """Both demands cost repeats."""
    assert repeats_needed(2, 3, power=0.9) > repeats_needed(2, 3) > repeats_needed(2, 3, alpha=0.2)


@pytest.mark.parametrize(
    ("call", "said"),
    [
        (lambda: individuals((27.0,)), "2 to any number"),
        (lambda: individuals((27.0, float("nan"))), "not a number"),
        (lambda: student_quantile(1.0, 5), "0.0001 to 0.9999"),
        (lambda: student_quantile(0.9, 0), "1 to 1000"),
        (lambda: repeats_needed(0, 2), "scatter"),
        (lambda: repeats_needed(2, 0), "difference"),
        (lambda: repeats_needed(2, 2, alpha=0), "0.001 to 0.5"),
        (lambda: repeats_needed(2, 2, power=1), "0.5 to 0.99"),
        (lambda: repeats_needed(20, 0.1), "0 to 490 shots per setting"),
    ],
)
def test_impossible_input_is_refused_with_range_and_unit(call: object, said: str) -> None:
    """Nothing is computed from a number that cannot be; the message says what could."""
    assert callable(call)
    with pytest.raises(OutOfRange, match=said):
        call()


def test_the_median_moving_range_is_not_moved_by_one_odd_value() -> None:
    """Ranges 1, 2, 1, 14, 13: the median 2 over 0.954; the constant is sqrt 2 times the normal's upper quartile."""
    assert robust_sigma((10, 11, 13, 12, 26, 13)) == pytest.approx(2 / 0.954)
    assert stats.norm.ppf(0.75) * 2**0.5 == pytest.approx(0.954, abs=5e-4)


def test_a_line_is_a_drift_and_a_step_a_shift() -> None:
    """By hand: 1..5 has slope 1 and Sxx 10, z = sqrt 10 / sigma. 0 0 0 4 4 4 falls by 24 in squares, that is 4.9."""
    drift = trend((1, 2, 3, 4, 5), 1.0)
    assert (drift.kind, drift.moved) == ("drift", 0.0)
    assert drift.sigmas == pytest.approx(10**0.5)
    shift = trend((0, 0, 0, 4, 4, 4), 1.0)
    assert (shift.kind, shift.moved) == ("shift", 4.0)
    assert shift.sigmas == pytest.approx(24**0.5)


def test_a_slopes_z_is_that_of_ordinary_least_squares() -> None:
    """Slope over its standard error with known sigma, by the standard library's regression."""
    values = (30.0, 28.5, 29.0, 27.0, 26.5)
    slope = stats.linregress(range(5), values).slope
    assert trend(values, 2.0).sigmas == pytest.approx(abs(slope) / (2.0 / 10**0.5))


@pytest.mark.parametrize(("values", "sigma"), [((1.0, 2.0), 1.0), ((1.0, 2.0, 3.0), 0.0)])
def test_a_trend_needs_three_values_and_a_scatter(values: tuple[float, ...], sigma: float) -> None:
    """Two points always make a line."""
    with pytest.raises(OutOfRange):
        trend(values, sigma)
