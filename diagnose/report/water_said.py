"""One water as it was told: values with their half widths, own units, and what was made of every number."""

from collections.abc import Sequence
from dataclasses import dataclass, field, replace
from typing import cast

from diagnose.language.units import Unit
from diagnose.report.amounts import Amount
from diagnose.report.digits import Figure, Values, figure
from diagnose.report.said import Asked, amount_text, number_text
from diagnose.report.units import GERMAN, MG_L
from diagnose.report.water_units import Purpose, Scale, bare_degrees, caco3_scale, ion_scale, scaled
from diagnose.report.water_words import ION_FIELDS, UNUSED
from diagnose.science.ranges import within
from diagnose.science.steam import STANDARD_ATMOSPHERE_BAR, saturated_steam
from diagnose.science.water.composition import Water
from diagnose.science.water.meter import Convention, convert_ppm
from diagnose.science.water.units import Ion

_PURPOSES: dict[str, Purpose] = {
    "hardness": "hardness", "GH": "hardness", "TH": "hardness", "alkalinity": "alkalinity", "KH": "alkalinity",
    "acid capacity": "alkalinity",
}  # fmt: skip
_PLACES = {"brew": "brewing", "boiler": "boiler", "temperature": "water"}
_UNCLEAR = {"", "degree"}
_FITTING = {
    "brew": {"temperature", *_UNCLEAR},
    "boiler": {"temperature", "pressure", *_UNCLEAR},
    "temperature": {"temperature", *_UNCLEAR},
}
_SHARED = {"content", "molar", "equivalent"}
HOTTEST_DEGC = 130.0
_LOST_ON_DRYING = 0.51  # of bicarbonate, which leaves as carbon dioxide and water: 62 of 122 g/mol


@dataclass(slots=True)
class Item:
    """One amount with the name found for it (None where there is none) and the stretch of text both stand in."""

    amount: Amount
    key: str | None
    text: str


@dataclass(slots=True)
class WaterSaid:
    """What one water is, in the fields of `Water`; `places` are temperatures in degC told for brewing and boiler.

    `scales` holds the unit hardness and alkalinity were told in, `doubtful_meter` that a meter's ppm was told without
    its salt.
    """

    values: dict[str, float] = field(default_factory=dict)
    halves: dict[str, float] = field(default_factory=dict)
    scales: dict[str, Scale] = field(default_factory=dict)
    places: dict[str, Figure] = field(default_factory=dict)
    heard: list[str] = field(default_factory=list)
    not_used: list[str] = field(default_factory=list)
    notes: list[str] = field(default_factory=list)
    doubtful_meter: bool = False

    @property
    def water(self) -> Water:
        """Return the water; raises OutOfRange where no water can be so."""
        return Water(**self.values)


def said_of(items: Sequence[Item], convention: Convention | None, heading: Unit | None) -> WaterSaid:
    """Return the water that the items of one stretch tell of.

    `heading` is a unit that stands by itself ("in mg/L: Ca 72, Mg 26"). Raises Asked when a unit or name is missing or
    wrong, with all questions at once, and OutOfRange for what cannot be.
    """
    teller = _Teller(convention)
    questions: list[str] = []
    for item in _with_shared_unit(_with_names_passed(items), heading, teller.said):
        try:
            teller.tell(item)
        except Asked as asked:
            questions.append(str(asked))
    if questions:
        raise Asked("\n".join(questions))
    _settle(teller.said)
    return teller.said


def _with_names_passed(items: Sequence[Item]) -> list[Item]:
    """Pass the name in "residue at 180 °C: 309 mg/L" on to the number it is meant for."""
    passed = list(items)
    for place, item in enumerate(passed[:-1]):
        if item.key in {"solids", "sheet solids", "conductivity", "ph"} and item.amount.dimension == "temperature":
            following = passed[place + 1]
            if following.key is None:
                passed[place + 1] = replace(following, key=item.key, text=f"{item.text} {following.text}")
            passed[place] = replace(item, key="reference")
    return passed


def _with_shared_unit(items: list[Item], heading: Unit | None, said: WaterSaid) -> list[Item]:
    """Give the unit of a heading, or else the only one in a list of ions, to the ions that have none, and say so."""
    ions = [item for item in items if item.key in ION_FIELDS]
    lacking = [item for item in ions if item.amount.unit is None and item.amount.value]
    own = {item.amount.unit for item in ions if item.amount.unit is not None}
    unit = heading
    if unit is None and len(own) == 1:
        unit = own.pop()
    if not lacking or unit is None or unit.dimension not in _SHARED:
        return items
    listed = ", ".join(f"{_name(item.key)} {number_text(item.amount)}" for item in lacking)
    said.notes.append(f"{unit.name} is taken as the unit of {listed} too, as it is the only one written.")
    return [replace(item, amount=replace(item.amount, unit=unit)) if item in lacking else item for item in items]


