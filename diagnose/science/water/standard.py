"""The published brewing-water table, and how far a water is from it, item by item."""

from dataclasses import dataclass
from typing import Final, Literal

from diagnose.science.water.composition import Water

Standing = Literal["below", "within", "above", "not known"]


@dataclass(frozen=True, slots=True)
class Item:
    """One line of the table. `stated` is False where the table says "at or near" and the range is our reading."""

    name: str
    target: float
    low: float
    high: float
    unit: str
    stated: bool = True


BREWING_WATER: Final = (
    Item("total chlorine", 0.0, 0.0, 0.0, "mg/L"),
    Item("dissolved solids", 150.0, 75.0, 250.0, "mg/L"),
    Item("calcium hardness", 68.0, 17.0, 85.0, "mg/L as CaCO3"),
    Item("alkalinity", 40.0, 30.0, 50.0, "mg/L as CaCO3", stated=False),
    Item("pH", 7.0, 6.5, 7.5, ""),
    Item("sodium", 10.0, 7.5, 12.5, "mg/L", stated=False),
)
"""Table of the coffee trade's association (SCAA standard "Water for Brewing Specialty Coffee", 2009), which also asks
for clean smell and clear colour. Dissolved solids by the 442 convention. "At or near" is read as within a quarter."""


@dataclass(frozen=True, slots=True)
class Comparison:
    """One item of the table against a water.

    `from_target` = value - target; `outside` is how far beyond the nearer end of the range, 0 inside, negative below.
    All three are None when the item is not known.
    """

    item: Item
    value: float | None
    from_target: float | None
    outside: float | None
    standing: Standing


def compare_item(item: Item, value: float | None) -> Comparison:
    """Return where a value stands in one item's range, both ends within."""
    if value is None:
        return Comparison(item, None, None, None, "not known")
    if value < item.low:
        return Comparison(item, value, value - item.target, value - item.low, "below")
    if value > item.high:
        return Comparison(item, value, value - item.target, value - item.high, "above")
    return Comparison(item, value, value - item.target, 0.0, "within")


def compare(water: Water) -> tuple[Comparison, ...]:
    """Return a water against every item of the table, in its order; nothing is guessed for what is not known."""
    values = (
        water.chlorine_mg_l,
        water.dissolved_solids(),
        water.calcium_hardness(),
        water.total_alkalinity(),
        water.ph,
        water.sodium_mg_l,
    )
    return tuple(compare_item(item, value) for item, value in zip(BREWING_WATER, values, strict=True))
