"""The words of the trade that a line may go on to: what the rules listen for, and the answers to the open question."""

import re
from collections.abc import Iterator, Mapping, Sequence
from itertools import islice, product, takewhile

from diagnose.model import NextStep
from diagnose.rulebase.base import LANGUAGE, RuleBase

_WORD_START = re.compile(r"(?<!\S)\S")
_LONGEST = 10  # words of a phrase that are looked back for
# A group, parts in any order, words that must not stand close by, or a choice within several words: no plain speech.
_FORMULA = re.compile(r"[<+]| - | .*[|]|[|].* ")
_OFFERED = 5  # phrases of one level or step
_MOST_SPELLINGS = 12  # of one phrase; a phrase with many alternatives would crowd out the others


DANGER = "danger"


class Words:
    """Everything that can be completed with one rule base."""

    def __init__(self, base: RuleBase) -> None:
        """Collect the words of `base`."""
        commands = _commands(base.words.get(LANGUAGE, {}))
        self._causes = sorted({base.text(cause.name).lower() for cause in base.causes.values()})
        self._why_not = commands.get("why_not", ())
        self._first_commands = [phrases[0] for phrases in commands.values() if phrases]
        self._commands = sorted({phrase for phrases in commands.values() for phrase in phrases})
        self._phrases = sorted({*_phrases(base)})

    def going_on(self, before: str, pending: NextStep | None = None) -> list[tuple[str, str]]:
        """Return pairs of what is typed of a phrase at the end of `before`, and the whole phrase, in order.

        On an empty line that is the answers to the open question, else the commands. After "why not" only causes.
        """
        answers = [answer.text for answer in pending.answers] if pending else []
        line = before.lstrip()
        if not line:
            return [("", phrase) for phrase in answers or self._first_commands]
        for asking in self._why_not:
            if line.lower().startswith(f"{asking} "):
                named = line[len(asking) :].lstrip()
                return [(named, cause) for cause in self._causes if _goes_on(named, cause)]
        found = {phrase: line for phrase in (*answers, *self._commands) if _goes_on(line, phrase)}
        for start in list(_WORD_START.finditer(line))[-_LONGEST:]:
            typed = line[start.start() :]
            for phrase in (*answers, *self._phrases):
                if _goes_on(typed, phrase):
                    found.setdefault(phrase, typed)
        return [(typed, phrase) for phrase, typed in sorted(found.items())]


def in_common(texts: Sequence[str]) -> str:
    """Return what all texts begin with."""
    alike = takewhile(lambda characters: len(set(characters)) == 1, zip(*texts, strict=False))
    return "".join(characters[0] for characters in alike)


def _goes_on(typed: str, phrase: str) -> bool:
    return len(typed) < len(phrase) and phrase[: len(typed)].lower() == typed.lower()


def _phrases(base: RuleBase) -> Iterator[str]:
    """Yield what findings are called and told by in plain words, and how steps are told that were tried.

    Dangers are listened for, and not offered.
    """
    for name, finding in base.findings.items():
        for level in finding.levels.values() if base.areas.get(name) != DANGER else ():
            yield base.text(level.name)
            yield from _plain(level.words.get(LANGUAGE, ()))
    for step in base.steps.values():
        yield from _plain(step.done_words.get(LANGUAGE, ()))


def _plain(phrases: Sequence[str]) -> Iterator[str]:
    """Yield the first phrases that read as they are typed; authors write the commonest first."""
    plain = (phrase for phrase in phrases if not _FORMULA.search(phrase))
    for phrase in islice(plain, _OFFERED):
        yield from spelled_out(phrase)


def spelled_out(phrase: str) -> list[str]:
    """Return what a phrase of the rule files looks like when it is typed.

    Each of several alternatives ("lemon|lemony") makes one; parts that may come in any order stand as they are given;
    words that must not stand close by are left out.
    """
    wanted = phrase.split(" - ", maxsplit=1)[0].replace(" + ", " ")
    choices = [place.split("|") for place in wanted.split()]
    return [" ".join(words) for words in islice(product(*choices), _MOST_SPELLINGS)]


def _commands(words: Mapping[str, object]) -> dict[str, tuple[str, ...]]:
    """Return the phrases of each command, as the words file lists them under its marks."""
    marks = words.get("marks")
    commands = marks.get("command") if isinstance(marks, Mapping) else None
    if not isinstance(commands, Mapping):
        return {}
    return {
        str(name): tuple(one for phrase in phrases for one in spelled_out(str(phrase)))
        for name, phrases in commands.items()
    }
