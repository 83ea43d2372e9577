"""Adjusting a noisy process: when to leave it alone, how far to move, and whether the move helped.

Correcting every deviation in full doubles the variance of a steady process (Deming's funnel, rule 2; from memory of
*Out of the Crisis*, 1986). So: a dead band, a step that allows for what is not known about the grinder, and evidence
in decibans (10 log10 of a likelihood ratio) after the change.
"""

import math
from collections.abc import Sequence
from dataclasses import dataclass
from statistics import NormalDist
from typing import Literal

from diagnose.errors import OutOfRange
from diagnose.science.ranges import within

Decision = Literal["hold", "repeat", "adjust"]
Pair = tuple[float, float]

DECIBANS = 10.0 / math.log(10.0)
"""Decibans per natural-log unit, 4.343."""


@dataclass(frozen=True, slots=True)
class Prediction:
    """Expected time in s of the next shot at a notch, and its standard deviation with the shots' own scatter."""

    mean: float
    sd: float


@dataclass(frozen=True, slots=True)
class GrindResponse:
    """What is believed of shot time against notch: time = a + b (notch - origin), normal, known scatter.

    `mean` is (a in s, b in s per notch), `cov` their covariance, `sigma` the scatter of single shots in s. Moving the
    origin (`at`) changes no prediction and no notch that follows from it. The sign of b is the dial's: it is
    positive where a higher notch gives a slower shot. Conjugate normal regression, for example Bishop, Pattern
    Recognition and Machine Learning (2006), section 3.3 (from memory).
    """

    mean: Pair
    cov: tuple[Pair, Pair]
    sigma: float
    origin: float = 0.0

    def __post_init__(self) -> None:
        """Refuse beliefs no data could have given.

        Raises OutOfRange: scatter outside 0.01-100 s, or a covariance that is not symmetric and positive definite.
        """
        within(self.sigma, 0.01, 100.0, "scatter", "s")
        (va, cab), (cba, vb) = self.cov
        if not (va > 0.0 and vb > 0.0 and va * vb > cab * cba and math.isclose(cab, cba, abs_tol=1e-9)):
            raise OutOfRange("covariance must be symmetric with variances above 0 s2 and correlation within -1 to 1.")

    @classmethod
    def prior(cls, notch: float, mean: Pair, sd: Pair, sigma: float) -> "GrindResponse":
        """Return the belief before any shot: a and b independent, with a holding at `notch`.

        Raises OutOfRange: a standard deviation not above 0, or scatter outside 0.01-100 s.
        """
        return cls(mean, ((sd[0] ** 2, 0.0), (0.0, sd[1] ** 2)), sigma, notch)

    def at(self, notch: float) -> "GrindResponse":
        """Return the same belief written from another origin, as a rule the current notch.

        Raises OutOfRange: notch outside -10000 to 10000.
        """
        (va, cab), (_, vb) = self.cov
        a, b = self.mean
        move = within(notch, -1e4, 1e4, "notch") - self.origin
        shared = cab + move * vb
        moved = ((va + 2.0 * move * cab + move**2 * vb, shared), (shared, vb))
        return GrindResponse((a + move * b, b), moved, self.sigma, notch)

    def renewed(self, sd: Pair) -> "GrindResponse":
        """Return the belief after a change that moves a (s) and b (s/notch) by unknown amounts of these deviations.

        The old posterior, widened, is the new prior: a random walk of the parameters, as in dynamic linear models
        (West and Harrison, Bayesian Forecasting and Dynamic Models, 1997; from memory).

        Raises OutOfRange: a standard deviation outside 0-1000.
        """
        (va, cab), (_, vb) = self.cov
        level, slope = (within(one, 0.0, 1000.0, "change") for one in sd)
        return GrindResponse(self.mean, ((va + level**2, cab), (cab, vb + slope**2)), self.sigma, self.origin)

    def predict(self, notch: float) -> Prediction:
        """Return what the next shot at a notch should show, scatter included."""
        here = self.at(notch)
        return Prediction(here.mean[0], math.sqrt(here.cov[0][0] + self.sigma**2))

    def update(self, notch: float, time_s: float) -> "GrindResponse":
        """Return the belief after one shot at a notch; the origin stays.

        Raises OutOfRange: time outside 1-600 s.
        """
        here = self.at(notch)
        (va, cab), (_, vb) = here.cov
        a, b = here.mean
        surprise = within(time_s, 1.0, 600.0, "shot time", "s") - a
        total = va + self.sigma**2
        kept = self.sigma**2 / total
        cov = ((va * kept, cab * kept), (cab * kept, vb - cab**2 / total))
        return GrindResponse((a + va / total * surprise, b + cab / total * surprise), cov, self.sigma, notch).at(
            self.origin
        )

    def step_to(self, target_s: float, notch: float | None = None) -> float:
        """Return how many notches to move from `notch` (from the origin if None) to bring the time to a target.

        Cautious control: ((T - a) b - cov(a, b)) / (b^2 + var b), with a and cov taken at the current notch,
        minimises the expected squared miss; the less is known of b, the smaller the step (K. J. Astrom and
        B. Wittenmark, Adaptive Control, on cautious and dual control; from memory).

        Raises OutOfRange: target outside 1-600 s.
        """
        within(target_s, 1.0, 600.0, "target time", "s")
        here = self.at(self.origin if notch is None else notch)
        a, b = here.mean
        (_, cab), (_, vb) = here.cov
        return ((target_s - a) * b - cab) / (b**2 + vb)


