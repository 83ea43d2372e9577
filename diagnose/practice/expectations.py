"""What a talk must show, whatever the words: the first cause, the step, the verdict, the rules that fired.

A line in the file reads ``turn 2: first cause `odd_shot`; step repeat; verdict none`` or ``talk: questions at most 3``.
Each expectation names what is looked at and what must be found there.
"""

import re
from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass
from itertools import groupby
from typing import get_args

from diagnose.conversation.reply import PartKind, Reply
from diagnose.model import StatementKind, StepKind

TALK = 0  # the turn number of what is expected of the whole talk
NONE = "none"
QUESTIONS = "questions"
_PLACE = re.compile(r"(?:turn (?P<turn>[1-9]\d*)|talk): *(?P<rest>.+)")
_COUNT = re.compile(r"(?P<most>at most )?(?P<count>\d+)")
_AMOUNT = re.compile(r"(?P<low>[\d.]+) to (?P<high>[\d.]+) (?P<unit>\S+)")


@dataclass(frozen=True, slots=True)
class Expectation:
    """One thing that must be found: after turn `turn`, or in the whole talk (0). `line` is its line in the file."""

    line: int
    turn: int
    key: str
    wanted: str

    def __str__(self) -> str:
        """Return where it is looked for and what is expected there."""
        return f"{f'turn {self.turn}' if self.turn else 'talk'}: {self.key} {self.wanted}"


@dataclass(frozen=True, slots=True)
class _Look:
    """One thing to look at: what is found there, and the form of what may be wanted (a regular expression, shown)."""

    found: Callable[[Reply], Sequence[str]]
    form: str
    shown: str


def _one_of(words: Sequence[str]) -> str:
    return "|".join(words)


def _step(reply: Reply) -> list[str]:
    return [NONE] if reply.step is None else [f"{reply.step.kind} {reply.step.id}", reply.step.kind]


def _root(reply: Reply) -> list[str]:
    return [root.id for cause in reply.causes[:1] for root in cause.roots[:1]] or [NONE]


def _verdict(reply: Reply) -> list[str]:
    if reply.verdict is None:
        return [NONE]
    return ["helped" if reply.verdict.helped >= 0.5 else "not helped"]


def _heard(reply: Reply) -> list[str]:
    pairs = [(said.kind, said.name) for said in reply.heard]
    return [*(f"{kind} {name}" for kind, name in pairs), *(kind for kind, _ in pairs)] or [NONE]


def _amount(reply: Reply) -> list[str]:
    amount = None if reply.step is None else reply.step.amount
    return [NONE] if amount is None else [f"{amount.low:g} to {amount.high:g} {amount.unit}"]


def _parts_missing(reply: Reply) -> list[str]:
    return [kind for kind in get_args(PartKind) if kind not in {part.kind for part in reply.parts}]


_NAME, _PARTS = r"\S+", _one_of(get_args(PartKind))
LOOKS: Mapping[str, _Look] = {
    "complaint": _Look(lambda reply: [reply.complaint or NONE], _NAME, "an id"),
    "first cause": _Look(lambda reply: [cause.id for cause in reply.causes[:1]] or [NONE], _NAME, "an id"),
    "root": _Look(_root, _NAME, "an id"),
    "step": _Look(_step, rf"none|(?:{_one_of(get_args(StepKind))})(?: \S+)?", "none, or a kind of step and its id"),
    "amount": _Look(_amount, f"none|{_AMOUNT.pattern}", "none, or a range such as “1 to 3 notch”"),
    "verdict": _Look(_verdict, "helped|not helped|none", "helped, not helped or none"),
    "rule": _Look(lambda reply: [fired.rule for fired in reply.trace], _NAME, "a rule's name"),
    "notice": _Look(lambda reply: [notice.id for notice in reply.notices] or [NONE], _NAME, "an id or none"),
    "heard": _Look(
        _heard, rf"none|(?:{_one_of(get_args(StatementKind))})(?: \S+)?", "none, or a kind of statement and its name"
    ),
    "begins with": _Look(lambda reply: [part.kind for part in reply.parts[:1]], _PARTS, "a kind of part"),
    "without": _Look(_parts_missing, _PARTS, "a kind of part"),
}


def read(text: str, line: int) -> tuple[list[Expectation], list[str]]:
    """Return the expectations one line of a transcript states, and what is wrong with it."""
    place = _PLACE.fullmatch(text.replace("`", "").strip())
    if place is None:
        return [], ["a line here begins with “turn”, a number and a colon, or with “talk:”"]
    found: list[Expectation] = []
    faults: list[str] = []
    for item in place["rest"].split(";"):
        read_one = _of_turn if place["turn"] else _of_talk
        key, wanted, fault = read_one(" ".join(item.split()))
        if fault:
            faults.append(fault)
        else:
            found.append(Expectation(line, int(place["turn"] or TALK), key, wanted))
    return found, faults


def _of_turn(item: str) -> tuple[str, str, str]:
    """Return key, what is wanted, and the fault ("" if there is none) of an expectation of one turn."""
    for key, look in LOOKS.items():
        if item == key or item.startswith(f"{key} "):
            wanted = item[len(key) :].strip()
            fits = re.fullmatch(look.form, wanted)
            return key, wanted, "" if fits else f"after “{key}” comes {look.shown}, not “{wanted}”"
    return item, "", f"“{item}” is nothing that can be looked at in a turn; there is {', '.join(LOOKS)}"


def _of_talk(item: str) -> tuple[str, str, str]:
    """Return key, what is wanted, and the fault ("" if there is none) of an expectation of the whole talk."""
    key, _, wanted = item.partition(" ")
    if key != QUESTIONS or not _COUNT.fullmatch(wanted):
        return key, wanted, f"of the talk one can expect “questions 2” or “questions at most 2”, not “{item}”"
    return key, wanted, ""


def missed(expectation: Expectation, chats: Sequence[Sequence[Reply]]) -> str | None:
    """Return what was found instead of what is expected, or None where the expectation is met."""
    if expectation.turn == TALK:
        return _questions_missed(expectation.wanted, chats)
    reply = [reply for chat in chats for reply in chat][expectation.turn - 1]
    found = LOOKS[expectation.key].found(reply)
    met = expectation.wanted in found
    if expectation.key == "amount" and not met:
        met = _lies_in(found[0], expectation.wanted)
    return None if met else ", ".join(dict.fromkeys(found)) or NONE


def _lies_in(found: str, wanted: str) -> bool:
    """Return whether the amount lies inside the range wanted, in the same unit."""
    inner, outer = _AMOUNT.fullmatch(found), _AMOUNT.fullmatch(wanted)
    if inner is None or outer is None or inner["unit"] != outer["unit"]:
        return False
    return float(outer["low"]) <= float(inner["low"]) <= float(inner["high"]) <= float(outer["high"])


def _questions_missed(wanted: str, chats: Sequence[Sequence[Reply]]) -> str | None:
    """Count the questions put; one that is still open after the next line counts once."""
    asked = 0
    for chat in chats:
        open_ids = (r.step.id if r.step and r.step.kind in {"question", "check"} else None for r in chat)
        asked += sum(1 for name, _ in groupby(open_ids) if name is not None)
    count = _COUNT.fullmatch(wanted)
    assert count is not None  # noqa: S101 - the form was checked when it was read
    met = asked <= int(count["count"]) if count["most"] else asked == int(count["count"])
    return None if met else str(asked)
