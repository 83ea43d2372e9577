"""The words of the trade that a line may go on to: what the rules listen for, and the answers to the open question."""

import re
from collections.abc import Iterable, Iterator, Mapping
from itertools import product

from diagnose.model import NextStep
from diagnose.rulebase.base import LANGUAGE, RuleBase

_CLAUSE_END = re.compile(r"[,.;:!?\n]\s*")
_WORD_START = re.compile(r"(?<!\S)\S")
_MOST_SPELLINGS = 12  # of one phrase; a phrase with many alternatives would crowd out the others


class Words:
    """Everything that can be completed with one rule base."""

    def __init__(self, base: RuleBase) -> None:
        """Collect the words of `base`."""
        self._causes = sorted({base.text(cause.name).lower() for cause in base.causes.values()})
        self._commands = _commands(base.words.get(LANGUAGE, {}))
        self._phrases = sorted({*_phrases(base), *_level_names(base)})

    def going_on(self, before: str, pending: NextStep | None = None) -> Iterator[tuple[str, str]]:
        """Yield pairs of what is typed of a phrase, at the end of `before`, and the whole phrase, in order.

        On an empty line that is the answers to the open question, else the commands. After "why not" only causes.
        """
        answers = [answer.text for answer in pending.answers] if pending else []
        if not before.strip():
            yield from (("", phrase) for phrase in answers or self._commands)
            return
        asked = self._asked_after(before)
        if asked is not None:
            yield from ((asked, cause) for cause in self._causes if _goes_on(asked, cause))
            return
        clause = _CLAUSE_END.split(before)[-1].lstrip()
        commands = self._commands if clause == before.lstrip() else ()
        seen: set[str] = set()
        for start in _WORD_START.finditer(clause):
            typed = clause[start.start() :]
            for phrase in sorted({*answers, *commands, *self._phrases} - seen):
                if _goes_on(typed, phrase):
                    seen.add(phrase)
                    yield typed, phrase
            commands = ()

    def _asked_after(self, before: str) -> str | None:
        """Return what follows the words that ask why it is not some cause, None where they do not stand."""
        return None


def _goes_on(typed: str, phrase: str) -> bool:
    return phrase.lower().startswith(typed.lower())


def _level_names(base: RuleBase) -> Iterator[str]:
    for finding in base.findings.values():
        yield from (base.text(level.name) for level in finding.levels.values())


def _phrases(base: RuleBase) -> Iterator[str]:
    for finding in base.findings.values():
        for level in finding.levels.values():
            for phrase in level.words.get(LANGUAGE, ()):
                yield from spelled_out(phrase)


def spelled_out(phrase: str) -> list[str]:
    """Return what a phrase of the rule files looks like when it is typed.

    Each of several alternatives ("lemon|lemony") makes one; parts that may come in any order stand as they are given;
    words that must not stand close by are left out.
    """
    wanted = phrase.split(" - ")[0].replace(" + ", " ")
    choices = [place.split("|") for place in wanted.split()]
    return [" ".join(words) for words, _ in zip(product(*choices), range(_MOST_SPELLINGS), strict=False)]


def _commands(words: Mapping[str, object]) -> tuple[str, ...]:
    return ()
