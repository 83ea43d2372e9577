"""From a text to waters: what is in each, how exactly it is known, what was made of every number, what is to be done.

One text may hold a second water to blend with and targets: "..., blend with Ca 5 mg/L, HCO3 8 mg/L to alkalinity 50
mg/L"; "dose 5 L to hardness 68 mg/L, alkalinity 40 mg/L".
"""

from dataclasses import dataclass, fields, replace
from typing import Literal

from diagnose.language.units import Unit
from diagnose.report.amounts import Reading, read
from diagnose.report.digits import Figure
from diagnose.report.names import Phrase, named
from diagnose.report.said import Asked
from diagnose.report.units import WATER_UNITS
from diagnose.report.water_said import Item, WaterSaid, said_of
from diagnose.report.water_units import Purpose, Scale, caco3_scale, scaled
from diagnose.report.water_words import CONVENTIONS, NAMES
from diagnose.science.water.composition import Water
from diagnose.science.water.dosing import PURE_WATER
from diagnose.science.water.meter import Convention

Stretch = Literal["first", "second", "blend target", "dose"]
Axis = Literal["hardness", "alkalinity", "dissolved solids"]

_SIDES: tuple[Stretch, Stretch] = ("first", "second")
_BLENDS = frozenset({"blend", "blended", "blending", "mix", "mixed", "cut", "dilute", "diluted"})
_DOSES = frozenset({"dose", "dosed", "dosing", "remineralise", "remineralize"})
_NEARLY = "reverse-osmosis water"
PURE: dict[str, str] = {
    **{
        word: f"{word} water"
        for word in ("distilled", "deionised", "deionized", "demineralised", "demineralized", "pure")
    },
    **dict.fromkeys(("ro", "osmosis", "osmotic"), _NEARLY),
}
NEARLY = "Water from reverse osmosis is taken as holding nothing; it keeps a few mg/L, so measure it for exact doses."


@dataclass(frozen=True, slots=True)
class Target:
    """What to reach: mg/L (as calcium carbonate but for dissolved solids), with the half width as written."""

    axis: Axis
    figure: Figure
    shown: str


@dataclass(frozen=True, slots=True)
class Request:
    """Everything one text asks: a water, perhaps a second one, targets, and a volume in L."""

    first: WaterSaid
    second: WaterSaid | None = None
    blend_target: Target | None = None
    dose_litres: Figure | None = None
    dose_targets: tuple[Target, ...] = ()


def read_request(text: str) -> Request:
    """Return what a text asks.

    Raises Asked when a unit or a name is missing, and OutOfRange for numbers that cannot be.
    """
    reading = read(text, WATER_UNITS)
    convention, reading = _convention(reading)
    items: dict[Stretch, list[Item]] = {"first": [], "second": [], "blend target": [], "dose": []}
    for stretch, item in _items(reading):
        items[stretch].append(item)
    heading, pure = _heading(reading), _pure(reading)
    first, second = (said_of(items[side], convention, heading) for side in _SIDES)
    first = pure_said(pure["first"], first) if "first" in pure and not first.values else first
    second = pure_said(pure["second"], second) if "second" in pure and not second.values else second
    litres, wanted = _litres(items["dose"])
    if items["blend target"] and not second.values:
        raise Asked("Which water shall it be blended with? Write for example “blend with Ca 5 mg/L, HCO3 8 mg/L”.")
    first.places = {**second.places, **first.places}
    if not second.values:
        first.heard.extend(second.heard)
        first.not_used.extend(second.not_used)
    return Request(
        first=first,
        second=second if second.values else None,
        blend_target=_only([target_of(item) for item in items["blend target"]]),
        dose_litres=litres,
        dose_targets=tuple(target_of(item) for item in wanted),
    )


def _convention(reading: Reading) -> tuple[Convention | None, Reading]:
    """Return the meter's salt if it is told, and the reading without the number that is one ("a 442 meter")."""
    found = [CONVENTIONS[piece.text] for piece in reading.pieces if piece.text in CONVENTIONS and piece.kind == "word"]
    amounts = reading.amounts
    by_number = [one for one in amounts if one.unit is None and reading.quote(one.first, one.last) == "442"]
    if by_number and any(one.dimension == "content" for one in amounts):
        found.append("442")
        reading = replace(reading, amounts=tuple(one for one in amounts if one not in by_number))
    if len(set(found)) > 1:
        raise Asked(f"Which salt does the meter count, {' or '.join(sorted(set(found)))}? Name one.")
    return (found[0] if found else None), reading  # type: ignore[return-value]


