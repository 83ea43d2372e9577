"""Lays a reply out in lines of a given width, and shortens it where a barista has no time to read.

Widths are in columns of a terminal: wide East Asian characters and emoji take two (Unicode Standard Annex #11),
combining marks none.
"""

import re
import unicodedata
from bisect import bisect_right
from collections.abc import Iterator, Sequence
from dataclasses import dataclass, replace
from functools import lru_cache
from itertools import accumulate

from diagnose.conversation.reply import Part, PartKind, Reply

WIDTH = 80
NARROWEST, WIDEST = 30, 100
SERVICE_LINES = 12
# What may be left out in service when a reply is too long, in this order. Then the answers to a question share lines,
# then the rest of this is shortened, and at last it goes too. Stop notices, the step or question, what the next shot
# must show and the cautions always stay whole.
OMITTED: tuple[PartKind, ...] = ("causes", "why", "later", "verdict")
SHORTENED: tuple[PartKind, ...] = ("heard", "why", "note")
GIVEN_UP: tuple[PartKind, ...] = ("note", "heard")

# What stays on one line: a word, or a number and its unit.
_CHUNK = re.compile(r" *(?:[^ ]*\d (?=(?:%|g|s|mL|bar|dB|°C|°F|mg/L)(?:[ ,.;:)]|$)))?[^ ]+")
_LEAD = re.compile(r" *(?:\d+\. +)?")
_VARIATION_SELECTOR = "\ufe0f"  # turns a sign into an emoji, which is wider


@dataclass(frozen=True, slots=True)
class Line:
    """One line of a laid out reply. `strong` marks what must not be overlooked: stop notices, the step or question."""

    text: str
    strong: bool = False


def fitting(columns: int) -> int:
    """Return the width to lay out at in a terminal of so many columns: at least 30, at most 100."""
    return min(max(columns, NARROWEST), WIDEST)


def columns(text: str) -> int:
    """Return how many columns `text` takes; where terminals differ, the wider figure."""
    return len(text) if text.isascii() else sum(map(_columns_of, text))


@lru_cache(maxsize=4096)
def _columns_of(character: str) -> int:
    if character == _VARIATION_SELECTOR:
        return 1
    if unicodedata.category(character) in {"Mn", "Me"}:
        return 0
    return 2 if unicodedata.east_asian_width(character) in {"W", "F"} else 1


def wrapped(text: str, width: int) -> list[str]:
    """Return `text` in lines of at most `width` columns, at least one.

    Its own line breaks and leading spaces are kept; what runs over stands two columns in, behind a number behind it.
    Control characters are left out, so that nothing said back can steer the terminal.
    """
    return [line for own in text.split("\n") for line in _one_wrapped(_printable(own), width)]


def _printable(line: str) -> str:
    if line.isascii() and line.isprintable():
        return line
    return "".join(_kept(character) for character in line)


def _kept(character: str) -> str:
    category = unicodedata.category(character)
    if character == "\t" or category in {"Zl", "Zp"}:
        return " "
    return "" if category in {"Cc", "Cs"} else character


def _one_wrapped(line: str, width: int) -> Iterator[str]:
    """Yield the lines one line of text runs over."""
    lead = _LEAD.match(line)
    behind = len(lead.group()) if lead else 0
    hang = " " * min(behind if line[:behind].strip() else behind + 2, width // 2)
    current = ""
    for found in _CHUNK.finditer(line):
        chunk = found.group()
        if current and columns(current) + columns(chunk) > width:
            yield current
            current = hang + chunk.lstrip(" ")
        else:
            current += chunk
        while columns(current) > width:
            end = _breaking(current, width)
            yield current[:end]
            current = hang + current[end:].lstrip(" ")
    yield current


def _breaking(line: str, width: int) -> int:
    """Return how many characters of a line wider than `width` fit into it, where it has no better place to break."""
    return next(place for place, used in enumerate(accumulate(map(_columns_of, line))) if used > width)


def arranged(reply: Reply, width: int = WIDTH) -> list[Line]:
    """Return the reply in lines of at most `width` columns, in service of at most 12 lines at 80 columns.

    What is left out in service does not depend on a narrower terminal: it is as much to read there.
    """
    parts = _in_service(reply, width) if reply.setting == "service" else reply.parts
    return [line for part in parts for line in _lines_of(part, width)]


def laid_out(reply: Reply, width: int = WIDTH) -> str:
    """Return the lines of `arranged` as one text."""
    return "\n".join(line.text for line in arranged(reply, width))


def _lines_of(part: Part, width: int) -> list[Line]:
    """Return the lines of one part; of a question's lines, the answers are not strong."""
    first, _, rest = part.text.partition("\n")
    if part.kind != "ask" or not rest:
        return [Line(line, part.kind in {"stop", "step", "ask"}) for line in wrapped(part.text, width)]
    return [*(Line(line, strong=True) for line in wrapped(first, width)), *map(Line, wrapped(rest, width))]


def _in_service(reply: Reply, width: int) -> list[Part]:
    """Leave out and shorten what may go, one thing after the other, until the rest fits.

    Who asked "why" is told, if in fewer words.
    """
    left, measured = list(reply.parts), max(width, WIDTH)
    asked = any(said.kind == "command" for said in reply.heard)
    for kind in OMITTED:
        if _excess(left, measured) and not (asked and kind == "why"):
            left = [part for part in left if part.kind != kind]
    if _excess(left, measured):
        left = [_answers_together(part, measured) for part in left]
    for kind in SHORTENED:
        _shorten(left, kind, measured)
    for kind in GIVEN_UP:
        for place in _places(left, kind):
            if _excess(left, measured):
                del left[place]
    if width < measured:  # lines filled for a wider terminal would break in odd places
        questions = iter([part for part in reply.parts if part.kind == "ask"])
        left = [next(questions) if part.kind == "ask" else part for part in left]
    return left


def _answers_together(part: Part, width: int) -> Part:
    """Return a question with as many answers on each line as have room there; any other part as it is."""
    if part.kind != "ask":
        return part
    question, *answers = part.text.split("\n")
    lines: list[str] = []
    for answer in answers:
        if lines and columns(lines[-1]) + 1 + columns(answer) <= width:
            lines[-1] += f" {answer}"
        else:
            lines.append(answer)
    return replace(part, text="\n".join([question, *lines]))


def _excess(parts: Sequence[Part], width: int) -> int:
    """Return by how many lines the parts are too long."""
    return max(sum(len(wrapped(part.text, width)) for part in parts) - SERVICE_LINES, 0)


def _places(parts: Sequence[Part], kind: PartKind) -> list[int]:
    """Return where parts of a kind stand, the last first, since the first note is about what was just said."""
    return [place for place, part in reversed(list(enumerate(parts))) if part.kind == kind]


def _shorten(parts: list[Part], kind: PartKind, width: int) -> None:
    """Shorten the parts of a kind by as many lines as are too many, to one line at least."""
    for place in _places(parts, kind):
        excess = _excess(parts, width)
        if excess:
            text = parts[place].text
            parts[place] = replace(parts[place], text=_beginning(text, len(wrapped(text, width)) - excess, width))


def _beginning(text: str, lines: int, width: int) -> str:
    """Return what of `text` fits into so many lines, at least one, with an ellipsis where it was cut."""
    ends = [found.start() for found in re.finditer(r"\s+", text)]
    fits = bisect_right(ends, max(lines, 1), key=lambda end: len(wrapped(f"{text[:end]}…", width)))
    if len(wrapped(text, width)) == 1 or not ends:
        return text
    return f"{text[: ends[max(fits - 1, 0)]]}…"
