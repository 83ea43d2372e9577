"""The chat in a real terminal, as a person would use it: tmux draws the screen, the test reads it back."""

import os
import shutil
import stat
import subprocess
import sys
import tempfile
import time
from collections.abc import Callable, Iterator
from pathlib import Path

import pytest

PATIENCE_S = 30.0  # only a hang lasts that long


class Window:
    """One terminal window with a shell in it."""

    def __init__(self, sockets: str, name: str, home: Path, columns: int) -> None:
        """Open a window of so many columns."""
        self._name = name
        inherited = {name: os.environ[name] for name in ("PATH", "DIAGNOSE_RULES") if name in os.environ}
        self._environment = inherited | {
            "HOME": str(home),
            "LANG": "C.UTF-8",
            "PS1": "$ ",
            "SHELL": "/bin/sh",
            "TERM": "xterm",
            "TMUX_TMPDIR": sockets,
        }
        self.tmux("-f", "/dev/null", "new-session", "-d", "-x", str(columns), "-y", "60", "/bin/sh")
        self.wait_for("$")

    def tmux(self, *arguments: str) -> str:
        """Run one tmux command of our own server and return what it prints."""
        command = ["tmux", "-u", "-L", self._name, *arguments]
        done = subprocess.run(command, env=self._environment, capture_output=True, text=True, check=True)
        return done.stdout

    def keys(self, *keys: str) -> None:
        """Press keys by name; text is typed as it stands."""
        self.tmux("send-keys", *keys)

    def screen(self, *how: str) -> str:
        """Return what the window has shown; `-J` joins lines the terminal had to break, `-e` shows attributes."""
        return self.tmux("capture-pane", "-p", "-S", "-", *how)

    def wait_for(self, text: str) -> str:
        """Return the screen as soon as `text` stands in it."""
        return self.wait_until(lambda screen: text in screen, f"no {text!r}")

    def wait_until(self, ready: Callable[[str], bool], what: str) -> str:
        """Return the screen as soon as it is ready."""
        until = time.monotonic() + PATIENCE_S
        while time.monotonic() < until:
            screen = self.screen()
            if ready(screen):
                return screen
            time.sleep(0.05)
        raise AssertionError(f"{what} in\n{self.screen()}")

    def start(self, arguments: str = "", environment: str = "") -> str:
        """Start the chat and return the screen once it asks for something."""
        self.keys(f"{environment} {sys.executable} -m diagnose {arguments}; echo left with $?", "Enter")
        screen = self.wait_until(lambda screen: "\n>" in screen or "\nleft with" in screen, "no prompt")
        assert "\nleft with" not in screen, screen
        return screen

    def say(self, text: str) -> str:
        """Type a line and return the screen once it is answered, that is, once the next prompt stands there."""
        self.keys(text)
        asked = self.wait_until(lambda screen: "\n> " + text[:10] in screen, "not typed").count("\n>")
        self.keys("Enter")
        return self.wait_until(lambda screen: screen.count("\n>") > asked, "no answer")


def reply(screen: str) -> list[str]:
    """Return the lines of the last reply: from below what was typed to the empty line above the open prompt."""
    lines = screen[: screen.rindex("\n>")].rstrip().splitlines()
    typed = max(place for place, line in enumerate(lines) if line.startswith(">"))
    return lines[typed + 1 :]


@pytest.fixture
def window(tmp_path: Path) -> Iterator[Callable[[int], Window]]:
    """Return a function that opens a window of so many columns."""
    assert shutil.which("tmux"), "tmux is needed: install the package of that name"
    opened: list[Window] = []
    with tempfile.TemporaryDirectory() as sockets:  # the path of a socket must be short

        def open_window(columns: int) -> Window:
            opened.append(Window(sockets, f"window{len(opened)}", tmp_path, columns))
            return opened[-1]

        yield open_window
        for each in opened:
            each.tmux("kill-server")


