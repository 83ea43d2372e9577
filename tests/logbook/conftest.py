"""A clock that ticks, logs that use it, and a folder whose rights count."""

import os
import tempfile
from collections.abc import Callable, Iterator
from datetime import datetime, timedelta, timezone
from pathlib import Path

import pytest

from diagnose.logbook import Logbook

NOBODY = 65534
OPENING_TIME = datetime(2031, 4, 2, 8, 15, tzinfo=timezone(timedelta(hours=2)))


@pytest.fixture
def clock() -> Callable[[], datetime]:
    """Return a clock that starts at 08:15 and moves on a minute each time it is looked at."""
    now = OPENING_TIME - timedelta(minutes=1)

    def tick() -> datetime:
        nonlocal now
        now += timedelta(minutes=1)
        return now

    return tick


@pytest.fixture
def log(clock: Callable[[], datetime]) -> Iterator[Logbook]:
    """Return an empty log in memory."""
    with Logbook.open_in_memory(clock) as book:
        yield book


@pytest.fixture
def path(tmp_path: Path) -> Path:
    """Return a place for a log in a folder that is not there yet."""
    return tmp_path / "data" / "diagnose" / "log.sqlite3"


@pytest.fixture
def folder() -> Iterator[Path]:
    """Give an ordinary user's folder and be that user meanwhile: for the superuser nothing is unwritable."""
    with tempfile.TemporaryDirectory() as name:
        place = Path(name)
        superuser = os.geteuid() == 0
        if superuser:
            os.chown(place, NOBODY, NOBODY)
            os.seteuid(NOBODY)
        try:
            yield place
        finally:
            place.chmod(0o700)
            if superuser:
                os.seteuid(0)
