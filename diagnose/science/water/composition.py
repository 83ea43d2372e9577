"""One water as it is known: from a label, a supplier's sheet, drops or strips, in whole or in part."""

from dataclasses import dataclass, fields

from diagnose.science.ranges import within
from diagnose.science.water.meter import ppm_from_conductivity
from diagnose.science.water.units import alkalinity_mg_l_caco3, caco3_as_ion, hardness_mg_l_caco3, ion_as_caco3

_HIGHEST_MG_L = 5000.0


@dataclass(frozen=True, slots=True)
class Water:
    """What is known of a water; None where nothing is. Everything in mg/L but pH and conductivity (uS/cm at 25 degC).

    A stated hardness or alkalinity is taken where the ions that make it up are not all known; the ions win where
    they are. Raises OutOfRange for anything outside 0 to 5000 mg/L, a pH outside 0 to 14 or a conductivity outside
    0 to 10,000 uS/cm.
    """

    calcium_mg_l: float | None = None
    magnesium_mg_l: float | None = None
    bicarbonate_mg_l: float | None = None
    sodium_mg_l: float | None = None
    potassium_mg_l: float | None = None
    chloride_mg_l: float | None = None
    sulfate_mg_l: float | None = None
    chlorine_mg_l: float | None = None
    hardness_mg_l_caco3: float | None = None
    alkalinity_mg_l_caco3: float | None = None
    tds_mg_l: float | None = None
    ph: float | None = None
    conductivity_us_cm: float | None = None

    def __post_init__(self) -> None:
        """Refuse what no water can have."""
        limits = {"ph": (14.0, "pH", ""), "conductivity_us_cm": (10_000.0, "conductivity", "uS/cm")}
        for item in fields(self):
            value: float | None = getattr(self, item.name)
            if value is not None:
                word = item.name.split("_", maxsplit=1)[0]
                high, what, unit = limits.get(item.name, (_HIGHEST_MG_L, word, "mg/L"))
                within(value, 0.0, high, what, unit)

    def total_hardness(self) -> float | None:
        """Return the hardness in mg/L as calcium carbonate, or None when it cannot be known."""
        if self.calcium_mg_l is not None and self.magnesium_mg_l is not None:
            return hardness_mg_l_caco3(self.calcium_mg_l, self.magnesium_mg_l)
        return self.hardness_mg_l_caco3

    def total_alkalinity(self) -> float | None:
        """Return the alkalinity in mg/L as calcium carbonate, or None when it cannot be known."""
        if self.bicarbonate_mg_l is not None:
            return alkalinity_mg_l_caco3(self.bicarbonate_mg_l)
        return self.alkalinity_mg_l_caco3

    def calcium_hardness(self) -> float | None:
        """Return the calcium part of the hardness in mg/L as calcium carbonate, or None when it cannot be known."""
        if self.calcium_mg_l is not None:
            return ion_as_caco3("Ca", self.calcium_mg_l)
        if self.hardness_mg_l_caco3 is not None and self.magnesium_mg_l is not None:
            return max(0.0, self.hardness_mg_l_caco3 - ion_as_caco3("Mg", self.magnesium_mg_l))
        return None

    def dissolved_solids(self) -> float | None:
        """Return the dissolved solids as stated, or by the conductivity (442 convention) up to 1413 uS/cm, or None."""
        if self.tds_mg_l is None and self.conductivity_us_cm is not None and self.conductivity_us_cm <= 1413.0:
            return ppm_from_conductivity(self.conductivity_us_cm, "442")
        return self.tds_mg_l

    def known_ions_mg_l(self) -> float:
        """Return the mass of all ions told or implied by hardness and alkalinity: a lower bound of the solids."""
        calcium = self.calcium_mg_l
        if calcium is None:
            calcium = caco3_as_ion("Ca", self.calcium_hardness() or self.hardness_mg_l_caco3 or 0.0)
        bicarbonate = caco3_as_ion("HCO3", self.total_alkalinity() or 0.0)
        rest = (self.magnesium_mg_l, self.sodium_mg_l, self.potassium_mg_l, self.chloride_mg_l, self.sulfate_mg_l)
        return calcium + bicarbonate + sum(ion for ion in rest if ion is not None)
