"""Nothing said is ever changed or deleted, by this program or through its file."""

import json
import re
import sqlite3
from collections.abc import Callable
from datetime import datetime
from pathlib import Path

import pytest

from diagnose.logbook import Adjustment, Coffee, Logbook, PulledShot
from diagnose.model import Quantity, Verdict


def busy_day(log: Logbook) -> None:
    """Call everything that writes or reads."""
    wrong = log.add_shot(PulledShot(1, coffee="A", measures={"dial": Quantity.exact(3.0, "notch")}))
    log.correct_shot(wrong, PulledShot(1, coffee="A"))
    log.retract(log.remember("k", 1), "undo")
    log.add_verdict(Verdict("s", 0.5, 0.5), log.add_adjustment(Adjustment("s")))
    log.add_care("descale")
    log.add_coffee(Coffee("A"))
    log.import_lines(list(log.export_lines()))
    for ask in (log.shots, log.facts, log.adjustments, log.verdicts, log.care, log.coffees, log.count_shots):
        ask()
    log.recall("k")
    log.history("k")
    log.entry(1)


def test_no_statement_of_ours_changes_or_deletes(path: Path, clock: Callable[[], datetime]) -> None:
    """All SQL that reaches SQLite is read here: it inserts, selects, and brackets transactions."""
    statements: list[str] = []
    with Logbook.open(path, clock) as log:
        log._store.connection.set_trace_callback(statements.append)
        busy_day(log)
    words = {statement.split()[0].upper() for statement in statements}
    assert words == {"BEGIN", "COMMIT", "INSERT", "SELECT"}
    assert not [s for s in statements if re.search(r"\b(UPDATE|DELETE|REPLACE|DROP|ALTER)\b", s, re.IGNORECASE)]


@pytest.mark.parametrize(
    "sql",
    [
        "UPDATE entries SET body = '{}'",
        "UPDATE entries SET at = at WHERE id = 1",
        "DELETE FROM entries",
        "DELETE FROM entries WHERE kind = 'retraction'",
    ],
)
def test_the_file_itself_refuses_change_by_any_program(path: Path, clock: Callable[[], datetime], sql: str) -> None:
    """A plain SQLite connection, ours or not, is told that the log only grows."""
    with Logbook.open(path, clock) as log:
        busy_day(log)
        before = list(log.export_lines())
        other = sqlite3.connect(path)
        with pytest.raises(sqlite3.IntegrityError, match="only grows"):
            other.execute(sql)
        other.close()
        assert list(log.export_lines()) == before


def test_a_withdrawn_row_stays_and_says_when_and_why_it_was_withdrawn(log: Logbook) -> None:
    """The export shows the row, and a retraction that points at it."""
    log.retract(log.add_shot(PulledShot(1, text="18 in")), "undo")
    fixed = log.correct_shot(log.add_shot(PulledShot(2, text="80 in")), PulledShot(2, text="18 in"))
    assert [entry.id for entry in log.shots()] == [fixed]
    _, first, undo, second, correction, third = (json.loads(line) for line in log.export_lines())
    assert [row["what"].get("text") for row in (first, second, third)] == ["18 in", "80 in", "18 in"]
    assert (undo["about"], undo["what"], undo["at"][:16]) == (first["uid"], {"reason": "undo"}, "2031-04-02T08:16")
    assert (correction["about"], correction["what"]) == (second["uid"], {"reason": "correction"})
    assert correction["at"] > second["at"] == third["at"]


def test_a_row_cannot_point_at_nothing(path: Path, clock: Callable[[], datetime]) -> None:
    """Foreign keys are on in our connections, and a retraction must have a target in the file's own terms too."""
    with Logbook.open(path, clock) as log:
        insert = "INSERT INTO entries (uid, kind, at, instant, about, body) VALUES ('u', 'retraction', '', 0, ?, '{}')"
        for target in (77, None):
            with pytest.raises(sqlite3.IntegrityError):
                log._store.connection.execute(insert, (target,))
