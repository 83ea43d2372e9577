"""The phrase language of the rule files: compiling phrases and finding them in a reading.

Words of a phrase follow each other; `a|b` accepts either word; ` + ` joins parts that may come in any order, near each
other in one sentence; ` - ` names words that must not stand close by ("smell + burnt - coffee"). `<body>` stands for a
group of words listed once in the words file. Words of little weight ("a", "really") may stand inside a phrase.
"""

import re
from bisect import bisect_left
from collections.abc import Callable, Collection, Iterable, Iterator, Mapping, Sequence
from functools import lru_cache
from typing import Generic, NamedTuple, TypeVar

from diagnose.language.reading import Reading
from diagnose.language.stems import CONTRACTIONS, expand, stem

Payload = TypeVar("Payload")
Part = tuple[frozenset[str], ...]

_MOST_FILLERS = 3  # words of little weight between two words of a phrase
_WIDEST_GAP = 7  # words between two parts of one phrase
_UNLESS_BEFORE, _UNLESS_AFTER = 2, 2  # how far around a match the forbidden words are looked for
_ARTICLES = frozenset({"a", "an", "the", "my"})
_PIECES = re.compile(r"[^\s|-]+")


class Pattern(NamedTuple):
    """A compiled phrase: its parts, each a run of accepted stems, and the stems that forbid it."""

    parts: tuple[Part, ...]
    unless: frozenset[str]


class Match(NamedTuple, Generic[Payload]):
    """One phrase found: what it stands for, the places of its words part by part, all together, first and last."""

    payload: Payload
    parts: tuple[tuple[int, ...], ...]
    places: frozenset[int]
    first: int
    last: int

    @classmethod
    def of(cls, payload: Payload, parts: tuple[tuple[int, ...], ...]) -> "Match[Payload]":
        """Return the match of a phrase at the places of its parts."""
        places = frozenset(place for part in parts for place in part)
        return cls(payload, parts, places, min(places), max(places))


@lru_cache(maxsize=8192)
def _stems(word: str) -> tuple[str, ...]:
    """Return the stems of one written word: several for "isn't" and "over-extracted"."""
    return tuple(stem(opened) for piece in _PIECES.findall(word.lower()) for opened in expand(piece))


class Compiler:
    """Turns written phrases into patterns. `groups` are the words that `<name>` stands for."""

    def __init__(self, groups: Mapping[str, Sequence[str]] | None = None) -> None:
        """Take the groups of one language."""
        self._groups = {f"<{name}>": words for name, words in (groups or {}).items()}
        self._places: dict[str, tuple[Part, ...]] = {}
        self._first: dict[str, tuple[str, ...]] = {}

    def phrase(self, text: str) -> list[Pattern]:
        """Return the patterns a phrase stands for; none when it holds no word."""
        wanted, *forbidden = text.split(" - ")
        unless = frozenset(one for piece in forbidden for place in piece.split() for one in self._stems_at(place))
        patterns: list[tuple[Part, ...]] = [()]
        for part in wanted.split(" + "):
            runs: list[Part] = [()]
            for place in part.split():
                runs = [run + tail for run in runs for tail in self._place(place)]
            patterns = [(*pattern, run) for pattern in patterns for run in runs if run]
        return [Pattern(parts, unless) for parts in patterns if parts]

    def beginnings(self, written: str) -> tuple[str, ...]:
        """Return the stems a phrase may begin with, given its first place as written."""
        if written.isalpha() and written not in CONTRACTIONS:
            return (stem(written.lower()),)
        if written not in self._first:
            firsts = (one for run in self._place(written) for accepted in run[:1] for one in accepted)
            self._first[written] = tuple(dict.fromkeys(firsts))
        return self._first[written]

    def _stems_at(self, written: str) -> set[str]:
        """Return every stem that occurs in one place of a phrase."""
        return {one for run in self._place(written) for accepted in run for one in accepted}

    def _place(self, written: str) -> tuple[Part, ...]:
        """Return the runs one place of a phrase accepts: its single words together, each longer choice by itself."""
        if written not in self._places:
            words = [word for choice in written.split("|") if choice for word in self._groups.get(choice, (choice,))]
            choices = [_stems(word) for word in words]
            single = frozenset(choice[0] for choice in choices if len(choice) == 1)
            longer = {choice: None for choice in choices if len(choice) > 1}
            tails = tuple(tuple(frozenset((one,)) for one in choice) for choice in longer)
            self._places[written] = ((single,), *tails) if single else tails or ((),)
        return self._places[written]


