"""The words of one rule base in one language, compiled once: what can be said, and how sentences are built.

Phrases of findings and steps stand in their own files; everything general stands in `rules/words/<language>.yaml`.
"""

import re
from collections.abc import Iterable, Mapping
from dataclasses import dataclass
from functools import cached_property
from typing import Literal, NamedTuple

from diagnose.language.phrases import Compiler, PhraseBook
from diagnose.language.spelling import SHORTEST_FIXED, Speller
from diagnose.language.stems import expand, stem
from diagnose.language.units import UNITS
from diagnose.rulebase.base import LANGUAGE, RuleBase
from diagnose.rulebase.schema import Finding

DANGER = "danger"  # the area whose findings are never doubted, guessed away or lost

_WORDS = re.compile(r"[^\W\d_]+(?:'[^\W\d_]+)*")

MeaningKind = Literal["danger", "belief", "observation", "tried", "cause"]


class Meaning(NamedTuple):
    """What a phrase stands for: a level of a finding, a belief, a step that was done, or a cause by its name."""

    kind: MeaningKind
    name: str
    level: str = ""


class Mark(NamedTuple):
    """A phrase that builds sentences: `group` is its heading in the words file, `value` the line under it."""

    group: str
    value: str


class FindingWords(NamedTuple):
    """What the language needs to know of a finding."""

    levels: tuple[str, ...]
    hedged: Mapping[str, str]
    per_shot: bool
    normal: str | None
    area: str


def _mapping(value: object) -> Mapping[str, object]:
    return value if isinstance(value, Mapping) else {}


def _texts(value: object) -> tuple[str, ...]:
    """Return a list of texts as it stands in a words file; a line of text is split at its spaces."""
    if isinstance(value, str):
        return tuple(value.split())
    return tuple(str(one) for one in value) if isinstance(value, list) else ()


@dataclass(frozen=True)
class Lexicon:
    """Everything `understand` looks words up in. Immutable; build it once with `from_rules`."""

    language: str
    meanings: PhraseBook[Meaning]
    marks: PhraseBook[Mark]
    findings: Mapping[str, FindingWords]
    answers_by: Mapping[str, str]
    steps: Mapping[str, str | None]
    remedies: Mapping[str, str]
    respellings: Mapping[str, str]
    cues: Mapping[str, tuple[str, ...]]
    numbers: Mapping[str, float]
    months: Mapping[str, int]
    weekdays: Mapping[str, int]
    _sets: Mapping[str, frozenset[str]]
    _group_words: tuple[str, ...]

    @classmethod
    def from_rules(cls, base: RuleBase, language: str = LANGUAGE) -> "Lexicon":
        """Compile the phrases of `base` in `language`. A missing words file leaves only the phrases of the rules."""
        words = base.words.get(language, {})
        sets = {name: frozenset(_texts(value)) for name, value in _mapping(words.get("sets")).items()}
        groups = {name: _texts(value) for name, value in _mapping(words.get("groups")).items()}
        fillers = frozenset(stem(word) for word in sets.get("fillers", ()))
        meanings = PhraseBook[Meaning](fillers, Compiler(groups))
        marks = PhraseBook[Mark](compiler=Compiler(groups))
        for text, meaning in _meanings(base, language, words):
            meanings.add(text, meaning)
        for group, lines in _mapping(words.get("marks")).items():
            for value, texts in _mapping(lines).items():
                for text in _texts(texts):
                    marks.add(text, Mark(group, value))
        cues: dict[str, tuple[str, ...]] = {}
        for cue, listed in _mapping(words.get("cues")).items():
            for word in _texts(listed):
                cues[stem(word)] = (*cues.get(stem(word), ()), cue)
        return cls(
            language,
            meanings,
            marks,
            {name: _finding_words(finding, base.areas.get(name, "")) for name, finding in base.findings.items()},
            _answering_measures(base),
            {name: step.variable for name, step in base.steps.items()},
            _remedies(base),
            {wrong: right for right, wrongs in _mapping(words.get("respellings")).items() for wrong in _texts(wrongs)},
            cues,
            {word: float(str(value)) for word, value in _mapping(words.get("numbers")).items()},
            {month: number for number, names in enumerate(_groups(words.get("months")), 1) for month in names},
            {day: number for number, names in enumerate(_groups(words.get("weekdays"))) for day in names},
            sets,
            tuple(word for listed in groups.values() for word in listed),
        )

    @cached_property
    def _written(self) -> frozenset[str]:
        """Every word written in a phrase, a group, a cue list or a unit."""
        texts = [text for text, _ in self.meanings.phrases]
        texts += [text for text, _ in self.marks.phrases]
        texts += [*self._group_words, *UNITS, *self.numbers, *self.cues]
        pieces = {*"\n".join(texts).lower().replace("|", " ").split()}  # most words are written many times
        return frozenset(_WORDS.findall("\n".join(pieces)))

    @cached_property
    def known(self) -> frozenset[str]:
        """Every stem that has a meaning somewhere; a word with such a stem is not misspelt."""
        listed = {stem(word) for words in self._sets.values() for word in words}
        return frozenset({stem(one) for word in self._written for one in expand(word)} | listed | set(self.cues))

    @cached_property
    def spellings(self) -> Mapping[str, tuple[str, ...]]:
        """The words a mistyped word may be taken for, by first letter, in fixed order."""
        found: dict[str, list[str]] = {}
        for word in sorted(self._written):
            if len(word) >= SHORTEST_FIXED and word.isalpha():
                found.setdefault(word[0], []).append(word)
        return {letter: tuple(words) for letter, words in found.items()}

    @cached_property
    def dangers(self) -> PhraseBook[Meaning]:
        """The phrases of dangers alone, for what is too long to be read in full."""
        return self.meanings.only(lambda meaning: meaning.kind == DANGER)

    def words(self, name: str) -> frozenset[str]:
        """Return one of the word sets of the words file; empty when it is not there."""
        return self._sets.get(name, frozenset())

    def speller(self) -> Speller:
        """Return a speller for one text."""
        return Speller(self)


