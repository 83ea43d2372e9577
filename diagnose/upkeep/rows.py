"""Rows of the log found by their number, as plain values and as lines: the list of shots, and one row in full."""

from collections.abc import Iterator, Mapping, Sequence
from itertools import groupby
from typing import Any

from diagnose.logbook import Entry, PulledShot
from diagnose.logbook.codec import FORMS, kind_of
from diagnose.logbook.contents import Kind
from diagnose.model import Finding, Quantity
from diagnose.upkeep.lines import minute, paragraph, row

_NAMES: Mapping[Kind, str] = {
    "shot": "a shot",
    "fact": "a fact",
    "adjustment": "an adjustment",
    "verdict": "a verdict",
    "care": "care",
    "coffee": "a bag of coffee",
}
# What of a shot's findings is a taste, beside those whose name says so, and the levels that are nothing to tell.
_TASTES = ("taste_lean", "dryness", "strength", "flavour", "verdict")
_SILENT = frozenset({"none", "absent", "right", "clear"})
_WIDTHS = (-6, 5, -6, -7, -6, -5, 15, 14)
_HEADS = ("no", "time", "in g", "out g", "s", "dial", "taste", "tried")


def kind_name(entry: Entry[Any]) -> str:
    """Return what a row is, in words."""
    return _NAMES[kind_of(entry.what)]


def plain_row(entry: Entry[Any]) -> dict[str, object]:
    """Return a row as plain values; `what` has the fields of an export."""
    kind = kind_of(entry.what)
    return {
        "id": entry.id,
        "uid": entry.uid,
        "kind": kind,
        "at": entry.at.isoformat(),
        "about": entry.about,
        "what": FORMS[kind].encode(entry.what),
    }


def list_lines(shots: Sequence[Entry[PulledShot]], told: int) -> Iterator[str]:
    """Yield shots as a table under the days they were told on; `told` is how many the log has."""
    if told > len(shots):
        yield f"The newest {len(shots)} of {told} shots; --last N shows more."
    yield from row(_HEADS, _WIDTHS)
    for day, of_day in groupby(shots, lambda entry: entry.at.date()):
        yield str(day)
        for entry in of_day:
            yield from row(_cells(entry), _WIDTHS)


def _cells(entry: Entry[PulledShot]) -> list[str]:
    shot = entry.what
    numbers = [_number(shot.measures.get(name)) for name in ("dose", "yield", "time", "dial")]
    tried = (shot.step or "").replace("_", " ")
    return [str(entry.id), entry.at.strftime("%H:%M"), *numbers, tastes(shot.findings), tried]


def _number(quantity: Quantity | None) -> str:
    return "-" if quantity is None else f"{quantity.value:.4g}"


def tastes(findings: Sequence[Finding]) -> str:
    """Return the tastes among a shot's findings, in words; what is as it should be is left out but for the balance."""
    return ", ".join(filter(None, map(_taste, findings)))


def _taste(finding: Finding) -> str:
    levels = [level for level in finding.levels if level not in _SILENT]
    if finding.id in _TASTES:
        return " or ".join(level.replace("_", " ") for level in levels)
    if not finding.id.endswith("_taste") or not levels:
        return ""
    note = finding.id.removesuffix("_taste")
    return " or ".join(note if level == "present" else f"{note} ({level.replace('_', ' ')})" for level in levels)


def row_lines(entry: Entry[Any]) -> Iterator[str]:
    """Yield one row in full."""
    yield f"Row {entry.id}, {kind_name(entry)}, {minute(entry.at)} {entry.at:%z}"
    if entry.about is not None:
        yield f"  about: row {entry.about}"
    for name, value in FORMS[kind_of(entry.what)].encode(entry.what).items():
        if value not in (None, "", [], {}):
            yield from paragraph(f"{name}: {_said(value)}", 2, 2)


def _said(value: object) -> str:
    """Return a value of the export in words."""
    if isinstance(value, Mapping):
        if {"value", "low", "high", "unit"} <= set(value):
            return _quantity(value)
        if {"id", "levels", "source"} <= set(value):
            return f"{value['id']} {' or '.join(value['levels'])} ({value['source']})"
        return ", ".join(f"{name} {_said(part)}" for name, part in value.items() if part not in (None, ""))
    if isinstance(value, list):
        return "; ".join(map(_said, value))
    return f"{value:g}" if isinstance(value, float) else str(value)


def _quantity(value: Mapping[str, Any]) -> str:
    unit = f" {value['unit']}" if value["unit"] else ""
    if value["low"] == value["high"]:
        return f"{value['value']:g}{unit}"
    return f"{value['low']:g} to {value['high']:g}{unit}"
