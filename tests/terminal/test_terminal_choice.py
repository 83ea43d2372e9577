"""Which chat the command opens, where history goes, and when the first lines are said."""

import io
import sys
from collections.abc import Callable, Mapping
from pathlib import Path
from typing import Any

import pytest

from diagnose import cli
from diagnose.conversation.reply import Reply
from diagnose.model import NextStep
from diagnose.rulebase.base import RuleBase
from diagnose.terminal import interactive, plain

Opened = list[tuple[str, Mapping[str, Any]]]


class Stream(io.StringIO):
    """A stream that may be a terminal."""

    def __init__(self, terminal: bool) -> None:
        """Say whether it is one."""
        super().__init__()
        self.terminal = terminal

    def isatty(self) -> bool:
        """Return whether it is one."""
        return self.terminal


class Quiet:
    """A talk that nobody speaks in."""

    def __init__(self, rules: RuleBase, log_fault: str | None) -> None:
        """Keep the rules, and why the log failed."""
        self.rules = rules
        self.log_fault = log_fault
        self.pending: NextStep | None = None
        self.shots_told = 0

    def close(self) -> None:
        """Let go of nothing."""

    def say(self, text: str) -> Reply:
        """Never be called."""
        raise AssertionError(text)


@pytest.fixture
def opened(monkeypatch: pytest.MonkeyPatch, rules: RuleBase, tmp_path: Path) -> Opened:
    """Return the list that chats note their opening in, instead of talking."""
    noted: Opened = []

    def note(name: str) -> Callable[..., int]:
        def chat(*_: object, **options: object) -> int:
            noted.append((name, options))
            return 0

        return chat

    monkeypatch.setattr(interactive, "chat", note("interactive"))
    monkeypatch.setattr(plain, "chat", note("plain"))
    monkeypatch.setattr(cli, "_conversation", lambda *_: Quiet(rules, None))
    monkeypatch.setenv("DIAGNOSE_LOG", str(tmp_path / "log.sqlite3"))
    monkeypatch.setenv("TERM", "xterm")
    return noted


def at(monkeypatch: pytest.MonkeyPatch, *, stdin: bool = True, stdout: bool = True) -> None:
    """Sit at a terminal, or not."""
    monkeypatch.setattr(sys, "stdin", Stream(stdin))
    monkeypatch.setattr(sys, "stdout", Stream(stdout))


def test_a_terminal_gets_the_interactive_chat(opened: Opened, monkeypatch: pytest.MonkeyPatch, tmp_path: Path) -> None:
    """Where both ends are a terminal, lines can be edited; the history lies beside the log."""
    at(monkeypatch)
    assert cli.main([]) == 0
    name, options = opened[0]
    assert name == "interactive"
    assert options["history"] == tmp_path / "log.sqlite3.history"
    assert options["toolbar"] is True


@pytest.mark.parametrize(
    ("arguments", "terminals", "term"),
    [
        (["--plain"], (True, True), "xterm"),
        (["--json"], (True, True), "xterm"),
        ([], (False, True), "xterm"),
        ([], (True, False), "xterm"),
        ([], (True, True), "dumb"),
        ([], (True, True), "unknown"),
    ],
)
def test_everything_else_gets_plain_lines(
    opened: Opened, monkeypatch: pytest.MonkeyPatch, arguments: list[str], terminals: tuple[bool, bool], term: str
) -> None:
    """Pipes, files, JSON, --plain and terminals that cannot move the cursor get plain lines."""
    at(monkeypatch, stdin=terminals[0], stdout=terminals[1])
    monkeypatch.setenv("TERM", term)
    assert cli.main(arguments) == 0
    assert [name for name, _ in opened] == ["plain"]


def test_no_toolbar(opened: Opened, monkeypatch: pytest.MonkeyPatch) -> None:
    """--no-toolbar turns the line below the prompt off."""
    at(monkeypatch)
    cli.main(["--no-toolbar"])
    assert opened[0][1]["toolbar"] is False


def test_without_a_log_there_is_no_history(opened: Opened, monkeypatch: pytest.MonkeyPatch) -> None:
    """--no-log keeps nothing of what was typed, and says so each time."""
    at(monkeypatch)
    cli.main(["--no-log"])
    assert opened[0][1]["history"] is None
    assert "remembers nothing" in opened[0][1]["first_start"][1]


def test_history_lies_beside_a_named_log(opened: Opened, monkeypatch: pytest.MonkeyPatch, tmp_path: Path) -> None:
    """The history goes where the log was asked to go, never over it."""
    at(monkeypatch)
    cli.main(["--log", str(tmp_path / "mine.history")])
    assert opened[0][1]["history"] == tmp_path / "mine.history.history"


def test_first_lines_are_said_once(opened: Opened, monkeypatch: pytest.MonkeyPatch, tmp_path: Path) -> None:
    """As long as there is no log yet its place is told, later no more."""
    log = tmp_path / "log.sqlite3"
    at(monkeypatch, stdin=False)
    cli.main([])
    log.touch()
    cli.main([])
    assert [len(options["first_start"]) for _, options in opened] == [3, 0]
    assert str(log) in opened[0][1]["first_start"][1]


def test_a_pipe_without_a_log_is_told_nothing(opened: Opened, monkeypatch: pytest.MonkeyPatch) -> None:
    """Nobody reads the first lines of a piped chat that keeps nothing."""
    at(monkeypatch, stdin=False)
    cli.main(["--no-log"])
    assert opened[0][1]["first_start"] == ()


def test_a_log_that_failed_is_not_promised(
    opened: Opened, monkeypatch: pytest.MonkeyPatch, rules: RuleBase, capsys: pytest.CaptureFixture[str]
) -> None:
    """When the log cannot be used, the first lines do not say that shots are remembered in it; exit code 4."""
    at(monkeypatch)
    monkeypatch.setattr(cli, "_conversation", lambda *_: Quiet(rules, "The log is locked."))
    assert cli.main([]) == 4
    assert "remembers nothing" in opened[0][1]["first_start"][1]
    assert "The log is locked." in capsys.readouterr().err


def test_without_a_home_there_is_no_history(
    opened: Opened, monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str]
) -> None:
    """Where no place for the log is known, the chat says so and goes on without log and history."""
    at(monkeypatch)
    for name in ("DIAGNOSE_LOG", "XDG_DATA_HOME", "LOCALAPPDATA", "HOME", "USERPROFILE"):
        monkeypatch.delenv(name, raising=False)
    cli.main([])
    assert opened[0][1]["history"] is None
    assert "--no-log" in capsys.readouterr().err
