"""Two waters poured together: what share gives a target, and what comes of it.

Everything dissolved mixes in proportion: hardness, alkalinity, solids, each ion. pH does not, as it is a logarithm
and carbon dioxide has its say, so a blend has no pH until it is measured.
"""

from dataclasses import dataclass, fields
from typing import Literal

from diagnose.errors import OutOfRange
from diagnose.science.ranges import within
from diagnose.science.water.composition import Water

Axis = Literal["hardness", "alkalinity", "dissolved solids"]


@dataclass(frozen=True, slots=True)
class Blend:
    """The share of the first water in the mixture (0 to 1) and the water that results."""

    first_share: float
    water: Water


def share_of_first(target: float, first: float, second: float) -> float:
    """Return the share of the first water that brings a quantity to the target: (target - c2) / (c1 - c2).

    All three in one unit. Raises OutOfRange when the waters are alike in it, or the target is not between them.
    """
    if first == second:
        raise OutOfRange(f"both waters hold {first:g}: no blend of them changes that. Take another second water.")
    within(target, min(first, second), max(first, second), "blending target, between the two waters,", "")
    return (target - second) / (first - second)


def _mixed(first: float | None, second: float | None, share: float) -> float | None:
    """Return the weighted mean, or None when either is not known."""
    if first is None or second is None:
        return None
    return share * first + (1.0 - share) * second


def blend(first: Water, second: Water, first_share: float) -> Water:
    """Return `first_share` of one water with the rest of another; what either lacks, and the pH, stay unknown.

    Raises OutOfRange unless 0 <= first_share <= 1.
    """
    within(first_share, 0.0, 1.0, "share of the first water", "")
    mixed = {
        item.name: _mixed(getattr(first, item.name), getattr(second, item.name), first_share)
        for item in fields(Water)
        if item.name != "ph"
    }
    # Hardness and alkalinity may be stated for one water and follow from ions for the other.
    mixed["hardness_mg_l_caco3"] = _mixed(first.total_hardness(), second.total_hardness(), first_share)
    mixed["alkalinity_mg_l_caco3"] = _mixed(first.total_alkalinity(), second.total_alkalinity(), first_share)
    mixed["tds_mg_l"] = _mixed(first.dissolved_solids(), second.dissolved_solids(), first_share)
    return Water(**mixed)


def _along(water: Water, axis: Axis) -> float:
    """Return a water's amount along an axis, or say that it is needed."""
    amounts = {
        "hardness": water.total_hardness(),
        "alkalinity": water.total_alkalinity(),
        "dissolved solids": water.dissolved_solids(),
    }
    amount = amounts[axis]
    if amount is None:
        raise OutOfRange(f"{axis} of both waters is needed to blend to it: measure or look it up, in mg/L.")
    return amount


def blend_to(first: Water, second: Water, axis: Axis, target_mg_l: float) -> Blend:
    """Return the blend that brings hardness, alkalinity (mg/L as CaCO3) or dissolved solids (mg/L) to a target.

    Only one of them can be aimed at; the others come as they come. Raises OutOfRange when a water's amount is not
    known, or as `share_of_first`.
    """
    share = share_of_first(target_mg_l, _along(first, axis), _along(second, axis))
    return Blend(share, blend(first, second, share))
