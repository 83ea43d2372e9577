"""The phrase language of the rule files: compiling phrases and finding them in a reading.

Words of a phrase follow each other; `a|b` accepts either word; ` + ` joins parts that may come in any order, near each
other in one sentence; ` - ` names words that must not stand close by ("smell + burnt - coffee"). Words of little weight
("a", "really") may stand between the words of a phrase.
"""

import re
from bisect import bisect_left
from collections.abc import Iterable, Iterator, Sequence
from dataclasses import dataclass, field
from functools import lru_cache
from typing import Generic, NamedTuple, TypeVar

from diagnose.language.reading import Reading
from diagnose.language.stems import expand, stem

Payload = TypeVar("Payload")
Part = tuple[frozenset[str], ...]

_MOST_FILLERS = 3  # words of little weight between two words of a phrase
_WIDEST_GAP = 7  # words between two parts of one phrase
_UNLESS_BEFORE, _UNLESS_AFTER = 2, 1  # how far around a match the forbidden words are looked for
_PIECES = re.compile(r"[^\s|-]+")


class Pattern(NamedTuple):
    """A compiled phrase: its parts, each a run of accepted stems, and the stems that forbid it."""

    parts: tuple[Part, ...]
    unless: frozenset[str]


class Match(NamedTuple, Generic[Payload]):
    """One phrase found: what it stands for, and the places of its words, part by part."""

    payload: Payload
    parts: tuple[tuple[int, ...], ...]

    @property
    def places(self) -> frozenset[int]:
        """Return the places of all words of the phrase."""
        return frozenset(place for part in self.parts for place in part)

    @property
    def first(self) -> int:
        """Return the place of the first word."""
        return min(part[0] for part in self.parts)

    @property
    def last(self) -> int:
        """Return the place of the last word."""
        return max(part[-1] for part in self.parts)


@lru_cache(maxsize=8192)
def _stems(word: str) -> tuple[str, ...]:
    """Return the stems of one written word: several for "isn't" and "over-extracted"."""
    return tuple(stem(opened) for piece in _PIECES.findall(word.lower()) for opened in expand(piece))


def _part(text: str) -> list[Part]:
    """Return the runs a part stands for; an alternative of several words makes a run of its own."""
    runs: list[Part] = [()]
    for place in text.split():
        choices = [_stems(choice) for choice in place.split("|") if choice]
        single = frozenset(choice[0] for choice in choices if len(choice) == 1)
        tails: list[Part] = [(single,)] if single else []
        tails += [tuple(frozenset((one,)) for one in choice) for choice in choices if len(choice) > 1]
        runs = [(*run, *tail) for run in runs for tail in tails or [()]]
    return runs


def compile_phrase(text: str) -> list[Pattern]:
    """Return the patterns a phrase stands for; none when it holds no word."""
    wanted, *forbidden = text.split(" - ")
    unless = frozenset(one for piece in forbidden for one in _stems(piece.replace("|", " ")))
    patterns: list[tuple[Part, ...]] = [()]
    for part in wanted.split(" + "):
        patterns = [(*pattern, run) for pattern in patterns for run in _part(part)]
    return [Pattern(parts, unless) for parts in patterns if all(parts)]


@dataclass
class PhraseBook(Generic[Payload]):
    """Many phrases, found in one pass. `fillers` are stems that may stand inside a phrase."""

    fillers: frozenset[str] = frozenset()
    patterns: list[tuple[Pattern, Payload]] = field(default_factory=list)
    index: dict[str, list[tuple[int, int]]] = field(default_factory=dict)

    def add(self, text: str, payload: Payload) -> None:
        """Enter a phrase."""
        for pattern in compile_phrase(text):
            number = len(self.patterns)
            self.patterns.append((pattern, payload))
            for which, part in enumerate(pattern.parts):
                for one in part[0]:
                    self.index.setdefault(one, []).append((number, which))

    def stems(self) -> set[str]:
        """Return every stem that occurs in a phrase."""
        return {one for pattern, _ in self.patterns for part in pattern.parts for place in part for one in place}

    def find(self, reading: Reading) -> list[Match[Payload]]:
        """Return every occurrence of every phrase, in order of the text."""
        hits: dict[int, list[list[tuple[int, ...]]]] = {}
        found: list[Match[Payload]] = []
        for place, item in enumerate(reading.items):
            for number, which in self.index.get(item.stem, ()):
                pattern, payload = self.patterns[number]
                run = self._run(reading, place, pattern.parts[which])
                if run is None:
                    continue
                if len(pattern.parts) > 1:
                    hits.setdefault(number, [[] for _ in pattern.parts])[which].append(run)
                elif _allowed(reading, pattern, (run,)):
                    found.append(Match(payload, (run,)))
        for number, runs in hits.items():
            pattern, payload = self.patterns[number]
            found += [
                Match(payload, parts) for parts in _combined(reading, runs) if _allowed(reading, pattern, parts)
            ]
        return sorted(found, key=lambda match: (match.first, match.last))

    def _run(self, reading: Reading, start: int, part: Part) -> tuple[int, ...] | None:
        """Return the places of the words of `part` from `start` on, or None where they do not stand."""
        places = [start]
        for accepted in part[1:]:
            place = places[-1] + 1
            while reading.same_clause(start, place) and reading.items[place].stem not in accepted:
                if reading.items[place].stem not in self.fillers or place - places[-1] > _MOST_FILLERS:
                    return None
                place += 1
            if not reading.same_clause(start, place):
                return None
            places.append(place)
        return tuple(places)


def _combined(
    reading: Reading, runs: Sequence[Sequence[tuple[int, ...]]]
) -> Iterator[tuple[tuple[int, ...], ...]]:
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
    around = range(min(places) - _UNLESS_BEFORE, max(places) + _UNLESS_AFTER + 1)
    return not any(
        reading.items[place].stem in pattern.unless
        for place in around
        if place not in places and reading.same_sentence(place, min(places))
    )