class _Teller:
    """Takes one item after the other."""

    def __init__(self, convention: Convention | None) -> None:
        self.said = WaterSaid()
        self.convention = convention

    def tell(self, item: Item) -> None:
        """Enter one item, or count it among the unused."""
        key = self._key(item)
        if key in ION_FIELDS:
            self._ion(cast("Ion", key), item)
        elif key in {"Ca hardness", "Mg hardness"}:
            self._ion_hardness(cast("Ion", key[:2]), item)
        elif key in _PURPOSES:
            self._caco3(key, item)
        elif key in {"solids", "sheet solids"}:
            self._solids(key, item)
        elif key in _PLACES:
            self._temperature(key, item)
        else:
            tell = {"ph": self._ph, "conductivity": self._conductivity, "chlorine": self._chlorine}
            tell.get(key, self._unused)(item)

    def _key(self, item: Item) -> str:
        """Return what an item tells of; where no name fits, its unit may say."""
        amount, key = item.amount, item.key
        if amount.value != amount.value or (key in UNUSED and key != "acid capacity"):
            return "unused"
        if key == "reference" or (key is not None and (key not in _FITTING or amount.dimension in _FITTING[key])):
            return key
        if amount.dimension == "hardness" and amount.unit is not None:
            return "alkalinity" if amount.unit.name == "dKH" else "hardness"
        if amount.dimension in {"conductivity", "temperature"}:
            return amount.dimension
        if amount.dimension == "pressure":
            return "boiler"
        if amount.dimension in {"content", "molar", "equivalent", "degree"}:
            raise Asked(f"What is {item.text}? Name it: hardness, alkalinity, TDS, or an ion such as calcium.")
        return "unused"

    def _put(self, name: str, label: str, figure: Figure, shown: str) -> bool:
        """Enter a value; the same told twice counts once, two different ones are asked about."""
        if name not in self.said.values:
            self.said.values[name], self.said.halves[name] = figure.value, figure.half
            self.said.heard.append(f"{label} {shown}")
            return True
        if abs(self.said.values[name] - figure.value) > self.said.halves[name] + figure.half:
            first = next(one for one in self.said.heard if one.startswith(label))
            raise Asked(f"There are two values for {label}: {first} and {label} {shown}. Which one holds? Give one.")
        self.said.not_used.append(f"{label} {shown} (told twice)")
        return False

    def _ion(self, ion: Ion, item: Item) -> None:
        name, label = ION_FIELDS[ion]
        amount = _zero_in(item.amount, MG_L)
        scale = ion_scale(ion, label, amount)
        self._put(name, label, Figure(*scaled(amount, scale)), amount_text(amount, scale.unit))

    def _ion_hardness(self, ion: Ion, item: Item) -> None:
        """Enter "calcium hardness", which counts calcium carbonate unless it says otherwise."""
        name, label = ION_FIELDS[ion]
        amount = _zero_in(item.amount, MG_L)
        scale = caco3_scale("hardness", amount, f"{label} hardness")
        value, half = scaled(amount, scale)
        factor = ion_scale(ion, label, replace(amount, unit=MG_L, basis="CaCO3")).factor
        self._put(name, label, Figure(value, half).times(factor), f"{amount_text(amount, scale.unit)} (its hardness)")

    def _caco3(self, key: str, item: Item) -> None:
        purpose, amount = _PURPOSES[key], _zero_in(item.amount, MG_L)
        bare = bare_degrees(key, amount)
        amount = replace(amount, unit=GERMAN) if bare else amount
        if key == "acid capacity" and amount.dimension == "molar":
            amount = replace(amount, basis="HCO3")
        scale = caco3_scale(purpose, amount)
        shown = amount_text(amount, scale.unit) + (f" (a bare {key} counts German degrees)" if bare else "")
        if self._put(f"{purpose}_mg_l_caco3", purpose, Figure(*scaled(amount, scale)), shown):
            self.said.scales[purpose] = scale

    def _solids(self, key: str, item: Item) -> None:
        amount = _zero_in(item.amount, MG_L)
        unit = amount.unit
        if unit is not None and unit.dimension == "conductivity":
            self._conductivity(item)
            return
        if unit is None or unit.dimension != "content":
            raise Asked(
                f"In which unit is TDS {number_text(amount)}? It can be ppm or mg/L; conductivity can be uS/cm. "
                f"Write for example “TDS {number_text(amount)} ppm”."
            )
        label, scale = "dissolved solids", Scale(unit.factor, unit.name, "dissolved solids")
        value, half = scaled(amount, scale)
        by_meter = key == "solids" and unit.name == "ppm"
        shown = amount_text(amount, unit.name)
        if self.convention is not None and key == "solids":
            converted = convert_ppm(value, self.convention, "442")
            half *= converted / value if value else 1.0
            value, shown = converted, f"{shown} by a {self.convention} meter"
        doubtful = by_meter and self.convention is None and value > 0.0
        shown += " (read as a 442 meter's)" if doubtful else ""
        if self._put("tds_mg_l", label, Figure(value, half), shown):
            self.said.doubtful_meter = doubtful

    def _temperature(self, key: str, item: Item) -> None:
        amount, place = item.amount, _PLACES[key]
        unit, value = amount.unit, amount.value
        if unit is None or unit.dimension == "degree":
            raise Asked(f"Is {item.text} in °C or °F? Write for example “{item.text} C”.")
        if unit.dimension == "pressure":
            air = STANDARD_ATMOSPHERE_BAR if amount.basis == "absolute" else 0.0
            found = figure(_boiling, {"bar": unit.canonical(value) - air}, {"bar": amount.half * unit.factor})
            told = found or Figure(0.0, 0.0)
        else:
            within(value, unit.own(0.0), unit.own(HOTTEST_DEGC), f"{place} temperature", unit.name)
            told = Figure(unit.canonical(value), amount.half * unit.factor)
        if place in self.said.places:
            raise Asked(f"There are two values for the {place} temperature. Give one.")
        self.said.places[place] = told
        self.said.heard.append(f"{place} at {amount_text(amount, f'{unit.name} {amount.basis}'.rstrip())}")

    def _ph(self, item: Item) -> None:
        amount = item.amount
        if amount.unit is not None:
            raise Asked(f"pH has no unit. What is “{item.text}”? Write for example “pH 7.2”.")
        value = within(amount.value, 0.0, 14.0, "pH")
        self._put("ph", "pH", Figure(value, amount.half), amount_text(amount, ""))

    def _conductivity(self, item: Item) -> None:
        amount = item.amount
        if amount.unit is None or amount.dimension != "conductivity":
            raise Asked(
                f"In which unit is conductivity {number_text(amount)}? It can be uS/cm or mS/cm. "
                f"Write for example “conductivity {number_text(amount)} {'mS' if amount.value < 10.0 else 'uS'}/cm”."
            )
        scale = Scale(amount.unit.factor, amount.unit.name, "conductivity")
        figure = Figure(*scaled(amount, scale, 10_000.0))
        self._put("conductivity_us_cm", "conductivity", figure, amount_text(amount, scale.unit))

    def _chlorine(self, item: Item) -> None:
        amount = _zero_in(item.amount, MG_L)
        if amount.unit is None or amount.dimension != "content":
            raise Asked(f"In which unit is chlorine {number_text(amount)}? Write for example “chlorine 0.2 mg/L”.")
        scale = Scale(amount.unit.factor, amount.unit.name, "chlorine")
        self._put("chlorine_mg_l", "chlorine", Figure(*scaled(amount, scale)), amount_text(amount, scale.unit))

    def _unused(self, item: Item) -> None:
        reason = " (the temperature it was measured at)" if item.key == "reference" else ""
        self.said.not_used.append(f"{item.text}{reason}")


