"""Numbers with their units and the names beside them, read from one text with the lexer of `language`.

The trade's short forms are known: "HCO3-", "Ca2+" and "SO4 2-" are one name each, "5 to 65 C" is two numbers of one
unit, "70-80 mg/L" a range, "< 5" a bound, "about 180" give or take a tenth. Every number becomes part of some amount,
so that whoever uses the amounts can say which were not used.
"""

import re
from collections.abc import Mapping, Sequence
from dataclasses import dataclass, replace
from itertools import pairwise
from math import sqrt
from typing import Literal

from diagnose.errors import DiagnoseError
from diagnose.language.amounts import ABOUT
from diagnose.language.tokens import LIMIT, Token, clean, cut, tokenize
from diagnose.language.tokens import number as value_of
from diagnose.language.units import Unit
from diagnose.report.units import Table

Kind = Literal["word", "number", "sign", "break"]
Bound = Literal["", "below", "above", "about"]

FORMULAS: Mapping[str, str] = {
    "ca2+": "ca", "ca++": "ca", "mg2+": "mg", "mg++": "mg", "na+": "na", "k+": "k", "cl-": "cl", "hco3": "hco3",
    "hco3-": "hco3", "so4": "so4", "so42-": "so4", "so4--": "so4", "caco3": "caco3", "no3": "no3", "no3-": "no3",
    "no2": "no2", "no2-": "no2", "nh4": "nh4", "nh4+": "nh4", "sio2": "sio2", "po4": "po4", "co2": "co2", "f-": "f",
    "co3": "co3", "co32-": "co3", "h2o": "water", "cl2": "cl2", "o2": "o2", "dm3": "dm3", "po43-": "po4",
    "so4-2": "so4", "ca+2": "ca", "mg+2": "mg",
}  # fmt: skip
_BOUNDS: Mapping[str, Bound] = {
    "<": "below", "under": "below", "below": "below", "less than": "below", ">": "above", "over": "above",
    "above": "above", "more than": "above", "at least": "above", "~": "about", "about": "about", "around": "about",
    "approx": "about", "approximately": "about", "roughly": "about", "circa": "about",
}  # fmt: skip
_SUBSTANCES = {
    "caco3": "CaCO3", "calcium carbonate": "CaCO3", "ca": "Ca", "calcium": "Ca", "hco3": "HCO3",
    "bicarbonate": "HCO3", "cao": "CaO",
}  # fmt: skip
_SCALES = {"gauge": "gauge", "g": "gauge", "absolute": "absolute", "abs": "absolute", "a": "absolute"}
_BASES_OF: Mapping[str, Mapping[str, str]] = {"content": _SUBSTANCES, "molar": _SUBSTANCES, "pressure": _SCALES}
_NEEDS_NO_AS = frozenset({"CaCO3", "gauge", "absolute"})
_JOINS = frozenset({"to", "-", "->", "bis"})
_LONGEST = 4  # tokens in a spelling or a name
_LETTERS_THEN_DIGITS = re.compile(r"([^\W\d_]+)(\d+)")


@dataclass(frozen=True, slots=True)
class Piece:
    """One word, number or sign; `half` is half a unit of a number's last digit as written."""

    kind: Kind
    text: str
    start: int
    end: int
    value: float = 0.0
    half: float = 0.0


@dataclass(frozen=True, slots=True)
class Amount:
    """A number, or two joined ones in the order written, with unit and what stands behind it ("as CaCO3", "gauge").

    `first` and `last` are its places among the pieces; `bound` says how the number was hedged.
    """

    first: int
    last: int
    numbers: tuple[Piece, ...]
    unit: Unit | None = None
    basis: str = ""
    bound: Bound = ""

    @property
    def value(self) -> float:
        """Return the number; of a range, the middle."""
        return sum(one.value for one in self.numbers) / len(self.numbers)

    @property
    def half(self) -> float:
        """Return the half width: of the last digit, of the range, or a tenth for "about".

        Of a range it is the standard uncertainty, half of it over the root of three, as no value in it is likelier
        than another (JCGM 100:2008, 4.3.7).
        """
        written = max(one.half for one in self.numbers)
        ends = abs(self.numbers[-1].value - self.numbers[0].value) / (2.0 * sqrt(3.0))
        return max(written, ends, ABOUT * abs(self.value) if self.bound == "about" else 0.0)

    @property
    def dimension(self) -> str:
        """Return the dimension of the unit, "" without one."""
        return self.unit.dimension if self.unit else ""


