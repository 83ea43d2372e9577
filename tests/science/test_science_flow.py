"""Flow: projected shot times against published curves, the water's viscosity, and what is refused."""

import pytest
from hypothesis import given
from hypothesis import strategies as st
from iapws import IAPWS97

from diagnose.errors import OutOfRange
from diagnose.science.flow import (
    dose_time_factor,
    old_grounds_share,
    purge_for,
    size_ratio_for,
    time_at_yield,
    time_factor,
    viscosity_mpa_s,
)

# Waszkiewicz et al., arXiv 2512.21528 (2025): per set pressure the mean time to 1 g and to 36 g in s, and the mean
# mass in g at each time in s.
CURVES = {
    6: (14.3, 38.5, {20: 4.60, 30: 18.9, 40: 39.8, 50: 61.5, 60: 83.1}),
    9: (18.9, 48.0, {30: 7.62, 40: 21.5, 50: 40.6, 60: 60.5}),
}
STOPS = [(bar, t) for bar, (_, _, curve) in CURVES.items() for t in curve]


@pytest.mark.parametrize(("bar", "stopped"), STOPS)
def test_seen_first_drops_find_the_true_time(bar: int, stopped: int) -> None:
    """From any stop on the mean curves, early or late, the error is within 2.5 s and within twice the stated sd."""
    first, true, curve = CURVES[bar]
    shot = time_at_yield(stopped, curve[stopped], 36, first)
    assert shot.seconds == pytest.approx(true, abs=2.5)
    assert shot.seconds == pytest.approx(true, abs=2 * shot.sd)


@pytest.mark.parametrize(("bar", "stopped"), STOPS)
def test_steady_flow_and_simple_proportion_are_further_off(bar: int, stopped: int) -> None:
    """A rising flow errs least at every stop, a flow that stays the same more, the whole time scaled by mass most."""
    first, true, curve = CURVES[bar]
    naive = abs(stopped * 36 / curve[stopped] - true)
    steady = abs(first + (stopped - first) * 36 / curve[stopped] - true)
    assert abs(time_at_yield(stopped, curve[stopped], 36, first).seconds - true) <= steady < naive


def test_assumed_first_drops_keep_a_steady_flow_and_its_wide_doubt() -> None:
    """7 + 13 x 2 is 33 s for 20 g after 20 s at 40 g; with drops seen at 5 s the flow rises: 5 + 15 x 2^(2/3)."""
    unseen, seen = time_at_yield(20, 20, 40), time_at_yield(20, 20, 40, first_drops_s=5)
    assert unseen.seconds == pytest.approx(33)
    assert seen.seconds == pytest.approx(28.81, abs=0.005)
    assert seen.sd < unseen.sd / 2


def test_doubt_grows_with_the_correction_and_shrinks_with_knowledge() -> None:
    """No correction, no doubt; twice the stretch, more; a known flow or seen drops, less."""
    assert time_at_yield(27, 36, 36) == time_at_yield(27, 36, 36, flow_g_s=2.0)
    assert time_at_yield(27, 36, 36).sd == 0
    near, far = time_at_yield(20, 30, 36), time_at_yield(20, 20, 36)
    assert 0 < near.sd < far.sd
    assert time_at_yield(20, 20, 36, 7).sd < far.sd
    assert time_at_yield(20, 20, 36, flow_g_s=2).sd < far.sd


def test_gusher_without_first_drops_is_still_projected() -> None:
    """A shot shorter than the assumed first drops takes half its time as dead time."""
    assert time_at_yield(6, 30, 40).seconds == pytest.approx(3 + 3 * 40 / 30)


def test_known_flow_never_goes_before_first_drops() -> None:
    """A trickle at the end of a shot run far over does not put the target before the first drop."""
    assert time_at_yield(30, 60, 36, first_drops_s=6, flow_g_s=0.5).seconds == 6


@pytest.mark.parametrize("celsius", [5, 20, 40, 60, 80, 88, 90, 93, 96, 100])
def test_viscosity_agrees_with_the_steam_tables(celsius: float) -> None:
    """Within 0.3 % of IAPWS-IF97 with IAPWS viscosity at 1 MPa, where the fit is for 0.1 MPa."""
    reference = IAPWS97(T=celsius + 273.15, P=1.0).mu * 1000
    assert viscosity_mpa_s(celsius) == pytest.approx(reference, rel=0.003)