def _meanings(base: RuleBase, language: str, words: Mapping[str, object]) -> Iterable[tuple[str, Meaning]]:
    """Yield every phrase with what it stands for; those of dangers in every language they are written in."""
    for name, finding in base.findings.items():
        kind: MeaningKind = "danger" if base.areas.get(name) == DANGER else "observation"
        for level, about in finding.levels.items():
            spoken = about.words if kind == DANGER else (language,)
            for text in (text for one in spoken for text in about.words.get(one, ())):
                yield text, Meaning(kind, name, level)
    for name, step in base.steps.items():
        for text in step.done_words.get(language, ()):
            yield text, Meaning("tried", name)
    for target, texts in _mapping(words.get("beliefs")).items():
        name, _, level = target.partition(".")
        for text in _texts(texts):
            yield text, Meaning("belief", name, level)
    for name, cause in base.causes.items():
        if language in cause.name:
            yield cause.name[language], Meaning("cause", name)


def _remedies(base: RuleBase) -> dict[str, str]:
    """Return, per step, the cause it is the likeliest cure of: what somebody who asks for the step suspects."""
    best: dict[str, tuple[float, str]] = {}
    for name, cause in base.causes.items():
        for cure in cause.cures:
            if not cure.today and cure.chance > best.get(cure.step, (0.0, ""))[0]:
                best[cure.step] = (cure.chance, name)
    return {step: name for step, (_, name) in best.items()}


def _groups(value: object) -> list[tuple[str, ...]]:
    """Return lines such as "jan january" as groups of names for one thing."""
    return [tuple(line.split()) for line in _texts(value)]


def _finding_words(finding: Finding, area: str) -> FindingWords:
    hedged = {name: level.hedged for name, level in finding.levels.items() if level.hedged}
    return FindingWords(tuple(finding.levels), hedged, finding.per_shot, finding.normal, area)


# Which number a person would give when a finding is asked that is read from a computed one.
_BEHIND = {
    "time_ratio": "time", "time_z": "time", "dose_off": "dose", "dose_ratio": "dose", "dose_over_basket": "dose",
    "yield_ratio": "yield", "brew_ratio": "ratio", "extraction": "tds", "first_drops_ratio": "first_drops",
    "time_change_z": "time",
}  # fmt: skip


def _answering_measures(base: RuleBase) -> dict[str, str]:
    """Return, per finding, the name of the measure that answers a question for it."""
    from diagnose.rulebase.vocabulary import SAID

    found = {}
    for name, finding in base.findings.items():
        tested = [test.measure for rule in finding.read for test in rule.when if test.measure]
        candidates = [name, *(_BEHIND.get(measure, measure) for measure in tested)]
        measure = next((candidate for candidate in candidates if candidate in SAID), None)
        if measure:
            found[name] = measure
    return found
