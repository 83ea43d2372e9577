"""From what was typed to tokens with their places: cleaning first, then a small lexer.

Cleaning keeps the sentence readable to the rest of the room: one spelling for quotes, dashes, digits and fractions,
no control characters, no emoji. Every place a token gives refers to the cleaned text.
"""

import re
import unicodedata
from dataclasses import dataclass
from typing import Literal

LIMIT = 10_000
_LARGEST = 1e30  # what a number with an exponent counts as at most

Kind = Literal["word", "number", "pair", "date", "ordinal", "sign", "break"]

# Look-alikes and the one spelling each is read as.
_SAME = str.maketrans(
    {
        "’": "'", "‘": "'", "ʼ": "'", "`": "'", "´": "'", "“": '"', "”": '"', "„": '"', "«": '"', "»": '"',  # noqa: RUF001
        "–": "-", "‐": "-", "‑": "-", "‒": "-", "−": "-", "—": " - ", "→": "->", "⇒": "->", "➔": "->",  # noqa: RUF001
        "≈": "~", "∼": "~", "º": "°", "˚": "°", "″": "''", "′": "'", "…": "...", "×": "x", "≤": "<", "≥": ">",  # noqa: RUF001
        "\r": "\n", "\t": " ", "\u2028": "\n", "\u2029": "\n",
    }
)  # fmt: skip
_FRACTIONS = {"½": ".5", "¼": ".25", "¾": ".75", "⅓": ".33", "⅔": ".67"}
# "18:36:28" for dose, drink and time; the numbers must be in proportion, or it is a time of day.
_TRIPLE = re.compile(r"(?<![\d:])(\d{1,2}(?:\.\d+)?):(\d{2}(?:\.\d+)?):(\d{2})(?![\d:])")
_FRACTION = re.compile(r"(\d*)\s?([½¼¾⅓⅔])")

_LEXER = re.compile(
    r"""
    (?P<date>\d{4}-\d{1,2}-\d{1,2}(?!\d) | \d{1,2}(?P<mark>[./])\d{1,2}(?P=mark)\d{4}(?!\d)
            | \d{1,2}\.\d{1,2}\.(?:\d\d)?(?![\d.]))
  | (?P<pair>\d+:\d+(?:[.,]\d+)?)
  | (?P<ordinal>\d+(?:st|nd|rd|th)(?![^\W\d_]))
  | (?P<number>\d+(?:\.\d+)?e[+-]?\d+(?!\w)
              | \d{1,3}(?:,\d{3})+(?![\d,])(?:\.\d+)?
              | (?<![\d,])\d+,\d(?![\d,])
              | (?<![\d,])\d+,\d\d(?![\d,])(?=\s?[^\W\d_%°])
              | \d+\.\d+ | \d+ | (?<!\w)\.\d+)
  | (?P<word>[^\W\d_]\d+(?!\d) | [^\W\d_]+(?:'[^\W\d_]+)*)
  | (?P<sign>[-=]+> | '' | [^\s.,;!?()\n])
  | (?P<break>\.\.+ | [.,;!?()] | \n)
    """,
    re.VERBOSE | re.IGNORECASE,
)


@dataclass(frozen=True, slots=True)
class Token:
    """One piece of the cleaned text: `text` in small letters, its place, and its value if it is a plain number."""

    kind: Kind
    text: str
    start: int
    end: int
    value: float = 0.0


def clean(text: str) -> str:
    """Return `text` with one spelling for signs and digits, without control characters and emoji."""
    text = _TRIPLE.sub(_slashed, text)
    if not text.isascii():
        text = _FRACTION.sub(lambda found: (found[1] or "0") + _FRACTIONS[found[2]], text)
        text = unicodedata.normalize("NFKC", text.translate(_SAME)).translate(_SAME)
    else:
        text = text.replace("\r", "\n").replace("\t", " ").replace("`", "'")
    if text.isascii() and text.replace("\n", " ").isprintable():
        return text
    return "".join(_kept(character) for character in text)


def _slashed(found: re.Match[str]) -> str:
    """Return "18:36:28" with slashes if it can be grams in, grams out and seconds."""
    dose, drink = float(found[1]), float(found[2])
    return "/".join(found.groups()) if dose >= 5 and 1.2 * dose <= drink <= 5 * dose else found[0]


def _kept(character: str) -> str:
    """Return what is kept of one character: itself, a plain digit, a space for an emoji, nothing for a control."""
    if character in "\n°^'":
        return character
    category = unicodedata.category(character)
    if category == "Nd":
        return str(unicodedata.decimal(character))
    if category[0] == "C" or category in {"Mn", "Me"}:
        return ""
    return " " if category in {"So", "Sk"} or category[0] == "Z" else character


def cut(text: str) -> tuple[str, int]:
    """Return the part of `text` that is read, ending between words, and how many characters were left out."""
    if len(text) <= LIMIT:
        return text, 0
    end = max(text.rfind(" ", LIMIT - 200, LIMIT), text.rfind("\n", LIMIT - 200, LIMIT))
    end = end if end > 0 else LIMIT
    return text[:end], len(text) - end


def tokenize(text: str) -> list[Token]:
    """Return the tokens of a cleaned text. Everything but white space becomes part of a token."""
    tokens = []
    for found in _LEXER.finditer(text):
        kind = str(found.lastgroup)
        piece = found.group()
        value = number(piece) if kind == "number" else 0.0
        if kind == "ordinal":
            value = float(piece[:-2])
        tokens.append(Token(kind, piece.lower(), found.start(), found.end(), value))  # type: ignore[arg-type]
    return tokens


def number(piece: str) -> float:
    """Return the value of a written number: "18,5" and "18.5" alike, "1,200" as twelve hundred, "1e9" at most 1e30."""
    if "e" in piece.lower():
        return min(float(piece), _LARGEST)
    whole, comma, rest = piece.partition(",")
    if comma and len(rest) <= 2:
        return float(f"{whole}.{rest}")
    return float(piece.replace(",", ""))
