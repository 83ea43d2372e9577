"""Rows of the likelihood tables: grades in, probabilities out, with numbers worked by hand."""

import math

import pytest
from hypothesis import given
from hypothesis import strategies as st

from diagnose.inference.hypotheses import cluster_factor
from diagnose.inference.likelihood import decibans, pair_row, row_from_grades, share, tempered

BASE = {"low": 0.1, "on": 0.8, "high": 0.1}


def test_named_levels_take_their_grade_and_the_rest_shares_what_is_left() -> None:
    """Worked by hand: 7 dB on a base of .1 is .5012; .4988 is shared 8 to 1 by the other two."""
    row = row_from_grades(BASE, {"high": 7.0})
    assert row["high"] == pytest.approx(0.1 * 10**0.7)
    assert row["on"] == pytest.approx((1 - 0.1 * 10**0.7) * 8 / 9)
    assert sum(row.values()) == pytest.approx(1.0)


def test_absence_speaks_by_itself() -> None:
    """The normal level is evidence against a cause although nobody gave it a grade."""
    row = row_from_grades(BASE, {"high": 7.0})
    assert decibans(row, BASE, ["on"]) == pytest.approx(10 * math.log10(row["on"] / 0.8))
    assert decibans(row, BASE, ["on"]) < -2


def test_a_set_of_levels_is_their_sum() -> None:
    """What is not low is on or high."""
    row = row_from_grades(BASE, {"high": 7.0})
    assert share(row, ["on", "high"]) == pytest.approx(1 - row["low"])


def test_levels_that_leave_no_room_are_refused() -> None:
    """Grades whose levels sum above 1 cannot be a distribution."""
    with pytest.raises(ValueError, match="no room"):
        row_from_grades(BASE, {"on": 3.0})


@pytest.mark.parametrize(("trust", "expected"), [(1.0, 7.0), (0.5, None), (0.0, 0.0)])
def test_trust_tempers_towards_the_base(trust: float, expected: float | None) -> None:
    """Full trust changes nothing, none leaves the base rates, half lies between."""
    weight = decibans(tempered(row_from_grades(BASE, {"high": 7.0}), BASE, trust), BASE, ["high"])
    if expected is None:
        assert 0 < weight < 7
    else:
        assert weight == pytest.approx(expected, abs=1e-9)


def test_two_causes_together_depart_from_normal_as_independent_causes_would() -> None:
    """Worked by hand: .5 and .4 of .8 normal give .25 together; the rest is shared as 0.6 to 0.5 of each one's own."""
    first = {"low": 0.4, "on": 0.5, "high": 0.1}
    second = {"low": 0.1, "on": 0.4, "high": 0.5}
    row = pair_row(first, second, BASE, "on")
    assert row["on"] == pytest.approx(0.25)
    assert row["low"] == pytest.approx(0.75 * 0.5 / 1.1)
    assert row["high"] == pytest.approx(0.75 * 0.6 / 1.1)
    assert pair_row(first, second, BASE, None)["low"] == pytest.approx(0.25)


def test_findings_of_one_cluster_count_less_each() -> None:
    """One finding counts in full, two count two thirds each, three half each."""
    assert [cluster_factor(k) for k in (0, 1, 2, 3)] == pytest.approx([1, 1, 2 / 3, 1 / 2])


@given(
    st.lists(st.floats(0.01, 1), min_size=2, max_size=6),
    st.lists(st.floats(-20, 3), min_size=1, max_size=5),
    st.floats(0, 1),
)
def test_every_row_is_a_distribution(raw: list[float], grades: list[float], trust: float) -> None:
    """Whatever the base rates and the grades that fit them, a row is positive and sums to 1."""
    base = {str(i): value / sum(raw) for i, value in enumerate(raw)}
    named = {str(i): g for i, g in enumerate(grades) if i < len(base) - 1}
    if sum(base[level] * 10 ** (g / 10) for level, g in named.items()) > 0.9:
        return
    row = tempered(row_from_grades(base, named), base, trust)
    assert sum(row.values()) == pytest.approx(1.0)
    assert all(value > 0 for value in row.values())
    pair = pair_row(row, base, base, "0")
    assert sum(pair.values()) == pytest.approx(1.0)


def test_worked_posterior_of_five_hypotheses() -> None:
    """Priors .30 .25 .15, nothing wrong .20, unknown .10 and 20 17 17 0 13 dB, worked by hand to four places."""
    priors, weights = (0.30, 0.25, 0.15, 0.20, 0.10), (20, 17, 17, 0, 13)
    raw = [p * 10 ** (w / 10) for p, w in zip(priors, weights, strict=True)]
    expected = (0.5742, 0.2398, 0.1439, 0.0038, 0.0382)
    assert [x / sum(raw) for x in raw] == pytest.approx(expected, abs=5e-5)
