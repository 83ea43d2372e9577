"""Simulated bars, with a fixed seed: a steady process is left alone, a shifted one is found, a cure is proved.

Scatter of single shots is taken from the pooled 1.8-3.2 s of published repeats at one setting (arXiv 2512.21528).
"""

import math

import numpy as np
import pytest

from diagnose.practice.fixing import weighed
from diagnose.practice.steady import SCATTERS_S, SECONDS_A_NOTCH, SEED, Process, keep_bar
from diagnose.rulebase.base import RuleBase
from diagnose.science.control import decide


def funnel(sigma: float, shots: int = 20000) -> float:
    """Return the variance inflation of correcting every deviation in full (Deming's funnel, rule 2)."""
    errors = np.random.default_rng(SEED).normal(0.0, sigma, shots)
    setting, misses = 0.0, []
    for error in errors.tolist():
        misses.append(setting + error)
        setting -= misses[-1]
    return float(np.mean(np.square(misses)) / np.mean(np.square(errors)))


@pytest.mark.parametrize("per_notch", SECONDS_A_NOTCH)
@pytest.mark.parametrize("sigma", SCATTERS_S)
def test_steady_process_is_left_alone(rules: RuleBase, sigma: float, per_notch: float) -> None:
    """At most 5 % of shots trigger an adjustment and variance grows by at most 10 %, on dials fine or coarse."""
    bar = keep_bar(rules, Process(sigma, per_notch), bars=50)
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
def test_dead_band_still_finds_a_real_shift(rules: RuleBase, shift: float) -> None:
    """12 s off from the first shot: within twenty shots all but a little of the squared miss of 144 s2 is gone."""
    bar = keep_bar(rules, Process(2.5, 3.0, shift), bars=50, shots=20)
    assert bar.squared_miss < 0.2 * shift**2
    assert bar.squared_miss > bar.squared_scatter


@pytest.mark.parametrize("effect", [2.0, 2.5, 3.0])
def test_declared_fixed_is_fixed(effect: float) -> None:
    """For faults of 2 sigma and more at least 97 % of declarations are true, in at most 4.5 shots on average."""
    found = weighed(effect, 4000)
    assert found.true >= 0.97
    assert found.shots <= 4.5
    assert found.share > 0.85


def test_one_good_shot_proves_less() -> None:
    """Calling a 2-sigma fault fixed once one shot is inside 2 sigma is right far less often than weighing shots."""
    rng = np.random.default_rng(SEED)
    cured = rng.random(20000) < 0.5
    passed = np.abs(rng.normal(np.where(cured, 0.0, 2.0))) <= 2.0
    expected = 0.9545 / (0.9545 + 0.5)
    assert float(np.mean(cured[passed])) == pytest.approx(expected, abs=0.02)
    assert math.isclose(expected, 0.656, abs_tol=0.001)
    assert weighed(2.0, 4000).true > 0.97
