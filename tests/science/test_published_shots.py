"""Published figures of extraction, flow, scatter, control, storage and caffeine, one row each.

Tags: "read" in the primary source; "quoted" from a secondary page; "computed" from a published formula or data, or
with a reference library; "memory" recalled and not re-read. Tolerances are absolute: the printed precision within
one method, the stated spread between two.
"""

from collections.abc import Callable
from dataclasses import dataclass
from typing import Literal

import pytest

from diagnose.science.beans import oxygen_factor, warmth_factor, water_activity_factor
from diagnose.science.caffeine import caffeine_mg, limits, shots_per_day
from diagnose.science.control import GrindResponse, next_closer_probability
from diagnose.science.extraction import brew_ratio, effect_of_yield, extraction_yield, tds_for
from diagnose.science.flow import (
    dose_time_factor,
    old_grounds_share,
    size_ratio_for,
    time_at_yield,
    time_factor,
    viscosity_mpa_s,
)
from diagnose.science.variation import individuals, repeats_needed, student_quantile


@dataclass(frozen=True, slots=True)
class Row:
    """One published value, and the call that must reproduce it."""

    name: str
    source: str
    tag: Literal["read", "quoted", "computed", "memory"]
    expected: float
    tolerance: float
    call: Callable[[], float]


OPEN_SHOTS = "Waszkiewicz et al., arXiv 2512.21528 (2025), open per-shot data"
TRAINING = "training page on espresso extraction, worked example"
DRIP_NOTE = "public note on drip brewing, measured brews"
IAPWS = "IAPWS-IF97 and IAPWS 2008 viscosity at 1 MPa, reference library"
NIST = "NIST/SEMATECH e-Handbook 6.3.2.2"
PYZDEK = "Pyzdek, quality engineering handbook, individuals table"
JET = "SAS documentation, jet engine diameters"
LABUZA = "Cardelli & Labuza, LWT 34:273-278 (2001)"
EFSA = "EFSA NDA Panel, EFSA Journal 13(5):4102 (2015)"

NIST_FLOW = (49.6, 47.6, 49.9, 51.3, 47.8, 51.2, 52.6, 52.4, 53.6, 52.1)
PYZDEK_25 = (110, 103, 97, 96, 105, 110, 100, 93, 90, 103, 97, 103, 90,
             97, 99, 106, 90, 96, 109, 90, 91, 108, 96, 101, 96)  # fmt: skip
JET_20 = (78.4, 80.1, 84.4, 79.1, 80.4, 83.5, 73.8, 83.5, 75.0, 76.8,
          70.5, 80.3, 82.4, 79.4, 86.4, 90.5, 77.7, 82.5, 79.9, 83.2)  # fmt: skip
ESPRESSO_10 = (35.12, 41.84, 40.62, 38.38, 39.03, 44.19, 42.85, 41.34, 41.70, 40.38)


def three_notches() -> GrindResponse:
    """Return the belief after 38, 33, 31 s at notches 12, 11, 10 from a prior of 35 +/- 10 s and 3 +/- 2 s/notch."""
    belief = GrindResponse.prior(12, (35.0, 3.0), (10.0, 2.0), 2.0)
    for notch, time_s in ((12, 38.0), (11, 33.0), (10, 31.0)):
        belief = belief.update(notch, time_s)
    return belief


