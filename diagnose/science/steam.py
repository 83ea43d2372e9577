"""Saturated steam by the boiler's gauge, and what altitude does to it.

A boiler gauge shows pressure above the air around it. The commonest slip with steam tables, which list absolute
pressure, is to look up the gauge's number in them; every function here takes gauge pressure and adds the air.
"""

from dataclasses import dataclass
from math import sqrt

from diagnose.science.ranges import within

# Coefficients n1 to n10 of IAPWS-IF97 region 4, the saturation line (IAPWS R7-97(2012), table 34).
_N = (
    0.11670521452767e4, -0.72421316703206e6, -0.17073846940092e2, 0.12020824702470e5, -0.32325550322333e7,
    0.14915108613530e2, -0.48232657361591e4, 0.40511340542057e6, -0.23855557567849, 0.65017534844798e3,
)  # fmt: skip
_KELVIN = 273.15
_BAR_PER_MPA = 10.0
_FIT_CENTRE_DEGC = 115.0
_WATER_FIT = (482.552, 4.242, 8.53751e-4, 4.22458e-6)
_STEAM_FIT = (2698.59, 1.48695, -3.36048e-3, -1.38023e-5)

STANDARD_ATMOSPHERE_BAR = 1.01325
HIGHEST_GAUGE_BAR = 3.0
LOWEST_ALTITUDE_M = -430.0
HIGHEST_ALTITUDE_M = 5000.0


@dataclass(frozen=True, slots=True)
class SaturatedSteam:
    """Steam and water in balance in a boiler: temperature and enthalpies in kJ/kg above liquid water at 0 degC."""

    gauge_pressure_bar: float
    absolute_pressure_bar: float
    temperature_degc: float
    water_enthalpy_kj_kg: float
    steam_enthalpy_kj_kg: float
    evaporation_enthalpy_kj_kg: float

    def enthalpy_kj_kg(self, dryness: float = 1.0) -> float:
        """Return the enthalpy of steam that is the mass fraction `dryness` vapour and for the rest droplets.

        Raises OutOfRange unless 0 <= dryness <= 1. A valve and a tip change the pressure, not this enthalpy.
        """
        within(dryness, 0.0, 1.0, "steam dryness (share of vapour)", "")
        return self.water_enthalpy_kj_kg + dryness * self.evaporation_enthalpy_kj_kg


def atmospheric_pressure_bar(altitude_m: float = 0.0) -> float:
    """Return the standard air pressure at an altitude.

    Source: International Standard Atmosphere, ISO 2533:1975, troposphere. Weather moves it by about +/-0.03 bar.
    Raises OutOfRange outside -430 to 5000 m.
    """
    within(altitude_m, LOWEST_ALTITUDE_M, HIGHEST_ALTITUDE_M, "altitude", "m")
    lapse = 1.0 - 0.0065 * altitude_m / 288.15
    return float(STANDARD_ATMOSPHERE_BAR * lapse**5.25588)


def saturation_temperature_degc(absolute_pressure_bar: float) -> float:
    """Return the temperature at which water boils under an absolute pressure.

    Source: IAPWS R7-97(2012), equation 31. Raises OutOfRange outside 0.1 to 20 bar absolute.
    """
    within(absolute_pressure_bar, 0.1, 20.0, "absolute pressure", "bar")
    beta = sqrt(sqrt(absolute_pressure_bar / _BAR_PER_MPA))
    e = beta * beta + _N[2] * beta + _N[5]
    f = _N[0] * beta * beta + _N[3] * beta + _N[6]
    g = _N[1] * beta * beta + _N[4] * beta + _N[7]
    d = 2.0 * g / (-f - sqrt(f * f - 4.0 * e * g))
    return (_N[9] + d - sqrt((_N[9] + d) ** 2 - 4.0 * (_N[8] + _N[9] * d))) / 2.0 - _KELVIN


def saturation_pressure_bar(temperature_degc: float) -> float:
    """Return the absolute pressure under which water boils at a temperature.

    Source: IAPWS R7-97(2012), equation 30. Raises OutOfRange outside 45 to 213 degC.
    """
    within(temperature_degc, 45.0, 213.0, "boiling temperature", "degC")
    kelvin = temperature_degc + _KELVIN
    theta = kelvin + _N[8] / (kelvin - _N[9])
    a = theta * theta + _N[0] * theta + _N[1]
    b = _N[2] * theta * theta + _N[3] * theta + _N[4]
    c = _N[5] * theta * theta + _N[6] * theta + _N[7]
    return float((2.0 * c / (-b + sqrt(b * b - 4.0 * a * c))) ** 4 * _BAR_PER_MPA)


def boiling_point_degc(altitude_m: float = 0.0) -> float:
    """Return the temperature at which water boils in the open, under the standard air pressure of an altitude."""
    return saturation_temperature_degc(atmospheric_pressure_bar(altitude_m))


def _cubic(coefficients: tuple[float, ...], temperature_degc: float) -> float:
    """Return a polynomial in the distance from the middle of the fitted range."""
    distance = temperature_degc - _FIT_CENTRE_DEGC
    total = 0.0
    for coefficient in reversed(coefficients):
        total = total * distance + coefficient
    return total


def saturated_steam(gauge_pressure_bar: float, altitude_m: float = 0.0) -> SaturatedSteam:
    """Return the state of a boiler whose gauge reads a pressure, at an altitude.

    Source: IAPWS R7-97(2012) for the temperature; the enthalpies are cubics in temperature fitted to the same
    formulation over 80 to 150 degC, off by at most 0.003 kJ/kg (water) and 0.008 kJ/kg (steam) there.
    Raises OutOfRange outside 0 to 3 bar gauge and -430 to 5000 m.
    """
    within(gauge_pressure_bar, 0.0, HIGHEST_GAUGE_BAR, "boiler pressure", "bar gauge")
    absolute = gauge_pressure_bar + atmospheric_pressure_bar(altitude_m)
    temperature = saturation_temperature_degc(absolute)
    water, steam = _cubic(_WATER_FIT, temperature), _cubic(_STEAM_FIT, temperature)
    return SaturatedSteam(gauge_pressure_bar, absolute, temperature, water, steam, steam - water)


def gauge_pressure_bar(boiler_temperature_degc: float, altitude_m: float = 0.0) -> float:
    """Return what the gauge of a boiler at a temperature reads, for machines that show degrees instead of bar.

    Raises OutOfRange when that is not between 0 and 3 bar gauge (a boiler below its boiling point makes no steam).
    """
    gauge = saturation_pressure_bar(boiler_temperature_degc) - atmospheric_pressure_bar(altitude_m)
    # At the boiling point the two equations cancel to within rounding, which is zero on any gauge.
    gauge = 0.0 if abs(gauge) < 1e-9 else gauge
    return within(gauge, 0.0, HIGHEST_GAUGE_BAR, "boiler pressure", "bar gauge")
