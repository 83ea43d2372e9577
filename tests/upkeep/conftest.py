"""A log of invented shots, the shipped care plan, and the commands run as a person would type them."""

import json
from argparse import Namespace
from collections.abc import Callable, Iterable
from datetime import datetime, timedelta, timezone
from pathlib import Path
from typing import Any

import pytest

from diagnose import care_command, cli, log_command
from diagnose.logbook import Logbook, PulledShot
from diagnose.model import Quantity
from diagnose.rulebase.location import rules_folder
from diagnose.upkeep.plan import CarePlan, read_care

ZONE = timezone(timedelta(hours=2))
NOW = datetime(2026, 6, 4, 21, 30, tzinfo=ZONE)


class Clock:
    """A clock that shows what it is set to."""

    def __init__(self) -> None:
        """Set it to closing time."""
        self.now = NOW

    def __call__(self) -> datetime:
        """Return the time."""
        return self.now


@pytest.fixture
def clock() -> Clock:
    """Return a clock at closing time."""
    return Clock()


@pytest.fixture
def book(clock: Clock) -> Logbook:
    """Return an empty log in memory."""
    return Logbook.open_in_memory(clock)


@pytest.fixture
def log(tmp_path: Path) -> Path:
    """Return a place for a log that is not there yet."""
    return tmp_path / "log.sqlite3"


@pytest.fixture(scope="session")
def plan() -> CarePlan:
    """Return the shipped care plan."""
    return read_care(rules_folder())


def days_ago(days: float) -> datetime:
    """Return a moment so many days before closing time."""
    return NOW - timedelta(days=days)


def shot(time: float | None = None, dial: float | None = None, **more: Any) -> PulledShot:
    """Return a shot with these numbers."""
    said = {"time": (time, "s"), "dial": (dial, "notch"), "dose": (more.pop("dose", None), "g")}
    measures = {name: Quantity.exact(value, unit) for name, (value, unit) in said.items() if value is not None}
    return PulledShot(1, measures=measures, **more)


def pull(book: Logbook, clock: Clock, times: Iterable[float], dial: float = 12, **more: Any) -> None:
    """Write down shots at one setting, one every seven minutes."""
    for time in times:
        clock.now += timedelta(minutes=7)
        book.add_shot(shot(time, dial, **more))


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
    monkeypatch.delenv("DIAGNOSE_LOG", raising=False)
    return lambda *words: cli.main([*words, "--log", str(log)])


def answer(capsys: pytest.CaptureFixture[str]) -> Any:
    """Return the one JSON object that was printed."""
    return json.loads(capsys.readouterr().out)
