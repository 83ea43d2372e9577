"""What was acknowledged is in the file, whatever happens to the program; and two programs can write at once."""

import subprocess
import sys
import time
from collections.abc import Callable
from datetime import datetime
from pathlib import Path

import pytest

from diagnose.logbook import Logbook

CHILD = Path(__file__).with_name("appending_child.py")
KILLS = 50


def start(path: Path, first: int, count: int) -> subprocess.Popen[bytes]:
    """Start a program that appends `count` shots, numbered from `first`."""
    command = [sys.executable, str(CHILD), str(path), str(first), str(count)]
    return subprocess.Popen(command, stdout=subprocess.PIPE, stderr=subprocess.PIPE, bufsize=0)


def acknowledged_before_kill(path: Path, first: int, round_: int) -> list[int]:
    """Let a program write, kill it without warning at a moment that differs each round, return what it had said."""
    child = start(path, first, 100_000)
    assert child.stdout is not None
    assert child.stderr is not None
    said = b""
    while said.count(b"\n") <= round_ % 7:
        said += child.stdout.read(64)
    time.sleep((round_ * 37 % 50) / 10_000)
    child.kill()
    rest, errors = child.communicate()
    assert errors == b""
    *lines, _ = (said + rest).split(b"\n")  # after the last line end there may be half a line
    return [int(line) for line in lines]


def numbers(path: Path, clock: Callable[[], datetime]) -> list[int]:
    """Return the numbers of all shots in the log and check the file with SQLite's own integrity check."""
    with Logbook.open(path, clock) as log:
        assert log._store.rows("PRAGMA integrity_check") == [("ok",)]
        return sorted(entry.what.number for entry in log.shots(limit=1_000_000))


@pytest.mark.slow
def test_no_acknowledged_row_is_lost_when_the_program_is_killed(path: Path, clock: Callable[[], datetime]) -> None:
    """Fifty programs are killed (SIGKILL) while they append to one log; each finds a sound file.

    A program can have written one row that it did not live to acknowledge; there are no others.
    """
    acknowledged: list[int] = []
    for round_ in range(KILLS):
        acknowledged += acknowledged_before_kill(path, 1 + 200_000 * round_, round_)
    found = numbers(path, clock)
    assert len(acknowledged) >= KILLS
    assert set(acknowledged) <= set(found)
    assert len(found) - len(acknowledged) <= KILLS
    assert len(found) == len(set(found))


@pytest.mark.slow
def test_a_log_whose_first_start_was_killed_can_be_started_again(tmp_path: Path, clock: Callable[[], datetime]) -> None:
    """Killed while folder, file and tables are being made, at ten different moments: the next start succeeds."""
    for round_ in range(10):
        path = tmp_path / str(round_) / "log"
        child = start(path, 1, 1)
        while not path.exists() and child.poll() is None:
            time.sleep(0.0005)
        time.sleep(round_ / 2_000)
        child.kill()
        said, errors = child.communicate()
        assert errors == b""
        assert len(numbers(path, clock)) >= said.count(b"\n")


@pytest.mark.slow
def test_programs_that_start_and_write_one_log_at_once_lose_nothing(path: Path, clock: Callable[[], datetime]) -> None:
    """Three programs race to make the same new log, then append side by side; each row is there once."""
    children = [start(path, 1 + 1000 * n, 150) for n in range(3)]
    for child in children:
        said, errors = child.communicate(timeout=60)
        assert (errors, child.returncode, said.count(b"\n")) == (b"", 0, 150)
    assert numbers(path, clock) == [1 + 1000 * n + i for n in range(3) for i in range(150)]
