"""The plain chat: a line in, a reply out, for pipes, dumb terminals and screen readers."""

import fcntl
import io
import json
import os
import pty
import struct
import subprocess
import sys
import termios
from collections.abc import Callable, Iterator
from pathlib import Path

import pytest

from diagnose.conversation.reply import Reply
from diagnose.errors import DiagnoseError, EngineFault, OutOfRange
from diagnose.terminal.plain import chat, show, width_of

ReplyMaker = Callable[..., Reply]


class Echo:
    """Answers every line with the line, "quit" with the end, and fails on "fail"."""

    def __init__(self, make_reply: ReplyMaker) -> None:
        """Keep the maker of replies."""
        self.make_reply = make_reply
        self.heard: list[str] = []

    def say(self, text: str) -> Reply:
        """Return the echo."""
        self.heard.append(text)
        if text == "fail":
            raise OutOfRange("95 g is outside\n  5 to 40 g.")
        if text == "break":
            raise EngineFault("The rules went in circles.")
        if text == "interrupt":
            raise KeyboardInterrupt
        return self.make_reply(("note", f"Heard: {text}."), ended=text == "quit")


class Typed(io.StringIO):
    """Input typed at a terminal."""

    def isatty(self) -> bool:
        """Say that somebody sits there."""
        return True


@pytest.fixture
def echo(make_reply: ReplyMaker) -> Echo:
    """Return a conversation that echoes."""
    return Echo(make_reply)


def test_every_line_is_answered(echo: Echo, capsys: pytest.CaptureFixture[str]) -> None:
    """Each line gets its reply and an empty line, the last also without a line end; nothing goes elsewhere."""
    out = io.StringIO()
    assert chat(echo, io.StringIO("sour\n\nbitter"), out) == 0
    assert out.getvalue() == "Heard: sour.\n\nHeard: .\n\nHeard: bitter.\n\n"
    assert capsys.readouterr() == ("", "")


def test_quit_ends_the_chat(echo: Echo) -> None:
    """What follows a reply that ends the talk is not read."""
    assert chat(echo, io.StringIO("quit\nsour\n"), io.StringIO()) == 0
    assert echo.heard == ["quit"]


def test_prompt_goes_to_the_error_stream(echo: Echo, capsys: pytest.CaptureFixture[str]) -> None:
    """At a terminal a prompt asks for each line, beside the answers and not among them."""
    out = io.StringIO()
    chat(echo, Typed("sour\n"), out)
    assert out.getvalue() == "Heard: sour.\n\n"
    assert capsys.readouterr().err == "> > "


def test_first_start_goes_to_the_error_stream(echo: Echo, capsys: pytest.CaptureFixture[str]) -> None:
    """The first lines are laid out beside the answers."""
    out = io.StringIO()
    chat(echo, io.StringIO(""), out, first_start=("What it is.", "word " * 20, "How to begin."))
    assert out.getvalue() == ""
    lines = capsys.readouterr().err.splitlines()
    assert lines[0] == "What it is."
    assert lines[-1] == "How to begin."
    assert max(map(len, lines)) <= 80


def test_an_error_is_one_line_and_the_chat_goes_on(echo: Echo, capsys: pytest.CaptureFixture[str]) -> None:
    """A line that cannot be served says so in one line; the next is answered; the first failure is the exit code."""
    out = io.StringIO()
    assert chat(echo, io.StringIO("fail\nbreak\nsour\n"), out) == DiagnoseError.exit_code
    assert out.getvalue() == "Heard: sour.\n\n"
    assert capsys.readouterr().err == "95 g is outside 5 to 40 g.\nThe rules went in circles.\n"


def test_json_is_one_object_a_line(echo: Echo) -> None:
    """With JSON every line of input gives one object, a line that failed too, so that readers stay in step."""
    out = io.StringIO()
    assert chat(echo, io.StringIO("süß\nbreak\nquit\n"), out, as_json=True) == EngineFault.exit_code
    first, second, third = [json.loads(line) for line in out.getvalue().splitlines()]
    assert first["text"] == "Heard: süß."
    assert second == {"format": 1, "error": "The rules went in circles."}
    assert third["format"] == 1


def test_undecodable_bytes_are_replaced(echo: Echo) -> None:
    """Latin-1 bytes where UTF-8 was expected do not end the chat (RFC 3629: such bytes are invalid)."""
    stream = io.TextIOWrapper(io.BytesIO(b"s\xfc\xdf\n\xff\nsour\n"), encoding="utf-8")
    assert chat(echo, stream, io.StringIO()) == 0
    assert echo.heard == ["s\ufffd\ufffd", "\ufffd", "sour"]


def test_unwritable_characters_are_replaced(make_reply: ReplyMaker) -> None:
    """An output of few characters gets question marks for the others."""
    target = io.BytesIO()
    out = io.TextIOWrapper(target, encoding="ascii")
    show(make_reply(("note", "“sour” 咖")), out)
    assert target.getvalue() == b"?sour? ?\n\n"


@pytest.mark.parametrize(("stream", "told"), [(io.StringIO, ""), (Typed, "> \n")])
def test_interrupt_leaves_no_half_line(
    echo: Echo, capsys: pytest.CaptureFixture[str], stream: type[io.StringIO], told: str
) -> None:
    """Ctrl-C goes through to the command line, which knows the exit code; at a terminal the prompt's line is ended."""
    with pytest.raises(KeyboardInterrupt):
        chat(echo, stream("interrupt\n"), io.StringIO())
    assert capsys.readouterr().err == told


@pytest.fixture
def terminal() -> Iterator[io.TextIOWrapper]:
    """Return the near end of a pseudo-terminal."""
    far, near = pty.openpty()
    with os.fdopen(near, "w") as stream:
        yield stream
    os.close(far)


@pytest.mark.parametrize(("columns", "width"), [(40, 40), (80, 80), (20, 30), (160, 100), (0, 80)])
def test_width_is_the_terminals(terminal: io.TextIOWrapper, columns: int, width: int) -> None:
    """Lines are as wide as the terminal within bounds; 0 columns means that it does not know (POSIX tcgetwinsize)."""
    fcntl.ioctl(terminal.fileno(), termios.TIOCSWINSZ, struct.pack("HHHH", 24, columns, 0, 0))
    assert width_of(terminal) == width


def test_width_without_a_terminal_is_80(tmp_path: Path) -> None:
    """Files and streams without a descriptor are laid out at 80 columns."""
    with (tmp_path / "out").open("w") as out:
        assert width_of(out) == 80
    assert width_of(io.StringIO()) == 80


def test_a_piped_chat_loads_no_prompt() -> None:
    """Fed by a pipe, the command answers on its output, and prompt_toolkit stays unloaded."""
    program = (
        "import sys; from diagnose.cli import main; code = main(['--no-log']); "
        "print(sorted({'prompt_toolkit', 'wcwidth'} & set(sys.modules)), file=sys.stderr); sys.exit(code)"
    )
    done = subprocess.run(
        [sys.executable, "-c", program], input="sour and fast\nquit\n", capture_output=True, text=True, check=False
    )
    assert done.returncode == 0, done.stderr
    assert done.stderr == "[]\n"
    assert done.stdout.startswith("Heard: ")
    assert done.stdout.endswith("Goodbye.\n\n")
