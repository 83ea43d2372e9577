"""The units a water or a jug is told in: those of everyday speech from `language`, and those of labels and gauges.

A unit is found by its spelling, the tokens joined by spaces ("mg / l"). Only units that fit the subject are looked for:
on a water label "Cl" is chloride, not centilitre.
"""

from collections.abc import Iterable, Mapping
from typing import Final

from diagnose.language.units import UNITS, Unit

_GALLON_ML = 3785.411784
_FOOT_M = 0.3048
_KELVIN_PER_FAHRENHEIT = 5 / 9

MG_L = Unit("content", 1.0, "mg/L")
PPM = Unit("content", 1.0, "ppm")
GERMAN = Unit("hardness", 1.0, "dH")
FRENCH = Unit("hardness", 1.0, "fH")
ENGLISH = Unit("hardness", 1.0, "Clark")
GRAINS = Unit("hardness", 1.0, "gpg")
MOLAR = Unit("molar", 1.0, "mmol/L")
EQUIVALENT = Unit("equivalent", 1.0, "meq/L")
METRE = Unit("length", 1.0, "m")

Table = Mapping[str, Unit]


def _spelled(unit: Unit, *spellings: str) -> dict[str, Unit]:
    return dict.fromkeys(spellings, unit)


def _everyday(*dimensions: str) -> dict[str, Unit]:
    return {spelling: unit for spelling, unit in UNITS.items() if unit.dimension in dimensions}


def _per(units: Iterable[str], times: Iterable[str]) -> tuple[str, ...]:
    return tuple(f"{unit} {per} {time}" for unit in units for per in ("/", "per", "a") for time in times)


_LITRE = ("l", "litre", "liter", "dm3")
_SECOND = ("s", "sec", "second")
_DEGREES = ("c", "° c", "deg c", "degree c", "degrees c", "celsius", "degrees celsius")
_FAHRENHEITS = ("f", "° f", "deg f", "degree f", "degrees f", "fahrenheit", "degrees fahrenheit")

WATER_UNITS: Final[Table] = {
    **_everyday("temperature", "degree", "pressure", "content"),
    **_spelled(MG_L, *_per(("mg", "milligram", "milligrams"), _LITRE), "mg l - 1"),
    **_spelled(Unit("content", 0.001, "µg/L"), *_per(("ug", "μg"), _LITRE), "ppb"),
    **_spelled(Unit("content", 1000.0, "g/L"), *_per(("g", "gram", "grams"), _LITRE)),
    **_spelled(PPM, "ppm", "parts per million"),
    **_spelled(GERMAN, "dh", "° dh", "° d", "gdh", "° gdh", "german degrees", "degrees german"),
    **_spelled(Unit("hardness", 1.0, "dGH"), "dgh", "° dgh", "° gh"),
    **_spelled(Unit("hardness", 1.0, "dKH"), "dkh", "° dkh", "° kh"),
    **_spelled(FRENCH, "fh", "° fh", "tfh", "° tfh", "° th", "french degrees", "degrees french"),
    **_spelled(ENGLISH, "eh", "° eh", "° e", "clark", "° clark", "clarks", "degrees clark", "clark degrees",
               "english degrees", "degrees english"),
    **_spelled(GRAINS, "gpg", "grain", "grains", "grains per gallon", "grains / gallon", "grain per gallon",
               "gr / gal", "grains / gal", "gr per gallon"),
    **_spelled(MOLAR, "mmol", "mmol l - 1", *_per(("mmol",), _LITRE)),
    **_spelled(EQUIVALENT, "meq", "mval", *_per(("meq", "mval"), _LITRE)),
    **_spelled(Unit("conductivity", 1.0, "uS/cm"), "us / cm", "μs / cm", "us", "μs", "microsiemens", "us per cm",
               "microsiemens / cm", "microsiemens per cm"),
    **_spelled(Unit("conductivity", 1000.0, "mS/cm"), "ms / cm", "ms per cm", "ds / m"),
    **_spelled(Unit("conductivity", 10.0, "mS/m"), "ms / m"),
    **_spelled(Unit("volume", 1.0, "L"), "l", "litre", "litres", "liter", "liters", "lt", "ltr"),
    **_spelled(Unit("volume", 0.001, "mL"), "ml", "millilitre", "millilitres", "milliliters"),
    **_spelled(Unit("volume", _GALLON_ML / 1000.0, "US gal"), "gal", "gallon", "gallons", "us gal", "us gallons"),
}  # fmt: skip
"""Canonical: mg/L, uS/cm, L, degC, bar. Hardness units keep their own number: the science knows their factors."""

MILK_UNITS: Final[Table] = {
    **_everyday("mass", "ounce", "volume", "time", "temperature", "degree", "pressure"),
    **_spelled(Unit("percent", 0.01, "%"), "%", "percent", "per cent", "pct"),
    **_spelled(Unit("volume", 100.0, "dL"), "dl", "decilitre", "decilitres"),
    **_spelled(Unit("pressure", 1.0, "bar gauge"), "barg", "bar g"),
    **_spelled(Unit("pressure absolute", 1.0, "bar absolute"), "bara"),
    **_spelled(METRE, "m", "metre", "metres", "meter", "meters", "masl"),
    **_spelled(Unit("length", 1000.0, "km"), "km"),
    **_spelled(Unit("length", _FOOT_M, "ft"), "ft", "feet", "foot"),
    **_spelled(Unit("rate", 1.0, "°C/s"), *_per((*_DEGREES,), _SECOND)),
    **_spelled(Unit("rate", _KELVIN_PER_FAHRENHEIT, "°F/s"), *_per((*_FAHRENHEITS,), _SECOND)),
    **_spelled(Unit("degree rate", 1.0, ""), *_per(("°", "deg", "degree", "degrees"), _SECOND)),
}
"""Canonical: g, mL, s, degC, bar, m, degC/s, and shares of one for percent."""
