"""A talk written down in Markdown: where it takes place, what it must show, and what was said and answered.

::

    # A title

    A sentence or two of scenario.

    - Setting: service
    - Width: 80
    - Date: 2026-05-04 08:30
    - Log: none

    ## What it must show

    - turn 1: first cause `grind_too_coarse`; step adjust `grind_finer`
    - talk: questions at most 2

    ## The talk

    > what the person types

    ```text
    what is answered
    ```

`Log` may be left out; `kept` gives the talk a log for as long as it is replayed. In the talk any other paragraph tells
what happens in between. A heading such as ``### The next morning (2026-05-05 07:40)`` begins a new chat with the same
log; the date in brackets sets the clock. An answer that is not written yet may be missing.
"""

from dataclasses import dataclass
from datetime import datetime
from pathlib import Path

from diagnose.errors import DiagnoseError
from diagnose.model import Problem, Setting
from diagnose.practice.expectations import Expectation


@dataclass(frozen=True, slots=True)
class Turn:
    """What the person typed, and the answer as it is written (None: not yet).

    `line` counts from 1. Lines `start` to `end` of the file, counted from 0 and without `end`, hold the answer between
    its fences; where there is none, both are the place for it.
    """

    number: int
    line: int
    said: str
    answer: tuple[str, ...] | None
    start: int
    end: int


@dataclass(frozen=True, slots=True)
class Chat:
    """Turns of one conversation, and the time its clock shows."""

    when: datetime
    turns: tuple[Turn, ...]


@dataclass(frozen=True, slots=True)
class Transcript:
    """One file, read: `lines` as they stand, and what they mean. `log` says whether the talk keeps one."""

    file: str
    title: str
    setting: Setting
    width: int
    log: bool
    expectations: tuple[Expectation, ...]
    chats: tuple[Chat, ...]
    lines: tuple[str, ...]

    @property
    def turns(self) -> tuple[Turn, ...]:
        """Return the turns of all chats."""
        return tuple(turn for chat in self.chats for turn in chat.turns)


class Malformed(DiagnoseError):
    """A transcript that cannot be replayed as it is written. `problems` lists what is wrong, in file order."""

    def __init__(self, problems: list[Problem]) -> None:
        """Keep the problems, sorted by place."""
        self.problems = sorted(problems)
        super().__init__("\n".join(str(problem) for problem in self.problems))


def text_of(path: Path) -> str:
    """Return the text of a transcript's file. Raises DiagnoseError where it cannot be read."""
    try:
        return path.read_text(encoding="utf-8")
    except UnicodeDecodeError:
        raise DiagnoseError(f"{path}:1: this is not UTF-8 text. Save it again as UTF-8.") from None
    except OSError as error:
        raise DiagnoseError(f"{path}: it cannot be read ({error.strerror}). Name a transcript's file.") from None
