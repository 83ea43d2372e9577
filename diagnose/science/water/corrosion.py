"""What in a water eats at a machine: chloride, acid, very soft water, and what troubles copper."""

from typing import Final, Literal

from diagnose.errors import OutOfRange
from diagnose.science.ranges import within
from diagnose.science.water.composition import Water

Grade = Literal["304", "316", "titanium"]
Column = Literal[60, 80, 120]
Corrosion = Literal["low", "raised", "high", "not known"]

# Chloride in mg/L up to which a row holds; the steel that stands it at 60, 80 and 120 degC.
_CHLORIDE_ROWS: Final[tuple[tuple[float, tuple[Grade, Grade, Grade]], ...]] = (
    (10.0, ("304", "304", "304")),
    (25.0, ("304", "304", "316")),
    (50.0, ("304", "316", "316")),
    (80.0, ("316", "316", "316")),
    (150.0, ("316", "316", "titanium")),
    (300.0, ("316", "titanium", "titanium")),
)
_COLUMNS: Final[tuple[Column, ...]] = (60, 80, 120)

CHLORIDE_CAUTION_MG_L = 30.0
"""What coffee machines are commonly said to bear (from memory, no source); the maker's figure goes before it."""

VERY_SOFT_HARDNESS = 17.0
"""mg/L as CaCO3: the lower end of the published brewing-water table's calcium hardness."""

VERY_SOFT_ALKALINITY = 20.0
"""mg/L as CaCO3: half the table's target (common practice, no source)."""


def stainless_grade(chloride_mg_l: float, column_degc: Column) -> Grade:
    """Return the least stainless steel for a chloride content at up to 60, 80 or 120 degC, the next row up.

    Source: table of a heat-exchanger maker, as quoted; a steam boiler at 1.0 bar gauge belongs in the last column.
    Raises OutOfRange outside 0 to 300 mg/L or for another column.
    """
    within(chloride_mg_l, 0.0, _CHLORIDE_ROWS[-1][0], "chloride", "mg/L")
    if column_degc not in _COLUMNS:
        raise OutOfRange(
            f"the chloride table has columns for 60, 80 and 120 degC, not {column_degc}: take the next up."
        )
    row = next(grades for most, grades in _CHLORIDE_ROWS if chloride_mg_l <= most)
    return row[_COLUMNS.index(column_degc)]


def _chloride(chloride_mg_l: float) -> tuple[Corrosion, str]:
    """Return how a chloride content is judged, with the reason."""
    said = f"Chloride {chloride_mg_l:g} mg/L"
    if chloride_mg_l > _CHLORIDE_ROWS[-1][0]:
        return "high", f"{said} is beyond the guidance for heated stainless steel altogether."
    grade = stainless_grade(chloride_mg_l, 120)
    if grade == "titanium":
        return "high", f"{said}: guidance for heated metal asks for titanium at 120 degC; stainless boilers may pit."
    if chloride_mg_l > CHLORIDE_CAUTION_MG_L:
        return (
            "raised",
            f"{said} is above the {CHLORIDE_CAUTION_MG_L:g} mg/L commonly allowed; ask the machine's maker.",
        )
    return "low", f"{said}: guidance for heated stainless steel asks for grade {grade} at 120 degC."


def _acid(ph: float) -> tuple[Corrosion, str] | None:
    """Return how an acid pH is judged; None when it is not acid."""
    if ph < 6.0:
        return "high", f"pH {ph:g} is below 6: acid enough to take up copper and brass."
    if ph < 6.5:
        return "raised", f"pH {ph:g} is below the published 6.5."
    return None


def _softness(hardness: float | None, alkalinity: float | None) -> tuple[Corrosion, str] | None:
    """Return how softness is judged; None when the water is not very soft in both."""
    if hardness is None or alkalinity is None or hardness >= VERY_SOFT_HARDNESS or alkalinity >= VERY_SOFT_ALKALINITY:
        return None
    return "raised", (
        "Very soft and hardly buffered: a little acid swings its pH, it takes up metal, and a boiler's level probe "
        "may not sense it (common practice)."
    )


def _copper(water: Water) -> list[tuple[Corrosion, str]]:
    """Return what speaks against copper: by a brazed-plate maker's guidance, as quoted."""
    found: list[tuple[Corrosion, str]] = []
    bicarbonate, sulfate = water.bicarbonate_mg_l, water.sulfate_mg_l
    if bicarbonate is not None and sulfate and bicarbonate / sulfate < 1.0:
        found.append(("raised", "More sulfate than bicarbonate: copper may pit."))
    conductivity = water.conductivity_us_cm
    if conductivity is not None and not 10.0 <= conductivity <= 500.0:
        found.append(("raised", f"Conductivity {conductivity:g} uS/cm is outside 10 to 500, where copper fares well."))
    return found


def corrosion(water: Water) -> tuple[Corrosion, tuple[str, ...]]:
    """Return the worst of what is known about corrosion, and every reason; "not known" when nothing is."""
    found = _copper(water)
    if water.chloride_mg_l is not None:
        found.append(_chloride(water.chloride_mg_l))
    acid = None if water.ph is None else _acid(water.ph)
    found += [each for each in (acid, _softness(water.total_hardness(), water.total_alkalinity())) if each is not None]
    order: tuple[Corrosion, ...] = ("not known", "low", "raised", "high")
    levels: list[Corrosion] = [level for level, _ in found]
    return max(levels, key=order.index, default="not known"), tuple(reason for _, reason in found)
