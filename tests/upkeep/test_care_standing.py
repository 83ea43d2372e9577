"""What is due by the log: days and shots against the interval, whichever is further along, and the kit it is for."""

from collections.abc import Callable
from datetime import UTC, date, datetime, timedelta

import pytest

from diagnose.logbook import Logbook
from diagnose.logbook.contents import JsonValue
from diagnose.model import Setting
from diagnose.upkeep.plan import CarePlan
from diagnose.upkeep.standing import ORDER, Reach, Standing, care_findings, overdue, standings
from diagnose.upkeep.water import remember_water

Clock = Callable[[], datetime]
Pull = Callable[..., list[int]]
FITTED = {"exhaust_valve": ["fitted"], "machine_type": ["single_boiler"], "ground_by": ["own_grinder"]}


def of(plan: CarePlan, book: Logbook | None, now: datetime, item: str, setting: Setting = "home") -> Standing:
    """Return the standing of one item."""
    return next(each for each in standings(plan, book, setting, now) if each.item == item)


@pytest.mark.parametrize(
    ("setting", "days", "state"),
    [
        # The intervals of the shipped plan: the screen every 7 days at home, every day in service.
        ("home", 0, "in_time"),
        ("home", 6, "in_time"),
        ("home", 7, "due"),
        ("home", 8, "overdue"),
        ("service", 0, "in_time"),
        ("service", 1, "due"),
        ("service", 2, "overdue"),
        ("training", 1, "due"),
    ],
)
def test_days_are_counted_by_the_calendar(
    plan: CarePlan, book: Logbook, clock: Clock, *, setting: Setting, days: int, state: str
) -> None:
    """What was done yesterday evening is due this evening, not overdue; the day after it is."""
    now = clock()
    book.add_care("screen", now - timedelta(days=days, hours=-1))
    found = of(plan, book, now, "screen", setting)
    assert found.state == state
    assert found.reaches[0] == Reach("days", days, plan.items["screen"].every.at(setting).days)


@pytest.mark.parametrize(("shots", "state"), [(19, "in_time"), (20, "due"), (21, "overdue")])
def test_shots_count_when_they_are_further_along_than_days(
    plan: CarePlan, book: Logbook, clock: Clock, *, pull: Pull, shots: int, state: str
) -> None:
    """Twenty shots since the screen was wiped are as much as a week; those before it do not count."""
    pull(book, [27] * 30)
    book.add_care("screen")
    pull(book, [27] * shots)
    found = of(plan, book, clock(), "screen")
    assert (found.state, found.share) == (state, shots / 20)


def test_only_the_last_time_counts_and_a_withdrawn_one_does_not(plan: CarePlan, book: Logbook, clock: Clock) -> None:
    """Entries may come in any order; taking one back brings the one before it back."""
    now = clock()
    row = book.add_care("screen", now - timedelta(days=1))
    book.add_care("screen", now - timedelta(days=30))
    assert of(plan, book, now, "screen").done_on == date(2026, 6, 3)
    book.retract(row, "undo")
    assert of(plan, book, now, "screen").done_on == date(2026, 5, 5)


def test_what_was_never_written_down_is_not_known_and_never_overdue(
    plan: CarePlan, book: Logbook, clock: Clock, pull: Pull
) -> None:
    """Silence is no evidence, however many shots the log has; without a log nothing is known either."""
    pull(book, [27] * 100)
    for given in (book, None):
        found = standings(plan, given, "home", clock())
        assert {each.state for each in found} == {"not_known", "unanswered"}
        assert overdue(given, "home", clock(), plan) == []
        assert care_findings(found) == {}


def test_overdue_comes_first_and_the_longest_overdue_before_it(plan: CarePlan, book: Logbook, clock: Clock) -> None:
    """Then what is due, what is not known, what waits for an answer, what is in time."""
    now = clock()
    book.remember("kit", {"ground_by": ["shop_ground"]})
    for item, days in (("basket_soak", 20), ("screen", 30), ("group_water_flush", 7), ("gasket", 1)):
        book.add_care(item, now - timedelta(days=days))
    found = standings(plan, book, "home", now)
    states = [each.state for each in found]
    assert states == sorted(states, key=ORDER.index)
    assert [each.item for each in found][:3] == ["screen", "basket_soak", "group_water_flush"]
    assert [each.item for each in found if each.state == "in_time"] == ["gasket"]
    assert {each.item for each in found if each.state == "not_here"} == {"burrs", "hopper", "grinder_tablets"}
    assert [each.item for each in overdue(book, "home", now)] == ["screen", "basket_soak"]


