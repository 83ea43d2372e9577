"""From a number in the unit on the label to mg/L, uS/cm or degC, or the question that has to be asked first."""

from dataclasses import dataclass
from typing import Final, Literal

from diagnose.language.units import Unit
from diagnose.report.amounts import Amount
from diagnose.report.digits import plain
from diagnose.report.said import Asked, number_text
from diagnose.science.ranges import within
from diagnose.science.water.units import (
    CACO3_G_MOL,
    CAO_G_MOL,
    ION_CHARGE,
    ION_G_MOL,
    HardnessUnit,
    Ion,
    caco3_as_ion,
    ion_as_caco3,
    to_mg_l_caco3,
)

HIGHEST_MG_L = 5000.0
BARE_DEGREES_BELOW = 30.0
"""A bare "KH 9" counts German degrees, as drop kits do; from here on it would be no tap water, and is asked about."""

Purpose = Literal["hardness", "alkalinity"]

CACO3_UNITS: Final = "mg/L as CaCO3, ppm, dH, fH, Clark, gpg or meq/L"
_HARDNESS_UNIT: Final[dict[str, HardnessUnit]] = {
    "dH": "dH", "dGH": "dH", "dKH": "dH", "fH": "fH", "Clark": "Clark", "gpg": "gpg",
}  # fmt: skip


@dataclass(frozen=True, slots=True)
class Scale:
    """What one of a unit is in the canonical one, and how the unit is written in an answer."""

    factor: float
    unit: str
    name: str


def scaled(amount: Amount, scale: Scale, highest: float = HIGHEST_MG_L) -> tuple[float, float]:
    """Return value and half width in the canonical unit.

    Raises OutOfRange below zero or above `highest`, naming the range in the unit used.
    """
    most = float(f"{highest / scale.factor:.3g}")
    low = min(one.value for one in amount.numbers)
    for number in (low, amount.value):
        within(number, 0.0, most, scale.name, scale.unit)
    return min(amount.value * scale.factor, highest), amount.half * scale.factor


def ion_scale(ion: Ion, name: str, amount: Amount) -> Scale:
    """Return the scale of an ion's amount: mg/L, mmol/L, meq/L, or as calcium carbonate for the ions it can count.

    Raises Asked when the unit is missing or is none for an ion.
    """
    unit = amount.unit
    countable = ion in {"Ca", "Mg", "HCO3"}
    if unit is not None and unit.dimension == "content" and amount.basis in {"", ion}:
        return Scale(unit.factor, unit.name, name)
    if unit is not None and unit.dimension == "content" and amount.basis == "CaCO3" and countable:
        return Scale(unit.factor * caco3_as_ion(ion, 1.0), f"{unit.name} as CaCO3", name)
    if unit is not None and unit.dimension == "molar" and amount.basis in {"", ion}:
        return Scale(ION_G_MOL[ion], unit.name, name)
    if unit is not None and unit.dimension == "equivalent":
        return Scale(ION_G_MOL[ion] / ION_CHARGE[ion], unit.name, name)
    if unit is not None and unit.dimension == "hardness" and countable:
        return Scale(caco3_as_ion(ion, to_mg_l_caco3(1.0, _HARDNESS_UNIT[unit.name])), unit.name, name)
    raise Asked(_unit_question(name, amount, "mg/L, mmol/L or meq/L", "mg/L"))


def caco3_scale(purpose: Purpose, amount: Amount, name: str = "") -> Scale:
    """Return the scale of a hardness or alkalinity to mg/L as calcium carbonate.

    mg/L and ppm count calcium carbonate unless another substance is named. "°f" is the French degree here.
    Raises Asked when the unit is missing, is none for this, or may mean two things.
    """
    name, unit = name or purpose, amount.unit
    dimension = unit.dimension if unit else ""
    if unit is None or dimension in {"degree", "conductivity", "volume", "pressure"} or _is_celsius(unit):
        example = "dH" if amount.value < BARE_DEGREES_BELOW else "ppm"
        raise Asked(_unit_question(name, amount, CACO3_UNITS, example))
    if dimension == "temperature":
        return Scale(to_mg_l_caco3(1.0, "fH"), "fH", name)
    if dimension == "hardness":
        return Scale(to_mg_l_caco3(1.0, _HARDNESS_UNIT[unit.name]), unit.name, name)
    if dimension == "equivalent":
        return Scale(to_mg_l_caco3(1.0, "meq/L"), unit.name, name)
    if dimension == "molar":
        return _molar_scale(purpose, amount, name)
    return _content_scale(purpose, amount, name, unit)


def _molar_scale(purpose: Purpose, amount: Amount, name: str) -> Scale:
    """Return the scale of mmol/L: of calcium carbonate for hardness, in doubt for alkalinity."""
    if amount.basis == "HCO3":
        return Scale(to_mg_l_caco3(1.0, "meq/L"), "mmol/L as HCO3", name)
    if purpose == "hardness" or amount.basis == "CaCO3":
        return Scale(to_mg_l_caco3(1.0, "mmol/L"), "mmol/L", name)
    number = number_text(amount)
    raise Asked(
        f"Is {name} {number} mmol/L counted as acid capacity or as calcium carbonate? The second is twice the first. "
        f"Write “{name} {number} meq/L” or “{name} {number} mmol/L as CaCO3”."
    )


def _content_scale(purpose: Purpose, amount: Amount, name: str, unit: Unit) -> Scale:
    """Return the scale of mg/L and ppm by the substance they count."""
    if amount.basis in {"", "CaCO3"}:
        return Scale(unit.factor, f"{unit.name} as CaCO3", name)
    if amount.basis == "CaO":
        return Scale(unit.factor * CACO3_G_MOL / CAO_G_MOL, f"{unit.name} as CaO", name)
    ion: Ion = "Ca" if amount.basis == "Ca" else "HCO3"
    if (ion == "Ca") == (purpose == "hardness"):
        return Scale(unit.factor * ion_as_caco3(ion, 1.0), f"{unit.name} as {ion}", name)
    raise Asked(f"{name.capitalize()} is not counted as {ion}. Give it in {CACO3_UNITS}.")


def _is_celsius(unit: Unit) -> bool:
    return unit.dimension == "temperature" and unit.shift == 0.0


def _unit_question(name: str, amount: Amount, units: str, example: str) -> str:
    """Return the question for a unit that is missing or does not fit."""
    number = number_text(amount)
    wrong = f" “{amount.unit.name}” is none for it." if amount.unit is not None else ""
    return f"In which unit is {name} {number}?{wrong} It can be {units}. Write for example “{name} {number} {example}”."


def bare_degrees(key: str, amount: Amount) -> bool:
    """Tell whether "GH 8" or "KH 9" without a unit counts German degrees.

    Raises Asked from 30 up, where it may as well be ppm on a strip.
    """
    if amount.unit is not None or key not in {"GH", "KH"}:
        return False
    if amount.value >= BARE_DEGREES_BELOW:
        number = plain(amount.value)
        raise Asked(f"Is {key} {number} in dH or in ppm? Write “{key} {number} ppm” or “{key} {number} dH”.")
    return True