class PhraseBook(Generic[Payload]):
    """Many phrases, found in one pass. `fillers` are stems that may stand inside a phrase.

    A phrase is only indexed by the words its parts begin with; it is compiled when a text first holds one of each.
    """

    def __init__(self, fillers: frozenset[str] = frozenset(), compiler: Compiler | None = None) -> None:
        """Start an empty book."""
        self.fillers = fillers
        self.phrases: list[tuple[str, Payload]] = []
        self._compiler = compiler or Compiler()
        self._index: dict[str, list[int]] = {}
        self._firsts: list[tuple[tuple[str, ...], ...]] = []
        self._compiled: dict[int, list[Pattern]] = {}

    def add(self, text: str, payload: Payload) -> None:
        """Enter a phrase."""
        number = len(self.phrases)
        self.phrases.append((text, payload))
        beginnings = self._compiler.beginnings
        firsts = tuple(beginnings(part.partition(" ")[0]) for part in text.partition(" - ")[0].split(" + "))
        self._firsts.append(firsts)
        for of_part in firsts:
            for first in of_part:
                self._index.setdefault(first, []).append(number)

    def only(self, wanted: Callable[[Payload], bool]) -> "PhraseBook[Payload]":
        """Return a book of the phrases whose payload is wanted."""
        book = PhraseBook[Payload](self.fillers, self._compiler)
        for text, payload in self.phrases:
            if wanted(payload):
                book.add(text, payload)
        return book

    @property
    def beginnings(self) -> Collection[str]:
        """Return the stems a phrase or a part of one can begin with."""
        return self._index.keys()

    def find(self, reading: Reading) -> list[Match[Payload]]:
        """Return every occurrence of every phrase, in order of the text."""
        hits: dict[tuple[int, int], list[list[tuple[int, ...]]]] = {}
        found: list[Match[Payload]] = []
        stems = [item.stem for item in reading.items] + [""]
        skipped = [self._is_filler(reading, place) for place in range(len(reading.items))] + [False]
        entries = self._entries({*stems})
        for place in range(len(reading.items)):
            if stems[place] not in entries:
                continue
            following = _following(reading, place, stems, skipped)
            alone = (place,)
            for number, which, at, part, parts in entries[stems[place]]:
                if len(part) > 1 and part[1].isdisjoint(following):
                    continue
                run = alone if len(part) == 1 else self._run(reading, place, part)
                if run is not None:
                    key = (number, which)
                    if key not in hits:
                        hits[key] = [[] for _ in range(parts)]
                    hits[key][at].append(run)
        for (number, which), runs in hits.items():
            if not all(runs):
                continue
            pattern, payload = self._patterns(number)[which], self.phrases[number][1]
            found += [
                Match.of(payload, parts) for parts in _combined(reading, runs) if _allowed(reading, pattern, parts)
            ]
        return sorted(found, key=lambda match: (match.first, match.last))

    def _entries(self, words: set[str]) -> dict[str, list[tuple[int, int, int, Part, int]]]:
        """Return, by word, (phrase, pattern, place of the part, part, parts in all) of each part that begins with it.

        Only phrases of which every part can begin with one of `words` are looked at.
        """
        numbers = {number for word in words for number in self._index.get(word, ())}
        possible = (n for n in numbers if all(not words.isdisjoint(of_part) for of_part in self._firsts[n]))
        found: dict[str, list[tuple[int, int, int, Part, int]]] = {}
        for number in sorted(possible):
            for which, pattern in enumerate(self._patterns(number)):
                for at, part in enumerate(pattern.parts):
                    for word in part[0] & words:
                        found.setdefault(word, []).append((number, which, at, part, len(pattern.parts)))
        return found

    def _patterns(self, number: int) -> list[Pattern]:
        if number not in self._compiled:
            self._compiled[number] = self._compiler.phrase(self.phrases[number][0])
        return self._compiled[number]

    def _is_filler(self, reading: Reading, place: int) -> bool:
        """Tell whether the word may stand inside a phrase; a number may too ("went 2 finer")."""
        item = reading.items[place]
        return item.stem in self.fillers or (bool(self.fillers) and item.kind == "number")

    def _run(self, reading: Reading, start: int, part: Part) -> tuple[int, ...] | None:
        """Return the places of the words of `part` from `start` on, or None where they do not stand."""
        places = [start]
        for accepted in part[1:]:
            place = places[-1] + 1
            while reading.same_clause(start, place) and reading.items[place].stem not in accepted:
                if not self._is_filler(reading, place) or place - places[-1] > _MOST_FILLERS:
                    return None
                place += 1
            if not reading.same_clause(start, place):
                return None
            places.append(place)
        return tuple(places)


