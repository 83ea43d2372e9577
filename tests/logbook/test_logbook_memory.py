"""Facts, adjustments, verdicts, care and coffees; and withdrawing any of them."""

from collections.abc import Callable
from datetime import UTC, date, datetime, timedelta

import pytest

from diagnose.errors import LogError
from diagnose.logbook import Adjustment, Coffee, Logbook, PulledShot
from diagnose.model import Range, Verdict

FINER = Adjustment("grind_finer", 1.5, "notch", 12.0, 10.5, (Range("time", 25.0, 31.0, "s"),))


def test_the_last_value_of_a_fact_is_recalled_and_all_are_kept(log: Logbook) -> None:
    """A recipe changes; what it was before stays readable."""
    assert log.recall("recipe") is None
    assert log.history("recipe") == []
    log.remember("recipe", {"dose": 18.0, "yield": 36, "note": None})
    log.remember("finer_is", "lower")
    log.remember("recipe", {"dose": 18.5, "yield": 37, "note": ["é", True]})
    assert log.recall("recipe") == {"dose": 18.5, "yield": 37, "note": ["é", True]}
    assert [entry.what.value for entry in log.history("recipe")] == [
        {"dose": 18.0, "yield": 36, "note": None},
        {"dose": 18.5, "yield": 37, "note": ["é", True]},
    ]
    assert log.facts() == {"finer_is": "lower", "recipe": {"dose": 18.5, "yield": 37, "note": ["é", True]}}


def test_keys_are_exact(log: Logbook) -> None:
    """Unlike a coffee's label a key is the program's own word, so case counts; odd bytes do no harm."""
    log.remember("Kit", 1)
    log.remember("kit\udc80", 2)
    assert (log.recall("Kit"), log.recall("kit"), log.recall("kit\udc80")) == (1, None, 2)


def test_undoing_a_fact_brings_back_the_one_before(log: Logbook) -> None:
    """Withdrawing the last answer makes the earlier one hold again, and withdrawing both leaves none."""
    first = log.remember("machine_type", "lever")
    second = log.remember("machine_type", "pump")
    log.retract(second, "undo")
    assert log.recall("machine_type") == "lever"
    assert [entry.id for entry in log.history("machine_type")] == [first]
    log.retract(first, "correction")
    assert log.recall("machine_type") is None
    assert log.facts() == {}


@pytest.mark.parametrize("value", [float("nan"), {"a": float("inf")}, object(), {1, 2}])
def test_a_fact_must_be_json(log: Logbook, value: object) -> None:
    """RFC 8259 has no NaN and no infinity, and knows only its own types."""
    with pytest.raises(LogError, match="cannot be logged"):
        log.remember("key", value)  # type: ignore[arg-type]


def test_a_fact_nested_without_end_is_refused(log: Logbook) -> None:
    """A list that holds itself cannot be written; the log says so instead of failing."""
    endless: list[object] = []
    endless.append(endless)
    with pytest.raises(LogError, match="cannot be logged"):
        log.remember("key", endless)  # type: ignore[arg-type]


def test_adjustments_come_back_with_dial_and_expected_range(log: Logbook) -> None:
    """What was promised before the shot is what the shot is judged by."""
    first = log.add_adjustment(FINER)
    log.add_adjustment(Adjustment("dose_up"))
    assert [entry.what for entry in log.adjustments()] == [FINER, Adjustment("dose_up")]
    assert [entry.id for entry in log.adjustments("grind_finer")] == [first]
    assert [entry.what.step for entry in log.adjustments(limit=1)] == ["dose_up"]


def test_a_verdict_points_at_the_adjustment_it_judges(log: Logbook) -> None:
    """Helped and fixed are probabilities; about says of which adjustment."""
    made = log.add_adjustment(FINER)
    log.add_verdict(Verdict("grind_finer", 0.9, 0.6), made)
    log.add_verdict(Verdict("rinse", 0.2, 0.0))
    assert [(entry.what, entry.about) for entry in log.verdicts()] == [
        (Verdict("grind_finer", 0.9, 0.6), made),
        (Verdict("rinse", 0.2, 0.0), None),
    ]
    assert [entry.what.step for entry in log.verdicts("rinse")] == ["rinse"]
    assert len(log.verdicts(limit=1)) == 1


def test_a_verdict_on_a_withdrawn_adjustment_no_longer_counts(log: Logbook) -> None:
    """What was never turned cannot have helped."""
    made = log.add_adjustment(FINER)
    log.add_verdict(Verdict("grind_finer", 0.9, 0.6), made)
    log.retract(made, "undo")
    assert log.adjustments() == []
    assert log.verdicts() == []


@pytest.mark.parametrize("helped", [-0.1, 1.1, float("nan")])
def test_a_verdict_outside_zero_to_one_is_refused(log: Logbook, helped: float) -> None:
    """A probability lies from 0 to 1 (Kolmogorov's axioms)."""
    with pytest.raises(LogError, match="cannot be logged"):
        log.add_verdict(Verdict("grind_finer", helped, 0.5))


