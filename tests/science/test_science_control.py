"""Control: the grind belief against plain algebra, when to act, and evidence by integration."""

import math

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st
from scipy import integrate, optimize, stats

from diagnose.errors import OutOfRange
from diagnose.science.control import (
    GrindResponse,
    confirmation_db,
    decide,
    next_closer_probability,
)

SHOTS = ((12.0, 38.0), (11.0, 33.0), (10.0, 31.0))


def belief(sd: tuple[float, float] = (10.0, 2.0), origin: float = 12.0) -> GrindResponse:
    """Return the belief after the three shots, from a prior of 35 s at the origin and 3 s per notch."""
    response = GrindResponse.prior(origin, (35.0, 3.0), sd, 2.0)
    for notch, time_s in SHOTS:
        response = response.update(notch, time_s)
    return response


def test_posterior_agrees_with_the_matrix_formula() -> None:
    """Updating shot by shot equals (S0^-1 + X'X / s^2)^-1 (S0^-1 m0 + X'y / s^2), solved with numpy."""
    x = np.array([[1.0, notch - 12.0] for notch, _ in SHOTS])
    y = np.array([time_s for _, time_s in SHOTS])
    prior = np.diag([1 / 100, 1 / 4])
    cov = np.linalg.inv(prior + x.T @ x / 4)
    mean = cov @ (prior @ np.array([35.0, 3.0]) + x.T @ y / 4)
    response = belief()
    assert response.mean == pytest.approx(tuple(mean))
    assert np.array(response.cov) == pytest.approx(cov)


def test_vague_prior_gives_least_squares() -> None:
    """Knowing nothing beforehand leaves the least-squares line, 37.5 s at notch 12 and 3.5 s per notch (numpy)."""
    slope, intercept = np.polyfit([0.0, -1.0, -2.0], [38.0, 33.0, 31.0], 1)
    assert (intercept, slope) == (pytest.approx(37.5), pytest.approx(3.5))
    assert belief(sd=(1e4, 1e4)).mean == pytest.approx((37.5, 3.5), abs=1e-4)


@pytest.mark.parametrize("notch", [8.0, 10.0, 12.0, 10.5, -40.0])
def test_recentring_changes_no_answer(notch: float) -> None:
    """From any origin the belief predicts the same, and the notch to go to is the same."""
    response = belief()
    moved = response.at(notch)
    assert moved.origin == notch
    assert moved.predict(11.0).mean == pytest.approx(response.predict(11.0).mean)
    assert moved.predict(11.0).sd == pytest.approx(response.predict(11.0).sd)
    for target in (24.0, 28.0, 40.0):
        assert notch + moved.step_to(target) == pytest.approx(12.0 + response.step_to(target))
        assert moved.step_to(target, 10.0) == pytest.approx(response.step_to(target, 10.0))


def test_recentring_before_or_after_the_shots_is_the_same() -> None:
    """A belief moved to another origin learns the same from the same shots."""
    early = GrindResponse.prior(12.0, (35.0, 3.0), (10.0, 2.0), 2.0).at(10.0)
    for notch, time_s in SHOTS:
        early = early.update(notch, time_s)
    late = belief().at(10.0)
    assert early.mean == pytest.approx(late.mean)
    assert np.array(early.cov) == pytest.approx(np.array(late.cov))


def test_from_where_it_stands_the_worked_step_is_coarser() -> None:
    """24 s lies 3.69 notches below notch 12, hence 1.69 below notch 10; lower is coarser on that dial."""
    assert belief().at(10.0).step_to(24.0) == pytest.approx(-1.692, abs=0.0005)
    assert belief().mean[1] > 0


def test_28_s_is_inside_the_scatter_there() -> None:
    """31 s against 28 s is 1.5 sigma: no adjustment, whatever the step would be."""
    assert decide([(31.0 - 28.0) / 2.0]) == "hold"


@given(a=st.floats(10, 60), b=st.floats(-8, 8), va=st.floats(0.1, 100), vb=st.floats(0.01, 9), r=st.floats(-0.9, 0.9))
def test_step_minimises_the_expected_squared_miss(a: float, b: float, va: float, vb: float, r: float) -> None:
    """No other step does better on the belief, found by a numerical minimiser (scipy)."""
    cab = r * math.sqrt(va * vb)
    response = GrindResponse((a, b), ((va, cab), (cab, vb)), 2.0)

    def miss(step: float) -> float:
        there = response.predict(step)
        return (there.mean - 27.0) ** 2 + there.sd**2

    best = optimize.minimize_scalar(miss, bracket=(-1.0, 1.0))
    assert miss(response.step_to(27.0)) <= best.fun + 1e-6


def test_doubt_about_the_response_makes_the_step_cautious() -> None:
    """Sure of 3 s a notch, 9 s take 3 notches; unsure, fewer; and the dial's direction is respected."""
    sure = GrindResponse.prior(5, (36.0, 3.0), (0.1, 0.01), 2.0)
    unsure = GrindResponse.prior(5, (36.0, 3.0), (0.1, 2.0), 2.0)
    other_dial = GrindResponse.prior(5, (36.0, -3.0), (0.1, 0.01), 2.0)
    assert sure.step_to(27.0) == pytest.approx(-3.0, abs=0.001)
    assert -3.0 < unsure.step_to(27.0) < 0
    assert other_dial.step_to(27.0) == pytest.approx(3.0, abs=0.001)


