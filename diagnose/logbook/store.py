"""One open log file: rows in, rows out, each write on disk before it is acknowledged."""

import sqlite3
from collections.abc import Iterator, Sequence
from contextlib import contextmanager
from datetime import UTC, datetime, timedelta
from typing import Any, NamedTuple

from diagnose.errors import LogError
from diagnose.logbook import faults
from diagnose.logbook.codec import FORMS, Columns, dump, kind_of, load
from diagnose.logbook.contents import Content, Entry, Kind
from diagnose.logbook.fields import ContentFault, Fields

_EPOCH = datetime(1970, 1, 1, tzinfo=UTC)
_INSERT = """
    INSERT INTO entries (uid, kind, at, instant, about, subject, dial, dose, time, body)
    VALUES (?, ?, ?, ?, ?, ?, ?, ?, ?, ?)
"""


class Record(NamedTuple):
    """One row ready to be written; all but `about`, which is the id of another row in the same file."""

    uid: str
    kind: Kind
    at: datetime
    columns: Columns
    body: str


def record(uid: str, at: datetime, content: Content) -> Record:
    """Return the row for `content`. Raises ContentFault for values that could not be read back."""
    kind = kind_of(content)
    form = FORMS[kind]
    data = form.encode(content)
    body = dump(data)
    form.decode(Fields(data))
    return Record(uid, kind, at, form.columns(content), body)


def instant(moment: datetime) -> int:
    """Return microseconds since 1970-01-01 UTC."""
    return (moment - _EPOCH) // timedelta(microseconds=1)


class Store:
    """A connection, the name to call it by in messages, and the four things done with it."""

    def __init__(self, name: str, connection: sqlite3.Connection) -> None:
        """Take over an open connection."""
        self.name = name
        self.connection = connection

    def rows(self, sql: str, parameters: Sequence[object] = ()) -> list[tuple[Any, ...]]:
        """Return all rows of a query. Raises LogError."""
        with faults.explained(self.name):
            return self.connection.execute(sql, parameters).fetchall()

    def one(self, sql: str, parameters: Sequence[object] = ()) -> tuple[Any, ...] | None:
        """Return the first row of a query, None if there is none. Raises LogError."""
        return next(iter(self.rows(sql, parameters)), None)

    @contextmanager
    def writing(self) -> Iterator[None]:
        """Hold the file for writing; commit at the end of the block, or take all of it back. Raises LogError."""
        with faults.explained(self.name):
            self.connection.execute("BEGIN IMMEDIATE")
            try:
                yield
                self.connection.execute("COMMIT")
            except BaseException:
                if self.connection.in_transaction:
                    self.connection.execute("ROLLBACK")
                raise

    def insert(self, row: Record, about: int | None = None) -> int:
        """Write one row inside `writing` and return its id."""
        values = (row.uid, row.kind, row.at.isoformat(), instant(row.at), about, *row.columns, row.body)
        cursor = self.connection.execute(_INSERT, values)
        return int(cursor.lastrowid or 0)

    def entry(self, kind: Kind, row: Sequence[Any]) -> Entry[Any]:
        """Return the row (id, uid, at, about, body) as a value. Raises LogError if it is not one of ours."""
        key, uid, at, about, body = row
        with self.as_written():
            return Entry(key, uid, datetime.fromisoformat(at), FORMS[kind].decode(Fields(load(body))), about)

    @contextmanager
    def as_written(self) -> Iterator[None]:
        """Raise LogError for values inside the block that are not what this program writes."""
        try:
            yield
        except (TypeError, ValueError) as fault:
            raise faults.damaged(self.name, str(fault)) from None

    def close(self) -> None:
        """Let go of the file. Raises LogError."""
        with faults.explained(self.name):
            self.connection.close()


def refuse(fault: ContentFault) -> LogError:
    """Return the error for a value that was to be logged and cannot be."""
    return LogError(f"This cannot be logged: {fault}. Nothing was written.")
