"""Lets the person's lines of a transcript be answered anew, and compares."""

from collections.abc import Sequence
from contextlib import ExitStack
from dataclasses import dataclass
from difflib import unified_diff
from pathlib import Path
from tempfile import TemporaryDirectory

from diagnose.conversation import Conversation, Reply
from diagnose.errors import DiagnoseError, LogError
from diagnose.practice import expectations
from diagnose.practice.expectations import Expectation
from diagnose.practice.reading import FENCE
from diagnose.practice.transcript import Chat, Transcript, Turn
from diagnose.rulebase.base import RuleBase
from diagnose.terminal.layout import laid_out


@dataclass(frozen=True, slots=True)
class Missed:
    """An expectation that is not met, and what was found instead."""

    expectation: Expectation
    found: str


@dataclass(frozen=True, slots=True)
class Change:
    """A turn answered otherwise than it is written; `before` and `after` are the lines of the answers."""

    turn: Turn
    before: tuple[str, ...]
    after: tuple[str, ...]


@dataclass(frozen=True, slots=True)
class Replay:
    """What came of a replay. Nothing changed and nothing missed: the transcript is true."""

    transcript: Transcript
    changes: tuple[Change, ...]
    missed: tuple[Missed, ...]

    @property
    def text(self) -> str:
        """Return the file's text with the new answers in it; all else is as it was."""
        lines = list(self.transcript.lines)
        for change in reversed(self.changes):
            turn, block = change.turn, _fenced(change.after)
            if turn.answer is None:
                block = ["", *block, *([""] if "".join(lines[turn.end : turn.end + 1]).strip() else [])]
            lines[turn.start : turn.end] = block
        return "\n".join(lines) + "\n"

    @property
    def diff(self) -> str:
        """Return the unified diff from what is written to what is answered now, "" where nothing changed."""
        if not self.changes:
            return ""
        file, before = self.transcript.file, list(self.transcript.lines)
        lines = unified_diff(before, self.text.split("\n")[:-1], file, f"{file} (replayed)", lineterm="")
        return "\n".join(lines) + "\n"


def replay(transcript: Transcript, rules: RuleBase) -> Replay:
    """Answer the lines of every chat in a new conversation, at the transcript's own width and time.

    Raises DiagnoseError where a conversation ends before its last line, LogError where a log cannot be kept for it.
    """
    with ExitStack() as stack:
        log = None
        if transcript.log:
            log = Path(stack.enter_context(TemporaryDirectory(prefix="diagnose-"))) / "log.sqlite3"
        chats = [_answered(transcript, chat, rules, log) for chat in transcript.chats]
    replies = (reply for chat in chats for reply in chat)
    answers = (tuple(laid_out(reply, transcript.width).split("\n")) for reply in replies)
    changes = tuple(
        Change(turn, turn.answer or (), answer)
        for turn, answer in zip(transcript.turns, answers, strict=True)
        if turn.answer != answer
    )
    looked = ((wanted, expectations.missed(wanted, chats)) for wanted in transcript.expectations)
    missed = tuple(Missed(wanted, found) for wanted, found in looked if found is not None)
    return Replay(transcript, changes, missed)


def _answered(transcript: Transcript, chat: Chat, rules: RuleBase, log: Path | None) -> list[Reply]:
    """Return the replies of one chat."""
    talk = Conversation(rules=rules, log=log, setting=transcript.setting, clock=lambda: chat.when)
    replies: list[Reply] = []
    for turn in chat.turns:
        if replies and replies[-1].ended:
            raise DiagnoseError(f"{transcript.file}:{turn.line}: the talk has ended before this. Take the line out.")
        replies.append(talk.say(turn.said))
    talk.close()
    if talk.log_fault is not None:
        raise LogError(talk.log_fault)
    return replies


def _fenced(answer: Sequence[str]) -> list[str]:
    """Return an answer between fences longer than any in it."""
    fence = FENCE
    while any(fence in line for line in answer):
        fence += "`"
    return [f"{fence}text", *answer, fence]
