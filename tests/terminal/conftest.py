"""A small rule base with the wording of the project, and replies made of parts, for chats without reasoning."""

from collections.abc import Callable, Iterable
from dataclasses import fields, replace
from pathlib import Path
from typing import Any

import pytest

from diagnose.conversation.reply import Part, PartKind, Reply
from diagnose.model import Setting, Statement
from diagnose.rulebase.base import RuleBase
from diagnose.rulebase.loader import read_rules
from diagnose.rulebase.location import rules_folder

GOOD = Path(__file__).parent.parent / "rulebase" / "good"
ReplyMaker = Callable[..., Reply]


@pytest.fixture(scope="session")
def rules() -> RuleBase:
    """Return a small rule base that speaks with the project's own words."""
    base, _ = read_rules(GOOD)
    own, problems = read_rules(rules_folder())
    assert problems == []
    return replace(base, wording=own.wording, words=own.words)


@pytest.fixture(scope="session")
def make_reply() -> ReplyMaker:
    """Return a function that makes a reply of (kind, text) pairs; `command` is the command it answers."""

    def make(*parts: tuple[PartKind, str], setting: Setting = "home", command: str = "", ended: bool = False) -> Reply:
        return _reply([Part(kind, text) for kind, text in parts], setting, command, ended=ended)

    return make


def _reply(parts: Iterable[Part], setting: Setting, command: str, *, ended: bool) -> Reply:
    """Return a reply in which nothing but its text, its setting and a command is told."""
    told: dict[str, Any] = {field.name: () for field in fields(Reply)}
    told |= {"complaint": None, "step": None, "verdict": None}
    told |= {"heard": (Statement("command", command, command),) if command else (), "parts": tuple(parts)}
    return Reply(**(told | {"setting": setting, "ended": ended}))
