"""Lays a reply out in lines of a given width, and shortens it where a barista has no time to read."""

import textwrap
from collections.abc import Sequence

from diagnose.conversation.reply import Part, PartKind, Reply

WIDTH = 80
SERVICE_LINES = 12
# What may be left out in service when a reply is too long, in this order. Stop notices, the step or question, what
# the next shot must show and the cautions always stay.
OMITTED: tuple[PartKind, ...] = ("causes", "why", "later", "verdict", "note", "heard")


def lines_of(part: Part, width: int) -> list[str]:
    """Return one part wrapped to `width`; its own line breaks and leading spaces are kept."""
    lines: list[str] = []
    for line in part.text.split("\n"):
        indent = " " * (len(line) - len(line.lstrip()) + (2 if line.startswith(" ") else 0))
        lines += textwrap.wrap(line, width, subsequent_indent=indent, break_on_hyphens=False) or [""]
    return lines


def laid_out(reply: Reply, width: int = WIDTH) -> str:
    """Return the reply as text of at most `width` columns, in service of at most 12 lines."""
    parts = list(reply.parts)
    if reply.setting == "service":
        parts = _shortened(parts, width)
    return "\n".join(line for part in parts for line in lines_of(part, width))


def _shortened(parts: Sequence[Part], width: int) -> list[Part]:
    """Leave out what may go, one kind after the other, until the rest fits."""
    left = list(parts)
    for kind in OMITTED:
        if sum(len(lines_of(part, width)) for part in left) <= SERVICE_LINES:
            break
        left = [part for part in left if part.kind != kind]
    return left