def test_finer_grind_and_more_dose_slow_a_shot() -> None:
    """More dose and finer grounds take longer; the range of practice holds its guess."""
    practice = dose_time_factor(18, 19)
    assert practice.low < practice.value < practice.high
    assert practice.low > 1
    less = dose_time_factor(19, 18)
    assert less.low < less.value < less.high < 1
    assert less.value * practice.value == pytest.approx(1)
    assert practice.source == "common_practice"
    assert time_factor(0.95) > 1 > time_factor(1.05)


@given(ratio=st.floats(0.5, 2.0))
def test_size_for_a_time_undoes_the_time_of_a_size(ratio: float) -> None:
    """Particles of that size give that time again."""
    assert size_ratio_for(time_factor(ratio)) == pytest.approx(ratio)


@pytest.mark.parametrize(("degc", "step"), [(88, 2), (93, 3), (96, -3)])
def test_a_few_degrees_change_the_time_as_they_change_the_viscosity(degc: float, step: float) -> None:
    """The factor is the ratio of viscosities of IAPWS-IF97, a percent or so a degree."""
    reference = IAPWS97(T=degc + step + 273.15, P=1.0).mu / IAPWS97(T=degc + 273.15, P=1.0).mu
    assert time_factor(1.0, degc, degc + step) == pytest.approx(reference, abs=0.001)
    assert abs(time_factor(1.0, degc, degc + step) - 1) == pytest.approx(0.011 * abs(step), rel=0.25)


def test_three_to_six_seconds_on_a_shot_of_27() -> None:
    """1 g on 18 g lengthens 27 s by about 3-6 s (common practice, no source)."""
    factor = dose_time_factor(18, 19)
    assert 27 * (factor.low - 1) == pytest.approx(3, abs=0.5)
    assert 27 * (factor.high - 1) == pytest.approx(6, abs=0.7)


@given(retained=st.floats(0.1, 20), share=st.floats(0.02, 0.98))
def test_purge_undoes_the_mixing_rule(retained: float, share: float) -> None:
    """Purging what `purge_for` says in one go leaves that share of old grounds."""
    purge = purge_for(retained, share)
    assert share == pytest.approx(retained / (retained + purge))
    if 1 <= purge <= 100:
        assert old_grounds_share(retained, purge, 1) == pytest.approx(share)


def test_half_left_means_the_retained_mass_once() -> None:
    """Purging as much as the grinder keeps halves the old grounds; a grinder that keeps nothing needs none."""
    assert purge_for(3, 0.5) == pytest.approx(3)
    assert purge_for(0, 0.05) == 0
    assert old_grounds_share(0, 18, 1) == 0


@pytest.mark.parametrize(
    ("call", "said"),
    [
        (lambda: time_at_yield(0, 36, 36), "1 to 600 s"),
        (lambda: time_at_yield(27, 0, 36), "0.5 to 500 g"),
        (lambda: time_at_yield(27, 36, 0), "0.5 to 500 g"),
        (lambda: time_at_yield(27, 36, 40, flow_g_s=0), "0.05 to 30 g/s"),
        (lambda: time_at_yield(27, 30, 36, first_drops_s=27), "0 to 27 s"),
        (lambda: time_at_yield(27, 30, 36, first_drops_s=-1), "0 to 120 s"),
        (lambda: viscosity_mpa_s(-4), "0 to 110 degC"),
        (lambda: time_factor(0), "0.3 to 3"),
        (lambda: size_ratio_for(0.1), "0.2 to 5"),
        (lambda: dose_time_factor(0, 18), "5 to 40 g"),
        (lambda: dose_time_factor(18, 0), "5 to 40 g"),
        (lambda: old_grounds_share(-1, 18, 1), "0 to 100 g"),
        (lambda: old_grounds_share(3, 0, 1), "1 to 100 g"),
        (lambda: old_grounds_share(3, 18, 0), "1 to 1000"),
        (lambda: purge_for(3, 0), "0.01 to 1"),
    ],
)
def test_impossible_input_is_refused_with_range_and_unit(call: object, said: str) -> None:
    """Nothing is computed from a number that cannot be; the message says what could."""
    assert callable(call)
    with pytest.raises(OutOfRange, match=said):
        call()
