"""Logs of invented shots, the shipped care plan, and the commands run as a person would type them."""

import json
from argparse import Namespace
from collections.abc import Callable, Iterable, Iterator
from datetime import datetime, timedelta, timezone
from pathlib import Path
from typing import Any

import pytest

from diagnose import care_command, cli, log_command
from diagnose.logbook import Logbook, PulledShot
from diagnose.model import Quantity
from diagnose.rulebase.location import rules_folder
from diagnose.upkeep.plan import CarePlan, read_care


class Clock:
    """A clock that shows what it is set to: at first half past nine in the evening, two hours east of Greenwich."""

    def __init__(self) -> None:
        """Set it to closing time."""
        self.now = datetime(2026, 6, 4, 21, 30, tzinfo=timezone(timedelta(hours=2)))

    def __call__(self) -> datetime:
        """Return the time."""
        return self.now


@pytest.fixture
def clock() -> Clock:
    """Return a clock at closing time."""
    return Clock()


@pytest.fixture
def book(clock: Clock) -> Iterator[Logbook]:
    """Return an empty log in memory."""
    with Logbook.open_in_memory(clock) as opened:
        yield opened


@pytest.fixture
def log(tmp_path: Path) -> Path:
    """Return a place for a log that is not there yet."""
    return tmp_path / "log.sqlite3"


@pytest.fixture
def logbook(log: Path, clock: Clock) -> Iterator[Logbook]:
    """Return that log, started."""
    with Logbook.open(log, clock) as opened:
        yield opened


@pytest.fixture(scope="session")
def plan() -> CarePlan:
    """Return the shipped care plan."""
    return read_care(rules_folder())


@pytest.fixture
def pull(clock: Clock) -> Callable[..., list[int]]:
    """Return a function that writes down shots of these times at one dial number, one every seven minutes."""

    def write(
        book: Logbook, times: Iterable[float | None], dial: float | None = 12, coffee: str | None = None
    ) -> list[int]:
        rows = []
        for time in times:
            clock.now += timedelta(minutes=7)
            numbers = {"time": (time, "s"), "dial": (dial, "notch")}
            told = {name: Quantity.exact(value, unit) for name, (value, unit) in numbers.items() if value is not None}
            rows.append(book.add_shot(PulledShot(1, measures=told, coffee=coffee)))
        return rows

    return write


@pytest.fixture
def typed(log: Path, clock: Clock, monkeypatch: pytest.MonkeyPatch) -> Callable[..., int]:
    """Return a function that runs ``diagnose WORDS --log LOG`` at the clock's time and returns the exit code."""
    run_log, run_care = log_command.run, care_command.run

    def logging(options: Namespace) -> int:
        return run_log(options, clock)

    def caring(options: Namespace, rules: str | None) -> int:
        return run_care(options, rules, clock)

    monkeypatch.setattr(log_command, "run", logging)
    monkeypatch.setattr(care_command, "run", caring)
    for variable in ("DIAGNOSE_LOG", "DIAGNOSE_RULES"):
        monkeypatch.delenv(variable, raising=False)
    return lambda *words: cli.main([*words, "--log", str(log)])


@pytest.fixture
def answered(typed: Callable[..., int], capsys: pytest.CaptureFixture[str]) -> Callable[..., Any]:
    """Return a function that runs a command with ``--json`` and returns the one object it prints."""

    def run(*words: str, code: int = 0) -> dict[str, Any]:
        assert typed(*words, "--json") == code
        printed = capsys.readouterr()
        assert printed.err == ""
        found: dict[str, Any] = json.loads(printed.out)
        return found

    return run
