"""Opening a log: rights, settings, and looking without starting one."""

import os
import sqlite3
import stat
import struct
from collections.abc import Callable
from datetime import UTC, datetime
from pathlib import Path

import pytest

from diagnose.errors import LogError
from diagnose.logbook import Logbook, PulledShot, opening, schema

Clock = Callable[[], datetime]


def mode(path: Path) -> int:
    """Return the permission bits."""
    return stat.S_IMODE(path.stat().st_mode)


def now() -> datetime:
    """Return a fixed time."""
    return datetime(2031, 4, 2, tzinfo=UTC)


@pytest.mark.parametrize("umask", [0o000, 0o022, 0o077])
def test_folder_and_files_are_private_whatever_the_umask(path: Path, clock: Clock, umask: int) -> None:
    """Mode 0700 for every folder made, 0600 for the log and for SQLite's files beside it."""
    before = os.umask(umask)
    try:
        with Logbook.open(path, clock) as log:
            log.add_shot(PulledShot(1))
            files = sorted(path.parent.iterdir())
            assert [file.name for file in files] == ["log.sqlite3", "log.sqlite3-shm", "log.sqlite3-wal"]
            assert {mode(file) for file in files} == {0o600}
    finally:
        os.umask(before)
    assert (mode(path.parent), mode(path.parent.parent)) == (0o700, 0o700)


def test_the_file_is_private_before_sqlite_sees_it(path: Path, clock: Clock, monkeypatch: pytest.MonkeyPatch) -> None:
    """There is no moment with wider rights: when SQLite is first called the empty file is 0600 already."""
    seen: list[tuple[int, int]] = []

    def watching(place: Path, options: str) -> sqlite3.Connection:
        seen.append((mode(path), path.stat().st_size))
        return connect(place, options)

    connect = opening._connect
    monkeypatch.setattr(opening, "_connect", watching)
    before = os.umask(0)
    try:
        Logbook.open(path, clock).close()
    finally:
        os.umask(before)
    assert seen == [(0o600, 0)]


def test_an_empty_file_becomes_a_log_and_private(tmp_path: Path, clock: Clock) -> None:
    """A file somebody touched, or that a killed start left behind, is filled; its rights are narrowed first."""
    path = tmp_path / "log"
    path.touch(0o644)
    with Logbook.open(path, clock) as log:
        log.add_shot(PulledShot(1))
    assert mode(path) == 0o600


def test_rights_given_to_an_existing_log_are_left_alone(path: Path, clock: Clock) -> None:
    """A bar that shares one log between accounts has widened its rights on purpose."""
    Logbook.open(path, clock).close()
    path.chmod(0o660)
    Logbook.open(path, clock).close()
    assert mode(path) == 0o660


def test_a_link_to_nowhere_yet_gets_a_private_target(tmp_path: Path, clock: Clock) -> None:
    """Following a link must not be a way round the rights."""
    link, target = tmp_path / "link", tmp_path / "away" / "log"
    link.symlink_to(target)
    Logbook.open(link, clock).close()
    assert link.is_symlink()
    assert (mode(target), mode(target.parent)) == (0o600, 0o700)


def test_an_opened_log_has_the_settings_that_make_it_durable(path: Path, clock: Clock) -> None:
    """SQLite documentation, PRAGMA synchronous: FULL (2) makes WAL transactions durable across power loss."""
    for _ in range(2):
        with Logbook.open(path, clock) as log:
            settings = ("journal_mode", "synchronous", "foreign_keys", "fullfsync", "busy_timeout")
            values = [log._store.rows(f"PRAGMA {name}")[0][0] for name in settings]
            assert values == ["wal", 2, 1, 1, 2000]


def test_the_header_names_program_and_format(path: Path, clock: Clock) -> None:
    """SQLite file format, section 1.3: bytes 18-19 are 2 for WAL, user version at 60, application id at 68."""
    Logbook.open(path, clock).close()
    header = path.read_bytes()[:100]
    assert header[:16] == b"SQLite format 3\0"
    assert header[18:20] == b"\2\2"
    assert struct.unpack(">I", header[60:64]) == (len(schema.STEPS),)
    assert struct.unpack(">I", header[68:72]) == (0x44474C42,)


def test_what_was_written_is_there_when_opened_again(path: Path, clock: Clock) -> None:
    """Closing and opening loses nothing; closing twice does no harm."""
    log = Logbook.open(path, clock)
    log.add_shot(PulledShot(7))
    log.close()
    log.close()
    with Logbook.open(path, clock) as again:
        assert [entry.what.number for entry in again.shots()] == [7]
    assert [file.name for file in path.parent.iterdir()] == ["log.sqlite3"]


def test_a_closed_log_says_so(log: Logbook) -> None:
    """Using it afterwards is an error of the project's own kind."""
    log.close()
    with pytest.raises(LogError, match="closed database"):
        log.shots()


def test_a_name_with_signs_of_an_address_is_a_plain_name(tmp_path: Path, clock: Clock) -> None:
    """Question mark, hash and percent in a file's name are not parsed as an address."""
    path = tmp_path / "what?mode=memory#1%41.db"
    Logbook.open(path, clock).close()
    assert [file.name for file in tmp_path.iterdir()] == [path.name]


# One-off reading


def test_reading_never_starts_a_log(path: Path, clock: Clock) -> None:
    """Neither folder nor file appears; the message says that there is no log yet."""
    with pytest.raises(LogError, match="There is no log at"):
        Logbook.open_existing(path, clock)
    assert not path.parent.exists()
    path.parent.mkdir(parents=True)
    path.touch()
    with pytest.raises(LogError, match="an empty file"):
        Logbook.open_existing(path, clock)
    assert path.stat().st_size == 0


def test_an_existing_log_can_be_read_and_written(path: Path, clock: Clock) -> None:
    """Naming a log that is there is enough for both."""
    with Logbook.open(path, clock) as log:
        log.add_shot(PulledShot(1))
    with Logbook.open_existing(path, clock) as log:
        log.add_shot(PulledShot(2))
        assert [entry.what.number for entry in log.shots()] == [1, 2]


def test_a_log_in_a_read_only_folder_can_be_read_and_not_written(folder: Path) -> None:
    """A backup on a read-only disk answers questions; adding to it is refused with a way out."""
    path = folder / "log"
    with Logbook.open(path, now) as log:
        log.add_shot(PulledShot(1))
    path.chmod(0o400)
    folder.chmod(0o500)
    with Logbook.open_existing(path, now) as log:
        assert [entry.what.number for entry in log.shots()] == [1]
        with pytest.raises(LogError, match=r"read-only here.*--log FILE"):
            log.add_shot(PulledShot(2))
    with pytest.raises(LogError, match=r"Change its rights.*--log FILE"):
        Logbook.open(path, now)


def test_rows_waiting_beside_a_read_only_log_are_not_passed_over(folder: Path) -> None:
    """With a write-ahead file that cannot be read in, an answer would lack the newest rows: so none is given."""
    path = folder / "log"
    with Logbook.open(path, now) as log:
        log.add_shot(PulledShot(1))
        (folder / "copy").write_bytes(path.read_bytes())
        (folder / "copy-wal").write_bytes((folder / "log-wal").read_bytes())
    folder.chmod(0o500)
    with pytest.raises(LogError, match="may not be read or written"):
        Logbook.open_existing(folder / "copy", now)