def test_shots_narrow_the_prediction_down_to_their_own_scatter() -> None:
    """After many shots at one notch the next is uncertain by the scatter alone, elsewhere by the response too."""
    response = GrindResponse.prior(5, (30.0, 3.0), (10.0, 2.0), 2.0)
    for _ in range(400):
        response = response.update(5, 27.0)
    assert response.predict(5).mean == pytest.approx(27.0, abs=0.01)
    assert response.predict(5).sd == pytest.approx(2.0, abs=0.01)
    assert response.predict(8).sd > 6


@pytest.mark.parametrize(
    ("deviations", "decision"),
    [
        ([0.0], "hold"),
        ([2.0], "hold"),
        ([-2.0], "hold"),
        ([2.1], "repeat"),
        ([3.0], "repeat"),
        ([-2.9], "repeat"),
        ([3.1], "adjust"),
        ([-3.1], "adjust"),
        ([2.1, 2.1], "adjust"),
        ([-2.5, -2.1], "adjust"),
        ([2.5, -2.5], "repeat"),
        ([-4.0, 2.5], "repeat"),
        ([2.5, 0.3], "hold"),
        ([2.5, 0.3, 2.5], "repeat"),
        ([2.0, 2.5], "repeat"),
    ],
)
def test_dead_band(deviations: list[float], decision: str) -> None:
    """Nothing inside 2 sigma, a repeat after one doubtful shot, a move after a wild one or two alike."""
    assert decide(deviations) == decision


@pytest.mark.parametrize(("effect", "expected"), [(1, 2.2), (2, 8.7), (3, 19.5)])
def test_expected_evidence_of_one_shot(effect: float, expected: float) -> None:
    """Integrated over the normal distribution (scipy), an effect of 1, 2, 3 sigma is worth 2.2, 8.7, 19.5 dB."""
    mu0, sigma = 33.0, 2.5
    mu1 = mu0 - effect * sigma
    mean, _ = integrate.quad(
        lambda y: confirmation_db(y, mu0, mu1, sigma, math.inf) * stats.norm.pdf(y, mu1, sigma), mu1 - 30, mu1 + 30
    )
    assert mean == pytest.approx(expected, abs=0.06)
    assert mean == pytest.approx(10 / math.log(10) * effect**2 / 2, rel=1e-6)


def test_evidence_is_the_likelihood_ratio_and_is_capped() -> None:
    """Inside the cap it equals the ratio of two normal densities (scipy) in decibans; outside it is 15 either way."""
    ratio = stats.norm.pdf(29, 27, 2.5) / stats.norm.pdf(29, 32, 2.5)
    assert confirmation_db(29, 32, 27, 2.5) == pytest.approx(10 * math.log10(ratio))
    assert confirmation_db(10, 32, 27, 2.5) == 15
    assert confirmation_db(50, 32, 27, 2.5) == -15
    assert confirmation_db(29.5, 32, 27, 2.5) == 0


@pytest.mark.parametrize("z", [0.5, 1.0, 2.0, 3.0])
def test_next_shot_is_closer_by_integration(z: float) -> None:
    """P(next closer) is the mass inside z; after z or more, its mean over the tail (scipy quadrature)."""
    inside = stats.norm.cdf(z) - stats.norm.cdf(-z)
    tail, _ = integrate.quad(lambda x: 2 * stats.norm.pdf(x) * (2 * stats.norm.cdf(x) - 1), z, 12)
    assert next_closer_probability(z) == pytest.approx(inside)
    assert next_closer_probability(z, or_more=True) == pytest.approx(tail / (1 - inside))
    assert next_closer_probability(-z) == next_closer_probability(z)


@pytest.mark.parametrize(
    ("call", "said"),
    [
        (lambda: GrindResponse.prior(5, (30, 3), (10, 2), 0), "0.01 to 100 s"),
        (lambda: GrindResponse.prior(5, (30, 3), (0, 2), 2), "above 0 s2"),
        (lambda: GrindResponse((30, 3), ((1, 2), (2, 1)), 2), "within -1 to 1"),
        (lambda: GrindResponse((30, 3), ((1, 0.5), (0.2, 1)), 2), "symmetric"),
        (lambda: belief().update(10, 0), "1 to 600 s"),
        (lambda: belief().update(1e9, 30), "-10000 to 10000"),
        (lambda: belief().step_to(0), "1 to 600 s"),
        (lambda: decide([]), "sigma"),
        (lambda: decide([math.nan]), "sigma"),
        (lambda: confirmation_db(30, 32, 27, 0), "1e-09 to 1e.09"),
        (lambda: confirmation_db(30, 32, 27, 2, -1), "0 to inf dB"),
        (lambda: confirmation_db(math.nan, 32, 27, 2), "infinity"),
        (lambda: next_closer_probability(math.nan), "0 to 38 sigma"),
    ],
)
def test_impossible_input_is_refused_with_range_and_unit(call: object, said: str) -> None:
    """Nothing is computed from a number that cannot be; the message says what could."""
    assert callable(call)
    with pytest.raises(OutOfRange, match=said):
        call()
