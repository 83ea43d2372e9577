"""Export and import: everything goes out, everything comes back once, bad lines are named."""

import json
from collections.abc import Callable, Iterator
from datetime import UTC, date, datetime, timedelta, timezone
from pathlib import Path
from typing import Any

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from diagnose.errors import LogError
from diagnose.logbook import Adjustment, Care, Coffee, Content, Entry, Fact, Logbook, PulledShot, opening
from diagnose.model import SETTINGS, Finding, Quantity, Range, Setting, Verdict

HEADER = '{"format":"diagnose-log","version":1}'
AT = "2031-04-02T08:15:00+02:00"


def now() -> datetime:
    """Return a fixed time."""
    return datetime(2031, 4, 2, tzinfo=UTC)


def line(uid: str = "a", kind: str = "fact", at: object = AT, about: object = None, **what: object) -> str:
    """Return one line of an export; a fact by default."""
    content = what or {"key": "k", "value": 1}
    return json.dumps({"uid": uid, "kind": kind, "at": at, "about": about, "what": content})


# Any text at all: surrogate halves, line ends, zero bytes.
texts = st.text(st.characters(exclude_categories=()), max_size=8)
names = texts.filter(str.strip)
numbers = st.floats(allow_nan=False, allow_infinity=False)
moments = st.builds(
    lambda naive, minutes: naive.replace(tzinfo=timezone(timedelta(minutes=minutes))),
    st.datetimes(),
    st.integers(-1439, 1439),
)
quantities = st.builds(Quantity, numbers, texts, numbers, numbers, texts)
findings = st.builds(
    Finding,
    names,
    st.lists(texts, max_size=3).map(tuple),
    st.sampled_from(["measured", "answered", "said", "derived"]),
    st.none() | numbers,
    st.none() | names,
)
json_values = st.recursive(
    st.none() | st.booleans() | st.integers() | numbers | texts,
    lambda inner: st.lists(inner, max_size=3) | st.dictionaries(texts, inner, max_size=3),
    max_leaves=5,
)
shares = st.floats(0.0, 1.0)
contents: st.SearchStrategy[Content] = st.one_of(
    st.builds(
        PulledShot,
        st.integers(min_value=1),
        st.sampled_from(SETTINGS),
        st.none() | names,
        st.dictionaries(texts | st.sampled_from(["dial", "dose", "time"]), quantities, max_size=4),
        st.lists(findings, max_size=2).map(tuple),
        st.none() | names,
        texts,
    ),
    st.builds(Fact, names, json_values),
    st.builds(
        Adjustment,
        names,
        st.none() | numbers,
        texts,
        st.none() | numbers,
        st.none() | numbers,
        st.lists(st.builds(Range, names, numbers, numbers, texts), max_size=2).map(tuple),
    ),
    st.builds(Verdict, names, shares, shares),
    st.builds(Care, names, moments, texts),
    st.builds(Coffee, names, st.none() | st.dates(), st.none() | st.dates()),
)


def everything(log: Logbook) -> list[object]:
    """Return what all queries answer, ids left out."""
    rows: list[Entry[Any]] = [
        *log.shots(limit=-1),
        *log.adjustments(limit=-1),
        *log.verdicts(limit=-1),
        *log.care(),
        *log.coffees(limit=-1),
    ]
    return [*((entry.uid, entry.at, entry.what) for entry in rows), log.facts()]


@settings(max_examples=60, deadline=None)
@given(st.lists(st.tuples(contents, moments, st.booleans()), max_size=8))
def test_an_export_imported_elsewhere_answers_alike(told: list[tuple[Content, datetime, bool]]) -> None:
    """Whatever was said, withdrawn or not: same export, same answers; a second import changes nothing."""
    with Logbook.open_in_memory(now) as log, Logbook.open_in_memory(now) as other:
        for content, at, withdrawn in told:
            with log._store.writing():
                row = log._insert(content, at)
            if withdrawn:
                log.retract(row, "undo")
        lines = list(log.export_lines())
        assert all(text.isascii() and "\n" not in text for text in lines)
        imported = other.import_lines(lines)
        assert (imported.problems, imported.known) == ((), 0)
        assert sum(imported.added.values()) == len(lines) - 1
        assert list(other.export_lines()) == lines
        assert everything(other) == everything(log)
        again = other.import_lines(lines)
        assert (again.added, again.known, again.problems) == ({}, len(lines) - 1, ())
        assert list(other.export_lines()) == lines


