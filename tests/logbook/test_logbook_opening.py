"""Opening a log: rights, formats, and every way in which a place can be the wrong one."""

import os
import sqlite3
import stat
import struct
import tempfile
from collections.abc import Callable, Iterator
from contextlib import contextmanager
from datetime import UTC, datetime
from pathlib import Path
from typing import Any

import pytest

from diagnose.errors import LogError
from diagnose.logbook import Logbook, PulledShot, opening, schema

NOBODY = 65534

Clock = Callable[[], datetime]


def mode(path: Path) -> int:
    """Return the permission bits."""
    return stat.S_IMODE(path.stat().st_mode)


def now() -> datetime:
    """Return a fixed time."""
    return datetime(2031, 4, 2, tzinfo=UTC)


@contextmanager
def ordinary_user_folder() -> Iterator[Path]:
    """Give a folder of an ordinary user and be that user inside: for the superuser nothing is unwritable."""
    with tempfile.TemporaryDirectory() as name:
        folder = Path(name)
        superuser = os.geteuid() == 0
        if superuser:
            os.chown(folder, NOBODY, NOBODY)
            os.seteuid(NOBODY)
        try:
            yield folder
        finally:
            folder.chmod(0o700)
            if superuser:
                os.seteuid(0)


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


def test_a_log_in_a_read_only_folder_can_be_read_and_not_written() -> None:
    """A backup on a read-only disk answers questions; adding to it is refused with a way out."""
    with ordinary_user_folder() as folder:
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


def test_rows_waiting_beside_a_read_only_log_are_not_passed_over() -> None:
    """With a write-ahead file that cannot be read in, an answer would lack the newest rows: so none is given."""
    with ordinary_user_folder() as folder:
        path = folder / "log"
        with Logbook.open(path, now) as log:
            log.add_shot(PulledShot(1))
            (folder / "copy").write_bytes(path.read_bytes())
            (folder / "copy-wal").write_bytes((folder / "log-wal").read_bytes())
        folder.chmod(0o500)
        with pytest.raises(LogError, match="may not be read or written"):
            Logbook.open_existing(folder / "copy", now)


def test_an_old_format_in_a_read_only_place_is_not_read() -> None:
    """It would have to be brought up to date first."""
    with ordinary_user_folder() as folder:
        path = folder / "log"
        old_file(path)
        path.chmod(0o400)
        folder.chmod(0o500)
        with pytest.raises(LogError, match="read-only here"):
            Logbook.open_existing(path, now)


# Wrong places


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


def test_a_log_of_a_newer_format_is_left_as_it_is(path: Path, clock: Clock) -> None:
    """A later release knows what it wrote; this one says to update."""
    Logbook.open(path, clock).close()
    connection = sqlite3.connect(path)
    connection.execute(f"PRAGMA user_version = {len(schema.STEPS) + 1}")
    connection.close()
    before = path.read_bytes()
    check_refused(path, "newer release.*Update this program")
    assert path.read_bytes() == before


