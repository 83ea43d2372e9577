"""Numbers with their units, as written: single, in words, ranges, bounds, ratios and clock times.

An amount is still without a name: what it is an amount of is decided in `naming`.
"""

from collections.abc import Sequence
from dataclasses import dataclass, replace
from math import inf

from diagnose.language.milk import is_span, is_stop, taken_unit
from diagnose.language.scene import Scene
from diagnose.language.units import BEGINNINGS, LONGEST, RATIO, SECOND, UNITS, Unit

ABOUT = 0.1  # "about 20 s" is taken as 18 to 22 s; common practice, no source
_LIST_FROM = 1.4  # "18-36" is dose and yield, "25-30" one number between two ends
_SMALLEST_DOSE = 5.0


@dataclass(frozen=True, slots=True)
class Amount:
    """A number or range in the person's own unit (None where no unit stands), with the places it covers.

    `core` is the place of the first number; `bare_pair` marks "1:30", which may be minutes or a ratio; `ends_at` is the
    second number of a range as written ("from 12 to 10" ends at 10). `implied` marks a unit that nobody wrote; `means`
    is the measure where only the whole expression tells it: the start and the end of "milk from 5 to 65".
    """

    first: int
    core: int
    last: int
    low: float
    high: float
    unit: Unit | None
    bare_pair: bool = False
    ends_at: float | None = None
    implied: bool = False
    means: str = ""

    @property
    def value(self) -> float:
        """Return the middle of the range; the stated end where the other end is open."""
        if self.low == -inf:
            return self.high
        return self.low if self.high == inf else (self.low + self.high) / 2

    @property
    def size(self) -> float:
        """Return the lower end in the canonical unit of its dimension, as written where it has no unit."""
        return self.unit.canonical(self.low) if self.unit else self.low

    @property
    def dimension(self) -> str:
        """Return the dimension of the unit, "" without one."""
        return self.unit.dimension if self.unit else ""


def find_amounts(scene: Scene) -> list[Amount]:
    """Return the amounts of a text in order; places already claimed (dates) are passed over."""
    return _Finder(scene).run()