@given(contents, moments)
@settings(max_examples=60, deadline=None)
def test_every_content_comes_back_equal(content: Content, at: datetime) -> None:
    """Through file form and back, a value equals itself, to the last bit of its numbers."""
    with Logbook.open_in_memory(now) as log:
        with log._store.writing():
            log._insert(content, at)
        asked: list[Entry[Any]] = [*log.shots(), *log.adjustments(), *log.verdicts(), *log.care(), *log.coffees()]
        values = [entry.what for entry in asked] or [Fact(key, value) for key, value in log.facts().items()]
        assert values == [content]


def fill(log: Logbook) -> None:
    """Write one row of each kind."""
    setting: Setting = "training"
    log.add_shot(PulledShot(1, setting, "A", {"time": Quantity(27.5, "s", 25.0, 30.0, "25-30 s")}, text="25-30 s"))
    made = log.add_adjustment(Adjustment("grind_finer", 1.0, "notch", 12.0, 11.0, (Range("time", 25.0, 30.0, "s"),)))
    log.add_verdict(Verdict("grind_finer", 0.9, 0.5), made)
    log.add_care("descale", now(), "citric acid")
    log.add_coffee(Coffee("A", date(2031, 3, 25)))
    log.retract(log.remember("k", {"v": [1, None]}), "correction")


def test_the_written_format_is_the_documented_one() -> None:
    """Version 1 of the format, spelt out: other programs may read it, so it does not change by accident."""
    names_ = iter("abcdefg")
    with Logbook.open_in_memory(now, lambda: next(names_)) as log:
        fill(log)
        rows = [json.loads(text) for text in log.export_lines()]
    at = "2031-04-02T00:00:00+00:00"
    assert rows[0] == {"format": "diagnose-log", "version": 1}
    assert [(row["uid"], row["kind"], row["about"]) for row in rows[1:]] == [
        ("a", "shot", None),
        ("b", "adjustment", None),
        ("c", "verdict", "b"),
        ("d", "care", None),
        ("e", "coffee", None),
        ("f", "fact", None),
        ("g", "retraction", "f"),
    ]
    assert {row["at"] for row in rows[1:]} == {at}
    assert [row["what"] for row in rows[1:]] == [
        {
            "number": 1,
            "setting": "training",
            "coffee": "A",
            "measures": {"time": {"value": 27.5, "low": 25.0, "high": 30.0, "unit": "s", "shown": "25-30 s"}},
            "findings": [],
            "step": None,
            "text": "25-30 s",
        },
        {
            "step": "grind_finer",
            "amount": 1.0,
            "unit": "notch",
            "dial_from": 12.0,
            "dial_to": 11.0,
            "expected": [{"name": "time", "low": 25.0, "high": 30.0, "unit": "s"}],
        },
        {"step": "grind_finer", "helped": 0.9, "fixed": 0.5},
        {"item": "descale", "done": at, "note": "citric acid"},
        {"label": "A", "roasted": "2031-03-25", "opened": None},
        {"key": "k", "value": {"v": [1, None]}},
        {"reason": "correction"},
    ]


def test_an_export_is_of_the_moment_it_began(log: Logbook) -> None:
    """Rows added while it is being read are left out, so importing into the same log ends."""
    for number in range(700):
        log.remember("k", number)
    lines = log.export_lines()
    next(lines)
    log.remember("k", "late")
    assert len(list(lines)) == 700
    assert log.import_lines(log.export_lines()).known == 701


def test_unknown_fields_are_kept(log: Logbook) -> None:
    """A field that a later release adds within the version goes through this one unharmed."""
    assert log.import_lines([HEADER, line(key="k", value=1, weather="damp")]).problems == ()
    assert json.loads(list(log.export_lines())[1])["what"] == {"key": "k", "value": 1, "weather": "damp"}


