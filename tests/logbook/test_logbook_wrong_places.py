"""Every way in which the place named for a log can be the wrong one, or busy, or full."""

import os
import sqlite3
import stat
from collections.abc import Callable
from datetime import UTC, datetime
from pathlib import Path

import pytest

from diagnose.errors import LogError
from diagnose.logbook import Logbook, PulledShot, opening

Clock = Callable[[], datetime]


def mode(path: Path) -> int:
    """Return the permission bits."""
    return stat.S_IMODE(path.stat().st_mode)


def now() -> datetime:
    """Return a fixed time."""
    return datetime(2031, 4, 2, tzinfo=UTC)


def check_refused(path: Path, match: str) -> None:
    """Both ways of opening refuse `path`, name it, and say what to do."""
    for way in (Logbook.open, Logbook.open_existing):
        with pytest.raises(LogError, match=match) as caught:
            way(path, now)
        message = str(caught.value)
        assert str(path) in message
        assert "--log FILE" in message or "Move it aside" in message or "try again" in message


@pytest.mark.parametrize(
    "content",
    [b"x", b"18 g in, 36 g out\n", b"\0" * 100, b"n" * 5000, b"SQLite format 3\0" + b"\xff" * 4080, b"\0" * 8192],
)
def test_another_kind_of_file_is_left_as_it_is(tmp_path: Path, content: bytes) -> None:
    """Naming the wrong file by mistake must not cost it a byte."""
    path = tmp_path / "notes.txt"
    path.write_bytes(content)
    path.chmod(0o644)
    check_refused(path, "not a log|damaged")
    assert path.read_bytes() == content
    assert mode(path) == 0o644
    assert list(tmp_path.iterdir()) == [path]


@pytest.mark.parametrize(
    "sql",
    [
        "CREATE TABLE notes (text)",
        "CREATE TABLE notes (text); PRAGMA application_id = 252006",
        "CREATE TABLE notes (text); PRAGMA user_version = 1",
        "PRAGMA application_id = 252006",
        "PRAGMA user_version = 1",
    ],
)
def test_another_programs_database_is_left_as_it_is(tmp_path: Path, sql: str) -> None:
    """SQLite's sign alone does not make it ours."""
    path = tmp_path / "other.db"
    connection = sqlite3.connect(path)
    connection.executescript(sql)
    connection.close()
    before = path.read_bytes()
    check_refused(path, "another program's database")
    assert path.read_bytes() == before


def test_folders_and_devices_are_no_logs(tmp_path: Path) -> None:
    """Nothing is read from a pipe, and nothing laid over a folder."""
    check_refused(tmp_path, "a folder")
    check_refused(Path(os.devnull), "a device or pipe")
    pipe = tmp_path / "pipe"
    os.mkfifo(pipe)
    check_refused(pipe, "a device or pipe")


def test_impossible_names_are_refused_in_words(tmp_path: Path) -> None:
    """A file in the way of a folder, a name too long, a zero byte, a link to itself."""
    (tmp_path / "file").write_text("x")
    loop = tmp_path / "loop"
    loop.symlink_to(loop)
    for path in (tmp_path / "file" / "log", tmp_path / ("n" * 300), tmp_path / "a\0b", loop):
        with pytest.raises(LogError, match="--log FILE"):
            Logbook.open(path, now)
        with pytest.raises(LogError, match="--log FILE"):
            Logbook.open_existing(path, now)
    assert (tmp_path / "file").read_text() == "x"


def test_an_unwritable_place_is_refused_at_once(folder: Path) -> None:
    """Better at the start than at the first shot: folder or file without the right to write."""
    path = folder / "log"
    Logbook.open(path, now).close()
    path.chmod(0o400)
    with pytest.raises(LogError, match=r"read-only here.*--log FILE"):
        Logbook.open(path, now)
    path.chmod(0o000)
    with pytest.raises(LogError, match=r"may not be read or written.*--log FILE"):
        Logbook.open(path, now)
    folder.chmod(0o500)
    for missing in (folder / "new", folder / "sub" / "new"):
        with pytest.raises(LogError, match=r"Permission denied.*--log FILE"):
            Logbook.open(missing, now)


