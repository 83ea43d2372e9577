"""`Logbook`: one method for each thing that is remembered or asked back."""

import os
from collections.abc import Callable, Iterable, Iterator
from datetime import datetime
from pathlib import Path
from types import TracebackType
from typing import Any, Self

from diagnose.errors import LogError
from diagnose.logbook.codec import FORMS, plain, same_label
from diagnose.logbook.contents import (
    Adjustment,
    Care,
    Coffee,
    Content,
    Entry,
    Fact,
    JsonValue,
    Kind,
    PulledShot,
    Reason,
    Retraction,
)
from diagnose.logbook.fields import ContentFault
from diagnose.logbook.opening import open_existing_file, open_file, open_memory
from diagnose.logbook.store import Store, instant, record, refuse
from diagnose.logbook.transfer import Imported, export_lines, import_lines
from diagnose.model import Verdict

Clock = Callable[[], datetime]


def random_uid() -> str:
    """Return a name for a row that no other row anywhere has: 128 random bits in hexadecimal."""
    return os.urandom(16).hex()


class Logbook:
    """The assistant's memory. Rows are only ever added; what was withdrawn no query returns.

    Use as a context manager, or call `close`. An id returned by a method stands for a row that is on disk and stays
    there whatever happens next. Lists are oldest first; a `limit` keeps the newest. Every method raises LogError, and
    then has written nothing, when the file fails or a value cannot be kept. Coffee labels match whatever their case
    and spacing.
    """

    def __init__(self, store: Store, clock: Clock, new_uid: Callable[[], str] = random_uid) -> None:
        """Take over an open store; `open`, `open_existing` and `open_in_memory` make one."""
        self._store = store
        self._clock = clock
        self._new_uid = new_uid

    @classmethod
    def open(cls, path: Path, clock: Clock, new_uid: Callable[[], str] = random_uid) -> Self:
        """Open the log at `path` for reading and writing, starting it if there is none.

        A new folder gets mode 0700 and a new file 0600; `clock` returns the time with its offset from UTC. Raises
        LogError, leaving everything as it was, when the file is locked, damaged, of a newer format or no log.
        """
        return cls(Store(str(path), open_file(path)), clock, new_uid)

    @classmethod
    def open_existing(cls, path: Path, clock: Clock, new_uid: Callable[[], str] = random_uid) -> Self:
        """Open the log at `path` without ever starting one; where the place is read-only, for reading alone.

        Raises LogError as `open` does, and when there is no log at `path`.
        """
        return cls(Store(str(path), open_existing_file(path)), clock, new_uid)

    @classmethod
    def open_in_memory(cls, clock: Clock, new_uid: Callable[[], str] = random_uid) -> Self:
        """Open an empty log that is gone when it is closed."""
        return cls(Store("in memory", open_memory()), clock, new_uid)

    def __enter__(self) -> Self:
        """Return the log itself."""
        return self

    def __exit__(self, kind: type[BaseException] | None, error: BaseException | None, at: TracebackType | None) -> None:
        """Close the log."""
        self.close()

    def close(self) -> None:
        """Let go of the file; a second call does nothing."""
        self._store.close()

    # Shots

    def add_shot(self, shot: PulledShot) -> int:
        """Write down a shot and return its id."""
        return self._add(shot)

    def correct_shot(self, shot_id: int, shot: PulledShot) -> int:
        """Withdraw a shot and put another in its place in time, in one go; return the new shot's id."""
        with self._store.writing():
            said = self._store.one("SELECT at FROM standing WHERE id = ? AND kind = 'shot'", (shot_id,))
            if said is None:
                raise _no_row(shot_id)
            with self._store.as_written():
                at = datetime.fromisoformat(said[0])
            self._insert(Retraction("correction"), self._now(), shot_id)
            return self._insert(shot, at)

    def shots(self, coffee: str | None = None, dial: float | None = None, limit: int = 50) -> list[Entry[PulledShot]]:
        """Return the newest shots, all of them or those of one coffee, at one setting of the dial, or both."""
        wanted: dict[str, object] = {}
        if coffee is not None:
            wanted["subject"] = same_label(coffee)
        if dial is not None:
            wanted["dial"] = dial
        return self._standing("shot", wanted, limit)

    def count_shots(self, since: datetime | None = None) -> int:
        """Return how many shots were told after the moment `since`, or ever."""
        after = -(2**63) if since is None else instant(since)
        # Subtracting the few that were withdrawn is much quicker than asking of every shot whether it stands.
        told = "SELECT count(*) FROM entries WHERE kind = 'shot' AND instant > ?"
        withdrawn = """
            SELECT count(DISTINCT shot.id) FROM entries AS r JOIN entries AS shot ON shot.id = r.about
            WHERE r.kind = 'retraction' AND shot.kind = 'shot' AND shot.instant > ?
        """
        return int(self._store.rows(f"SELECT ({told}) - ({withdrawn})", (after, after))[0][0])

    def entry(self, number: int) -> Entry[Any] | None:
        """Return the standing row with this id, of whatever kind but a retraction; None if there is none."""
        sql = "SELECT kind, id, uid, at, about, body FROM standing WHERE id = ? AND kind <> 'retraction'"
        found = self._store.rows(sql, (number,))
        return self._store.entry(found[0][0], found[0][1:]) if found else None

    # Facts, adjustments, verdicts, care, coffees

    def remember(self, key: str, value: JsonValue) -> int:
        """Keep a fact under `key`, on top of what was kept there before; return the row's id."""
        return self._add(Fact(key, value))

    def recall(self, key: str) -> JsonValue:
        """Return what was last kept under `key`, None if nothing was."""
        kept = self._standing("fact", {"subject": plain(key)}, 1)
        return kept[0].what.value if kept else None

    def facts(self) -> dict[str, JsonValue]:
        """Return what was last kept under every key."""
        sql = "SELECT DISTINCT subject FROM standing WHERE kind = 'fact' ORDER BY subject"
        newest = [self._standing("fact", {"subject": row[0]}, 1)[0].what for row in self._store.rows(sql)]
        return {fact.key: fact.value for fact in newest}

    def history(self, key: str) -> list[Entry[Fact]]:
        """Return everything ever kept under `key`."""
        return self._standing("fact", {"subject": plain(key)})

    def add_adjustment(self, adjustment: Adjustment) -> int:
        """Write down an adjustment that was made and return its id."""
        return self._add(adjustment)

    def adjustments(self, step: str | None = None, limit: int = 50) -> list[Entry[Adjustment]]:
        """Return the newest adjustments, of all steps or of one."""
        return self._standing("adjustment", {} if step is None else {"subject": plain(step)}, limit)

    def add_verdict(self, verdict: Verdict, adjustment_id: int | None = None) -> int:
        """Write down whether an adjustment helped and return the row's id."""
        return self._add(verdict, adjustment_id)

    def verdicts(self, step: str | None = None, limit: int = 50) -> list[Entry[Verdict]]:
        """Return the newest verdicts, on all steps or on one; `about` is the adjustment's id."""
        return self._standing("verdict", {} if step is None else {"subject": plain(step)}, limit)

    def add_care(self, item: str, done: datetime | None = None, note: str = "") -> int:
        """Write down care given, now or at the moment `done`, and return the row's id."""
        return self._add(Care(item, done or self._now(), note))

    def care(self, item: str | None = None) -> list[Entry[Care]]:
        """Return the care given to everything or to one item, in the order in which it was done."""
        told = self._standing("care", {} if item is None else {"subject": plain(item)})
        return sorted(told, key=lambda entry: entry.what.done)

    def add_coffee(self, coffee: Coffee) -> int:
        """Write down a bag of coffee and return the row's id."""
        return self._add(coffee)

    def coffees(self, label: str | None = None, limit: int = 50) -> list[Entry[Coffee]]:
        """Return the newest bags, of all labels or of one; the last one is the bag in use."""
        return self._standing("coffee", {} if label is None else {"subject": same_label(label)}, limit)

    # Withdrawing, taking out, bringing in

    def retract(self, entry_id: int, reason: Reason) -> int:
        """Withdraw a row of any kind and return the retraction's id; both stay in the file.

        Raises LogError if there is no such row, it is withdrawn already, or it is a retraction itself.
        """
        with self._store.writing():
            if self._store.one("SELECT 1 FROM standing WHERE id = ?", (entry_id,)) is None:
                raise _no_row(entry_id)
            return self._insert(Retraction(reason), self._now(), entry_id)

    def export_lines(self) -> Iterator[str]:
        """Yield the whole log, withdrawn rows and retractions too, as JSON Lines (format: see `transfer`)."""
        return export_lines(self._store)

    def import_lines(self, lines: Iterable[str]) -> Imported:
        """Add the rows of an export that are not here yet; a bad line is reported and left out."""
        return import_lines(self._store, lines)

    def _now(self) -> datetime:
        now = self._clock()
        if now.utcoffset() is None:
            raise LogError("The log's clock gives a time without its offset from UTC; give it one that knows its zone.")
        return now

    def _add(self, content: Content, about: int | None = None) -> int:
        with self._store.writing():
            return self._insert(content, self._now(), about)

    def _insert(self, content: Content, at: datetime, about: int | None = None) -> int:
        try:
            row = record(self._new_uid(), at, content)
        except ContentFault as fault:
            raise refuse(fault) from None
        if about is not None:
            self._check_target(row.kind, about)
        return self._store.insert(row, about)

    def _check_target(self, kind: Kind, about: int) -> None:
        found = self._store.one("SELECT kind FROM entries WHERE id = ?", (about,))
        if found is None or found[0] not in FORMS[kind].points_at:
            raise LogError(f"A {kind} cannot be about row {about}: that is {found[0] if found else 'no row'}.")

    def _standing(self, kind: Kind, wanted: dict[str, object], limit: int = -1) -> list[Entry[Any]]:
        """Return the newest standing rows of a kind whose columns have the wanted values, oldest first."""
        where = "".join(f" AND {column} = ?" for column in wanted)
        sql = f"""
            SELECT id, uid, at, about, body FROM standing WHERE kind = '{kind}'{where}
            ORDER BY instant DESC, id DESC LIMIT ?
        """  # noqa: S608 - kind and columns are words of this module, values are bound
        rows = self._store.rows(sql, (*wanted.values(), limit))
        return [self._store.entry(kind, row) for row in reversed(rows)]


def _no_row(entry_id: int) -> LogError:
    return LogError(f"The log has no row {entry_id} of this kind that still stands, so nothing was withdrawn.")
