"""Units as people write them, each with its exact way to the canonical unit of its dimension.

Factors: NIST Special Publication 811 (2008), Appendix B, for ounce, pound, US fluid ounce, gallon, grain, psi and
degree Fahrenheit. Water hardness in mg/L of CaCO3: one German degree is 10 mg/L of CaO (molar masses 56.077 and 100.087
g/mol, IUPAC 2013), one French degree 10 mg/L of CaCO3, one English (Clark) degree one grain in an imperial gallon, one
US grain one grain in a US gallon.
"""

from typing import NamedTuple

OUNCE_G = 28.349523125
FLUID_OUNCE_ML = 29.5735295625
_POUND_G = 453.59237
_GRAIN_MG = 64.79891
_US_GALLON_L = 3.785411784
_IMPERIAL_GALLON_L = 4.54609
_PSI_BAR = 0.0689475729
CACO3_OVER_CAO = 100.087 / 56.077
CACO3_OVER_HCO3 = 100.087 / (2 * 61.017)


class Unit(NamedTuple):
    """One unit: canonical value = (number + shift) * factor. `name` is how a range is said back in it."""

    dimension: str
    factor: float
    name: str
    shift: float = 0.0

    def canonical(self, value: float) -> float:
        """Return a number in this unit in the dimension's canonical unit."""
        return (value + self.shift) * self.factor

    def own(self, value: float) -> float:
        """Return a canonical value in this unit."""
        return value / self.factor - self.shift


def _spelled(unit: Unit, *spellings: str) -> dict[str, Unit]:
    return dict.fromkeys(spellings, unit)


GRAM = Unit("mass", 1.0, "g")
OUNCE = Unit("ounce", OUNCE_G, "oz")
MILLILITRE = Unit("volume", 1.0, "mL")
FLUID_OUNCE = Unit("volume", FLUID_OUNCE_ML, "fl oz")
SECOND = Unit("time", 1.0, "s")
CELSIUS = Unit("temperature", 1.0, "°C")
FAHRENHEIT = Unit("temperature", 5 / 9, "°F", -32.0)
DEGREE = Unit("degree", 1.0, "degrees")
BAR = Unit("pressure", 1.0, "bar")
PPM = Unit("content", 1.0, "ppm")
GERMAN_DEGREE = Unit("hardness", 10 * CACO3_OVER_CAO, "°dH")
PERCENT = Unit("percent", 1.0, "%")
DAY = Unit("days", 1.0, "days")
NOTCH = Unit("notch", 1.0, "notches")
RATIO = Unit("ratio", 1.0, "")

UNITS: dict[str, Unit] = {
    **_spelled(GRAM, "g", "gr", "gm", "gms", "gs", "gram", "grams", "gramme", "grammes"),
    **_spelled(Unit("mass", 1000.0, "kg"), "kg", "kgs", "kilo", "kilos", "kilogram", "kilograms"),
    **_spelled(Unit("mass", 0.001, "mg"), "mg"),
    **_spelled(Unit("mass", _POUND_G, "lb"), "lb", "lbs", "pound", "pounds"),
    **_spelled(OUNCE, "oz", "ozs", "ounce", "ounces"),
    **_spelled(FLUID_OUNCE, "fl oz", "floz", "fluid ounce", "fluid ounces"),
    **_spelled(MILLILITRE, "ml", "mls", "cc", "millilitre", "millilitres", "milliliter", "milliliters"),
    **_spelled(Unit("volume", 10.0, "cL"), "cl"),
    **_spelled(Unit("volume", 1000.0, "L"), "l", "litre", "litres", "liter", "liters"),
    **_spelled(SECOND, "s", "sec", "secs", "second", "seconds", "''"),
    **_spelled(Unit("time", 60.0, "min"), "min", "mins", "minute", "minutes"),
    **_spelled(Unit("time", 3600.0, "h"), "h", "hr", "hrs", "hour", "hours"),
    **_spelled(CELSIUS, "c", "° c", "deg c", "degc", "degree c", "degrees c", "celsius", "degrees celsius",
               "centigrade", "degrees centigrade"),
    **_spelled(FAHRENHEIT, "f", "° f", "deg f", "degf", "degree f", "degrees f", "fahrenheit", "degrees fahrenheit"),
    **_spelled(DEGREE, "°", "deg", "degs", "degree", "degrees"),
    **_spelled(BAR, "bar", "bars"),
    **_spelled(Unit("pressure", _PSI_BAR, "psi"), "psi"),
    **_spelled(Unit("pressure", 0.01, "kPa"), "kpa"),
    **_spelled(Unit("pressure", 10.0, "MPa"), "mpa"),
    **_spelled(PPM, "ppm", "parts per million"),
    **_spelled(Unit("content", 1.0, "mg/L"), "mg / l", "mg l", "mgl", "mg per litre", "mg per liter"),
    **_spelled(GERMAN_DEGREE, "dh", "° dh", "dgh", "° dgh", "dkh", "° dkh", "german degrees"),
    **_spelled(Unit("hardness", 10.0, "°fH"), "fh", "° fh", "tfh", "french degrees"),
    **_spelled(Unit("hardness", _GRAIN_MG / _IMPERIAL_GALLON_L, "°Clark"), "clark", "° clark", "clarks", "° e",
               "degrees clark", "english degrees"),
    **_spelled(Unit("hardness", _GRAIN_MG / _US_GALLON_L, "gpg"), "gpg", "grain", "grains", "grains per gallon"),
    **_spelled(Unit("hardness", 100.087, "mmol/L"), "mmol / l", "mmol"),
    **_spelled(PERCENT, "%", "percent", "per cent", "pct"),
    **_spelled(DAY, "d", "day", "days"),
    **_spelled(Unit("days", 7.0, "weeks"), "week", "weeks", "wk", "wks"),
    **_spelled(Unit("days", 30.4375, "months"), "month", "months"),
    **_spelled(Unit("days", 365.25, "years"), "year", "years", "yr", "yrs"),
    **_spelled(NOTCH, "notch", "notches", "click", "clicks", "step", "steps", "tick", "ticks"),
    **_spelled(Unit("rate", 1.0, "g/s"), "g / s", "g / sec", "g per second", "grams per second",
               "grams / second", "gps"),
    **_spelled(Unit("unused", 1.0, ""), "mm", "cm", "inch", "inches", "w", "watt", "watts", "v", "volt", "volts",
               "amp", "amps", "rpm", "hz", "k", "µm", "micron", "microns", "euro", "euros", "dollar", "dollars", "kw",
               "ml / s", "ml per second", "pm", "am", "x"),
}  # fmt: skip
LONGEST = max(len(spelling.split()) for spelling in UNITS)
BEGINNINGS = frozenset(spelling.split()[0] for spelling in UNITS)

CANONICAL: dict[str, str] = {
    "mass": "g", "ounce": "g", "volume": "mL", "time": "s", "temperature": "degC", "pressure": "bar",
    "content": "mg/L", "hardness": "mg/L", "percent": "%", "days": "days", "notch": "notch", "ratio": "ratio",
    "rate": "g/s",
}  # fmt: skip
