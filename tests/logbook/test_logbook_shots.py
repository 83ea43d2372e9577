"""Shots: written down, found again by coffee and dial, corrected in place."""

from collections.abc import Callable
from datetime import UTC, datetime, timedelta

import pytest

from diagnose.errors import LogError
from diagnose.logbook import Fact, Logbook, PulledShot
from diagnose.model import Finding, Quantity


def shot(coffee: str | None = "House blend", number: int = 1, text: str = "", **measures: float) -> PulledShot:
    """Return a shot with exact measures; their units do not matter to the log."""
    quantities = {name: Quantity.exact(value, "g") for name, value in measures.items()}
    return PulledShot(number, coffee=coffee, measures=quantities, text=text)


FULL = PulledShot(
    number=3,
    setting="service",
    coffee="Sunny Slope, café washed",
    measures={"time": Quantity(27.5, "s", 25.0, 30.0, "25-30 s"), "dose": Quantity.exact(56.7, "g", "2 oz")},
    findings=(
        Finding("flow", ("gushing", "fast"), "measured", 14.4, "s"),
        Finding("taste_lean", ("sour",), "said"),
    ),
    step="grind_finer",
    text="25-30 s, \x00 sour \udc80 ☕\nagain",
)


def test_a_shot_comes_back_as_it_was_told(log: Logbook) -> None:
    """Nothing of a shot is lost: ranges, units as shown, levels, the step tried, odd bytes in the text."""
    shot_id = log.add_shot(FULL)
    (entry,) = log.shots()
    assert entry.id == shot_id
    assert entry.what == FULL
    assert entry.at == datetime(2031, 4, 2, 6, 15, tzinfo=UTC)
    assert entry.at.utcoffset() == timedelta(hours=2)
    assert entry.about is None


def test_the_newest_shots_are_returned_oldest_first(log: Logbook) -> None:
    """A limit keeps the newest; the last of the list is the latest."""
    ids = [log.add_shot(shot(number=n)) for n in range(1, 8)]
    assert [entry.id for entry in log.shots(limit=3)] == ids[-3:]
    assert [entry.what.number for entry in log.shots()] == list(range(1, 8))
    assert log.shots(limit=0) == []


def test_shots_are_in_order_of_time_not_of_writing(log: Logbook) -> None:
    """An imported shot of last year is no newer than today's, whatever offset its clock had."""
    log.add_shot(shot(number=2))
    line = '{"uid":"x","kind":"shot","at":"2031-04-02T01:14:59.9-05:00","what":{"number":1,"setting":"home"}}'
    assert log.import_lines(['{"format":"diagnose-log","version":1}', line]).problems == ()
    assert [entry.what.number for entry in log.shots()] == [1, 2]