def test_a_locked_log_is_refused_after_a_short_wait(path: Path, clock: Clock, monkeypatch: pytest.MonkeyPatch) -> None:
    """Another program holds it: reading goes on, writing says what to do, and nothing is half done."""
    monkeypatch.setattr(opening, "BUSY_SECONDS", 0.05)
    with Logbook.open(path, clock) as log:
        log.add_shot(PulledShot(1))
        other = sqlite3.connect(path, isolation_level=None)
        other.execute("BEGIN IMMEDIATE")
        with pytest.raises(LogError, match=r"another program\. Close that program.*try again"):
            log.add_shot(PulledShot(2))
        with pytest.raises(LogError, match="another program"):
            Logbook.open(path, clock)
        assert len(log.shots()) == 1
        with Logbook.open_existing(path, clock) as reader:
            assert len(reader.shots()) == 1
        other.execute("ROLLBACK")
        other.close()
        log.add_shot(PulledShot(2))
        assert [entry.what.number for entry in log.shots()] == [1, 2]


def test_looking_up_and_writing_are_one_act(path: Path, clock: Clock, monkeypatch: pytest.MonkeyPatch) -> None:
    """From the look-up on, nobody else can write: two programs cannot both undo what they saw standing."""
    monkeypatch.setattr(opening, "BUSY_SECONDS", 0.05)
    with Logbook.open(path, clock) as log, Logbook.open(path, clock) as other:
        row = log.add_shot(PulledShot(1))
        with log._store.writing():
            with pytest.raises(LogError, match="another program"):
                other.retract(row, "undo")
            log._insert(PulledShot(2), now())
        other.retract(row, "undo")
        assert [entry.what.number for entry in log.shots()] == [2]


def test_starting_a_log_that_another_program_holds_is_refused_after_a_short_wait(
    tmp_path: Path, clock: Clock, monkeypatch: pytest.MonkeyPatch
) -> None:
    """Even the switch to write-ahead logging waits, and then says that the file is in use."""
    monkeypatch.setattr(opening, "BUSY_SECONDS", 0.05)
    path = tmp_path / "log"
    other = sqlite3.connect(path, isolation_level=None)
    other.execute("BEGIN IMMEDIATE")
    with pytest.raises(LogError, match="another program"):
        Logbook.open(path, clock)
    other.execute("ROLLBACK")
    other.close()
    Logbook.open(path, clock).close()


def test_two_programs_that_start_one_log_wait_for_each_other(tmp_path: Path) -> None:
    """SQLite can refuse the switch to write-ahead logging without waiting; then it is tried again, other faults not."""

    class Refusing(sqlite3.Connection):
        codes: tuple[int, ...] = ()

        def execute(self, sql: str, _parameters: object = (), /) -> sqlite3.Cursor:
            if self.codes:
                error = sqlite3.OperationalError("refused")
                error.sqlite_errorcode, *later = self.codes
                self.codes = tuple(later)
                raise error
            return super().execute(sql)

    connection = sqlite3.connect(tmp_path / "log", factory=Refusing)
    connection.codes = (sqlite3.SQLITE_BUSY, sqlite3.SQLITE_BUSY_RECOVERY)
    opening._use_write_ahead_log(connection)
    assert connection.execute("PRAGMA journal_mode").fetchone() == ("wal",)
    connection.codes = (sqlite3.SQLITE_IOERR,)
    with pytest.raises(sqlite3.OperationalError, match="refused"):
        opening._use_write_ahead_log(connection)
    connection.close()


def test_a_full_disk_takes_back_the_row_and_says_so(path: Path, clock: Clock) -> None:
    """SQLite reports a full disk and a page limit alike; what was acknowledged before stays."""
    with Logbook.open(path, clock) as log:
        log.add_shot(PulledShot(1))
        pages = log._store.rows("PRAGMA page_count")[0][0]
        log._store.rows(f"PRAGMA max_page_count = {pages}")
        with pytest.raises(LogError, match="the disk is full"):
            log.add_shot(PulledShot(2, text="x" * 100_000))
        assert [entry.what.number for entry in log.shots()] == [1]


def test_an_interrupt_takes_back_what_was_begun(log: Logbook) -> None:
    """Ctrl-C between two rows of one act leaves neither."""

    def interrupted() -> None:
        with log._store.writing():
            log._insert(PulledShot(1), now())
            raise KeyboardInterrupt

    with pytest.raises(KeyboardInterrupt):
        interrupted()
    assert log.shots() == []
    log.add_shot(PulledShot(2))
