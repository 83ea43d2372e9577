"""What the log knows of the water that runs through the machine, and the most scale it can have left.

Kept as the fact ``water``: quantities by name, in the form in which recipes are kept, so that a talk can write it too.
"""

import re
from collections.abc import Mapping
from dataclasses import dataclass
from typing import Final, get_args

from diagnose.errors import DiagnoseError
from diagnose.logbook import Logbook
from diagnose.logbook.contents import JsonValue
from diagnose.model import frozen_map
from diagnose.science.water.scale import scale_bound_g
from diagnose.science.water.units import MG_L_CACO3_PER, HardnessUnit

KEY = "water"
HARDNESS, ALKALINITY, USE, CAPACITY = "water_hardness", "water_alkalinity", "water_use", "filter_capacity"
UNITS: Final[Mapping[str, str]] = frozen_map(
    {HARDNESS: "mg/L", ALKALINITY: "mg/L", USE: "L/day", CAPACITY: "L"},
)
"""What can be kept: hardness and alkalinity as calcium carbonate of the water that reaches the machine, litres through
it in a day, litres a new filter cartridge lasts for that hardness by its maker's word."""

_HIGHEST: Final[Mapping[str, float]] = frozen_map(
    {HARDNESS: 1500.0, ALKALINITY: 1500.0, USE: 2000.0, CAPACITY: 200_000.0}
)
_PLAIN: HardnessUnit = "mg/L CaCO3"
_UNITS: tuple[HardnessUnit, ...] = get_args(HardnessUnit)
_SPELT: Final[Mapping[str, HardnessUnit]] = frozen_map(
    {**dict.fromkeys(("", "mg/l", "ppm"), _PLAIN), **{unit.lower(): unit for unit in _UNITS}},
)
_LONGEST_DAYS = 36_500.0
_NUMBER = re.compile(r"\s*(\d+(?:[.,]\d+)?)\s*°?\s*([A-Za-z/]*(?: CaCO3)?)\s*", re.IGNORECASE)


@dataclass(frozen=True, slots=True)
class WaterUse:
    """What is known, each None where it is not: mg/L as calcium carbonate, litres a day, litres a cartridge lasts."""

    hardness: float | None = None
    alkalinity: float | None = None
    litres_per_day: float | None = None
    filter_litres: float | None = None

    @property
    def carbonate_hardness(self) -> float | None:
        """Return what can become scale at the most, mg/L as CaCO3: the smaller of hardness and alkalinity told.

        All of the hardness is taken as calcium, which makes it more, never less.
        """
        told = [value for value in (self.hardness, self.alkalinity) if value is not None]
        return min(told, default=None)

    def scale_g(self, days: float) -> float | None:
        """Return the grams of scale at the most after so many days, None where hardness or litres are not known."""
        if self.carbonate_hardness is None or self.litres_per_day is None:
            return None
        return scale_bound_g(self.litres_per_day, self.carbonate_hardness, min(days, _LONGEST_DAYS))


def known_water(book: Logbook | None) -> WaterUse:
    """Return what the log knows; anything kept in another form is passed over. Raises LogError."""
    kept = None if book is None else book.recall(KEY)
    found = {name: _value(kept, name) for name in UNITS}
    return WaterUse(found[HARDNESS], found[ALKALINITY], found[USE], found[CAPACITY])


def _value(kept: JsonValue, name: str) -> float | None:
    entry = kept.get(name) if isinstance(kept, Mapping) else None
    value = entry.get("value") if isinstance(entry, Mapping) and entry.get("unit") == UNITS[name] else None
    if isinstance(value, bool) or not isinstance(value, int | float) or not 0 <= value <= _HIGHEST[name]:
        return None
    return float(value)


def remember_water(book: Logbook, told: Mapping[str, float]) -> int:
    """Keep numbers on top of those known before and return the row's id. Raises LogError."""
    kept = book.recall(KEY)
    before = dict(kept) if isinstance(kept, Mapping) else {}
    new: dict[str, JsonValue] = {
        name: {"value": value, "low": value, "high": value, "unit": UNITS[name]} for name, value in told.items()
    }
    return book.remember(KEY, before | new)


def read_number(name: str, typed: str) -> float:
    """Return a number as typed, in its canonical unit: "8 dH" is 143 mg/L.

    Hardness and alkalinity take mg/L, ppm, dH, fH, Clark, gpg, mmol/L and meq/L; litres take none. Raises
    DiagnoseError for anything else, or a number no water has.
    """
    in_degrees = UNITS[name] == "mg/L"
    found = _NUMBER.fullmatch(typed)
    unit = _SPELT.get(found.group(2).lower()) if found else None
    if found is None or unit is None or (found.group(2) and not in_degrees):
        takes = (
            f"a number, in mg/L as CaCO3 or with one of {', '.join(_UNITS[1:])}" if in_degrees else "a number of litres"
        )
        raise DiagnoseError(f"{typed!r} cannot be read; {name.replace('_', ' ')} takes {takes}.")
    value = float(found.group(1).replace(",", ".")) * MG_L_CACO3_PER[unit]
    if value > _HIGHEST[name]:
        what = f"{name.replace('_', ' ')} (up to {_HIGHEST[name]:g} {UNITS[name]})"
        raise DiagnoseError(f"{typed!r} is more than any {what}.")
    return value