def test_rows_sort_by_the_instant_that_sqlite_itself_reads_from_their_time(log: Logbook) -> None:
    """SQLite's strftime('%s') turns date, time and offset into seconds since 1970: an oracle beside our arithmetic."""
    times = ["2031-04-02T08:15:00+02:00", "1969-07-20T20:17:40-05:00", "2000-02-29T23:59:59.25+05:45"]
    lines = [f'{{"uid":"u{n}","kind":"fact","at":"{at}","what":{{"key":"k"}}}}' for n, at in enumerate(times)]
    assert log.import_lines(['{"format":"diagnose-log","version":1}', *lines]).problems == ()
    rows = log._store.rows("SELECT instant, strftime('%s', at) FROM entries")
    assert [instant // 1_000_000 for instant, _ in rows] == [int(seconds) for _, seconds in rows]


def test_shots_can_be_asked_for_by_coffee_and_dial(log: Logbook) -> None:
    """The two filters hold alone and together; what was not said matches nothing."""
    log.add_shot(shot("House blend", 1, dial=12.0))
    log.add_shot(shot("House blend", 2, dial=11.5))
    log.add_shot(shot("Night shift", 3, dial=12.0))
    log.add_shot(shot(None, 4))
    assert [entry.what.number for entry in log.shots(coffee="House blend")] == [1, 2]
    assert [entry.what.number for entry in log.shots(dial=12.0)] == [1, 3]
    assert [entry.what.number for entry in log.shots("House blend", 12.0)] == [1]
    assert log.shots("House blend", 12.5) == []


def test_labels_match_whatever_their_case_and_spacing(log: Logbook) -> None:
    """People type a label differently each time; it is shown as it was typed."""
    log.add_shot(shot("  Cafe\u0301  NOIR "))
    (entry,) = log.shots("café noir")
    assert entry.what.coffee == "  Cafe\u0301  NOIR "


def test_a_corrected_shot_takes_the_place_of_the_one_it_replaces(log: Logbook) -> None:
    """The correction is no new shot: it stands where the wrong one stood, before later shots."""
    wrong = log.add_shot(shot(number=1, time=72.0))
    log.add_shot(shot(number=2, time=30.0))
    right = log.correct_shot(wrong, shot(number=1, time=27.0))
    first, second = log.shots()
    assert (first.id, first.what.measures["time"].value, first.at.minute) == (right, 27.0, 15)
    assert second.what.number == 2


@pytest.mark.parametrize("row", ["missing", "withdrawn", "fact"])
def test_only_a_standing_shot_can_be_corrected(log: Logbook, row: str) -> None:
    """A correction of nothing would add a shot nobody pulled; so nothing is added."""
    withdrawn = log.add_shot(shot())
    log.retract(withdrawn, "undo")
    target = {"missing": 99, "withdrawn": withdrawn, "fact": log.remember("k", 1)}[row]
    with pytest.raises(LogError, match=f"no row {target}"):
        log.correct_shot(target, shot())
    assert log.shots() == []


def test_a_correction_that_fails_leaves_the_first_shot_standing(log: Logbook) -> None:
    """Withdrawing and replacing are one act: all of it or none."""
    kept = log.add_shot(shot(time=30.0))
    with pytest.raises(LogError, match="cannot be logged"):
        log.correct_shot(kept, shot(time=float("nan")))
    assert [entry.id for entry in log.shots()] == [kept]
    assert len(list(log.export_lines())) == 2


def test_counting_shots_leaves_out_the_withdrawn_and_starts_after_a_moment(log: Logbook) -> None:
    """Care is counted in shots since it was last done."""
    assert log.count_shots() == 0
    ids = [log.add_shot(shot(number=n)) for n in range(1, 6)]
    log.retract(ids[0], "undo")
    log.retract(ids[3], "correction")
    log.retract(log.remember("k", 1), "undo")
    third = log.shots()[1]
    assert third.id == ids[2]
    assert log.count_shots() == 3
    assert log.count_shots(third.at) == 1
    assert log.count_shots(third.at - timedelta(microseconds=1)) == 2


def test_a_row_is_found_by_its_number_while_it_stands(log: Logbook) -> None:
    """Whatever its kind; not once it was withdrawn, and a retraction is no row to look at."""
    first = log.add_shot(shot(dial=12.0, time=26.0))
    fact = log.remember("k", 1)
    found = [log.entry(number) for number in (first, fact, 99)]
    assert [entry.what if entry else None for entry in found] == [shot(dial=12.0, time=26.0), Fact("k", 1), None]
    withdrawal = log.retract(first, "undo")
    assert log.entry(first) is None
    assert log.entry(withdrawal) is None


@pytest.mark.parametrize(
    "bad",
    [
        shot(time=float("inf")),
        shot(number=0),
        shot(coffee=" "),
        PulledShot(1, setting="cellar"),  # type: ignore[arg-type]
        PulledShot(1, findings=(Finding("flow", ("fast",), "guessed"),)),  # type: ignore[arg-type]
    ],
)
def test_what_could_not_be_read_back_is_not_written(log: Logbook, bad: PulledShot) -> None:
    """A number that is none, or a word outside the vocabulary, is refused before it reaches the file."""
    with pytest.raises(LogError, match=r"cannot be logged.*Nothing was written"):
        log.add_shot(bad)
    assert len(list(log.export_lines())) == 1


def test_a_clock_without_a_zone_is_refused() -> None:
    """A time without offset could not be compared with another machine's."""
    naive: Callable[[], datetime] = lambda: datetime(2031, 4, 2, 8, 15)  # noqa: DTZ001, E731 - the point of the test
    with Logbook.open_in_memory(naive) as log, pytest.raises(LogError, match="offset from UTC"):
        log.add_shot(shot())


def test_queries_walk_an_index_and_sort_nothing(log: Logbook) -> None:
    """Quick with a hundred thousand shots: SQLite's own plan shows no full scan and no sorting beyond equal times."""
    statements: list[str] = []
    log._store.connection.set_trace_callback(statements.append)
    log.shots()
    log.shots("House blend")
    log.shots("House blend", 12.0)
    log.shots(dial=12.0)
    log.entry(1)
    log.recall("recipe_dose")
    log._store.connection.set_trace_callback(None)
    assert len(statements) == 6
    for statement in statements:
        plan = [row[3] for row in log._store.rows(f"EXPLAIN QUERY PLAN {statement}")]
        assert not [step for step in plan if step.startswith("SCAN") or step == "USE TEMP B-TREE FOR ORDER BY"], plan
