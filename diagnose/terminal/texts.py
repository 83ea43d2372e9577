"""What the terminal says by itself: the first lines, the toolbar, a line about a fault. Texts come from the wording."""

from collections.abc import Mapping, Sequence
from pathlib import Path

from diagnose.model import NextStep
from diagnose.rulebase.base import RuleBase
from diagnose.terminal.talk import Talk

SEPARATOR = " | "


def text(wording: Mapping[str, object], key: str, **fields: str) -> str:
    """Return one text of the wording's `terminal` table with its fields filled in."""
    table = wording["terminal"]
    assert isinstance(table, Mapping)  # noqa: S101 - the rule check holds the wording file to its form
    return str(table[key]).format(**fields)


def first_start(wording: Mapping[str, object], log: Path | None) -> tuple[str, str, str]:
    """Return what is said at the first start: what this is, where it keeps its log (None: nowhere), how to begin."""
    keeping = text(wording, "no_log") if log is None else text(wording, "log_at", path=str(log))
    return text(wording, "what"), keeping, str(wording["begin"])


def toolbar(talk: Talk) -> str:
    """Return the line below the prompt: the setting, the number of shots told, and what is open."""
    wording = talk.rules.wording
    key = {0: "no_shot", 1: "one_shot"}.get(talk.shots_told, "shots")
    shots = text(wording, key, count=str(talk.shots_told))
    return SEPARATOR.join((talk.setting, shots, _open(talk.rules, talk.pending)))


def _open(base: RuleBase, pending: NextStep | None) -> str:
    if pending is None:
        return text(base.wording, "open_nothing")
    if pending.kind in {"question", "check"}:
        return text(base.wording, f"open_{pending.kind}", last=str(len(pending.answers)))
    return text(base.wording, "open_step", name=base.text(base.steps[pending.id].name).lower())


def listed(wording: Mapping[str, object], words: Sequence[str], most: int) -> str:
    """Return words with commas between them, at most `most` of them and how many more there are."""
    if len(words) <= most:
        return ", ".join(words)
    return text(wording, "more_words", words=", ".join(words[:most]), count=str(len(words) - most))


def in_one_line(error: Exception) -> str:
    """Return an error's message without its line breaks."""
    return " ".join(str(error).split())