def _heading(reading: Reading) -> Unit | None:
    """Return the one unit that stands by itself, such as "in mg/L:", if there is just one."""
    units = {unit for unit in reading.loose.values() if unit.dimension in {"content", "molar", "equivalent"}}
    return units.pop() if len(units) == 1 else None


def _items(reading: Reading) -> list[tuple[Stretch, Item]]:
    """Return the amounts with their names and the stretch each stands in."""
    found: list[tuple[Stretch, Item]] = []
    stretch: Stretch = "first"
    for index, (amount, name) in enumerate(zip(reading.amounts, named(reading, NAMES), strict=True)):
        for place in reading.gap(index):
            stretch = _stretch_at(reading, place, stretch)
        found.append((stretch, Item(amount, name.key if name else None, _quoted(reading, index, name))))
    return found


def _stretch_at(reading: Reading, place: int, before: Stretch) -> Stretch:
    """Return the stretch from a place on: "blend with" begins the second water, "to" its target, "dose" a dosing."""
    word = reading.pieces[place].text
    if word in _BLENDS and any(piece.text == "with" for piece in reading.pieces[place + 1 : place + 4]):
        return "second"
    if word in _DOSES:
        return "dose"
    return "blend target" if word == "to" and before == "second" else before


def _pure(reading: Reading) -> dict[Stretch, str]:
    """Return which of the waters is called pure, and what kind of pure it is."""
    found: dict[Stretch, str] = {}
    stretch: Stretch = "first"
    for place, piece in enumerate(reading.pieces):
        stretch = _stretch_at(reading, place, stretch)
        if piece.text in PURE:
            found.setdefault("first" if stretch == "dose" else stretch, PURE[piece.text])
    return found


def pure_said(name: str, told: WaterSaid | None = None) -> WaterSaid:
    """Return a water that holds nothing, exactly, with whatever else was told of it."""
    told = told or WaterSaid()
    held = {item.name: getattr(PURE_WATER, item.name) for item in fields(Water)}
    values = {item: one for item, one in held.items() if one is not None}
    notes = [*told.notes, *([NEARLY] if name == _NEARLY else [])]
    return replace(told, values=values, heard=[name, *told.heard], notes=notes)


def _quoted(reading: Reading, index: int, name: Phrase | None) -> str:
    """Return an amount with its name as they stand in the text."""
    amount = reading.amounts[index]
    first, last = amount.first, amount.last
    if name is not None:
        first, last = min(first, name.first), max(last, name.last)
    return reading.quote(first, last)


def _litres(items: list[Item]) -> tuple[Figure | None, list[Item]]:
    """Return the volume to dose among the items, and the others."""
    volumes = [item for item in items if item.amount.dimension == "volume"]
    if items and len(volumes) != 1:
        raise Asked("How much water is to be dosed? Give one volume, for example “dose 5 L”.")
    others = [item for item in items if item not in volumes]
    return (litres_of(volumes[0]) if volumes else None), others


def litres_of(item: Item) -> Figure:
    """Return a volume in L; raises Asked without a unit of volume, OutOfRange outside 0.1 to 10,000 L."""
    amount = item.amount
    if amount.unit is None or amount.dimension != "volume":
        raise Asked(f"In which unit is the volume {item.text}? Write for example “5 L”.")
    value, half = scaled(amount, Scale(amount.unit.factor, amount.unit.name, "volume of water"), 10_000.0)
    return Figure(value, half)


def target_of(item: Item) -> Target:
    """Return a target; raises Asked unless it is hardness, alkalinity or dissolved solids with a unit."""
    amount, key = item.amount, item.key
    axes: dict[str | None, Axis] = {
        "hardness": "hardness", "GH": "hardness", "alkalinity": "alkalinity", "KH": "alkalinity",
        "solids": "dissolved solids", "sheet solids": "dissolved solids",
    }  # fmt: skip
    axis = axes.get(key)
    if axis is None:
        raise Asked(f"What is {item.text} a target for? It can be hardness, alkalinity or TDS.")
    if axis == "dissolved solids":
        if amount.unit is None or amount.dimension != "content":
            raise Asked(f"In which unit is the target {item.text}? Write for example “TDS 120 mg/L”.")
        scale = Scale(amount.unit.factor, amount.unit.name, axis)
    else:
        purpose: Purpose = axis
        scale = caco3_scale(purpose, amount)
    value, half = scaled(amount, scale, 1000.0)
    return Target(axis, Figure(value, half), f"{axis} {amount.numbers[0].text} {scale.unit}")


def _only(targets: list[Target]) -> Target | None:
    """Return the one target of a blend; raises Asked for more, since a blend can hit one."""
    if len(targets) > 1:
        raise Asked("A blend of two waters can be aimed at one number only: hardness, alkalinity or TDS. Which one?")
    return targets[0] if targets else None