class _Finder:
    """Walks the items once."""

    def __init__(self, scene: Scene) -> None:
        self.scene = scene
        self.items = scene.reading.items
        # Of two marks that end alike the longer one counts ("no more than" against "more than").
        self.bounds = {mark.last: mark for mark in sorted(scene.marked("bound"), key=lambda mark: -mark.first)}
        self.loose = {mark.first: mark for mark in scene.marked("loosely")}

    def run(self) -> list[Amount]:
        """Return all amounts."""
        found: list[Amount] = []
        place = 0
        while place < len(self.items):
            amounts = [] if place in self.scene.claimed else self._at(place)
            found += amounts
            place = amounts[-1].last + 1 if amounts else place + 1
        return found

    def _at(self, place: int) -> list[Amount]:
        """Return the amounts of the expression that starts at `place`: none, one, or a pair."""
        amount = self._single(place)
        if amount is None:
            return []
        amount = self._joined(self._signed(amount))
        pair = self._spanned(amount)
        if len(pair) == 1:
            return [self._bounded(pair[0])]
        return pair

    def _single(self, place: int) -> Amount | None:
        """Return the number with its unit at `place`, without anything around it."""
        kind = self.items[place].kind if 0 <= place < len(self.items) else ""
        if kind == "pair":
            return self._pair(place)
        value_end = self._figures(place) if kind == "number" else self._spelled(place) if kind == "word" else None
        if value_end is None:
            return None
        value, end = value_end
        unit, last = self._unit(end + 1)
        if unit is None and end + 1 in self.loose:
            unit, last = self._unit(self.loose[end + 1].last + 1)
        if kind == "word" and unit is None and not self._number_is_meant(place, value):
            return None
        return Amount(place, place, last if unit else end, value, value, unit)

    def _figures(self, place: int) -> tuple[float, int]:
        """Return the value of a number in figures, and the place where it ends."""
        return self._fraction(place) or (self.items[place].value, place)

    def _number_is_meant(self, place: int, value: float) -> bool:
        """Tell whether a number word without unit is one: "about twenty" and "took forty", not "the second one"."""
        return value >= 10 or (value >= 5 and place - 1 in self.bounds)

    def _fraction(self, place: int) -> tuple[float, int] | None:
        """Return "1/2" or "1 1/2" with the place it ends, if a unit follows."""
        for whole, at in ((0.0, place), (self.items[place].value, place + 1)):
            pieces = self.items[at : at + 3]
            if len(pieces) == 3 and pieces[1].word == "/" and pieces[2].value in {2.0, 3.0, 4.0, 8.0}:
                tight = pieces[0].end == pieces[1].start and pieces[1].end == pieces[2].start
                if tight and 0 < pieces[0].value < pieces[2].value and self._unit(at + 3)[0]:
                    return whole + pieces[0].value / pieces[2].value, at + 2
        return None

    def _spelled(self, place: int) -> tuple[float, int] | None:
        """Return the value of the number words from `place` on, with the place of the last."""
        numbers = self.scene.lexicon.numbers
        total: float | None = None
        end = place
        while end < len(self.items) and self.items[end].word in numbers:
            value = numbers[self.items[end].word]
            if value == 100.0:
                total = (total or 1.0) * value
            elif total is None:
                total = value
            elif (20 <= total < 100 and 0 < value < 10) or total >= 100:
                total += value
            else:
                break
            end += 1
        if total is None:
            return self._article(place)
        half = self._phrase(end, ("and", "a", "half"))
        return (total + 0.5, end + 2) if half else (total, end - 1)

    def _article(self, place: int) -> tuple[float, int] | None:
        """Return "a minute", "half a minute" and "a couple of weeks" as numbers, if a unit follows."""
        for words, value in (
            (("half", "a"), 0.5),
            (("half", "an"), 0.5),
            (("a", "half"), 0.5),
            (("a", "couple", "of"), 2.0),
            (("a", "couple"), 2.0),
            (("a",), 1.0),
            (("an",), 1.0),
            (("half",), 0.5),
        ):
            if self._phrase(place, words):
                unit, _ = self._unit(place + len(words))
                whole = unit is not None and unit.dimension in {"time", "days", "ounce"} and len(unit.name) > 1
                return (value, place + len(words) - 1) if whole else None
        return None

    def _phrase(self, place: int, words: Sequence[str]) -> bool:
        return tuple(item.word for item in self.items[place : place + len(words)]) == tuple(words)

    def _unit(self, place: int) -> tuple[Unit | None, int]:
        """Return the unit written at `place` and where it ends."""
        if place >= len(self.items) or BEGINNINGS.isdisjoint((self.items[place].word, self.items[place].stem)):
            return None, place
        for length in range(LONGEST, 0, -1):
            pieces = self.items[place : place + length]
            if len(pieces) < length or not self.scene.reading.same_clause(place, place + length - 1):
                continue
            for spelling in (" ".join(item.word for item in pieces), " ".join(item.stem for item in pieces)):
                if spelling in UNITS and not self._is_ordinal(place, spelling):
                    return UNITS[spelling], place + length - 1
        return None, place

    def _is_ordinal(self, place: int, spelling: str) -> bool:
        """Tell whether "second" here counts shots ("18, second shot 20")."""
        return spelling == "second" and self.scene.is_one_of(place + 1, "shot_nouns")

    def _pair(self, place: int) -> Amount:
        """Return "1:2" as a ratio, "0:27" as seconds, "1:30" as undecided."""
        first, _, second = self.items[place].word.partition(":")
        left, right = float(first), float(second.replace(",", "."))
        before = self.scene.reading.word(place - 1)
        near_ratio = any(self._cue(place + step, "ratio") for step in (-2, -1, 1, 2))
        clock = len(second) == 2 and right < 60 and not near_ratio
        if clock and (left == 0 or second.startswith("0") or before in self.scene.lexicon.words("clock_words")):
            seconds = 60 * left + right
            return Amount(place, place, place, seconds, seconds, SECOND)
        if (clock and left < 10) or left == 0 or right == 0:
            return Amount(place, place, place, left, right, None, bare_pair=True)
        ratio = left if right == 1 else right / left
        return Amount(place, place, place, ratio, ratio, RATIO)

    def _cue(self, place: int, name: str) -> bool:
        inside = 0 <= place < len(self.items)
        return inside and name in self.scene.lexicon.cues.get(self.items[place].stem, ())

    def _signed(self, amount: Amount) -> Amount:
        """Take a minus sign that stands tight before the number and apart from what comes before it."""
        sign = amount.core - 1
        if sign < 0 or self.items[sign].word != "-" or self.items[sign].end != self.items[amount.core].start:
            return amount
        if sign > 0 and (self.items[sign - 1].end == self.items[sign].start or self.items[sign - 1].kind == "number"):
            return amount
        return replace(amount, first=sign, low=-amount.low, high=-amount.high)

    def _joined(self, amount: Amount) -> Amount:
        """Join "1 min 5 s" and "a minute and a half" to one time."""
        if amount.dimension != "time" or amount.unit is None or amount.unit.factor != 60:
            return amount
        if self._phrase(amount.last + 1, ("and", "a", "half")):
            return replace(amount, low=amount.low + 0.5, high=amount.high + 0.5, last=amount.last + 3)
        start = amount.last + (2 if self.scene.reading.word(amount.last + 1) == "and" else 1)
        rest = self._single(start) if self.scene.reading.same_clause(amount.core, start) else None
        if rest is None or rest.unit not in {SECOND, None} or rest.bare_pair or not 0 < rest.low < 60:
            return amount
        seconds = 60 * amount.low + rest.low
        return Amount(amount.first, amount.core, rest.last, seconds, seconds, SECOND)

    def _spanned(self, amount: Amount) -> list[Amount]:
        """Return a range ("25-30 s", "between 25 and 30") as one amount, "18-36" as two."""
        joint = amount.last + 1
        word = self.scene.reading.word(joint)
        between = self.scene.reading.word(amount.first - 1) in self.scene.lexicon.words("between")
        joins = word in {"-", "->"} or word in self.scene.lexicon.words("joins") or (between and word == "and")
        if not joins or not self.scene.reading.same_clause(amount.core, joint):
            return [amount]
        other = self._single(joint + 1)
        if other is None or other.bare_pair or not self._fits(amount, other):
            return [amount]
        if amount.unit is None and other.unit is not None and other.unit.dimension == "ratio":
            return [amount]
        one = replace(amount, unit=amount.unit or other.unit)
        if word != "and" and is_span(self.scene, joint, (one.low, other.low), one.unit):
            unit = taken_unit(other.low, one.unit)
            start = replace(one, unit=unit, implied=amount.unit is None, means="milk_start")
            return [start, replace(other, unit=unit, implied=other.unit is None, means="milk_temperature")]
        if word == "->" or self._are_two(one, other) or not self.scene.reading.same_sentence(joint, other.last):
            return [one, other]
        low, high = sorted((one.low, other.low))
        first = amount.first - 1 if between else amount.first
        return [Amount(first, amount.core, other.last, low, high, one.unit, ends_at=other.low)]

    def _fits(self, amount: Amount, other: Amount) -> bool:
        """Tell whether two numbers can be the ends of one range; "steam 200 g to 65" has none."""
        other_kind = amount.dimension not in {"", "temperature", "degree"} and other.unit is None
        if other_kind and is_stop(self.scene, other.first, other.low):
            return False
        return amount.unit is None or other.unit is None or amount.unit == other.unit

    def _are_two(self, one: Amount, other: Amount) -> bool:
        """Tell whether two masses or bare numbers are dose and yield rather than the ends of a range."""
        weighed = one.dimension in {"", "mass"} and one.low >= _SMALLEST_DOSE
        milk_span = one.dimension == "temperature" and other.low - one.low > 25
        return milk_span or (weighed and other.low >= _LIST_FROM * one.low)

    def _bounded(self, amount: Amount) -> Amount:
        """Widen the amount for "about", "under", "at least" before it, and "or so", "+" after it."""
        low, high, first, last = amount.low, amount.high, amount.first, amount.last
        word = ""
        while first - 1 in self.bounds and self.scene.reading.same_sentence(first - 1, amount.core):
            mark = self.bounds[first - 1]
            word = mark.payload.value
            first = mark.first
        inside = (self.loose[at] for at in range(amount.core + 1, last + 1) if at in self.loose)
        after = next(inside, self.loose.get(last + 1))
        if after and self.scene.reading.same_clause(after.first, last):
            word, last = word or after.payload.value, max(last, after.last)
        if word == "about" and low == high:
            low, high = low - ABOUT * abs(low), high + ABOUT * abs(high)
        elif word == "under":
            low = -inf
        elif word == "over":
            high = inf
        return replace(amount, first=first, last=last, low=low, high=high)
