"""SQLite's and the operating system's failures, said as a `LogError` that names the file and what to try."""

import sqlite3
from collections.abc import Iterator
from contextlib import contextmanager
from pathlib import Path

from diagnose.errors import LogError

_ELSEWHERE = "Name another file with --log FILE or DIAGNOSE_LOG, or go on without a log with --no-log."
_DAMAGED = (
    "is damaged. Nothing was written to it. Move it aside together with the files of the same name ending in -wal and "
    "-shm, keep them, and put back a copy or start a new log and import an export into it."
)
_READ_ONLY = f"cannot be written: the file or its folder is read-only here. Change its rights. {_ELSEWHERE}"
_NOT_OPENED = (
    f"cannot be opened here: the file or its folder may not be read or written. Change its rights. {_ELSEWHERE}"
)

# By SQLite's primary result code (the low byte of the extended one).
_WHAT = {
    sqlite3.SQLITE_BUSY: "is being written by another program. Close that program or wait a moment, then try again.",
    sqlite3.SQLITE_LOCKED: "is being written by another program. Close that program or wait a moment, then try again.",
    sqlite3.SQLITE_NOTADB: f"is not a log but some other file; it was left as it is. {_ELSEWHERE}",
    sqlite3.SQLITE_CORRUPT: _DAMAGED,
    sqlite3.SQLITE_READONLY: _READ_ONLY,
    sqlite3.SQLITE_PERM: _NOT_OPENED,
    sqlite3.SQLITE_CANTOPEN: _NOT_OPENED,
    sqlite3.SQLITE_FULL: f"cannot grow: the disk is full. Make room on it and say it again. {_ELSEWHERE}",
    sqlite3.SQLITE_IOERR: f"could not be read or written: the disk reported a fault. Check the disk. {_ELSEWHERE}",
}


@contextmanager
def explained(name: str) -> Iterator[None]:
    """Turn failures inside the block into LogError about the log called `name`."""
    try:
        yield
    except sqlite3.Error as error:
        raise LogError(_sentence(name, error)) from error
    except OSError as error:
        reason = error.strerror or error
        raise LogError(f"The log {name} cannot be opened or written here ({reason}). {_ELSEWHERE}") from error


def _sentence(name: str, error: sqlite3.Error) -> str:
    code = getattr(error, "sqlite_errorcode", None)
    what = None if code is None else _WHAT.get(code & 0xFF)
    return f"The log {name} {what}" if what else f"The log {name} could not be used ({error}). {_ELSEWHERE}"


def damaged(name: str, why: str) -> LogError:
    """Return the error for a file whose content is not what this program wrote."""
    return LogError(f"The log {name} {_DAMAGED} ({why})")


def foreign(path: Path) -> LogError:
    """Return the error for a database that belongs to another program."""
    return LogError(f"The file {path} is another program's database, not a log; it was left as it is. {_ELSEWHERE}")


def not_a_log(path: Path, what: str) -> LogError:
    """Return the error for a path that holds something else than a file of ours; `what` says what it is."""
    return LogError(f"The log {path} is {what}, not a log; it was left as it is. {_ELSEWHERE}")


def newer(path: Path, version: int, known: int) -> LogError:
    """Return the error for a log that a later release has written."""
    return LogError(
        f"The log {path} was written by a newer release (format {version}, this one knows up to {known}) and was left "
        f"as it is. Update this program, or name another file with --log FILE or DIAGNOSE_LOG."
    )


def missing(path: Path) -> LogError:
    """Return the error for reading a log that does not exist."""
    return LogError(f"There is no log at {path} yet. Start one by telling of a shot, or name another with --log FILE.")
