"""Simulated bars, with a fixed seed: a steady process is left alone, a shifted one is found, a cure is proved.

Scatter of single shots is taken from the pooled 1.8-3.2 s of published repeats at one setting (arXiv 2512.21528).
"""

import math
from dataclasses import dataclass

import numpy as np
import pytest

from diagnose.science.control import GrindResponse, confirmation_db, decide
from diagnose.science.variation import spread

SEED = 20240607
TARGET_S = 27.0
ASSUMED_SIGMA_S = 2.5
ASSUMED_PER_NOTCH_S = 3.0


@dataclass(frozen=True, slots=True)
class Bar:
    """What became of a row of shots: share that triggered an adjustment, mean squared miss, and that of the scatter."""

    triggered: float
    squared_miss: float
    squared_scatter: float

    @property
    def inflation(self) -> float:
        """Return how many times adjusting multiplied the variance about the target."""
        return self.squared_miss / self.squared_scatter


def keep_bar(sigma: float, per_notch: float, people: int = 150, shots: int = 60, shift: float = 0.0) -> Bar:
    """Run the dead band and the cautious step over steady bars, `shift` s off target from their first shot.

    Nothing is told to the rules: scatter is assumed until five shots at one setting, then estimated from them; the
    response is learned from a guess of 3 s a notch; the dial moves in whole notches.
    """
    rng = np.random.default_rng(SEED)
    scatter = rng.normal(0.0, sigma, (people, shots))
    misses, triggers = [], 0
    for errors in scatter.tolist():
        notch, at_setting = 0, []
        belief = GrindResponse.prior(0, (TARGET_S, ASSUMED_PER_NOTCH_S), (10.0, 2.0), ASSUMED_SIGMA_S)
        for error in errors:
            time_s = TARGET_S + shift + per_notch * notch + error
            misses.append(time_s - TARGET_S)
            at_setting.append(time_s)
            belief = belief.update(notch, time_s)
            known = spread(at_setting[-25:]) or ASSUMED_SIGMA_S
            if decide([(earlier - TARGET_S) / known for earlier in at_setting[-2:]]) == "adjust":
                triggers += 1
                step = round(belief.step_to(TARGET_S, notch))
                notch += step
                at_setting = [] if step else at_setting
    return Bar(triggers / len(misses), float(np.mean(np.square(misses))), float(np.mean(np.square(scatter))))


def funnel(sigma: float, shots: int = 20000) -> float:
    """Return the variance inflation of correcting every deviation in full (Deming's funnel, rule 2)."""
    errors = np.random.default_rng(SEED).normal(0.0, sigma, shots)
    setting, misses = 0.0, []
    for error in errors.tolist():
        misses.append(setting + error)
        setting -= misses[-1]
    return float(np.mean(np.square(misses)) / np.mean(np.square(errors)))


def hunt(effect: float, threshold: float = 0.95, people: int = 4000) -> tuple[float, float, float]:
    """Try cures of four suspects in order until one fault is declared fixed.

    A fault moves shots by `effect` sigma. A cure stays in place; after each shot the suspects' shares are weighed
    with `confirmation_db`, and the next cure is tried once the fault is 95 % likely to be still there. Returns the
    share of declarations that are true, the mean number of shots to a declaration, and the share declared (those
    that ran out of suspects need no proof).
    """
    rng = np.random.default_rng(SEED)
    shares = (0.4, 0.3, 0.2, 0.1)
    true, shots, declared = 0, 0, 0
    for fault in rng.choice(4, size=people, p=shares).tolist():
        weights, taken = list(shares), 0
        for cured in range(1, 4):
            fixed = 0.5
            while 1.0 - threshold < fixed < threshold:
                taken += 1
                y = rng.normal(0.0 if fault < cured else effect)
                ratio = 10.0 ** (confirmation_db(y, effect, 0.0, 1.0) / 10.0)
                weights = [weight * (ratio if i < cured else 1.0) for i, weight in enumerate(weights)]
                fixed = sum(weights[:cured]) / sum(weights)
            if fixed >= threshold:
                declared, shots, true = declared + 1, shots + taken, true + (fault < cured)
                break
    return true / declared, shots / declared, declared / people


@pytest.mark.parametrize("per_notch", [1.5, 3.0, 6.0])
@pytest.mark.parametrize("sigma", [1.8, 2.5, 3.2])
def test_steady_process_is_left_alone(sigma: float, per_notch: float) -> None:
    """At most 5 % of shots trigger an adjustment and variance grows by at most 10 %, on dials fine or coarse."""
    bar = keep_bar(sigma, per_notch)
    assert bar.triggered <= 0.05
    assert bar.inflation <= 1.10


def test_triggers_on_known_scatter_come_as_often_as_the_normal_law_says() -> None:
    """P(|z| > 3) + P(2 < |z| <= 3 after one beyond 2 on the same side) = 0.37 % of shots."""
    outer, inner = 2 * 0.00134990, 2 * 0.02140023
    expected = outer + inner * 0.02275013
    z = np.random.default_rng(SEED).normal(size=200_000).tolist()
    counted = sum(decide(z[i - 1 : i + 1]) == "adjust" for i in range(1, len(z))) / (len(z) - 1)
    assert counted == pytest.approx(expected, rel=0.1)


def test_correcting_every_shot_doubles_the_variance() -> None:
    """Deming's funnel, rule 2, for comparison with the dead band."""
    assert funnel(2.5) == pytest.approx(2.0, abs=0.05)


@pytest.mark.parametrize("shift", [-12.0, 12.0])
def test_dead_band_still_finds_a_real_shift(shift: float) -> None:
    """12 s off from the first shot: within twenty shots all but a little of the squared miss of 144 s2 is gone."""
    bar = keep_bar(2.5, 3.0, shots=20, shift=shift)
    assert bar.squared_miss < 0.2 * shift**2
    assert bar.squared_miss > bar.squared_scatter


@pytest.mark.parametrize("effect", [2.0, 2.5, 3.0])
def test_declared_fixed_is_fixed(effect: float) -> None:
    """For faults of 2 sigma and more at least 97 % of declarations are true, in at most 4.5 shots on average."""
    true, shots, declared = hunt(effect)
    assert true >= 0.97
    assert shots <= 4.5
    assert declared > 0.85


def test_one_good_shot_proves_less() -> None:
    """Calling a 2-sigma fault fixed once one shot is inside 2 sigma is right far less often than weighing shots."""
    rng = np.random.default_rng(SEED)
    cured = rng.random(20000) < 0.5
    passed = np.abs(rng.normal(np.where(cured, 0.0, 2.0))) <= 2.0
    expected = 0.9545 / (0.9545 + 0.5)
    assert float(np.mean(cured[passed])) == pytest.approx(expected, abs=0.02)
    assert math.isclose(expected, 0.656, abs_tol=0.001)
    assert hunt(2.0)[0] > 0.97