EXTRACTION = (
    Row("20 g, 40 g, TDS 10", TRAINING, "quoted", 20.0, 0.005, lambda: extraction_yield(10.0, 40, 20)),
    Row("1:1 at TDS 13", TRAINING, "quoted", 13.0, 0.005, lambda: extraction_yield(13.0, 18, 18)),
    Row("1:2 at TDS 9.5", TRAINING, "quoted", 19.0, 0.005, lambda: extraction_yield(9.5, 40, 20)),
    Row("18 g, 36 g, TDS 8.6", "mass balance", "computed", 17.2, 0.005, lambda: extraction_yield(8.6, 36, 18)),
    Row("7 g, 25 g, TDS 5.5", "mass balance", "computed", 19.64, 0.005, lambda: extraction_yield(5.5, 25, 7)),
    Row("15 g, 40 g, TDS 8.25", "mass balance", "computed", 22.0, 0.005, lambda: extraction_yield(8.25, 40, 15)),
    Row("drip 38.5 g, 622 g", DRIP_NOTE, "quoted", 17.85, 0.01, lambda: extraction_yield(1.105, 622, 38.5)),
    Row("drip 38.5 g, 625 g", DRIP_NOTE, "quoted", 19.32, 0.01, lambda: extraction_yield(1.19, 625, 38.5)),
    Row("TDS for 20 % at 1:1", "mass balance", "computed", 20.0, 0.005, lambda: tds_for(20.0, 18, 18)),
    Row("TDS for 20 % at 1:1.5", "mass balance", "computed", 13.33, 0.005, lambda: tds_for(20.0, 27, 18)),
    Row("TDS for 20 % at 1:2", "mass balance", "computed", 10.0, 0.005, lambda: tds_for(20.0, 36, 18)),
    Row("TDS for 20 % at 1:2.5", "mass balance", "computed", 8.0, 0.005, lambda: tds_for(20.0, 45, 18)),
    Row("TDS for 20 % at 1:3", "mass balance", "computed", 6.67, 0.005, lambda: tds_for(20.0, 54, 18)),
    Row("brew formula 50 %: 16 g to 32 g", TRAINING, "quoted", 50.0, 0.005, lambda: 100 / brew_ratio(32, 16)),
    Row("18 to 36 g, fitted fractions", OPEN_SHOTS, "computed", 12.0 / 10.9, 0.012,
        lambda: effect_of_yield(18.5, 18, 36).extraction_low),
    Row("27 to 36 g, fitted fractions", OPEN_SHOTS, "computed", 12.0 / 11.7, 0.01,
        lambda: effect_of_yield(18.5, 27, 36).extraction_low),
    Row("36 to 54 g, fitted fractions", OPEN_SHOTS, "computed", 12.2 / 12.0, 0.01,
        lambda: effect_of_yield(18.5, 36, 54).extraction_low),
    Row("strength 36 to 54 g", OPEN_SHOTS, "computed", 4.2 / 6.2, 0.03,
        lambda: effect_of_yield(18.5, 36, 54).strength_factor),
)  # fmt: skip

FLOW = (
    Row("mean 6-bar shot stopped at 30 s, flow known", OPEN_SHOTS, "computed", 39.7, 0.05,
        lambda: time_at_yield(30, 18.9, 36, flow_g_s=1.76).seconds),
    Row("the same against its true time", OPEN_SHOTS, "read", 38.5, 1.5,
        lambda: time_at_yield(30, 18.9, 36, flow_g_s=1.76).seconds),
    Row("mean 9-bar shot stopped at 40 s, flow known", OPEN_SHOTS, "computed", 48.8, 0.05,
        lambda: time_at_yield(40, 21.5, 36, flow_g_s=1.65).seconds),
    Row("the same against its true time", OPEN_SHOTS, "read", 48.0, 1.0,
        lambda: time_at_yield(40, 21.5, 36, flow_g_s=1.65).seconds),
    Row("6 bar, first drops known", OPEN_SHOTS, "read", 38.5, 0.5,
        lambda: time_at_yield(30, 18.9, 36, first_drops_s=14.3).seconds),
    Row("9 bar, first drops known", OPEN_SHOTS, "read", 48.0, 1.0,
        lambda: time_at_yield(40, 21.5, 36, first_drops_s=18.9).seconds),
    Row("viscosity at 20 degC", IAPWS, "computed", 1.0013, 0.001, lambda: viscosity_mpa_s(20)),
    Row("viscosity at 25 degC, published", "IAPWS, 0.101325 MPa", "read", 0.8900, 0.00005, lambda: viscosity_mpa_s(25)),
    Row("viscosity at 60 degC", IAPWS, "computed", 0.4663, 0.0005, lambda: viscosity_mpa_s(60)),
    Row("viscosity at 90 degC", IAPWS, "computed", 0.3144, 0.0005, lambda: viscosity_mpa_s(90)),
    Row("viscosity at 90 degC, as used", OPEN_SHOTS, "read", 0.315, 0.001, lambda: viscosity_mpa_s(90)),
    Row("viscosity at 100 degC", IAPWS, "computed", 0.2818, 0.0005, lambda: viscosity_mpa_s(100)),
    Row("particles 5 % smaller", "Darcy and Kozeny-Carman", "computed", 1.108, 0.0005,
        lambda: time_factor(particle_size_ratio=0.95)),
    Row("particles 10 % smaller", "Darcy and Kozeny-Carman", "computed", 1.235, 0.0005,
        lambda: time_factor(particle_size_ratio=0.90)),
    Row("14 to 27 s: size ratio", "Darcy and Kozeny-Carman", "computed", 0.7201, 0.0001,
        lambda: size_ratio_for(27 / 14)),
    Row("water 88 to 93 degC", IAPWS, "computed", 0.945, 0.001, lambda: time_factor(1.0, 88, 93)),
    Row("water 90 to 95 degC", IAPWS, "computed", 0.946, 0.001, lambda: time_factor(1.0, 90, 95)),
    Row("1 g more on 18 g", "common practice, no source", "memory", 1.15, 0.0005,
        lambda: dose_time_factor(18, 19).value),
    Row("3 g kept, first 18 g dose", "mass balance", "computed", 0.143, 0.0005, lambda: old_grounds_share(3, 18, 1)),
    Row("3 g kept, second 18 g dose", "mass balance", "computed", 0.020, 0.0005, lambda: old_grounds_share(3, 18, 2)),
)  # fmt: skip