def _zero_in(amount: Amount, unit: Unit) -> Amount:
    """Return a zero with a unit: nothing is nothing in any."""
    return replace(amount, unit=unit) if amount.unit is None and amount.value == 0.0 else amount


def _boiling(values: Values) -> float:
    """Return the temperature of a boiler by its gauge in bar."""
    return saturated_steam(values["bar"]).temperature_degc


def _name(key: str | None) -> str:
    return ION_FIELDS[cast("Ion", key)][1]


def _settle(said: WaterSaid) -> None:
    """Say which of two sources of one thing was used, and where they do not fit each other."""
    values, water = said.values, said.water
    for stated, parts, name in (
        ("hardness_mg_l_caco3", ("calcium_mg_l", "magnesium_mg_l"), "hardness"),
        ("alkalinity_mg_l_caco3", ("bicarbonate_mg_l",), "alkalinity"),
    ):
        if stated in values and all(part in values for part in parts):
            told = next(one for one in said.heard if one.startswith(name))
            said.heard.remove(told)
            by = " and ".join(part.split("_")[0] for part in parts)
            said.not_used.append(f"{told} (it follows from {by})")
            value, half = said.values.pop(stated), said.halves.pop(stated)
            del said.scales[name]
            made = water.total_hardness() if name == "hardness" else water.total_alkalinity()
            if made is not None and abs(made - value) > half + 0.1 * made:
                said.notes.append(f"The {name} told does not fit the {by} told, which are used: check the numbers.")
    calcium, hardness = water.calcium_hardness(), values.get("hardness_mg_l_caco3")
    if calcium is not None and hardness is not None and calcium > 1.1 * hardness:
        said.notes.append("Calcium alone makes more hardness than was told: one of the two numbers must be off.")
    solids = values.get("tds_mg_l")
    dried = water.known_ions_mg_l() - _LOST_ON_DRYING * values.get("bicarbonate_mg_l", 0.0)
    if solids is not None and dried > 1.25 * solids + 10.0:
        said.notes.append("The ions told weigh more than the dissolved solids: one of these numbers must be off.")