BAD: list[tuple[str, str]] = [
    ("{", "not JSON"),
    ("[" * 100_000, "not JSON"),
    ("17", "not a JSON object"),
    ("{}", "uid must be a text"),
    (line(uid="a b"), "uid must be 1 to 64"),
    (line(uid="u" * 65), "uid must be 1 to 64"),
    (line(kind="tea"), "kind must be one of shot, fact"),
    (line(at="2031-04-02"), "at must be a date and time with offset"),
    (line(at="yesterday"), "at must be a date and time with offset"),
    (line(at=3), "at must be a date and time with offset"),
    (line(key=" ", value=1), "what.key must be a text that is not empty"),
    (f'{{"uid":"a","kind":"fact","at":"{AT}","what":{{"key":"k","value":NaN}}}}', "cannot be written as JSON"),
    (f'{{"uid":"a","kind":"fact","at":"{AT}","what":{{"key":"k","value":1e999}}}}', "cannot be written as JSON"),
    (f'{{"uid":"a","kind":"fact","at":"{AT}"}}', "what is not a JSON object"),
    (line(about="zz"), "is about row zz, which is neither in this log nor in the lines"),
    (line(kind="retraction", reason="undo"), "about must name the row"),
    (line(kind="retraction", about="zz", reason="boredom"), "what.reason must be one of undo, correction"),
    (line(kind="retraction", about=4, reason="undo"), "about must be a text"),
    (line(kind="shot", number=True, setting="home"), "what.number must be a whole number"),
    (line(kind="shot", number=1.5, setting="home"), "what.number must be a whole number"),
    (line(kind="shot", number=1, setting="home", measures=[]), "what.measures must be an object"),
    (line(kind="shot", number=1, setting="home", measures={"time": 27}), "what.measures.time is not a JSON object"),
    (
        line(kind="shot", number=1, setting="home", measures={"time": {"value": "27"}}),
        "what.measures.time.value must be a number",
    ),
    (
        line(kind="shot", number=1, setting="home", measures={"time": {"value": 10**400}}),
        "what.measures.time.value must be a finite number",
    ),
    (line(kind="shot", number=1, setting="home", findings={}), "what.findings must be a list"),
    (
        line(kind="shot", number=1, setting="home", findings=[{"id": "flow", "levels": [1], "source": "said"}]),
        "what.findings[0].levels must be a list of texts",
    ),
    (line(kind="verdict", step="s", helped=2, fixed=0), "what.helped must be a number from 0 to 1"),
    (line(kind="coffee", label="A", roasted="spring"), "what.roasted must be a day"),
    (line(kind="care", item="descale", done="2031-04-02T08:15"), "what.done must be a date and time with offset"),
]


@pytest.mark.parametrize(("bad", "why"), BAD)
def test_a_bad_line_is_named_and_stops_nothing(log: Logbook, bad: str, why: str) -> None:
    """Its number and reason are told; the lines round it are added."""
    imported = log.import_lines([HEADER, line("one"), "", bad + "\n", line("two")])
    (problem,) = imported.problems
    assert problem.line == 4
    assert why in problem.what
    assert str(problem) == f"line 4: {problem.what}"
    assert imported.added == {"fact": 2}


def test_a_row_may_stand_before_the_row_it_is_about(log: Logbook) -> None:
    """Lines sorted some other way still make a whole log, three rows deep."""
    lines = [
        HEADER,
        line("r", "retraction", about="v", reason="undo"),
        line("v", "verdict", about="a", step="s", helped=1, fixed=1),
        line("a", "adjustment", step="s"),
    ]
    assert log.import_lines(lines).added == {"adjustment": 1, "verdict": 1, "retraction": 1}
    assert log.verdicts() == []
    assert len(log.adjustments()) == 1


