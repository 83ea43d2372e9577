"""How far a water is from leaving chalk: the indices of Langelier and Ryznar at any temperature up to a boiler's.

The index says which way a water leans, not how fast or how much: a soft water above zero leaves little. Give the pH
the water has at that temperature if you can. Heating drives off carbon dioxide, which raises the pH and the index.
"""

from dataclasses import dataclass
from math import log10, sqrt

from diagnose.science.ranges import within
from diagnose.science.water.units import CACO3_G_MOL

BREW_DEGC = 93.0
BOILER_DEGC = 121.0
"""A steam boiler at 1.0 bar gauge, to the next degree."""

_KELVIN = 273.15
_EQUIVALENT_G = CACO3_G_MOL / 2.0


@dataclass(frozen=True, slots=True)
class Saturation:
    """A water at a temperature: pH at which it neither leaves nor takes chalk, and both indices.

    langelier = pH - ph_saturation: above 0 it can leave scale, below 0 it takes chalk up. ryznar = 2 ph_saturation
    - pH: below 6 scale, 6 to 7 little of either, above 7 more and more corrosive (Ryznar 1944, as quoted).
    """

    temperature_degc: float
    ph_saturation: float
    langelier: float
    ryznar: float


def _check(temperature_degc: float, tds_mg_l: float, calcium_mg_l_caco3: float, alkalinity_mg_l_caco3: float) -> None:
    """Refuse what the formulas do not cover."""
    within(temperature_degc, 0.0, 130.0, "water temperature", "degC")
    within(tds_mg_l, 1.0, 5000.0, "dissolved solids", "mg/L")
    within(calcium_mg_l_caco3, 0.1, 3000.0, "calcium hardness", "mg/L as CaCO3")
    within(alkalinity_mg_l_caco3, 0.1, 3000.0, "alkalinity", "mg/L as CaCO3")


def bicarbonate_pk(temperature_degc: float) -> float:
    """Return pK2 of carbonic acid (Plummer & Busenberg, Geochim Cosmochim Acta 46:1011, 1982).

    Fitted by its authors up to 90 degC; at brew and boiler temperature it is extrapolated, as programs do.
    Raises OutOfRange outside 0 to 130 degC.
    """
    kelvin = within(temperature_degc, 0.0, 130.0, "water temperature", "degC") + _KELVIN
    return 107.8871 + 0.03252849 * kelvin - 5151.79 / kelvin - 38.92561 * log10(kelvin) + 563713.9 / kelvin**2


def calcite_pk(temperature_degc: float) -> float:
    """Return pKs of calcite (Plummer & Busenberg 1982); range and extrapolation as `bicarbonate_pk`."""
    kelvin = within(temperature_degc, 0.0, 130.0, "water temperature", "degC") + _KELVIN
    return 171.9065 + 0.077993 * kelvin - 2839.319 / kelvin - 71.595 * log10(kelvin)


def activity_pf(temperature_degc: float, tds_mg_l: float) -> float:
    """Return -log10 of the activity coefficient of a singly charged ion, with I = TDS / 40000.

    Davies' equation as Standard Methods 2330 B has it; the constants are from memory and held to a separate chemical
    speciation program by a test.
    """
    kelvin = temperature_degc + _KELVIN
    permittivity = 60954.0 / (kelvin + 116.0) - 68.937
    product = permittivity * kelvin
    a = 1.82e6 / (product * sqrt(product))
    root = sqrt(tds_mg_l / 40000.0)
    return a * (root / (1.0 + root) - 0.3 * root * root)


def saturation_ph(
    temperature_degc: float, tds_mg_l: float, calcium_mg_l_caco3: float, alkalinity_mg_l_caco3: float
) -> float:
    """Return the pH of saturation with calcite: pK2 - pKs + p[Ca] + p[HCO3] + 5 pf.

    Source: Standard Methods for the Examination of Water and Wastewater, 2330 B (structure from memory). Alkalinity
    is taken as bicarbonate, which holds from about pH 6 to 8.5.
    Raises OutOfRange outside 0 to 130 degC, TDS 1 to 5000 mg/L, calcium and alkalinity 0.1 to 3000 mg/L as CaCO3.
    """
    _check(temperature_degc, tds_mg_l, calcium_mg_l_caco3, alkalinity_mg_l_caco3)
    p_calcium = -log10(calcium_mg_l_caco3 / (1000.0 * CACO3_G_MOL))
    p_bicarbonate = -log10(alkalinity_mg_l_caco3 / (1000.0 * _EQUIVALENT_G))
    pk = bicarbonate_pk(temperature_degc) - calcite_pk(temperature_degc)
    return pk + p_calcium + p_bicarbonate + 5.0 * activity_pf(temperature_degc, tds_mg_l)


def saturation_ph_simple(
    temperature_degc: float, tds_mg_l: float, calcium_mg_l_caco3: float, alkalinity_mg_l_caco3: float
) -> float:
    """Return the pH of saturation by the short form of water-treatment handbooks: (9.3 + A + B) - (C + D).

    Kept as a check on `saturation_ph`, from which it is 0.1 to 0.25 away on usual waters; raises the same.
    """
    _check(temperature_degc, tds_mg_l, calcium_mg_l_caco3, alkalinity_mg_l_caco3)
    a = (log10(tds_mg_l) - 1.0) / 10.0
    b = -13.12 * log10(temperature_degc + _KELVIN) + 34.55
    c = log10(calcium_mg_l_caco3) - 0.4
    return 9.3 + a + b - c - log10(alkalinity_mg_l_caco3)


def indices(ph: float, temperature_degc: float, ph_saturation: float) -> Saturation:
    """Return both indices of a water of a pH; OutOfRange outside pH 4 to 10, where bicarbonate no longer rules."""
    within(ph, 4.0, 10.0, "pH", "")
    return Saturation(temperature_degc, ph_saturation, ph - ph_saturation, 2.0 * ph_saturation - ph)


def saturation(
    ph: float, temperature_degc: float, tds_mg_l: float, calcium_mg_l_caco3: float, alkalinity_mg_l_caco3: float
) -> Saturation:
    """Return both indices by the Standard Methods form; raises as `indices` and `saturation_ph`."""
    ph_saturation = saturation_ph(temperature_degc, tds_mg_l, calcium_mg_l_caco3, alkalinity_mg_l_caco3)
    return indices(ph, temperature_degc, ph_saturation)
