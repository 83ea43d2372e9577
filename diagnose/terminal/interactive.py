"""The chat at a terminal: line editing, history, completion and a quiet toolbar.

The only module that imports prompt_toolkit, and itself imported only where somebody sits at a terminal. Output is only
ever appended, without mouse or full screen, so that scrollback and screen readers keep working. Ctrl-D ends the chat
with 0, Ctrl-C at once with 130.
"""

import os
import sys
from collections.abc import Iterable, Sequence
from pathlib import Path

from prompt_toolkit import PromptSession, print_formatted_text
from prompt_toolkit.application import Application
from prompt_toolkit.formatted_text import FormattedText
from prompt_toolkit.history import FileHistory, History, InMemoryHistory
from prompt_toolkit.key_binding import KeyBindings, KeyPressEvent
from prompt_toolkit.output import Output
from prompt_toolkit.styles import Style

from diagnose.errors import DiagnoseError
from diagnose.terminal import INTERRUPTED, texts
from diagnose.terminal.layout import Line, arranged, fitting, wrapped
from diagnose.terminal.talk import Talk
from diagnose.terminal.words import Words, in_common

PROMPT = "> "
MOST_WORDS = 40  # listed at once when a line can go on in several ways
# Bold is all the style there is: nothing depends on seeing a colour, and any theme of a terminal will do.
STRONG = "bold"
PLAIN = ("bottom-toolbar", "bottom-toolbar.text", "aborting", "exiting")
QUIET = Style([(name, "noreverse fg:default") for name in PLAIN])


def chat(conversation: Talk, *, history: Path | None, toolbar: bool, first_start: tuple[str, ...] = ()) -> int:
    """Talk until the person leaves; return the exit code.

    `history` is the file that keeps what was typed (None: only as long as the chat runs); `first_start` are lines to
    begin with. A turn that raises DiagnoseError is answered with one line, and the chat goes on.
    """
    session = _session(conversation, _history(conversation, history), toolbar=toolbar)
    screen = _Screen(session.app.output)
    session.key_bindings = _keys(conversation, screen)
    screen.say(first_start)
    while True:
        try:
            typed = session.prompt()
            if not typed.strip():
                continue
            reply = conversation.say(_sound(typed))
        except EOFError:
            return 0
        except KeyboardInterrupt:
            return INTERRUPTED
        except DiagnoseError as error:
            screen.say([texts.in_one_line(error)])
            continue
        screen.show(arranged(reply, screen.width))
        if reply.ended:
            return 0


def _sound(typed: str) -> str:
    """Return the text with bytes the terminal could not decode replaced."""
    return typed.encode("utf-8", "replace").decode("utf-8")


class _Screen:
    """Appends lines to the terminal, at the width it has now."""

    def __init__(self, output: Output) -> None:
        self._output = output
        self._strong = "" if os.environ.get("NO_COLOR") else STRONG

    @property
    def width(self) -> int:
        """Return the width to lay out at, in columns."""
        return fitting(self._output.get_size().columns)

    def say(self, said: Sequence[str]) -> None:
        """Print texts, and an empty line after them."""
        if said:
            self.show([Line(line) for text in said for line in wrapped(text, self.width)])

    def show(self, lines: Iterable[Line]) -> None:
        """Print lines, and an empty line after them."""
        fragments = [(self._strong if line.strong else "", f"{line.text}\n") for line in lines]
        print_formatted_text(FormattedText(fragments), output=self._output, include_default_pygments_style=False)

    def say_above(self, prompt: Application[str], text: str) -> None:
        """Print a text above a prompt that is open; the prompt is then drawn anew below it."""
        prompt.renderer.erase()
        prompt.print_text("\n".join([*wrapped(text, self.width), "\n"]))
        prompt.renderer.request_absolute_cursor_position()


def _keys(conversation: Talk, screen: _Screen) -> KeyBindings:
    """Return the one key of our own: Tab goes on with the words of the trade, or lists them above the prompt."""
    words, keys = Words(conversation.rules), KeyBindings()

    @keys.add("tab")
    def go_on(event: KeyPressEvent) -> None:
        buffer = event.current_buffer
        found = words.going_on(buffer.document.text_before_cursor, conversation.pending)
        rest = in_common([phrase[len(typed) :] for typed, phrase in found])
        if rest:
            buffer.insert_text(rest)
        elif found:
            wording = conversation.rules.wording
            screen.say_above(event.app, texts.listed(wording, [phrase for _, phrase in found], MOST_WORDS))

    return keys


class _FileHistory(FileHistory):
    """A history file that may stop being writable at any time: what was typed is then kept in memory alone."""

    def store_string(self, string: str) -> None:
        """Append to the file where that is possible."""
        try:
            super().store_string(string)
        except OSError:
            return


def _history(conversation: Talk, path: Path | None) -> History:
    """Return the history kept at `path`, private to its owner; one in memory, with a warning, where that fails."""
    if path is None:
        return InMemoryHistory()
    try:
        path.parent.mkdir(mode=0o700, parents=True, exist_ok=True)
        os.close(os.open(path, os.O_RDWR | os.O_APPEND | os.O_CREAT, 0o600))
        path.chmod(0o600)
    except OSError as error:
        reason = f"{path}: {error.strerror}"
        sys.stderr.write(texts.text(conversation.rules.wording, "history_lost", reason=reason) + "\n")
        return InMemoryHistory()
    return _FileHistory(path)


def _session(conversation: Talk, history: History, *, toolbar: bool) -> PromptSession[str]:
    """Return the prompt. Nothing opens below it, so no room is kept there."""
    return PromptSession(
        PROMPT,
        history=history,
        reserve_space_for_menu=0,
        search_ignore_case=True,
        enable_suspend=True,
        style=QUIET,
        bottom_toolbar=(lambda: texts.toolbar(conversation)) if toolbar else None,
        include_default_pygments_style=False,
    )