def test_pointers_to_the_wrong_kind_are_refused(log: Logbook) -> None:
    """A retraction of a retraction, a verdict on a fact, a shot about anything."""
    lines = [
        HEADER,
        line("a"),
        line("b", "retraction", about="a", reason="undo"),
        line("c", "retraction", about="b", reason="undo"),
        line("d", "verdict", about="a", step="s", helped=1, fixed=1),
        line("e", "shot", about="a", number=1, setting="home"),
    ]
    imported = log.import_lines(lines)
    assert [str(problem) for problem in imported.problems] == [
        "line 4: a retraction cannot be about a retraction",
        "line 5: a verdict cannot be about a fact",
        "line 6: a shot cannot be about a fact",
    ]


def test_a_row_withdrawn_in_two_places_is_withdrawn_once(log: Logbook) -> None:
    """Two copies of one log may each have undone the same shot; brought together both say so."""
    shot = line("a", "shot", number=1, setting="home")
    undos = [line(uid, "retraction", about="a", reason="undo") for uid in ("here", "there")]
    assert log.import_lines([HEADER, shot, *undos]).added == {"shot": 1, "retraction": 2}
    log.add_shot(PulledShot(2))
    assert log.count_shots() == 1
    assert [entry.what.number for entry in log.shots()] == [2]


def test_a_row_that_is_here_with_other_content_is_kept_and_told(log: Logbook) -> None:
    """The log only grows: a changed line does not change what was said."""
    log.import_lines([HEADER, line(key="k", value=1)])
    imported = log.import_lines([HEADER, line(key="k", value=2), line("b")])
    assert (imported.known, imported.added) == (1, {"fact": 1})
    assert [str(problem) for problem in imported.problems] == [
        "line 2: row a is in this log with other content; what is here was kept"
    ]
    assert [entry.what.value for entry in log.history("k")] == [1, 1]


def test_lines_without_a_header_are_read_and_it_is_told_once(log: Logbook) -> None:
    """Part of an export, cut out with other tools, is better than nothing."""
    imported = log.import_lines([line("one"), line("two")])
    assert imported.added == {"fact": 2}
    assert [problem.line for problem in imported.problems] == [1]
    assert "first line of an export" in imported.problems[0].what


def test_exports_can_be_put_end_to_end_and_come_from_other_editors(log: Logbook) -> None:
    """Two headers, a byte order mark, line ends of another system, empty lines."""
    lines = ["\ufeff" + HEADER + "\r\n", line("one") + "\r\n", "\r\n", HEADER + "\n", line("two")]
    imported = log.import_lines(lines)
    assert (imported.added, imported.problems) == ({"fact": 2}, ())


@pytest.mark.parametrize(
    ("header", "why"),
    [
        ('{"format":"diagnose-log","version":2}', "version 2 of the format"),
        ('{"format":"diagnose-log"}', "version must be a whole number"),
        ('{"format":"recipes","version":1}', "another format"),
    ],
)
def test_lines_under_a_header_that_is_not_known_are_left_out(log: Logbook, header: str, why: str) -> None:
    """What they mean is not known; lines under a known header further down are read."""
    imported = log.import_lines([header, line("one"), HEADER, line("two")])
    assert imported.added == {"fact": 1}
    assert [problem.line for problem in imported.problems] == [1]
    assert why in imported.problems[0].what


def test_importing_nothing_does_nothing(log: Logbook) -> None:
    """An empty file is no fault."""
    imported = log.import_lines([])
    assert (imported.added, imported.known, imported.problems) == ({}, 0, ())


def test_an_import_that_breaks_off_can_be_run_again(
    path: Path, clock: Callable[[], datetime], monkeypatch: pytest.MonkeyPatch
) -> None:
    """When the log is locked on the way, what was committed stays, and the second run adds the rest."""
    monkeypatch.setattr(opening, "BUSY_SECONDS", 0.05)
    lines = [HEADER, *(line(f"u{n}") for n in range(1200))]
    with Logbook.open(path, clock) as log, Logbook.open(path, clock) as other:

        def interrupted() -> Iterator[str]:
            yield from lines[:800]
            other._store.connection.execute("BEGIN IMMEDIATE")
            yield from lines[800:]

        with pytest.raises(LogError, match="another program"):
            log.import_lines(interrupted())
        other._store.connection.execute("ROLLBACK")
        imported = log.import_lines(lines)
        assert (imported.known, imported.added) == (500, {"fact": 700})