@dataclass(frozen=True, slots=True)
class Reading:
    """A text as pieces and amounts; `loose` are the places of units that stand by themselves, such as a heading."""

    text: str
    pieces: tuple[Piece, ...]
    amounts: tuple[Amount, ...]
    loose: Mapping[int, Unit]

    def quote(self, first: int, last: int) -> str:
        """Return the text from one piece to another, both included."""
        return " ".join(self.text[self.pieces[first].start : self.pieces[last].end].split())

    def gap(self, index: int) -> range:
        """Return the places between amount `index` and the one before it; beyond the last, those to the end."""
        start = self.amounts[index - 1].last + 1 if index else 0
        return range(start, self.amounts[index].first if index < len(self.amounts) else len(self.pieces))


def read(text: str, units: Table) -> Reading:
    """Return the amounts of a text with the units of one subject.

    Raises DiagnoseError for a text that is longer than is read.
    """
    kept, left_out = cut(clean(text))
    if left_out:
        raise DiagnoseError(f"That is more than {LIMIT} characters. Tell it in fewer words.")
    pieces = tuple(_pieces(tokenize(kept)))
    finder = _Finder(pieces, units)
    amounts = tuple(finder.run())
    return Reading(kept, pieces, amounts, finder.loose(amounts))


def _pieces(tokens: Sequence[Token]) -> list[Piece]:
    """Return the tokens with formulas, split numbers and letters with digits put together as chemists mean them."""
    found: list[Piece] = []
    place = 0
    while place < len(tokens):
        formula = _formula(tokens, place)
        if formula is not None:
            name, place = formula
            found.append(Piece("word", name.text, name.start, name.end))
            continue
        made, place = _plain_pieces(tokens, place)
        found += made
    return found


def _formula(tokens: Sequence[Token], place: int) -> tuple[Token, int] | None:
    """Return the longest formula that starts here with the place behind it, its charge included."""
    for length in range(_LONGEST, 0, -1):
        run = tokens[place : place + length]
        tight = all(one.end == other.start for one, other in pairwise(run))
        name = FORMULAS.get("".join(one.text for one in run)) if len(run) == length and tight else None
        if name is not None:
            after = place + length
            after += 2 if _is_charge(tokens[after : after + 3]) else 0
            return replace(tokens[place], text=name, end=tokens[after - 1].end), after
    if tokens[place].text in {"ca", "mg"} and _is_charge(tokens[place + 1 : place + 4]):
        return tokens[place], place + 3
    return None


def _is_charge(tokens: Sequence[Token]) -> bool:
    """Tell whether "2-" or "2+" stands here by itself, with nothing tight behind it."""
    if len(tokens) < 2 or tokens[0].text not in {"1", "2", "3"} or tokens[1].text not in {"+", "-"}:
        return False
    apart = len(tokens) < 3 or tokens[2].start > tokens[1].end or tokens[2].kind not in {"number", "word"}
    return tokens[0].end == tokens[1].start and apart


def _plain_pieces(tokens: Sequence[Token], place: int) -> tuple[list[Piece], int]:
    """Return the pieces of what is no formula: mostly one token, one piece."""
    token = tokens[place]
    if token.kind in {"number", "date", "pair", "ordinal"}:
        return _number_pieces(tokens, place)
    letters = _LETTERS_THEN_DIGITS.fullmatch(token.text) if token.kind == "word" else None
    if letters:
        middle = token.start + len(letters[1])
        word = Piece("word", letters[1], token.start, middle)
        return [word, _number(letters[2], middle, token.end)], place + 1
    kind: Kind = "break" if token.kind == "break" else "word" if token.kind == "word" else "sign"
    return [Piece(kind, token.text, token.start, token.end)], place + 1


def _number_pieces(tokens: Sequence[Token], place: int) -> tuple[list[Piece], int]:
    """Return the number at a place; "7,25", "1/2", "1.2e3" and "7.2." (no date here) are one number each."""
    run = tokens[place : place + 3]
    token, shape = run[0], "".join(one.text for one in run)
    tight = all(one.end == other.start for one, other in pairwise(run))
    if len(run) == 3 and tight and re.fullmatch(r"\d+,\d\d", shape):
        return [_number(shape, token.start, run[2].end)], place + 3
    if len(run) == 3 and tight and re.fullmatch(r"\d/[2348]", shape):
        value = run[0].value / run[2].value
        return [Piece("number", shape, token.start, run[2].end, value, 0.0)], place + 3
    if re.fullmatch(r"\d+\.\d+\.", token.text):
        end = token.end - 1
        return [_number(token.text[:-1], token.start, end), Piece("break", ".", end, token.end)], place + 1
    if token.kind == "number":
        return [_number(token.text, token.start, token.end)], place + 1
    return [Piece("number", token.text, token.start, token.end, float("nan"))], place + 1


