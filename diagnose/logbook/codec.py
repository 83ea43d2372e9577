"""Contents to JSON objects and back, and the few columns that queries and indices need beside them."""

import json
import unicodedata
from collections.abc import Callable, Mapping
from typing import Any, NamedTuple, get_args

from diagnose.logbook.contents import (
    Adjustment,
    Care,
    Coffee,
    Content,
    Fact,
    Kind,
    PulledShot,
    Reason,
    Retraction,
)
from diagnose.logbook.fields import ContentFault, Fields
from diagnose.model import SETTINGS, Finding, Quantity, Range, Source, Verdict, frozen_map

_SOURCES: tuple[Source, ...] = get_args(Source)
_REASONS: tuple[Reason, ...] = get_args(Reason)


class Columns(NamedTuple):
    """What a row is about (`subject`: coffee, key, step or item) and a shot's three numbers for quick queries."""

    subject: str | None
    dial: float | None = None
    dose: float | None = None
    time: float | None = None


class Form(NamedTuple):
    """How one kind of content is written, read and indexed. `points_at`: the kinds its `about` may name."""

    type: type[Content]
    encode: Callable[[Any], dict[str, object]]
    decode: Callable[[Fields], Content]
    columns: Callable[[Any], Columns]
    points_at: tuple[Kind, ...] = ()
    must_point: bool = False


def same_label(label: str | None) -> str | None:
    """Return the form in which two spellings of one coffee's label are equal: case and spacing do not count."""
    return None if label is None else plain(" ".join(unicodedata.normalize("NFC", label).casefold().split()))


def plain(text: str) -> str:
    """Return `text` with halves of surrogate pairs escaped: a terminal can deliver them, SQLite takes none."""
    return text.encode("utf-8", "backslashreplace").decode("utf-8")


def kind_of(content: Content) -> Kind:
    """Return the kind under which `content` is filed."""
    return next(kind for kind, form in FORMS.items() if type(content) is form.type)


def dump(data: Mapping[str, object]) -> str:
    """Return `data` as one line of ASCII JSON, keys sorted. Raises ContentFault for what JSON cannot say."""
    try:
        return json.dumps(data, allow_nan=False, sort_keys=True, separators=(",", ":"))
    except (TypeError, ValueError, RecursionError) as error:
        raise ContentFault(f"cannot be written as JSON ({error})") from None


def load(text: str) -> object:
    """Return the JSON value in `text`. Raises ContentFault if it is none."""
    try:
        return json.loads(text)
    except (ValueError, RecursionError):
        raise ContentFault("the line is not JSON") from None


def _encode_quantity(quantity: Quantity) -> dict[str, object]:
    return {
        "value": quantity.value,
        "low": quantity.low,
        "high": quantity.high,
        "unit": quantity.unit,
        "shown": quantity.shown,
    }


def _decode_quantity(fields: Fields) -> Quantity:
    value, low, high = (fields.number(name) for name in ("value", "low", "high"))
    return Quantity(value, fields.text("unit"), low, high, fields.text("shown", ""))


def _encode_finding(finding: Finding) -> dict[str, object]:
    return {
        "id": finding.id,
        "levels": list(finding.levels),
        "source": finding.source,
        "value": finding.value,
        "unit": finding.unit,
    }


def _decode_finding(fields: Fields) -> Finding:
    return Finding(
        fields.name("id"),
        fields.texts("levels"),
        fields.choice("source", _SOURCES),
        fields.maybe_number("value"),
        fields.maybe_name("unit"),
    )


def _encode_shot(shot: PulledShot) -> dict[str, object]:
    return {
        "number": shot.number,
        "setting": shot.setting,
        "coffee": shot.coffee,
        "measures": {name: _encode_quantity(quantity) for name, quantity in shot.measures.items()},
        "findings": [_encode_finding(finding) for finding in shot.findings],
        "step": shot.step,
        "text": shot.text,
    }


def _decode_shot(fields: Fields) -> PulledShot:
    return PulledShot(
        number=fields.count("number"),
        setting=fields.choice("setting", SETTINGS),
        coffee=fields.maybe_name("coffee"),
        measures=frozen_map({name: _decode_quantity(item) for name, item in fields.members("measures")}),
        findings=tuple(_decode_finding(item) for item in fields.items("findings")),
        step=fields.maybe_name("step"),
        text=fields.text("text", ""),
    )


def _shot_columns(shot: PulledShot) -> Columns:
    values = {name: quantity.value for name, quantity in shot.measures.items()}
    return Columns(same_label(shot.coffee), values.get("dial"), values.get("dose"), values.get("time"))


def _decode_fact(fields: Fields) -> Fact:
    value: Any = fields.value("value")
    return Fact(fields.name("key"), value)


def _encode_adjustment(adjustment: Adjustment) -> dict[str, object]:
    return {
        "step": adjustment.step,
        "amount": adjustment.amount,
        "unit": adjustment.unit,
        "dial_from": adjustment.dial_from,
        "dial_to": adjustment.dial_to,
        "expected": [
            {"name": each.name, "low": each.low, "high": each.high, "unit": each.unit} for each in adjustment.expected
        ],
    }


def _decode_adjustment(fields: Fields) -> Adjustment:
    return Adjustment(
        step=fields.name("step"),
        amount=fields.maybe_number("amount"),
        unit=fields.text("unit", ""),
        dial_from=fields.maybe_number("dial_from"),
        dial_to=fields.maybe_number("dial_to"),
        expected=tuple(
            Range(each.name("name"), each.number("low"), each.number("high"), each.text("unit"))
            for each in fields.items("expected")
        ),
    )


def _encode_coffee(coffee: Coffee) -> dict[str, object]:
    roasted, opened = (day and day.isoformat() for day in (coffee.roasted, coffee.opened))
    return {"label": coffee.label, "roasted": roasted, "opened": opened}


FORMS: dict[Kind, Form] = {
    "shot": Form(PulledShot, _encode_shot, _decode_shot, _shot_columns),
    "fact": Form(
        Fact,
        lambda fact: {"key": fact.key, "value": fact.value},
        _decode_fact,
        lambda fact: Columns(plain(fact.key)),
    ),
    "adjustment": Form(
        Adjustment,
        _encode_adjustment,
        _decode_adjustment,
        lambda adjustment: Columns(plain(adjustment.step)),
    ),
    "verdict": Form(
        Verdict,
        lambda verdict: {"step": verdict.step, "helped": verdict.helped, "fixed": verdict.fixed},
        lambda fields: Verdict(fields.name("step"), fields.share("helped"), fields.share("fixed")),
        lambda verdict: Columns(plain(verdict.step)),
        points_at=("adjustment",),
    ),
    "care": Form(
        Care,
        lambda care: {"item": care.item, "done": care.done.isoformat(), "note": care.note},
        lambda fields: Care(fields.name("item"), fields.moment("done"), fields.text("note", "")),
        lambda care: Columns(plain(care.item)),
    ),
    "coffee": Form(
        Coffee,
        _encode_coffee,
        lambda fields: Coffee(fields.name("label"), fields.maybe_day("roasted"), fields.maybe_day("opened")),
        lambda coffee: Columns(same_label(coffee.label)),
    ),
    "retraction": Form(
        Retraction,
        lambda retraction: {"reason": retraction.reason},
        lambda fields: Retraction(fields.choice("reason", _REASONS)),
        lambda _: Columns(None),
        points_at=("shot", "fact", "adjustment", "verdict", "care", "coffee"),
        must_point=True,
    ),
}
