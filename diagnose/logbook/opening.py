"""Opening the file: private from its first byte, never over anything else, brought to the current format."""

import os
import sqlite3
import stat
import time
from collections.abc import Sequence
from pathlib import Path

from diagnose.errors import LogError
from diagnose.logbook import faults
from diagnose.logbook.schema import APPLICATION_ID, STEPS

BUSY_SECONDS = 2.0
_SMALLEST_DATABASE = 512  # bytes: the smallest page SQLite has


def open_file(path: Path) -> sqlite3.Connection:
    """Return a connection for reading and writing; create folder (0700) and file (0600) where missing.

    Raises LogError, with nothing changed, if the place cannot be written, is locked, damaged, of a newer format,
    or holds anything else than a log.
    """
    with faults.explained(str(path)):
        real = _real(path)
        _create_private(real)
        _refuse_other_things(real)
        connection = _connect(real, "mode=rw")
        return _ready(real, connection, writable=True)


def open_existing_file(path: Path) -> sqlite3.Connection:
    """Return a connection to a log that is there already; where it may not be written, one for reading only.

    Raises LogError as `open_file` does, and if there is no file. Creates neither folder nor log.
    """
    with faults.explained(str(path)):
        real = _real(path)
        if not real.exists():
            raise faults.missing(path)
        _refuse_other_things(real)
        if real.stat().st_size == 0:
            raise faults.not_a_log(path, "an empty file")
        try:
            return _ready(real, _connect(real, "mode=rw"), writable=False)
        except sqlite3.OperationalError:
            # SQLite wants to make helper files beside a log even to read it. In a read-only folder it may go without
            # them, provided no rows wait in such a file.
            waiting = real.with_name(real.name + "-wal")
            if os.access(real.parent, os.W_OK, effective_ids=_EFFECTIVE) or waiting.exists():
                raise
            return _ready(real, _connect(real, "mode=ro&immutable=1"), writable=False)


def open_memory() -> sqlite3.Connection:
    """Return a connection to an empty log that is gone when it is closed."""
    connection = sqlite3.connect(":memory:", isolation_level=None)
    _set_up(connection)
    migrate(connection, STEPS)
    return connection


_EFFECTIVE = os.access in os.supports_effective_ids


def _real(path: Path) -> Path:
    """Follow links, also one that leads nowhere yet: its target is what must be made with our rights."""
    try:
        return Path(os.path.realpath(path))
    except ValueError:  # a zero byte
        raise faults.not_a_log(path, "not a name that a file can have") from None


def _create_private(path: Path) -> None:
    """Create the folders and an empty file, each with its final rights from the start; an existing one stays."""
    for folder in reversed([each for each in path.parents if not each.exists()]):
        folder.mkdir(mode=0o700, exist_ok=True)
        _settle(folder.parent)
    try:
        os.close(os.open(path, os.O_CREAT | os.O_EXCL | os.O_RDWR, 0o600))
    except FileExistsError:
        if path.is_file() and path.stat().st_size == 0:
            path.chmod(0o600)  # made empty by somebody; ours to fill, so ours to close first
        return
    _settle(path.parent)


def _settle(folder: Path) -> None:
    """Have a new name in `folder` survive a power cut. Windows has no such call and needs none."""
    if hasattr(os, "O_DIRECTORY"):
        handle = os.open(folder, os.O_RDONLY | os.O_DIRECTORY)
        try:
            os.fsync(handle)
        finally:
            os.close(handle)


def _refuse_other_things(path: Path) -> None:
    # By looking at it only: closing a file of one's own drops the locks a second connection in this process holds
    # on it (SQLite, "How To Corrupt An SQLite Database File", section 2.2).
    status = path.stat()
    if stat.S_ISDIR(status.st_mode):
        raise faults.not_a_log(path, "a folder")
    if not stat.S_ISREG(status.st_mode):
        raise faults.not_a_log(path, "a device or pipe")
    if 0 < status.st_size < _SMALLEST_DATABASE:
        raise faults.not_a_log(path, "some other file")


def _connect(path: Path, options: str) -> sqlite3.Connection:
    return sqlite3.connect(f"{path.as_uri()}?{options}", uri=True, timeout=BUSY_SECONDS, isolation_level=None)


def _ready(path: Path, connection: sqlite3.Connection, *, writable: bool) -> sqlite3.Connection:
    """Check whose file this is before anything is changed in it, then set up and migrate."""
    try:
        if _version(path, connection) < len(STEPS):
            _use_write_ahead_log(connection)
            migrate(connection, STEPS)
        _set_up(connection)
        if writable:
            _try_writing(connection)
    except (sqlite3.Error, LogError):
        connection.close()
        raise
    return connection


def _version(path: Path, connection: sqlite3.Connection) -> int:
    """Return the file's format version, 0 for an empty one. Raises LogError for what is not ours to touch."""
    connection.execute("BEGIN")  # one view of all three: another program may be starting this log right now
    application = _number(connection, "PRAGMA application_id")
    version = _number(connection, "PRAGMA user_version")
    things = _number(connection, "SELECT count(*) FROM sqlite_master")
    connection.execute("ROLLBACK")
    if application == APPLICATION_ID:
        if version > len(STEPS):
            raise faults.newer(path, version, len(STEPS))
        return version
    if application or version or things:
        raise faults.foreign(path)
    return 0


def _number(connection: sqlite3.Connection, sql: str) -> int:
    return int(connection.execute(sql).fetchone()[0])


def _use_write_ahead_log(connection: sqlite3.Connection) -> None:
    """Switch to write-ahead logging: readers and one writer side by side.

    Two programs that start a log at the same moment can refuse each other here without waiting, so the waiting is
    ours. A file system that cannot do it (no shared memory) keeps the rollback journal, which is as safe.
    """
    deadline = time.monotonic() + BUSY_SECONDS
    while True:
        try:
            connection.execute("PRAGMA journal_mode = WAL").fetchone()
        except sqlite3.OperationalError as error:
            if error.sqlite_errorcode & 0xFF != sqlite3.SQLITE_BUSY or time.monotonic() > deadline:
                raise
            time.sleep(0.01)
        else:
            return


def _set_up(connection: sqlite3.Connection) -> None:
    connection.execute("PRAGMA foreign_keys = ON")
    connection.execute("PRAGMA synchronous = FULL")
    connection.execute("PRAGMA fullfsync = ON")  # macOS: a plain fsync there stops at the drive's cache


def _try_writing(connection: sqlite3.Connection) -> None:
    """Write to the header and take it back: a place that cannot be written is better known before the first shot.

    Beginning to write is not enough, for SQLite lets a transaction begin on a file that it can only read.
    """
    connection.execute("BEGIN IMMEDIATE")
    connection.execute(f"PRAGMA user_version = {len(STEPS)}")
    connection.execute("ROLLBACK")


def migrate(connection: sqlite3.Connection, steps: Sequence[Sequence[str]]) -> None:
    """Run the steps the file has not had yet, all or none. Safe when another program does the same meanwhile."""
    connection.execute("BEGIN IMMEDIATE")
    try:
        done = _number(connection, "PRAGMA user_version")
        for step in steps[done:]:
            for statement in step:
                connection.execute(statement)
        connection.execute(f"PRAGMA application_id = {APPLICATION_ID}")
        connection.execute(f"PRAGMA user_version = {max(done, len(steps))}")
        connection.execute("COMMIT")
    except BaseException:
        if connection.in_transaction:
            connection.execute("ROLLBACK")
        raise