@pytest.mark.parametrize("columns", [80, 40])
def test_a_talk_in_a_window(window: Callable[[int], Window], tmp_path: Path, columns: int) -> None:
    """From the first start to Ctrl-D: told where the log is, heard, answered, completed, warned, left in order."""
    here = window(columns)
    here.start()
    first = here.wait_for("home | no shot yet | what is wrong?")
    assert "It remembers your shots in" in first
    assert str(tmp_path) in "".join(line.strip() for line in first.splitlines())

    told = here.say("18 g in, 44 g out in 16 s, sour")
    answer = reply(told)
    assert answer[0].startswith("Heard: 18 g in, 44 g out, 16 s")
    assert any(line.startswith("Most likely:") for line in answer)
    here.wait_for("home | 1 shot |")
    assert max(map(len, answer)) <= columns
    assert reply(here.screen("-J")) == answer, "the terminal had to break a line"

    here.keys("tastes bitt", "Tab")
    here.wait_for("> tastes bitter")
    here.keys("C-u")
    here.wait_until(lambda screen: "bitter" not in screen.splitlines()[-2], "line not cleared")

    danger = reply(here.say("I smell gas"))
    assert danger[0].startswith("STOP")
    assert "\x1b[1mSTOP" in here.screen("-e")
    assert max(map(len, danger)) <= columns

    here.keys("C-d")
    here.wait_for("left with 0")
    here.keys("echo back at the shell", "Enter")
    here.wait_for("\nback at the shell")


def test_history_over_two_chats(window: Callable[[int], Window], tmp_path: Path) -> None:
    """What was typed comes back in the next chat, from a file for its owner alone; Ctrl-C leaves with 130."""
    here = window(80)
    here.start()
    here.say("sour and fast")
    here.keys("C-d")
    here.wait_for("left with 0")
    (history,) = tmp_path.rglob("*.history")
    assert stat.S_IMODE(history.stat().st_mode) == 0o600

    here = window(80)
    assert "It remembers" not in here.start()
    here.keys("Up")
    here.wait_for("> sour and fast")
    here.keys("C-c")
    here.wait_for("left with 130")
    here.keys("echo back at the shell", "Enter")
    here.wait_for("\nback at the shell")


def test_service_and_a_window_made_smaller(window: Callable[[int], Window]) -> None:
    """In service a reply takes at most 12 lines; a window resized between turns gets lines of its new width."""
    here = window(80)
    here.start("--setting service --no-log")
    assert len(reply(here.say("gushing, sour"))) <= 12
    here.tmux("resize-window", "-x", "50", "-y", "60")
    here.wait_until(lambda screen: max(map(len, screen.splitlines())) <= 50, "not resized")
    helped = reply(here.say("help"))
    assert max(map(len, helped)) <= 50
    assert reply(here.screen("-J")) == helped, "the terminal had to break a line"


def test_a_paste_in_a_window(window: Callable[[int], Window]) -> None:
    """Three lines pasted at once are one text with one reply."""
    here = window(80)
    here.start("--no-log")
    here.tmux("set-buffer", "18 g in\n44 g out\n16 s")
    here.tmux("paste-buffer", "-p")
    here.wait_for("16 s")
    here.keys("Enter")
    here.wait_for("Heard: 18 g in, 44 g out, 16 s.")
    assert here.screen().count("Heard:") == 1


@pytest.mark.parametrize(
    ("arguments", "environment"),
    [("--no-log --no-toolbar", "NO_COLOR=1"), ("--no-log --plain", ""), ("--no-log", "TERM=dumb")],
)
def test_nothing_but_text(window: Callable[[int], Window], arguments: str, environment: str) -> None:
    """With NO_COLOR, --plain or a dumb terminal nothing is bold or coloured; a toolbar can be done without."""
    here = window(80)
    here.start(arguments, environment)
    here.say("I smell gas")
    screen = here.screen("-e")
    assert "STOP" in screen
    assert "\x1b[" not in screen.replace("\x1b[0m", "").replace("\x1b[39m", "").replace("\x1b[49m", "")
    assert "no shot yet" not in screen