def test_a_log_cut_short_is_called_damaged(path: Path, clock: Clock) -> None:
    """SQLite compares the length with the header's page count."""
    with Logbook.open(path, clock) as log:
        for number in range(1, 200):
            log.add_shot(PulledShot(number))
    whole = path.read_bytes()
    path.write_bytes(whole[: len(whole) // 2 // 4096 * 4096])
    before = path.read_bytes()
    check_refused(path, "damaged. Nothing was written")
    assert path.read_bytes() == before


def test_damage_anywhere_gives_an_answer_or_a_log_error(path: Path, clock: Clock) -> None:
    """Sixty runs of junk laid over different places of a file: never another kind of exception."""
    with Logbook.open(path, clock) as log:
        for number in range(1, 40):
            log.add_shot(PulledShot(number, coffee="A", text="sour and thin"))
            log.remember("k", number)
    whole = path.read_bytes()
    refused = 0
    for place in range(40, len(whole), len(whole) // 60):
        junk = bytes((place * 31 + i * 7) % 256 for i in range(64))
        path.write_bytes(whole[:place] + junk + whole[place + 64 :])
        try:
            with Logbook.open_existing(path, clock) as log:
                log.shots()
                log.shots("A")
                log.history("k")
                log.times("A", 1.0)
                log.grind_history("A")
                list(log.export_lines())
        except LogError:
            refused += 1
    assert refused >= 20


@pytest.mark.parametrize(
    ("column", "value"),
    [("body", "{"), ("body", b"17"), ("body", "[]"), ("body", '{"number":0}'), ("at", "noon"), ("at", b"3")],
)
def test_a_row_that_is_none_of_ours_is_called_damage(path: Path, clock: Clock, column: str, value: object) -> None:
    """Another program may insert what it likes; reading it names the log and what to do."""
    Logbook.open(path, clock).close()
    columns = {"at": "'2031-04-02T08:15:00+02:00'", "body": '\'{"number":1,"setting":"home"}\'', column: value}
    connection = sqlite3.connect(path)
    connection.execute(
        "INSERT INTO entries (uid, kind, at, instant, dial, time, body) VALUES ('u', 'shot', ?, 0, 1.0, 'soon', ?)",
        (columns["at"], columns["body"]),
    )
    connection.commit()
    connection.close()
    with Logbook.open(path, clock) as log:
        for ask in (log.shots, lambda: log.times(None, 1.0), lambda: log.grind_history(None)):
            with pytest.raises(LogError, match="damaged"):
                ask()


def test_an_export_of_a_row_that_is_none_of_ours_is_called_damage(path: Path, clock: Clock) -> None:
    """Text that is not JSON cannot be passed on as JSON."""
    with Logbook.open(path, clock) as log:
        log._store.connection.execute(
            "INSERT INTO entries (uid, kind, at, instant, body) VALUES ('u', 'shot', '', 0, '{')"
        )
        with pytest.raises(LogError, match="damaged"):
            list(log.export_lines())


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


def test_an_unwritable_place_is_refused_at_once() -> None:
    """Better at the start than at the first shot: folder or file without the right to write."""
    with ordinary_user_folder() as folder:
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

        def execute(self, sql: str, *rest: Any) -> sqlite3.Cursor:
            if self.codes:
                error = sqlite3.OperationalError("refused")
                error.sqlite_errorcode, *later = self.codes
                self.codes = tuple(later)
                raise error
            return super().execute(sql, *rest)

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


# Formats

# Version 1 of the format, as first written. Spelt out here, so that a changed step is noticed.
VERSION_1 = """
    CREATE TABLE entries (
        id INTEGER PRIMARY KEY, uid TEXT NOT NULL UNIQUE, kind TEXT NOT NULL, at TEXT NOT NULL,
        instant INTEGER NOT NULL, about INTEGER REFERENCES entries (id), subject TEXT, dial REAL, dose REAL,
        time REAL, body TEXT NOT NULL, CHECK (kind <> 'retraction' OR about IS NOT NULL));
    INSERT INTO entries VALUES (1, 'a', 'shot', '2031-04-01T08:00:00+02:00', 1932876000000000, NULL, 'house', 12.0,
        NULL, 27.0, '{"number":4,"setting":"home","coffee":"House"}');
    INSERT INTO entries VALUES (2, 'b', 'shot', '2031-04-01T08:05:00+02:00', 1932876300000000, NULL, 'house', 12.0,
        NULL, 72.0, '{"number":5,"setting":"home","coffee":"House"}');
    INSERT INTO entries VALUES (3, 'c', 'retraction', '2031-04-01T08:06:00+02:00', 1932876360000000, 2, NULL, NULL,
        NULL, NULL, '{"reason":"undo"}');
    PRAGMA application_id = 0x44474C42;
    PRAGMA user_version = 1;
"""


def old_file(path: Path) -> None:
    """Write a log of version 1 with two shots, one of them withdrawn."""
    connection = sqlite3.connect(path)
    connection.executescript(VERSION_1)
    connection.close()


@pytest.mark.parametrize("way", [Logbook.open, Logbook.open_existing])
def test_an_older_log_is_brought_up_to_date_and_keeps_its_rows(tmp_path: Path, clock: Clock, way: object) -> None:
    """The steps it has not had are run on it; then it answers like any other."""
    path = tmp_path / "log"
    old_file(path)
    open_log: Callable[[Path, Clock], Logbook] = way  # type: ignore[assignment]
    with open_log(path, clock) as log:
        assert [entry.what.number for entry in log.shots("house", 12.0)] == [4]
        assert log.times("House", 12.0) == [27.0]
        assert log._store.rows("PRAGMA user_version") == [(len(schema.STEPS),)]
        assert log._store.rows("PRAGMA integrity_check") == [("ok",)]


def test_a_step_that_fails_leaves_the_older_log_untouched(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    """All steps are one transaction: version, tables and rows stay as they were."""
    path = tmp_path / "log"
    old_file(path)
    steps = (*schema.STEPS, ("CREATE TABLE extra (x)", "INSERT INTO nowhere VALUES (1)"))
    monkeypatch.setattr(opening, "STEPS", steps)
    with pytest.raises(LogError, match="no such table: nowhere"):
        Logbook.open(path, now)
    connection = sqlite3.connect(path)
    assert connection.execute("PRAGMA user_version").fetchone() == (1,)
    assert connection.execute("SELECT name FROM sqlite_master WHERE name IN ('extra', 'standing')").fetchall() == []
    assert connection.execute("SELECT count(*) FROM entries").fetchone() == (3,)
    connection.close()


def test_steps_are_run_once(path: Path, clock: Clock) -> None:
    """Migrating a file that another program has just migrated does nothing."""
    with Logbook.open(path, clock) as log:
        opening.migrate(log._store.connection, schema.STEPS)
        assert log._store.rows("PRAGMA user_version") == [(len(schema.STEPS),)]
