"""How many digits an answer may have."""

from collections.abc import Mapping

import pytest

from diagnose.errors import OutOfRange
from diagnose.report.digits import Figure, figure, plain


@pytest.mark.parametrize(
    ("value", "half", "shown"),
    [
        (286.87, 2.4, "287"),
        (109.07, 0.41, "109"),
        (249.87, 8.9, "250"),
        (160.6, 8.9, "160"),
        (0.9712, 0.011, "0.97"),
        (12.0, 0.05, "12.0"),
        (-0.04, 0.5, "0"),
        (93.0, 0.0, "93"),
        (0.125, 0.0, "0.125"),
    ],
)
def test_the_last_digit_is_the_power_of_ten_nearest_the_half_width(value: float, half: float, shown: str) -> None:
    """By hand: half a unit of the last digit of 72, times 2.497, is 1.2; of 26, times 4.118, 2.1; together 2.4."""
    assert Figure(value, half).shown == shown


def test_halves_add_in_quadrature() -> None:
    """Independent errors of 3 and 4 make 5 (JCGM 100:2008, 5.1.2); a factor counts as often as it acts."""
    made = figure(lambda values: values["a"] + values["b"], {"a": 10.0, "b": 20.0}, {"a": 3.0, "b": 4.0, "c": 9.0})
    assert made is not None
    assert (made.value, made.half) == (30.0, 5.0)
    tripled = figure(lambda values: 3.0 * values["a"], {"a": 10.0}, {"a": 0.5})
    assert tripled is not None
    assert tripled.half == pytest.approx(1.5)
    assert made.times(-2.0) == Figure(-60.0, 10.0)


def _below_eleven(values: Mapping[str, float]) -> float:
    """Refuse what lies above 10.5."""
    if values["a"] > 10.5:
        raise OutOfRange("too much")
    return values["a"]


def test_at_the_end_of_a_range_the_half_goes_the_other_way() -> None:
    """Where the upper end cannot be, the lower one gives the width; where neither can, there is none."""
    one = figure(_below_eleven, {"a": 10.2}, {"a": 1.0})
    assert one is not None
    assert one.half == pytest.approx(1.0)
    none = figure(lambda values: values["a"] if values["a"] == 1.0 else None, {"a": 1.0}, {"a": 0.5})
    assert none == Figure(1.0, 0.0)
    assert figure(lambda _: None, {}, {}) is None


def test_rounding_dust_is_no_width() -> None:
    """What cancels but for rounding is exact."""
    one = figure(lambda values: values["a"] + 1e9 - values["a"], {"a": 0.1}, {"a": 0.3})
    assert one is not None
    assert one.half == 0.0


def test_plain_numbers_have_no_needless_zeros() -> None:
    """Ends of published ranges are told as printed."""
    assert [plain(value) for value in (68.0, 7.5, 0.1)] == ["68", "7.5", "0.1"]