def test_a_verdict_about_anything_but_an_adjustment_is_refused(log: Logbook) -> None:
    """The pointer is checked before it is written."""
    fact = log.remember("k", 1)
    for target, what in ((fact, "fact"), (999, "no row")):
        with pytest.raises(LogError, match=what):
            log.add_verdict(Verdict("grind_finer", 0.9, 0.6), target)
    assert log.verdicts() == []


def test_care_is_listed_in_the_order_in_which_it_was_done(log: Logbook) -> None:
    """Care told today may have been given last week; care told without a time was given now."""
    log.add_care("backflush", note="with detergent")
    log.add_care("descale", datetime(2031, 3, 1, 18, 0, tzinfo=UTC))
    log.add_care("backflush", datetime(2031, 3, 20, 18, 0, tzinfo=UTC))
    assert [(entry.what.item, entry.what.done.month) for entry in log.care()] == [
        ("descale", 3),
        ("backflush", 3),
        ("backflush", 4),
    ]
    assert [entry.what.note for entry in log.care("backflush")] == ["", "with detergent"]
    assert log.care("gasket") == []


def test_care_done_at_a_time_without_offset_is_refused(log: Logbook) -> None:
    """Days since care could be wrong by one; so the offset is asked for."""
    with pytest.raises(LogError, match="offset"):
        log.add_care("descale", datetime(2031, 3, 1))  # noqa: DTZ001 - the point of the test


def test_bags_of_one_label_are_kept_apart(log: Logbook) -> None:
    """A new bag of the same coffee has its own roast date; the last one is in use."""
    log.add_coffee(Coffee("House blend", date(2031, 2, 20), date(2031, 3, 1)))
    log.add_coffee(Coffee("Night shift"))
    log.add_coffee(Coffee("house  BLEND", roasted=date(2031, 3, 25)))
    assert [entry.what for entry in log.coffees("House blend")] == [
        Coffee("House blend", date(2031, 2, 20), date(2031, 3, 1)),
        Coffee("house  BLEND", date(2031, 3, 25)),
    ]
    assert [entry.what.label for entry in log.coffees(limit=2)] == ["Night shift", "house  BLEND"]


Asked = Callable[[Logbook], object]
ROWS: list[tuple[Callable[[Logbook], int], Asked]] = [
    (lambda log: log.add_shot(PulledShot(1, coffee="A")), lambda log: log.shots()),
    (lambda log: log.add_shot(PulledShot(1, coffee="A")), lambda log: log.shots("A")),
    (lambda log: log.add_shot(PulledShot(1)), lambda log: log.count_shots()),
    (lambda log: log.remember("k", 1), lambda log: log.recall("k")),
    (lambda log: log.remember("k", 1), lambda log: log.history("k")),
    (lambda log: log.remember("k", 1), lambda log: log.facts()),
    (lambda log: log.add_adjustment(FINER), lambda log: log.adjustments()),
    (lambda log: log.add_verdict(Verdict("s", 0.5, 0.5)), lambda log: log.verdicts()),
    (lambda log: log.add_care("descale"), lambda log: log.care()),
    (lambda log: log.add_coffee(Coffee("A")), lambda log: log.coffees()),
]


@pytest.mark.parametrize(("add", "ask"), ROWS)
def test_no_query_returns_a_withdrawn_row(log: Logbook, add: Callable[[Logbook], int], ask: Asked) -> None:
    """Whatever the row, asking after its withdrawal is as if it had never been said."""
    before = ask(log)
    row = add(log)
    assert ask(log) != before
    log.retract(row, "undo")
    assert ask(log) == before


def test_the_same_row_is_withdrawn_once_and_a_retraction_never(log: Logbook) -> None:
    """A second undo must find the row before, not the same one again."""
    row = log.remember("k", 1)
    retraction = log.retract(row, "undo")
    for target in (row, retraction, 999):
        with pytest.raises(LogError, match=f"no row {target}"):
            log.retract(target, "undo")


def test_a_retraction_has_its_own_reason_from_two(log: Logbook) -> None:
    """Only undo and correction withdraw anything."""
    row = log.remember("k", 1)
    with pytest.raises(LogError, match="undo, correction"):
        log.retract(row, "tidying")  # type: ignore[arg-type]
    assert log.recall("k") == 1


def test_rows_have_uids_of_their_own(log: Logbook) -> None:
    """128 random bits in hexadecimal unless the caller names rows."""
    ids = [log.remember("k", n) for n in range(50)]
    entries = log.history("k")
    assert [entry.id for entry in entries] == ids
    assert len({entry.uid for entry in entries}) == 50
    assert all(len(entry.uid) == 32 and int(entry.uid, 16) >= 0 for entry in entries)


def test_the_caller_can_name_rows() -> None:
    """With clock and names passed in, the same calls give the same export, byte for byte."""

    def once() -> list[str]:
        names = iter(f"row-{n}" for n in range(9))
        at = datetime(2031, 4, 2, tzinfo=UTC)
        with Logbook.open_in_memory(lambda: at + timedelta(0), lambda: next(names)) as log:
            log.retract(log.add_shot(PulledShot(1)), "undo")
            return list(log.export_lines())

    assert once() == once()
    assert '"uid":"row-1"' in once()[2]