VARIATION = (
    Row("mean", NIST, "quoted", 50.81, 0.005, lambda: individuals(NIST_FLOW).centre),
    Row("mean moving range", NIST, "quoted", 1.8778, 0.00005, lambda: individuals(NIST_FLOW).moving_range),
    Row("upper limit", NIST, "quoted", 55.8041, 0.00005, lambda: individuals(NIST_FLOW).upper),
    Row("lower limit", NIST, "quoted", 45.8159, 0.00005, lambda: individuals(NIST_FLOW).lower),
    Row("mean", PYZDEK, "read", 99.04, 0.005, lambda: individuals(PYZDEK_25).centre),
    Row("mean moving range", PYZDEK, "read", 8.1667, 0.00005, lambda: individuals(PYZDEK_25).moving_range),
    Row("upper limit", PYZDEK, "computed", 120.763, 0.005, lambda: individuals(PYZDEK_25).upper),
    Row("lower limit", PYZDEK, "computed", 77.317, 0.005, lambda: individuals(PYZDEK_25).lower),
    Row("range limit", PYZDEK, "computed", 26.68, 0.005, lambda: individuals(PYZDEK_25).mr_upper),
    Row("mean", JET, "read", 80.39, 0.005, lambda: individuals(JET_20).centre),
    Row("mean moving range", JET, "computed", 5.3263, 0.00005, lambda: individuals(JET_20).moving_range),
    Row("upper limit", JET, "computed", 94.556, 0.003, lambda: individuals(JET_20).upper),
    Row("lower limit", JET, "computed", 66.224, 0.003, lambda: individuals(JET_20).lower),
    Row("range limit", JET, "computed", 17.40, 0.005, lambda: individuals(JET_20).mr_upper),
    Row("mean time to 36 g, 4 bar", OPEN_SHOTS, "computed", 40.545, 0.0005, lambda: individuals(ESPRESSO_10).centre),
    Row("mean moving range", OPEN_SHOTS, "computed", 2.280, 0.0005, lambda: individuals(ESPRESSO_10).moving_range),
    Row("upper limit", OPEN_SHOTS, "computed", 46.61, 0.005, lambda: individuals(ESPRESSO_10).upper),
    Row("lower limit", OPEN_SHOTS, "computed", 34.48, 0.005, lambda: individuals(ESPRESSO_10).lower),
    Row("range limit", OPEN_SHOTS, "computed", 7.449, 0.002, lambda: individuals(ESPRESSO_10).mr_upper),
    Row("t 0.975 at 30 df", "any printed table of Student's t", "memory", 2.042, 0.0005,
        lambda: student_quantile(0.975, 30)),
    Row("repeats: 2 s at SD 2 s", "two-sample t test, 80 % power", "computed", 17, 0, lambda: repeats_needed(2, 2)),
    Row("repeats: 3 s at SD 2 s", "two-sample t test, 80 % power", "computed", 9, 0, lambda: repeats_needed(2, 3)),
    Row("repeats: 4 s at SD 2 s", "two-sample t test, 80 % power", "computed", 6, 0, lambda: repeats_needed(2, 4)),
    Row("repeats: 3 s at SD 3 s", "two-sample t test, 80 % power", "computed", 17, 0, lambda: repeats_needed(3, 3)),
    Row("repeats: 5 s at SD 3 s", "two-sample t test, 80 % power", "computed", 7, 0, lambda: repeats_needed(3, 5)),
)  # fmt: skip

