"""Strict reading of one JSON object: every field of the type it must have, or a `ContentFault` that names it."""

import math
from collections.abc import Iterator, Mapping
from datetime import date, datetime
from typing import TypeVar

C = TypeVar("C", bound=str)


class ContentFault(ValueError):
    """A field is missing or has the wrong type. The message names the field; callers add the place."""


class Fields:
    """The fields of one JSON object. An absent field reads as null."""

    def __init__(self, data: object, where: str = "") -> None:
        """Take a decoded JSON value; `where` is its path, for messages. Raises ContentFault if it is no object."""
        if not isinstance(data, Mapping):
            raise ContentFault(f"{where or 'the line'} is not a JSON object")
        self._data = data
        self._where = f"{where}." if where else ""

    def value(self, name: str) -> object:
        """Return the field as it stands."""
        return self._data.get(name)

    def text(self, name: str, default: str | None = None) -> str:
        """Return a text; `default` stands in for null."""
        value = self.value(name)
        if value is None and default is not None:
            return default
        if not isinstance(value, str):
            raise self._fault(name, "a text")
        return value

    def name(self, name: str) -> str:
        """Return a text that is not blank."""
        value = self.text(name)
        if not value.strip():
            raise self._fault(name, "a text that is not empty")
        return value

    def maybe_name(self, name: str) -> str | None:
        """Return a text that is not blank, or None for null."""
        return None if self.value(name) is None else self.name(name)

    def number(self, name: str) -> float:
        """Return a finite number."""
        value = self.value(name)
        if isinstance(value, bool) or not isinstance(value, int | float):
            raise self._fault(name, "a number")
        try:
            number = float(value)
        except OverflowError:
            number = math.inf
        if not math.isfinite(number):
            raise self._fault(name, "a finite number")
        return number

    def maybe_number(self, name: str) -> float | None:
        """Return a finite number, or None for null."""
        return None if self.value(name) is None else self.number(name)

    def share(self, name: str) -> float:
        """Return a number from 0 to 1."""
        value = self.number(name)
        if not 0.0 <= value <= 1.0:
            raise self._fault(name, "a number from 0 to 1")
        return value

    def count(self, name: str) -> int:
        """Return a whole number from 1 on."""
        value = self.value(name)
        if isinstance(value, bool) or not isinstance(value, int) or value < 1:
            raise self._fault(name, "a whole number from 1 on")
        return value

    def choice(self, name: str, options: tuple[C, ...]) -> C:
        """Return the one of `options` that the field spells."""
        value = self.value(name)
        for option in options:
            if option == value:
                return option
        raise self._fault(name, f"one of {', '.join(options)}")

    def moment(self, name: str) -> datetime:
        """Return a date and time with its offset from UTC (ISO 8601)."""
        try:
            moment = datetime.fromisoformat(self.text(name))
        except ValueError:
            moment = datetime.min  # noqa: DTZ901 - naive on purpose: falls through to the fault below
        if moment.utcoffset() is None:
            raise self._fault(name, "a date and time with offset, like 2031-04-02T08:15:00+02:00")
        return moment

    def maybe_day(self, name: str) -> date | None:
        """Return a calendar day (ISO 8601), or None for null."""
        if self.value(name) is None:
            return None
        try:
            return date.fromisoformat(self.text(name))
        except ValueError:
            raise self._fault(name, "a day, like 2031-04-02") from None

    def members(self, name: str) -> Iterator[tuple[str, "Fields"]]:
        """Yield name and fields of each object inside an object; null reads as empty."""
        value = self.value(name)
        if not isinstance(value, Mapping | None):
            raise self._fault(name, "an object")
        for key, item in (value or {}).items():
            yield key, Fields(item, f"{self._where}{name}.{key}")

    def items(self, name: str) -> Iterator["Fields"]:
        """Yield the fields of each object in a list; null reads as empty."""
        for index, item in enumerate(self._list(name)):
            yield Fields(item, f"{self._where}{name}[{index}]")

    def texts(self, name: str) -> tuple[str, ...]:
        """Return a list of texts; null reads as empty."""
        value = self._list(name)
        if not all(isinstance(item, str) for item in value):
            raise self._fault(name, "a list of texts")
        return tuple(str(item) for item in value)

    def _list(self, name: str) -> list[object]:
        value = self.value(name)
        if not isinstance(value, list | None):
            raise self._fault(name, "a list")
        return value or []

    def _fault(self, name: str, wanted: str) -> ContentFault:
        return ContentFault(f"{self._where}{name} must be {wanted}")
