"""Older, newer and damaged logs."""

import sqlite3
from collections.abc import Callable
from datetime import UTC, datetime
from pathlib import Path

import pytest

from diagnose.errors import LogError
from diagnose.logbook import Logbook, PulledShot, opening, schema

Clock = Callable[[], datetime]


def now() -> datetime:
    """Return a fixed time."""
    return datetime(2031, 4, 2, tzinfo=UTC)


def check_refused(path: Path, match: str) -> None:
    """Both ways of opening refuse `path`, name it, and leave it byte for byte as it was."""
    before = path.read_bytes()
    for way in (Logbook.open, Logbook.open_existing):
        with pytest.raises(LogError, match=match) as caught:
            way(path, now)
        assert str(path) in str(caught.value)
    assert path.read_bytes() == before


# Version 1 of the format, as first written, spelt out: a released step never changes.
VERSION_1 = """
    CREATE TABLE entries (
        id INTEGER PRIMARY KEY,
        uid TEXT NOT NULL UNIQUE,
        kind TEXT NOT NULL,
        at TEXT NOT NULL,
        instant INTEGER NOT NULL,
        about INTEGER REFERENCES entries (id),
        subject TEXT,
        dial REAL,
        dose REAL,
        time REAL,
        body TEXT NOT NULL,
        CHECK (kind <> 'retraction' OR about IS NOT NULL)
    );
    CREATE TRIGGER entries_stay_as_said BEFORE UPDATE ON entries
    BEGIN SELECT RAISE(ABORT, 'the log only grows: add a retraction instead'); END;
    CREATE TRIGGER entries_stay BEFORE DELETE ON entries
    BEGIN SELECT RAISE(ABORT, 'the log only grows: add a retraction instead'); END;
    PRAGMA application_id = 0x44474C42;
    PRAGMA user_version = 1;
"""
VERSION_1_ROWS = """
    INSERT INTO entries VALUES (1, 'a', 'shot', '2031-04-01T08:00:00+02:00', 1932789600000000, NULL, 'house', 12.0,
        NULL, 27.0, '{"number":4,"setting":"home","coffee":"House"}');
    INSERT INTO entries VALUES (2, 'b', 'shot', '2031-04-01T08:05:00+02:00', 1932789900000000, NULL, 'house', 12.0,
        NULL, 72.0, '{"number":5,"setting":"home","coffee":"House"}');
    INSERT INTO entries VALUES (3, 'c', 'retraction', '2031-04-01T08:06:00+02:00', 1932789960000000, 2, NULL, NULL,
        NULL, NULL, '{"reason":"undo"}');
"""


def old_file(path: Path) -> None:
    """Write a log of version 1 with two shots, one of them withdrawn."""
    connection = sqlite3.connect(path)
    connection.executescript(VERSION_1 + VERSION_1_ROWS)
    connection.close()


def tables(connection: sqlite3.Connection) -> list[tuple[str, list[str]]]:
    """Return name and SQL, as words, of all that a database defines."""
    rows = connection.execute("SELECT name, sql FROM sqlite_master WHERE sql IS NOT NULL ORDER BY name").fetchall()
    return [(name, sql.split()) for name, sql in rows]


def test_the_first_step_still_makes_version_1() -> None:
    """Were it edited, files written before would differ from files written after under one number."""
    ours, spelt_out = sqlite3.connect(":memory:", isolation_level=None), sqlite3.connect(":memory:")
    opening.migrate(ours, schema.STEPS[:1])
    spelt_out.executescript(VERSION_1)
    assert tables(ours) == tables(spelt_out)
    ours.close()
    spelt_out.close()


@pytest.mark.parametrize("way", [Logbook.open, Logbook.open_existing])
def test_an_older_log_is_brought_up_to_date_and_keeps_its_rows(tmp_path: Path, clock: Clock, way: object) -> None:
    """The steps it has not had are run on it; then it answers like any other."""
    path = tmp_path / "log"
    old_file(path)
    open_log: Callable[[Path, Clock], Logbook] = way  # type: ignore[assignment]
    with open_log(path, clock) as log:
        assert [entry.what.number for entry in log.shots("house", 12.0)] == [4]
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


def test_an_old_format_in_a_read_only_place_is_not_read(folder: Path) -> None:
    """It would have to be brought up to date first."""
    path = folder / "log"
    old_file(path)
    path.chmod(0o400)
    folder.chmod(0o500)
    with pytest.raises(LogError, match="read-only here"):
        Logbook.open_existing(path, now)


def test_a_log_of_a_newer_format_is_left_as_it_is(path: Path, clock: Clock) -> None:
    """A later release knows what it wrote; this one says to update."""
    Logbook.open(path, clock).close()
    connection = sqlite3.connect(path)
    connection.execute(f"PRAGMA user_version = {len(schema.STEPS) + 1}")
    connection.close()
    check_refused(path, "newer release.*Update this program")


def test_a_log_cut_short_is_called_damaged(path: Path, clock: Clock) -> None:
    """SQLite compares the length with the header's page count."""
    with Logbook.open(path, clock) as log:
        for number in range(1, 200):
            log.add_shot(PulledShot(number))
    whole = path.read_bytes()
    path.write_bytes(whole[: len(whole) // 2 // 4096 * 4096])
    check_refused(path, "damaged. Nothing was written to it. Move it aside")


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
                log.entry(1)
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
    columns = {"at": "2031-04-02T08:15:00+02:00", "body": '{"number":1,"setting":"home"}', column: value}
    connection = sqlite3.connect(path)
    connection.execute(
        "INSERT INTO entries (uid, kind, at, instant, dial, time, body) VALUES ('u', 'shot', ?, 0, 1.0, 'soon', ?)",
        (columns["at"], columns["body"]),
    )
    connection.commit()
    connection.close()
    with Logbook.open(path, clock) as log:
        for ask in (log.shots, lambda: log.entry(1)):
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
