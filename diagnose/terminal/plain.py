"""The chat in plain lines: for pipes, dumb terminals and screen readers. prompt_toolkit is never imported here."""

import io
import json
import os
import sys
from collections.abc import Iterator, Sequence
from typing import TextIO

from diagnose.conversation.reply import FORMAT, Reply
from diagnose.errors import DiagnoseError
from diagnose.terminal.layout import WIDTH, fitting, laid_out, wrapped
from diagnose.terminal.talk import Speaker
from diagnose.terminal.texts import in_one_line

PROMPT = "> "


def chat(
    conversation: Speaker,
    stream: TextIO,
    out: TextIO,
    *,
    as_json: bool = False,
    first_start: Sequence[str] = (),
) -> int:
    """Answer every line of `stream` on `out`; return the exit code, that of the first line that failed if one did.

    With `as_json`, one object a line, also for a line that failed. Everything else goes to the error stream:
    the lines of `first_start`, errors, and the prompt where somebody sits at a terminal.
    """
    _forgive(stream)
    code, at_terminal = 0, stream.isatty()
    sys.stderr.write("".join(f"{line}\n" for said in first_start for line in wrapped(said, width_of(sys.stderr))))
    try:
        for line in lines_from(stream, prompt=at_terminal):
            try:
                reply = conversation.say(line)
            except DiagnoseError as error:
                code = code or error.exit_code
                _show_error(error, out, as_json=as_json)
                continue
            show(reply, out, as_json=as_json)
            if reply.ended:
                break
    except KeyboardInterrupt:
        sys.stderr.write("\n" if at_terminal else "")
        raise
    return code


def lines_from(stream: TextIO, *, prompt: bool) -> Iterator[str]:
    """Yield lines of input until it ends; the prompt goes to the error stream, answers alone to the output."""
    while True:
        if prompt:
            sys.stderr.write(PROMPT)
            sys.stderr.flush()
        line = stream.readline()
        if not line:
            return
        yield line.rstrip("\n")


def show(reply: Reply, out: TextIO, *, as_json: bool = False) -> None:
    """Print one reply: a JSON object on one line, or its text and an empty line after it."""
    _forgive(out)
    if as_json:
        out.write(json.dumps(reply.to_dict(), ensure_ascii=False) + "\n")
    else:
        out.write(laid_out(reply, width_of(out)) + "\n\n")
    out.flush()


def width_of(out: TextIO) -> int:
    """Return the width to lay out at: the terminal's, at least 30 and at most 100; 80 where there is no terminal."""
    try:
        return fitting(os.get_terminal_size(out.fileno()).columns or WIDTH)
    except OSError:
        return WIDTH


def _show_error(error: DiagnoseError, out: TextIO, *, as_json: bool) -> None:
    """Say in one line why a turn failed."""
    sys.stderr.write(f"{in_one_line(error)}\n")
    if as_json:
        out.write(json.dumps({"format": FORMAT, "error": in_one_line(error)}, ensure_ascii=False) + "\n")
        out.flush()


def _forgive(stream: TextIO) -> None:
    """Let characters the stream cannot carry be replaced, whichever way they go: one of them must not end the talk."""
    if isinstance(stream, io.TextIOWrapper) and stream.errors != "replace":
        stream.reconfigure(errors="replace")