def decide(deviations: Sequence[float]) -> Decision:
    """Return what the newest deviation from the target calls for; all are in sigma, in time order, at one setting.

    Inside 2 sigma: "hold". Beyond 3 sigma, or the second in a row beyond 2 sigma on the same side: "adjust".
    Otherwise "repeat" unchanged before anything is moved. Limits of Western Electric's Statistical Quality Control
    Handbook (1956), from memory, with two in a row for its two of three.

    Raises OutOfRange: no deviations, or the newest is not finite.
    """
    if not deviations or not math.isfinite(deviations[-1]):
        raise OutOfRange("the newest deviation must be a number of sigma between minus and plus infinity.")
    newest = deviations[-1]
    if abs(newest) <= 2.0:
        return "hold"
    again = len(deviations) > 1 and math.copysign(1.0, newest) * deviations[-2] > 2.0
    return "adjust" if abs(newest) > 3.0 or again else "repeat"


def confirmation_db(y: float, mu0: float, mu1: float, sigma: float, cap_db: float = 15.0) -> float:
    """Return the evidence in decibans of one result `y` for "the change worked" (mean mu1) against "not" (mu0).

    Log likelihood ratio of two normals with one sigma: 4.343 (mu1 - mu0) (y - (mu0 + mu1) / 2) / sigma^2, capped on
    both sides, since no single shot is that sure (Neyman-Pearson and Wald's sequential test; the cap is ours). If
    the change worked the uncapped mean is 2.17 times the square of the effect in sigma.

    Raises OutOfRange: sigma not above 0, a negative cap, or a result that is not finite.
    """
    within(sigma, 1e-9, 1e9, "scatter")
    within(cap_db, 0.0, math.inf, "cap", "dB")
    if not math.isfinite(y):
        raise OutOfRange("the result must be a number between minus and plus infinity.")
    evidence = DECIBANS * (mu1 - mu0) * (y - (mu0 + mu1) / 2.0) / sigma**2
    return max(-cap_db, min(cap_db, evidence))


def response_db(y: float, before: float, expected: Pair, sigma: float, cap_db: float = 15.0) -> float:
    """Return the evidence in dB of a result `y` for "it responded as expected" against "it did not move".

    `expected` is (mean, sd) of the response alone; both results scatter with `sigma`. Log likelihood ratio of
    N(mean, sd^2 + sigma^2) to N(before, sigma^2), capped; with sd = 0 it is `confirmation_db`. A response smaller
    than guessed thus still counts as one, if it is more likely a response than scatter.

    Raises OutOfRange: sigma not above 0, a negative sd or cap, or a result that is not finite.
    """
    mean, sd = expected
    within(sigma, 1e-9, 1e9, "scatter")
    within(sd, 0.0, 1e9, "spread of the response")
    within(cap_db, 0.0, math.inf, "cap", "dB")
    if not math.isfinite(y):
        raise OutOfRange("the result must be a number between minus and plus infinity.")
    wide = sd**2 + sigma**2
    evidence = (y - before) ** 2 / sigma**2 - (y - mean) ** 2 / wide + math.log(sigma**2 / wide)
    return max(-cap_db, min(cap_db, DECIBANS * evidence / 2.0))


def next_closer_probability(z: float, *, or_more: bool = False) -> float:
    """Return how likely the next shot is closer to the target with nothing done, after one `z` sigma off.

    For a steady normal process on target: P(|Z| < z); with `or_more`, after a shot at least that far off, the mean of
    that over the tail, (1 + P(|Z| < z)) / 2. This is regression to the mean: a better next shot proves little.

    Raises OutOfRange: z outside 0-38 sigma (sign does not matter).
    """
    inside = 2.0 * NormalDist().cdf(within(abs(z), 0.0, 38.0, "deviation", "sigma")) - 1.0
    return (1.0 + inside) / 2.0 if or_more else inside