@pytest.mark.parametrize(
    ("kit", "item", "state"),
    [
        ({}, "group_detergent", "unanswered"),
        ({"exhaust_valve": ["fitted"]}, "group_detergent", "overdue"),
        ({"exhaust_valve": ["fitted", "missing"]}, "group_detergent", "unanswered"),
        ({"exhaust_valve": ["missing"]}, "group_detergent", "not_here"),
        ({"exhaust_valve": ["fitted"], "machine_type": ["lever"]}, "group_detergent", "not_here"),
        ({"machine_type": ["lever"]}, "group_detergent", "not_here"),
        ({"machine_type": ["pod"]}, "basket_soak", "not_here"),
        ({"machine_type": ["lever"]}, "basket_soak", "overdue"),
        ({"machine_type": ["lever", "pod"]}, "basket_soak", "overdue"),
        ({"machine_type": "pod"}, "basket_soak", "overdue"),
        ({"water_kind": ["pure"]}, "descaling", "not_here"),
        ({"water_kind": ["hard"]}, "descaling", "overdue"),
        ("nonsense", "descaling", "overdue"),
    ],
)
def test_care_is_for_the_kit_it_is_for(
    plan: CarePlan, book: Logbook, clock: Clock, *, kit: JsonValue, item: str, state: str
) -> None:
    """What would be unsafe waits until the kit is known; the rest is left out only once the kit is known not to fit."""
    now = clock()
    book.remember("kit", kit)
    book.add_care(item, now - timedelta(days=400))
    found = of(plan, book, now, item)
    assert found.state == state
    assert (found.missing is None) == (state == "overdue")


@pytest.mark.parametrize(
    ("setting", "done", "expected"),
    [
        ("home", {"group_detergent": 14}, {"care_group": "done"}),
        ("home", {"group_detergent": 15}, {"care_group": "overdue"}),
        # In service the finding allows a day or two, so it turns later than the reminder does.
        ("service", {"group_detergent": 2}, {"care_group": "done"}),
        ("service", {"group_detergent": 3}, {"care_group": "overdue"}),
        # The one done last decides.
        ("home", {"group_detergent": 40, "basket_soak": 3}, {"care_group": "done"}),
        ("home", {"group_detergent": 3, "basket_soak": 40}, {"care_group": "done"}),
        ("home", {"group_detergent": 40, "basket_soak": 41}, {"care_group": "overdue"}),
        ("home", {"burrs": 61, "descaling": 91, "water_filter": 89}, {
            "care_grinder": "overdue", "care_descaling": "overdue", "care_filter": "done",
        }),
        ("service", {"burrs": 3, "grinder_tablets": 4}, {"care_grinder": "done"}),
        ("service", {"burrs": 4, "grinder_tablets": 4}, {"care_grinder": "overdue"}),
        ("home", {"hopper": 400, "gasket": 4000, "wand": 40, "screen": 40, "group_water_flush": 40}, {}),
    ],
)  # fmt: skip
def test_the_log_answers_what_a_talk_would_ask(
    plan: CarePlan, book: Logbook, clock: Clock, *, setting: Setting, done: dict[str, int], expected: dict[str, str]
) -> None:
    """The answers agree with those the questions offer: two weeks at home, a day or two in a cafe; two months, days."""
    now = clock()
    book.remember("kit", FITTED)
    for item, days in done.items():
        book.add_care(item, now - timedelta(days=days))
    assert care_findings(standings(plan, book, setting, now)) == expected


