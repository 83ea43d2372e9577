"""Taking a log out as text and bringing it in again.

Format "diagnose-log", version 1: JSON Lines, ASCII, one object a line. The first line is
``{"format": "diagnose-log", "version": 1}``. Every other line is one row, in the order of writing:

=========  =========================================================================================
``uid``    names the row; the same row has the same uid in every log (1 to 64 letters, digits, - or _)
``kind``   shot, fact, adjustment, verdict, care, coffee or retraction
``at``     when it was said, ISO 8601 with offset from UTC
``about``  uid of the row a retraction withdraws, or of the adjustment a verdict judges; else null
``what``   the content, by kind:
=========  =========================================================================================

- shot: number, setting, coffee, measures (name: {value, low, high, unit, shown}), findings ([{id, levels, source,
  value, unit}]), step, text
- fact: key, value (any JSON)
- adjustment: step, amount, unit, dial_from, dial_to, expected ([{name, low, high, unit}])
- verdict: step, helped, fixed (0 to 1)
- care: item, done (ISO 8601 with offset), note
- coffee: label, roasted, opened (ISO 8601 days)
- retraction: reason (undo or correction)

Units are g, s, degC, bar, mg/L, days, notch, mL, % and ratio. Within a version fields may be added, and unknown ones
are kept; none changes its meaning.
"""

import re
from collections.abc import Iterable, Iterator, Mapping
from dataclasses import dataclass
from itertools import islice
from typing import NamedTuple, get_args

from diagnose.logbook.codec import FORMS, dump, load
from diagnose.logbook.contents import Kind
from diagnose.logbook.fields import ContentFault, Fields
from diagnose.logbook.store import Record, Store

FORMAT = "diagnose-log"
VERSION = 1

_KINDS: tuple[Kind, ...] = get_args(Kind)
_UID = re.compile(r"[0-9A-Za-z_-]{1,64}")
_PAGE = 500  # rows between two commits: other programs get their turn, and the disk is not asked for every row
_EXPORT = """
    SELECT said.id, said.uid, said.kind, said.at, target.uid, said.body
    FROM entries AS said LEFT JOIN entries AS target ON target.id = said.about
    WHERE said.id > ? AND said.id <= ? ORDER BY said.id LIMIT ?
"""


@dataclass(frozen=True, slots=True)
class LineProblem:
    """One line that could not be used; lines count from 1."""

    line: int
    what: str

    def __str__(self) -> str:
        """Return ``line 7: what``."""
        return f"line {self.line}: {self.what}"


@dataclass(frozen=True, slots=True)
class Imported:
    """What an import did: rows added by kind, rows that were here already, and the lines left out."""

    added: Mapping[str, int]
    known: int
    problems: tuple[LineProblem, ...]


class _Line(NamedTuple):
    number: int
    row: Record
    about: str | None


def export_lines(store: Store) -> Iterator[str]:
    """Yield header and rows, without line ends. Rows added after the first line was taken are left out."""
    last = store.rows("SELECT coalesce(max(id), 0) FROM entries")[0][0]
    yield dump({"format": FORMAT, "version": VERSION})
    done = 0
    while page := store.rows(_EXPORT, (done, last, _PAGE)):
        for _, uid, kind, at, about, body in page:
            with store.as_written():
                line = dump({"uid": uid, "kind": kind, "at": at, "about": about, "what": load(body)})
            yield line
        done = page[-1][0]


def import_lines(store: Store, lines: Iterable[str]) -> Imported:
    """Add rows that are not in the log yet. Doing it twice changes nothing.

    Rows are committed some hundreds at a time; after a LogError the same import can be run again. A row may stand
    before the row it is about.
    """
    work = _Import(store)
    parsed = work.parse(lines)
    while batch := list(islice(parsed, _PAGE)):
        work.write(batch)
    while work.waiting:
        batch, work.waiting = work.waiting, []
        work.write(batch)
        if len(work.waiting) == len(batch):
            break
    for line in work.waiting:
        work.report(line.number, f"is about row {line.about}, which is neither in this log nor in the lines")
    return Imported(work.added, work.known, tuple(sorted(work.problems, key=lambda problem: problem.line)))


class _Import:
    """One import under way: counts, problems, and lines about rows that have not come yet."""

    def __init__(self, store: Store) -> None:
        self.added: dict[str, int] = {}
        self.known = 0
        self.problems: list[LineProblem] = []
        self.waiting: list[_Line] = []
        self._store = store

    def report(self, number: int, what: str) -> None:
        self.problems.append(LineProblem(number, what))

    def parse(self, lines: Iterable[str]) -> Iterator[_Line]:
        """Yield the good lines. A header may come again, as in two exports put end to end."""
        headed, readable = False, True
        for number, text in enumerate(lines, start=1):
            stripped = text.strip("\ufeff \t\r\n")
            if not stripped:
                continue
            try:
                fields = Fields(load(stripped))
                if fields.value("format") is not None:
                    headed, readable = True, False
                    _check_header(fields)
                    readable = True
                elif readable:
                    yield _parsed(number, fields)
            except ContentFault as fault:
                self.report(number, str(fault))
            if not headed:
                headed = True
                self.report(number, f'is not the first line of an export ("format": "{FORMAT}"); read on without it')

    def write(self, batch: list[_Line]) -> None:
        with self._store.writing():
            for line in batch:
                self._write(line)

    def _write(self, line: _Line) -> None:
        row = line.row
        here = self._store.one("SELECT kind, at, body FROM entries WHERE uid = ?", (row.uid,))
        if here is not None:
            self.known += 1
            if here != (row.kind, row.at.isoformat(), row.body):
                self.report(line.number, f"row {row.uid} is in this log with other content; what is here was kept")
            return
        about: int | None = None
        if line.about is not None:
            target = self._store.one("SELECT id, kind FROM entries WHERE uid = ?", (line.about,))
            if target is None:
                self.waiting.append(line)
                return
            about, kind = target
            if kind not in FORMS[row.kind].points_at:
                self.report(line.number, f"a {row.kind} cannot be about a {kind}")
                return
        self._store.insert(row, about)
        self.added[row.kind] = self.added.get(row.kind, 0) + 1


def _check_header(fields: Fields) -> None:
    if fields.value("format") != FORMAT:
        raise ContentFault(f'is of another format than "{FORMAT}"; the lines after it were left out')
    version = fields.count("version")
    if version > VERSION:
        raise ContentFault(
            f"is version {version} of the format and this release reads up to {VERSION}; the lines after it were left "
            f"out. Update this program and import again"
        )


def _parsed(number: int, fields: Fields) -> _Line:
    uid = _uid(fields, "uid")
    kind = fields.choice("kind", _KINDS)
    at = fields.moment("at")
    form = FORMS[kind]
    content = form.decode(Fields(fields.value("what"), "what"))
    about = None if fields.value("about") is None else _uid(fields, "about")
    if form.must_point and about is None:
        raise ContentFault(f"about must name the row that this {kind} withdraws")
    what = fields.value("what")
    body = dump(what if isinstance(what, Mapping) else {})
    return _Line(number, Record(uid, kind, at, form.columns(content), body), about)


def _uid(fields: Fields, name: str) -> str:
    uid = fields.text(name)
    if not _UID.fullmatch(uid):
        raise ContentFault(f"{name} must be 1 to 64 letters, digits, - or _")
    return uid