def _following(reading: Reading, place: int, stems: Sequence[str], skipped: Sequence[bool]) -> list[str]:
    """Return the stems that may be the next word of a phrase: the next one, or one behind words of little weight."""
    found = []
    for at in range(place + 1, place + _MOST_FILLERS + 2):
        if not reading.same_clause(place, at):
            break
        found.append(stems[at])
        if not skipped[at]:
            break
    return found


def _combined(reading: Reading, runs: Sequence[Sequence[tuple[int, ...]]]) -> Iterator[tuple[tuple[int, ...], ...]]:
    """Yield combinations with one run of each part, close together in one sentence, not overlapping."""
    for first in runs[0]:
        chosen = [first]
        for others in runs[1:]:
            near = [run for run in _around(others, first[0]) if _close(reading, run, chosen)]
            if not near:
                break
            chosen.append(min(near, key=lambda run: abs(run[0] - first[0])))
        else:
            yield tuple(chosen)


def _around(runs: Sequence[tuple[int, ...]], place: int) -> Sequence[tuple[int, ...]]:
    """Return the runs that start within reach of `place`; `runs` are in order of the text."""
    reach = 4 * _WIDEST_GAP
    low = bisect_left(runs, place - reach, key=lambda run: run[0])
    return runs[low : bisect_left(runs, place + reach, key=lambda run: run[0])]


def _close(reading: Reading, run: tuple[int, ...], chosen: Iterable[tuple[int, ...]]) -> bool:
    """Tell whether `run` lies near one of the runs chosen, in the same sentence, and overlaps none."""
    taken = {place for other in chosen for place in other}
    gap = min(max(run[0] - other[-1], other[0] - run[-1]) for other in chosen)
    return taken.isdisjoint(run) and gap <= _WIDEST_GAP and reading.same_sentence(run[0], min(taken))


def _allowed(reading: Reading, pattern: Pattern, parts: tuple[tuple[int, ...], ...]) -> bool:
    """Tell whether none of the forbidden words stands within or close around the match."""
    if not pattern.unless:
        return True
    places = {place for part in parts for place in part}
    inside = set(range(min(places), max(places))) - places
    around = [*_beside(reading, min(places), -1, _UNLESS_BEFORE), *_beside(reading, max(places), 1, _UNLESS_AFTER)]
    return not any(reading.items[place].stem in pattern.unless for place in (*inside, *around))


def _beside(reading: Reading, start: int, step: int, words: int) -> list[int]:
    """Return the next places of one sentence on one side, as many as `words` besides articles."""
    found: list[int] = []
    place = start + step
    while words and reading.same_sentence(start, place):
        found.append(place)
        words -= reading.items[place].word not in _ARTICLES
        place += step
    return found
