"""Plain lines of at most 80 columns for the commands about log and care."""

import textwrap
from collections.abc import Iterable, Sequence
from datetime import datetime

WIDTH = 80


def printable(text: str) -> str:
    """Return `text` on one line without what could steer a terminal: a log may come from elsewhere."""
    return "".join(letter if letter.isprintable() else " " for letter in text)


def paragraph(text: str, indent: int = 0, hang: int = 0) -> list[str]:
    """Return `text` in lines of at most 80 columns; `hang` is how much further in the lines after the first stand."""
    first = " " * indent
    return textwrap.wrap(printable(text), WIDTH, initial_indent=first, subsequent_indent=first + " " * hang) or [""]


def row(cells: Sequence[str], widths: Sequence[int], gap: int = 2) -> list[str]:
    """Return one row of a table; a cell too long for its column runs over into lines below.

    A negative width sets the cell to the right.
    """
    columns = [textwrap.wrap(printable(cell), abs(width)) for cell, width in zip(cells, widths, strict=True)]
    lines = []
    for place in range(max(1, *map(len, columns))):
        parts = [column[place] if place < len(column) else "" for column in columns]
        set_out = [
            f"{part:>{-width}}" if width < 0 else f"{part:<{width}}" for part, width in zip(parts, widths, strict=True)
        ]
        lines.append((" " * gap).join(set_out).rstrip())
    return lines


def counted(number: float, noun: str) -> str:
    """Return a number with its noun: 1 shot, 2 shots."""
    return f"{number:g} {noun}{'' if number == 1 else 's'}"


def listed(words: Iterable[str]) -> str:
    """Return words as a list in a sentence: a, b or c."""
    *before, last = words
    return f"{', '.join(before)} or {last}" if before else last


def minute(at: datetime) -> str:
    """Return a moment to the minute, in its own zone."""
    return at.strftime("%Y-%m-%d %H:%M")
