"""Putting right what was mistyped: respellings, drawn-out letters, and one or two wrong letters in a long word.

A word is only ever taken for a word of the lexicon, and never if it is itself ordinary English ("shop" is no "shot").
"""

import re
from functools import cache
from pathlib import Path
from typing import TYPE_CHECKING

from diagnose.language.stems import stem

if TYPE_CHECKING:
    from diagnose.language.lexicon import Lexicon

_DRAWN_OUT = re.compile(r"(.)\1{2,}")
_DOUBLED = re.compile(r"(.)\1+")
SHORTEST_FIXED = 5  # shorter words are taken as they are
_LONG = 8  # from here on two letters may be wrong
_MOST_UNKNOWN = 200  # more unknown words than this are another language, not slips


@cache
def ordinary_words() -> frozenset[str]:
    """Return stems of ordinary English words that lie close to words of the trade."""
    text = (Path(__file__).parent / "ordinary_en.txt").read_text(encoding="utf-8")
    return frozenset(stem(word) for line in text.splitlines() if not line.startswith("#") for word in line.split())


class Speller:
    """Turns the words of one text into stems the lexicon knows, where that can be done safely."""

    def __init__(self, lexicon: "Lexicon") -> None:
        """Take the words of `lexicon` as the only right ones."""
        self._lexicon = lexicon
        self._seen: dict[str, str] = {}
        self._unknown = 0

    def __call__(self, word: str) -> str:
        """Return the stem `word` is taken for; its own stem when nothing is close enough."""
        if word not in self._seen:
            self._seen[word] = self._stem(word)
        return self._seen[word]

    def _stem(self, word: str) -> str:
        word = self._lexicon.respellings.get(word, word)
        own = stem(word)
        if own in self._lexicon.meanings.beginnings or own in self._lexicon.known:
            return own
        for letters in (r"\1", r"\1\1"):
            shorter = stem(_DRAWN_OUT.sub(letters, word))
            if shorter in self._lexicon.known:
                return shorter
        root = stem(word.removesuffix("ish"))
        if word.endswith("ish") and len(root) > 2 and root in self._lexicon.known:
            return root
        return self._closest(word) or own

    def _closest(self, word: str) -> str:
        """Return the stem of the one lexicon word close to `word`, or ""."""
        if len(word) < SHORTEST_FIXED or not word.isalpha() or stem(word) in ordinary_words():
            return ""
        single = stem(_DOUBLED.sub(r"\1", word))
        if single in self._lexicon.known:
            return single
        self._unknown += 1
        if self._unknown > _MOST_UNKNOWN:
            return ""
        # Loaded only here: most texts have no unknown word.
        from rapidfuzz import process
        from rapidfuzz.distance import OSA

        listed = self._lexicon.spellings.get(word[0], ())
        near = process.extractOne(word, listed, scorer=OSA.distance, score_cutoff=1)
        if near is None and len(word) >= _LONG:
            listed = tuple(other for other in listed if len(other) >= _LONG)
            near = process.extractOne(word, listed, scorer=OSA.distance, score_cutoff=2)
        return stem(near[0]) if near else ""