NORMAL_REGRESSION = "conjugate normal regression, brute force"

CONTROL = (
    Row("posterior time at notch 12", NORMAL_REGRESSION, "computed", 37.2727, 0.00005, lambda: three_notches().mean[0]),
    Row("posterior s per notch", NORMAL_REGRESSION, "computed", 3.3030, 0.00005, lambda: three_notches().mean[1]),
    Row("posterior covariance", NORMAL_REGRESSION, "computed", 1.2987, 0.00005, lambda: three_notches().cov[0][1]),
    Row("cautious step to 24 s from notch 12", NORMAL_REGRESSION, "computed", -3.692, 0.0005,
        lambda: three_notches().step_to(24)),
    Row("the same from notch 10, where it stands", NORMAL_REGRESSION, "computed", -1.69, 0.005,
        lambda: three_notches().step_to(24, 10)),
    Row("next closer after exactly 2 sigma", "normal distribution, any printed table", "computed", 0.954, 0.0005,
        lambda: next_closer_probability(2)),
    Row("next closer after 2 sigma or more", "normal distribution, integrated over the tail", "computed", 0.977, 0.0005,
        lambda: next_closer_probability(-2, or_more=True)),
)  # fmt: skip

BEANS_AND_CAFFEINE = (
    Row("oxygen 0.5 to 21.3 kPa", LABUZA, "read", 20.0, 1e-9, lambda: oxygen_factor(0.5, 21.3)),
    Row("water activity + 0.1", LABUZA, "read", 1.6, 1e-9, lambda: water_activity_factor(0.2, 0.3)),
    Row("water activity 0.106 to 0.408", LABUZA, "computed", 4.13, 0.01, lambda: water_activity_factor(0.106, 0.408)),
    Row("20 to 30 degC, middle of Q10 1.15-1.23", LABUZA, "read", 1.19, 0.04, lambda: warmth_factor(20, 30)),
    Row("20 to 30 degC, 13 kJ/mol", LABUZA, "computed", 1.192, 0.0005, lambda: warmth_factor(20, 30)),
    Row("10 to 20 degC, 13 kJ/mol", LABUZA, "computed", 1.207, 0.0005, lambda: warmth_factor(10, 20)),
    Row("18 g double, low", "1.0 % x 75 % of the dose", "memory", 135, 0.5, lambda: caffeine_mg(18).low),
    Row("18 g double, high", "1.4 % x 90 % of the dose", "memory", 227, 0.5, lambda: caffeine_mg(18).high),
    Row("7 g single, strong end, against about 80 mg", EFSA, "quoted", 80, 10, lambda: caffeine_mg(7).high),
    Row("adult, a day", EFSA, "quoted", 400, 0, lambda: limits().daily_mg),
    Row("adult, at once", EFSA, "memory", 200, 0, lambda: limits().single_mg or 0.0),
    Row("pregnant, a day", EFSA, "quoted", 200, 0, lambda: limits("pregnant").daily_mg),
    Row("18 g doubles a day, most", EFSA, "computed", 400 / 135, 0.01, lambda: shots_per_day(18).high),
)  # fmt: skip

ROWS = (*EXTRACTION, *FLOW, *VARIATION, *CONTROL, *BEANS_AND_CAFFEINE)


@pytest.mark.parametrize("row", ROWS, ids=lambda row: f"{row.name} [{row.tag}: {row.source}]")
def test_published_value(row: Row) -> None:
    """The function reproduces the published value within its tolerance."""
    assert row.call() == pytest.approx(row.expected, rel=0, abs=row.tolerance or 1e-12)