def _number(text: str, start: int, end: int) -> Piece:
    """Return a number piece; its half width is half a unit of the last digit written."""
    return Piece("number", text, start, end, value_of(text), 0.5 * 10.0 ** -_decimals(text))


def _decimals(text: str) -> int:
    """Return how many digits stand behind the point, or behind a comma that is one ("7,2", not "1,200").

    A power of ten moves the point: "1.5e2" has -1.
    """
    text, _, power = text.lower().partition("e")
    moved = int(power) if power else 0
    if "." in text:
        return len(text.rpartition(".")[2]) - moved
    behind = text.partition(",")[2]
    return (len(behind) if len(behind) <= 2 else 0) - moved


class _Finder:
    """Walks the pieces once."""

    def __init__(self, pieces: Sequence[Piece], units: Table) -> None:
        self.pieces = pieces
        self.units = units

    def run(self) -> list[Amount]:
        """Return all amounts in order."""
        found: list[Amount] = []
        place = 0
        while place < len(self.pieces):
            if self.pieces[place].kind == "number":
                found.append(self._bounded(self._at(place), found[-1].last if found else -1))
                place = found[-1].last
            place += 1
        return found

    def loose(self, amounts: Sequence[Amount]) -> dict[int, Unit]:
        """Return the units that belong to no number, by each of their places."""
        covered = {place for amount in amounts for place in range(amount.first, amount.last + 1)}
        found: dict[int, Unit] = {}
        for place in range(len(self.pieces)):
            if place not in covered and place not in found:
                unit, last = self._unit(place)
                found |= {} if unit is None else dict.fromkeys(range(place, last + 1), unit)
        return found

    def _at(self, place: int) -> Amount:
        """Return the amount whose first number stands at a place, a second one joined to it if it has one."""
        one = self._single(place)
        joint = one.last + 1
        between = self._text(joint) == "and" and self._text(one.first - 1) == "between"
        if not (between or self._text(joint) in _JOINS) or not self._is_number(joint + 1):
            return one
        other = self._single(joint + 1)
        alike = one.unit is None or one.unit == other.unit
        return replace(other, first=one.first, numbers=(*one.numbers, *other.numbers)) if alike else one

    def _single(self, place: int) -> Amount:
        """Return one number with sign, unit and basis."""
        number, first = self.pieces[place], place
        sign = self.pieces[place - 1] if place else None
        if sign is not None and sign.text == "-" and sign.end == number.start:
            before = self.pieces[place - 2] if place > 1 else None
            if before is None or (before.end < sign.start and before.kind != "number"):
                number, first = replace(number, value=-number.value), place - 1
        unit, last = self._unit(place + 1)
        basis, last = self._basis(last, _BASES_OF.get(unit.dimension, {})) if unit else ("", last)
        return Amount(first, last, (number,), unit, basis)

    def _unit(self, place: int) -> tuple[Unit | None, int]:
        """Return the unit written at a place and where it ends; a lone "F" before a number is fluoride."""
        for length in range(_LONGEST, 0, -1):
            run = self.pieces[place : place + length]
            spelling = " ".join(one.text for one in run)
            if len(run) == length and all(one.kind != "break" for one in run) and spelling in self.units:
                if spelling == "f" and self._is_number(place + 1):
                    continue
                return self.units[spelling], place + length - 1
        return None, place - 1

    def _basis(self, last: int, bases: Mapping[str, str]) -> tuple[str, int]:
        """Return what the unit counts ("as CaCO3") or is read on ("gauge"), and where that ends."""
        place = last + 1
        opened = self._text(place) == "("
        place += opened
        said = self._text(place) == "as"
        place += said or self._text(place) == "of"
        two = f"{self._text(place)} {self._text(place + 1)}"
        word, end = (two, place + 1) if two in bases else (self._text(place), place)
        if word not in bases or not (said or bases[word] in _NEEDS_NO_AS):
            return "", last
        closed = opened and self._text(end + 1) == ")"
        return bases[word], end + closed

    def _bounded(self, amount: Amount, before: int) -> Amount:
        """Take in a word or sign of hedging before the number."""
        for length in (2, 1):
            first = amount.first - length
            if first > before:
                words = " ".join(one.text for one in self.pieces[first : amount.first])
                if words in _BOUNDS:
                    return replace(amount, first=first, bound=_BOUNDS[words])
        return amount

    def _text(self, place: int) -> str:
        return self.pieces[place].text if 0 <= place < len(self.pieces) else ""

    def _is_number(self, place: int) -> bool:
        return 0 <= place < len(self.pieces) and self.pieces[place].kind == "number"
