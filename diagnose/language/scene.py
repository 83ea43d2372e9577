"""A reading under work: what each place in it was found to be, and which places are already accounted for."""

from bisect import bisect_left
from collections.abc import Iterable
from dataclasses import dataclass, field
from functools import cached_property

from diagnose.language.context import BREWER, NO_CONTEXT, Context
from diagnose.language.lexicon import Lexicon, Mark, Meaning
from diagnose.language.phrases import Match, PhraseBook
from diagnose.language.reading import Reading, read
from diagnose.model import Quantity, Refused, Source, StatementKind


@dataclass(slots=True)
class Draft:
    """A statement in the making, with the place where it stands in the text."""

    kind: StatementKind
    name: str
    first: int
    last: int
    levels: tuple[str, ...] = ()
    quantity: Quantity | None = None
    negated: bool = False
    hedged: bool = False
    source: Source = "said"
    outcome: str = ""
    shot: int | None = None
    text: str = ""


@dataclass
class Scene:
    """One text with its marks and phrases. `claimed` are the places that ended in a statement or a refusal.

    `context` is what earlier lines of the talk tell about it.
    """

    lexicon: Lexicon
    reading: Reading
    marks: list[Match[Mark]]
    phrases: list[Match[Meaning]]
    context: Context = NO_CONTEXT
    claimed: set[int] = field(default_factory=set)
    refused: list[tuple[int, Refused]] = field(default_factory=list)
    _groups: dict[tuple[str, str], list[Match[Mark]]] = field(default_factory=dict)
    _places: dict[tuple[str, str], frozenset[int]] = field(default_factory=dict)
    _spoken: dict[str, bool] = field(default_factory=dict)
    _held: dict[str, bool] = field(default_factory=dict)

    def __post_init__(self) -> None:
        """Sort the marks by group and line, since they are asked for over and over."""
        for mark in self.marks:
            group, value = mark.payload
            self._groups.setdefault((group, ""), []).append(mark)
            self._groups.setdefault((group, value), []).append(mark)

    @classmethod
    def of(
        cls, text: str, lexicon: Lexicon, book: PhraseBook[Meaning] | None = None, context: Context = NO_CONTEXT
    ) -> "Scene":
        """Return the scene of a cleaned text, with every mark and every phrase of `book` (all, if None) found."""
        reading = read(text, lexicon.speller())
        return cls(lexicon, reading, lexicon.marks.find(reading), (book or lexicon.meanings).find(reading), context)

    @property
    def size(self) -> int:
        """Return the number of items."""
        return len(self.reading.items)

    def marked(self, group: str, value: str = "") -> list[Match[Mark]]:
        """Return the marks of a group (and of one line of it)."""
        return self._groups.get((group, value), [])

    def places(self, group: str, value: str = "") -> frozenset[int]:
        """Return the places covered by the marks of a group."""
        if (group, value) not in self._places:
            found = frozenset(place for mark in self.marked(group, value) for place in mark.places)
            self._places[(group, value)] = found
        return self._places[(group, value)]

    def between(self, group: str, low: int, high: int) -> list[Match[Mark]]:
        """Return the marks of a group that begin from `low` up to, but not at, `high`."""
        marks = self.marked(group)
        start = bisect_left(marks, low, key=lambda mark: mark.first)
        return marks[start : bisect_left(marks, high, key=lambda mark: mark.first)]

    def begins(self, group: str, value: str, places: range) -> bool:
        """Tell whether a mark of this kind begins in a short stretch of places."""
        return any(place in self._starts(group, value) for place in places)

    def _starts(self, group: str, value: str) -> frozenset[int]:
        key = (f"{group} starts", value)
        if key not in self._places:
            self._places[key] = frozenset(mark.first for mark in self.marked(group, value))
        return self._places[key]

    def claim(self, places: Iterable[int]) -> None:
        """Count places as accounted for."""
        self.claimed.update(places)

    def refuse(self, first: int, last: int, reason: str) -> None:
        """Say that a stretch could not be used, and why."""
        self.claim(range(first, last + 1))
        self.refused.append((first, Refused(self.reading.quote(first, last), reason)))

    @cached_property
    def compared(self) -> dict[int, Match[Mark]]:
        """Return "less", "even more" and the like by the place after them; the longest where several end there."""
        marks = sorted(self.marked("compare"), key=lambda mark: -mark.first)
        return {mark.last + 1: mark for mark in marks if self.reading.same_clause(mark.last, mark.last + 1)}

    @cached_property
    def sentences(self) -> dict[int, list[int]]:
        """Return the places of each sentence by its number."""
        found: dict[int, list[int]] = {}
        for place, number in enumerate(self.reading.sentence):
            found.setdefault(number, []).append(place)
        return found

    @cached_property
    def phrases_from(self) -> dict[int, list[Match[Meaning]]]:
        """Return the phrases by the place where they begin."""
        found: dict[int, list[Match[Meaning]]] = {}
        for match in self.phrases:
            found.setdefault(match.first, []).append(match)
        return found

    def are_all(self, places: range, *names: str) -> bool:
        """Tell whether every word of a stretch is in one of these word sets."""
        return all(any(self.is_one_of(place, name) for name in names) for place in places)

    def speaks_of(self, cue: str) -> bool:
        """Tell whether any word of the text can name an amount of this kind ("milk")."""
        if cue not in self._spoken:
            self._spoken[cue] = any(cue in self.lexicon.cues.get(item.stem, ()) for item in self.reading.items)
        return self._spoken[cue]

    @cached_property
    def speaks_of_a_shot(self) -> bool:
        """Tell whether any word of the text speaks of a shot of coffee."""
        return self.has("shot_words")

    def has(self, name: str) -> bool:
        """Tell whether any word of the text is in a word set of the words file."""
        if name not in self._held:
            self._held[name] = any(self.is_one_of(place, name) for place in range(self.size))
        return self._held[name]

    @cached_property
    def brewer(self) -> str:
        """Return the level of the kind of brewer spoken of here, or earlier in the talk; "" where none was."""
        said = [match.payload.level for match in self.phrases if match.payload.name == BREWER and match.payload.level]
        return said[-1] if said else self.context.brewer

    def is_one_of(self, place: int, name: str) -> bool:
        """Tell whether the word at `place` (as typed, or its stem) is in a word set of the words file."""
        items = self.reading.items
        if not 0 <= place < len(items):
            return False
        wanted = self.lexicon.words(name)
        return items[place].word in wanted or items[place].stem in wanted