def test_scale_that_can_be_reckoned_takes_the_place_of_days(plan: CarePlan, book: Logbook, clock: Clock) -> None:
    """20 litres a day at 200 mg/L leave 1.46 kg in a year at the most (mass balance), so 120 g in 30 days."""
    now = clock()
    book.add_care("descaling", now - timedelta(days=30))
    assert of(plan, book, now, "descaling").state == "in_time"
    remember_water(book, {"water_hardness": 200.0, "water_use": 20.0})
    found = of(plan, book, now, "descaling")
    (reach,) = found.reaches
    assert (reach.kind, reach.every) == ("scale", 20.0)
    assert reach.since == pytest.approx(1460 * 30 / 365)
    assert (found.state, found.level) == ("overdue", "overdue")
    service = of(plan, book, now, "descaling", "service")
    assert service.state == "in_time"
    assert service.scale_g == pytest.approx(120.0)
    assert [reach.kind for reach in service.reaches] == ["days"]


def test_alkalinity_bounds_the_scale_and_soft_water_never_makes_it_due(
    plan: CarePlan, book: Logbook, clock: Clock
) -> None:
    """Only what is both hardness and alkalinity can become chalk; with none of it there is no day to wait for."""
    now = clock()
    book.add_care("descaling", now - timedelta(days=3000))
    remember_water(book, {"water_hardness": 200.0, "water_use": 2.0})
    remember_water(book, {"water_alkalinity": 0.0})
    found = of(plan, book, now, "descaling")
    assert (found.state, found.share, found.due_on) == ("in_time", 0.0, None)


@pytest.mark.parametrize(("litres", "state"), [(1.0, "in_time"), (1.5, "due"), (2.0, "overdue")])
def test_a_cartridge_counts_litres_too(plan: CarePlan, book: Logbook, clock: Clock, litres: float, state: str) -> None:
    """Forty days at 1.5 litres are the 60 litres its maker gives."""
    now = clock()
    remember_water(book, {"water_use": litres, "filter_capacity": 60.0})
    book.add_care("water_filter", now - timedelta(days=40))
    assert of(plan, book, now, "water_filter").state == state


@pytest.mark.parametrize(
    ("item", "days", "water", "due"),
    [
        ("screen", 3, {}, date(2026, 6, 8)),
        ("screen", 10, {}, date(2026, 6, 1)),
        # 2 L a day of 100 mg/L leave 0.2 g, so 20 g after 100 days.
        ("descaling", 40, {"water_hardness": 100.0, "water_use": 2.0}, date(2026, 8, 3)),
        ("water_filter", 10, {"water_use": 2.0, "filter_capacity": 60.0}, date(2026, 6, 24)),
        # A drop of nearly pure water: beyond the end of the calendar.
        ("descaling", 40, {"water_hardness": 0.01, "water_use": 0.01}, None),
    ],
)
def test_the_day_it_is_due_is_told(
    plan: CarePlan, book: Logbook, clock: Clock, *, item: str, days: int, water: dict[str, float], due: date | None
) -> None:
    """Counted from the day it was done last."""
    now = clock()
    remember_water(book, water)
    book.add_care(item, now - timedelta(days=days))
    assert of(plan, book, now, item).due_on == due


@pytest.mark.parametrize(
    ("done", "days"),
    [
        # 23:30 UTC on the 3rd is 01:30 on the 4th where the clock is.
        (datetime(2026, 6, 3, 23, 30, tzinfo=UTC), 0),
        (datetime(2026, 6, 3, 21, 30, tzinfo=UTC), 1),
        # From a clock that is ahead.
        (datetime(2026, 6, 9, tzinfo=UTC), 0),
        # The ends of the calendar, as an import may bring them.
        (datetime(9999, 12, 31, 23, tzinfo=UTC), 0),
        (datetime(1, 1, 1, tzinfo=UTC), 739770),
    ],
)
def test_days_are_those_of_the_place_where_the_clock_is(
    plan: CarePlan, book: Logbook, clock: Clock, done: datetime, days: int
) -> None:
    """A moment is a day only together with a zone; one that is still to come is today."""
    remember_water(book, {"water_hardness": 100.0, "water_use": 2.0})
    for item in ("wand", "descaling"):
        book.add_care(item, done)
    assert of(plan, book, clock(), "wand").reaches[0].since == days
    assert of(plan, book, clock(), "descaling").share >= 0
