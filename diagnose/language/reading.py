"""One text as the rest of the room sees it: words with their stems, cut into sentences and clauses.

Contractions are opened ("isn't" is two words at one place), respellings are put right, marks that carry no meaning
are gone. Everything later speaks of words by their position here.
"""

from collections.abc import Callable, Sequence
from dataclasses import dataclass

from diagnose.language.stems import expand
from diagnose.language.tokens import Kind, Token, tokenize

STRONG = frozenset(".!?;\n")
_KEPT_SIGNS = frozenset({"~", "-", "+", "/", "<", ">", "%", "°", "#", "->", "=>", "-->", "''", "µ"})
_SAID_SIGNS = {"&": "and", "@": "at"}
_ABBREVIATED = frozenset({"approx", "ca", "no", "nr", "temp", "vs", "c"})

Stemmer = Callable[[str], str]


@dataclass(frozen=True, slots=True)
class Item:
    """One word, number or meaningful sign. `word` is as typed in small letters, `stem` what it is taken for."""

    kind: Kind
    word: str
    stem: str
    start: int
    end: int
    value: float = 0.0


@dataclass(frozen=True, slots=True)
class Reading:
    """A cleaned text with its items; `sentence` and `clause` number the stretch each item stands in.

    `questions` are the numbers of the sentences that end with a question mark.
    """

    text: str
    items: tuple[Item, ...]
    sentence: tuple[int, ...]
    clause: tuple[int, ...]
    questions: frozenset[int]

    def quote(self, first: int, last: int) -> str:
        """Return the text from item `first` to item `last`, both included."""
        return self.text[self.items[first].start : self.items[last].end]

    def word(self, index: int) -> str:
        """Return the word at `index`, or "" outside the text."""
        return self.items[index].word if 0 <= index < len(self.items) else ""

    def same_clause(self, one: int, other: int) -> bool:
        """Tell whether two items stand in one clause; a place outside the text is in none."""
        size = len(self.items)
        return 0 <= one < size and 0 <= other < size and self.clause[one] == self.clause[other]

    def same_sentence(self, one: int, other: int) -> bool:
        """Tell whether two items stand in one sentence; a place outside the text is in none."""
        size = len(self.items)
        return 0 <= one < size and 0 <= other < size and self.sentence[one] == self.sentence[other]


class _Builder:
    """Collects items while walking the tokens."""

    def __init__(self, tokens: Sequence[Token], stemmer: Stemmer) -> None:
        self.tokens = tokens
        self.stemmer = stemmer
        self.items: list[Item] = []
        self.sentences: list[int] = []
        self.clauses: list[int] = []
        self.questions: set[int] = set()
        self.sentence = self.clause = 0

    def add(self, kind: Kind, word: str, token: Token) -> None:
        """Enter one item at the place of `token`."""
        stem = self.stemmer(word) if kind == "word" else word
        self.items.append(Item(kind, word, stem, token.start, token.end, token.value))
        self.sentences.append(self.sentence)
        self.clauses.append(self.clause)

    def end(self, mark: str) -> None:
        """Close the clause, and with a strong mark the sentence."""
        self.clause += 1
        if mark[0] in STRONG:
            if mark == "?":
                self.questions.add(self.sentence)
            self.sentence += 1

    def walk(self) -> None:
        """Enter every token."""
        for index, token in enumerate(self.tokens):
            if token.kind == "break":
                if not self._abbreviation(index):
                    self.end(token.text)
            elif token.kind == "sign":
                self._sign(index)
            elif token.kind == "word":
                for word in expand(token.text):
                    self.add("word", word, token)
            else:
                self.add(token.kind, token.text, token)

    def _abbreviation(self, index: int) -> bool:
        """Tell whether the full stop here ends an abbreviation before a number ("approx. 20 s")."""
        if self.tokens[index].text != "." or not 0 < index < len(self.tokens) - 1:
            return False
        return self.tokens[index - 1].text in _ABBREVIATED and self.tokens[index + 1].kind == "number"

    def _between_amounts(self, index: int) -> bool:
        """Tell whether the sign stands between a number, with a unit or without, and another ("18 g - 20 g")."""
        before = [token.kind for token in self.tokens[max(index - 2, 0) : index]]
        after = [token.kind for token in self.tokens[index + 1 : index + 2]]
        return after == ["number"] and (before[-1:] == ["number"] or before == ["number", "word"])

    def _sign(self, index: int) -> None:
        token = self.tokens[index]
        before = self.tokens[index - 1] if index else None
        after = self.tokens[index + 1] if index + 1 < len(self.tokens) else None
        tight = before is not None and before.end == token.start, after is not None and after.start == token.end
        words = (before is not None and before.kind == "word", after is not None and after.kind == "word")
        if token.text in _SAID_SIGNS:
            self.add("word", _SAID_SIGNS[token.text], token)
        elif token.text == "-" and all(words):
            if not any(tight):
                self.end(",")
        elif token.text == "-" and not any(tight) and any(words) and not self._between_amounts(index):
            self.end(",")
        elif token.text == ">" and self._between_amounts(index):
            self.add("sign", "->", token)  # "18 > 36"
        elif token.text in _KEPT_SIGNS:
            self.add("sign", token.text, token)


def read(text: str, stemmer: Stemmer) -> Reading:
    """Return the reading of a cleaned text; `stemmer` turns a word into what it is taken for."""
    builder = _Builder(tokenize(text), stemmer)
    builder.walk()
    return Reading(
        text, tuple(builder.items), tuple(builder.sentences), tuple(builder.clauses), frozenset(builder.questions)
    )
