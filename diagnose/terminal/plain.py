"""The chat in plain lines: for pipes, dumb terminals and screen readers. prompt_toolkit is never imported here."""

import json
import sys
from collections.abc import Iterator
from typing import TextIO

from diagnose.conversation import Conversation, Reply
from diagnose.terminal.layout import laid_out

PROMPT = "> "


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


def chat(conversation: Conversation, stream: TextIO, out: TextIO, *, as_json: bool = False) -> int:
    """Answer every line of `stream` on `out`; return the exit code. With `as_json`, one object a line."""
    for line in lines_from(stream, prompt=stream.isatty()):
        reply = conversation.say(line)
        show(reply, out, as_json=as_json)
        if reply.ended:
            break
    return 0


def show(reply: Reply, out: TextIO, *, as_json: bool = False) -> None:
    """Print one reply: a JSON object on one line, or its text and an empty line after it."""
    if as_json:
        out.write(json.dumps(reply.to_dict(), ensure_ascii=False) + "\n")
    else:
        out.write(laid_out(reply) + "\n\n")
    out.flush()
