"""How many digits an answer may have: as many as the numbers it was reckoned from support.

A number as written stands for itself give or take half a unit of its last digit. Those halves are carried through a
computation one by one and added in quadrature (the usual rule for independent errors, as in the Guide to the
Expression of Uncertainty in Measurement, JCGM 100:2008, 5.1.2); the answer ends at the power of ten nearest to the sum.
"""

from collections.abc import Callable, Mapping
from dataclasses import dataclass
from math import log10, sqrt

from diagnose.errors import OutOfRange

_FINEST = -6  # places behind the point, for what carries no uncertainty at all
_DUST = 1e-9  # relative; what is left where errors cancel is rounding


@dataclass(frozen=True, slots=True)
class Figure:
    """A number and its half width: the truth lies within `value` give or take `half`."""

    value: float
    half: float

    @property
    def place(self) -> int:
        """Return the power of ten of the last digit worth giving."""
        return max(round(log10(self.half)), _FINEST) if self.half > 0.0 else _FINEST

    @property
    def rounded(self) -> float:
        """Return the value with the digits it deserves."""
        return round(self.value, -self.place) + 0.0  # never minus zero

    @property
    def shown(self) -> str:
        """Return the value as text, without exponent and with the zeros that count."""
        if self.half > 0.0:
            return f"{self.rounded:.{max(-self.place, 0)}f}"
        return f"{self.rounded:.6f}".rstrip("0").rstrip(".")

    def times(self, factor: float) -> "Figure":
        """Return the figure in another unit."""
        return Figure(self.value * factor, self.half * abs(factor))


Values = Mapping[str, float]


def figure(compute: Callable[[Values], float | None], values: Values, halves: Values) -> Figure | None:
    """Return what `compute` makes of the values, with the half width that follows from theirs; None where it does.

    Raises what `compute` raises for the values themselves.
    """
    middle = compute(values)
    if middle is None:
        return None
    moves = (_move(compute, values, middle, name, half) for name, half in halves.items() if name in values)
    half = sqrt(sum(move * move for move in moves))
    return Figure(middle, half if half > _DUST * abs(middle) else 0.0)


def _move(compute: Callable[[Values], float | None], values: Values, middle: float, name: str, half: float) -> float:
    """Return how far the result moves with one value moved by its half width: upwards, or else downwards."""
    for step in (half, -half):
        try:
            moved = compute({**values, name: values[name] + step})
        except OutOfRange:
            continue
        if moved is not None:
            return moved - middle
    return 0.0


def plain(value: float) -> str:
    """Return a number of ours, such as the end of a published range, without needless zeros."""
    return f"{value:.6f}".rstrip("0").rstrip(".")
