"""``diagnose care ...`` as it is typed at home after a month and in a bar at closing time."""

import json
from collections.abc import Callable
from datetime import datetime, timedelta
from pathlib import Path
from typing import Any

import pytest

from diagnose import cli
from diagnose.logbook import Logbook
from diagnose.rules_command import copy
from diagnose.upkeep.plan import CarePlan

Typed = Callable[..., int]
Answered = Callable[..., dict[str, Any]]
Clock = Callable[[], datetime]
Capture = pytest.CaptureFixture[str]
KIT = {"exhaust_valve": ["fitted"], "machine_type": ["dual_boiler"], "ground_by": ["own_grinder"]}


def words(capsys: Capture) -> str:
    """Return what was printed with its lines joined."""
    return " ".join(capsys.readouterr().out.split())


def item(answer: dict[str, Any], name: str) -> dict[str, Any]:
    """Return one item of an answer."""
    found: dict[str, Any] = next(each for each in answer["items"] if each["id"] == name)
    return found


@pytest.fixture
def month(logbook: Logbook, clock: Clock) -> Logbook:
    """Return a log of a month at home in which some care was given."""
    logbook.remember("kit", {**KIT, "machine_type": ["single_boiler"]})
    for name, days in (("group_detergent", 29), ("screen", 5), ("basket_soak", 14), ("hopper", 29), ("descaling", 100)):
        logbook.add_care(name, clock() - timedelta(days=days))
    return logbook


@pytest.mark.usefixtures("month")
def test_after_a_month_at_home_what_is_overdue_comes_first_with_its_reason(typed: Typed, capsys: Capture) -> None:
    """Then what is due, the cautions of both, what is not known, and what is in time."""
    assert typed("care") == 0
    printed = capsys.readouterr().out
    assert max(map(len, printed.splitlines())) <= 80
    text = " ".join(printed.split())
    places = [
        text.index(part)
        for part in (
            "Care at home on 2026-06-04.",
            "Overdue Flush the group with detergent (group_detergent)",
            "Last done 2026-05-06: 29 days ago (every 14).",
            "Why: Coffee oil behind the screen turns rancid, and every shot becomes bitter and dull.",
            "How: If the manual allows it",
            "Descale (descaling)",
            "Due now Soak baskets",
            "Before you start",
            "Not known: no date in this log",
            "diagnose care done ITEM --on DATE",
            "In time hopper",
            "screen 5 days ago (every 7); due 2026-06-06",
        )
    ]
    assert places == sorted(places)


@pytest.mark.usefixtures("month")
def test_what_is_to_be_done_brings_its_cautions_each_once(typed: Typed, plan: CarePlan, capsys: Capture) -> None:
    """Detergent, descaler, pressure, hot metal and water; nothing about burrs while they are not due."""
    assert typed("care") == 0
    text = words(capsys)
    for notice in ("detergent", "descaler", "portafilter_pressure", "hot_metal", "hot_water", "rinse_first"):
        assert text.count(" ".join(plan.notices[notice].split())) == 1
    assert plan.notices["grinder_fingers"] not in text


def test_at_closing_time_the_daily_work_is_due_and_done_in_one_command(
    typed: Typed, answered: Answered, logbook: Logbook, clock: Clock, capsys: Capture
) -> None:
    """What was done last night is due tonight; once written down it is in time, and the water is to be tasted."""
    logbook.remember("kit", KIT)
    daily = ["group_water_flush", "group_detergent", "screen", "basket_soak", "burrs", "wand"]
    for name in daily:
        logbook.add_care(name, clock() - timedelta(days=1))
    bar = ("care", "--setting", "service")
    assert [each["id"] for each in answered(*bar)["items"] if each["state"] == "due"] == daily
    assert typed(*bar) == 0
    text = words(capsys)
    assert "yesterday (every day)" in text
    assert "How:" not in text
    done = answered("care", "done", "--setting", "service", *daily, "--note", "closing")
    assert [each["item"] for each in done["written"]] == daily
    assert [each["id"] for each in done["cautions"]] == ["rinse_first"]
    assert typed(*bar) == 0
    text = words(capsys)
    assert "By this log nothing is due." in text
    assert "Before you start" not in text
    assert "burrs today (every day); due 2026-06-05" in text
    assert item(answered(*bar), "wand")["note"] == "closing"


def test_done_says_the_row_when_it_is_due_again_and_how_to_take_it_back(
    typed: Typed, log: Path, capsys: Capture
) -> None:
    """The first thing written down starts the log; a second time in one command counts once."""
    assert typed("care", "done", "screen", "screen") == 0
    text = words(capsys)
    assert text.startswith("Written down as row 1: Wipe the screen, 2026-06-04. Due again on 2026-06-11.")
    assert "`diagnose log retract 1`" in text
    assert log.exists()
    assert typed("care", "done", "basket_soak") == 0
    assert "taste plain water from the group before you serve" in words(capsys)


@pytest.mark.parametrize(
    ("on", "done"),
    [
        ("2026-06-04", "2026-06-04T21:30:00+02:00"),
        # Of an earlier day the hour is not known: noon.
        ("2026-06-03", "2026-06-03T12:00:00+02:00"),
        ("20260501", "2026-05-01T12:00:00+02:00"),
    ],
)
def test_the_day_it_was_done_may_be_told_later(answered: Answered, on: str, done: str) -> None:
    """ISO 8601."""
    assert answered("care", "done", "screen", "--on", on)["written"] == [{"item": "screen", "row": 1, "done": done}]


@pytest.mark.parametrize(
    ("arguments", "said"),
    [
        (("sreen",), "There is nothing called 'sreen' to look after. Did you mean screen?"),
        (("screen", "polish"), "nothing called 'polish' to look after. `diagnose care list` names them all."),
        (("screen", "--on", "yesterday"), "'yesterday' is not a day. Write it as 2026-06-04 for today."),
        (("screen", "--on", "2026-06-05"), "2026-06-05 is still to come."),
        (("screen", "--on", "2026-02-30"), "is not a day"),
    ],
)
def test_what_cannot_be_written_down_is_usage_and_writes_nothing(
    typed: Typed, log: Path, capsys: Capture, arguments: tuple[str, ...], said: str
) -> None:
    """Not even the items before the wrong one."""
    assert typed("care", "done", *arguments) == 2
    assert said in capsys.readouterr().err
    assert not log.exists()


def test_detergent_waits_for_the_answer_about_the_valve(
    typed: Typed, answered: Answered, logbook: Logbook, clock: Clock, capsys: Capture
) -> None:
    """While it is not known, it is not asked for, and who does it all the same is warned."""
    logbook.add_care("group_detergent", clock() - timedelta(days=99))
    assert typed("care") == 0
    text = words(capsys)
    assert (
        "Only with certain kit group_detergent only with: exhaust valve fitted; not known, tell it in the chat" in text
    )
    assert "Flush the group with detergent (" not in text
    found = item(answered("care"), "group_detergent")
    assert (found["state"], found["only_with"]) == ("unanswered", {"finding": "exhaust_valve", "is": ["fitted"]})
    logbook.remember("kit", {"exhaust_valve": ["missing"]})
    assert typed("care") == 0
    assert "group_detergent" not in words(capsys)
    assert typed("care", "done", "group_detergent") == 0
    assert "Careful: only with: exhaust valve fitted." in words(capsys)


@pytest.mark.usefixtures("month")
def test_the_list_has_everything_in_the_order_of_the_plan(
    typed: Typed, answered: Answered, logbook: Logbook, plan: CarePlan, capsys: Capture
) -> None:
    """Item, interval, when it was last done, how it stands, in 80 columns."""
    logbook.remember("kit", {"machine_type": ["lever"]})
    assert [each["id"] for each in answered("care", "list")["items"]] == list(plan.items)
    assert typed("care", "list") == 0
    lines = capsys.readouterr().out.splitlines()
    assert max(map(len, lines)) <= 80
    rows = {line.split()[0]: " ".join(line.split()[1:]) for line in lines if not line.startswith(" ")}
    assert rows["item"] == "every (at home) last done state"
    assert rows["screen"] == "7 days or 20 shots 2026-05-30 in time; due 2026-06-06"
    assert rows["basket_soak"] == "14 days or 40 shots 2026-05-21 due now"
    assert rows["gasket"] == "3 years - not known"
    assert rows["group_detergent"] == "14 days or 40 shots 2026-05-06 not for this kit"
    logbook.remember("kit", {})
    assert typed("care", "list") == 0
    assert "only with certain kit" in words(capsys)


def test_as_json_each_item_carries_all_there_is_to_say(answered: Answered, month: Logbook, plan: CarePlan) -> None:
    """Names that stay, plain values, and what a talk may take from it."""
    found = answered("care")
    assert (found["format"], found["setting"], found["date"]) == (1, "home", "2026-06-04")
    assert found["findings"] == {"care_group": "done", "care_descaling": "overdue"}
    detergent = item(found, "group_detergent")
    assert detergent["share"] == round(29 / 14, 3)
    assert detergent["every"] == {"days": 14, "shots": 40, "scale": None}
    assert detergent["passed"] == [
        {"kind": "days", "since": 29, "every": 14},
        {"kind": "shots", "since": 0, "every": 40},
    ]
    assert detergent["due_on"] == "2026-05-20"
    assert detergent["row"] == month.care("group_detergent")[0].id
    assert detergent["finding"] == {"id": "care_group", "level": "overdue"}
    assert [each["id"] for each in detergent["cautions"]] == [
        *plan.items["group_detergent"].cautions,
        *plan.items["group_detergent"].afterwards,
    ]
    assert item(found, "wand")["share"] is None


# Water


def test_hardness_and_litres_make_the_scale_reckoned(
    typed: Typed, answered: Answered, logbook: Logbook, clock: Clock, capsys: Capture
) -> None:
    """20 litres a day at 200 mg/L: 120 g in 30 days at the most (mass balance)."""
    logbook.add_care("descaling", clock() - timedelta(days=30))
    assert typed("care") == 0
    assert "the scale can be reckoned: diagnose care water --hardness '8 dH' --litres 1.5" in words(capsys)
    assert typed("care", "water", "--hardness", "20 fH", "--litres", "20") == 0
    assert "at most 120.0 g of scale in 30 days: a bound" in words(capsys)
    assert typed("care") == 0
    text = words(capsys)
    assert "Last done 2026-05-05: at most 120 g of scale since (limit 20 g)." in text
    assert "reckoned" not in text
    assert typed("care", "--setting", "service") == 0
    assert "descaled on 2026-05-05 the water can have left 120 g of scale, if all of it stayed" in words(capsys)
    assert item(answered("care"), "descaling")["scale_bound_g"] == pytest.approx(120.0)


def test_what_is_known_of_the_water_is_shown_without_being_told_again(
    typed: Typed, answered: Answered, log: Path, capsys: Capture
) -> None:
    """Asking starts no log; telling keeps what was told before."""
    assert typed("care", "water") == 0
    assert words(capsys).startswith("hardness not known alkalinity not known")
    assert not log.exists()
    assert typed("care", "water", "--hardness", "8 dH", "--filter-litres", "60") == 0
    capsys.readouterr()
    water = answered("care", "water", "--litres", "2,5", "--alkalinity", "100")["water"]
    assert water == {
        "hardness": pytest.approx(142.78, rel=1e-4),
        "alkalinity": 100.0,
        "litres_per_day": 2.5,
        "filter_litres": 60.0,
        "carbonate_hardness": 100.0,
        "scale_g_per_day": pytest.approx(0.25),
    }
    assert typed("care", "water") == 0
    assert "a cartridge lasts 60 litres" in words(capsys)


def test_a_cartridge_is_counted_in_litres(typed: Typed, logbook: Logbook, clock: Clock, capsys: Capture) -> None:
    """45 of the 60 litres its maker gives are further along than 18 of 90 days."""
    logbook.add_care("water_filter", clock() - timedelta(days=18))
    assert typed("care", "water", "--litres", "2.5", "--filter-litres", "60") == 0
    assert typed("care") == 0
    assert "water_filter 45 litres since (every 60); due 2026-06-10" in words(capsys)


def test_descaling_is_not_spoken_of_where_water_leaves_no_scale(
    typed: Typed, logbook: Logbook, capsys: Capture
) -> None:
    """Neither as care nor as something to reckon."""
    logbook.remember("kit", {"water_kind": ["soft"]})
    assert typed("care") == 0
    text = words(capsys)
    assert "descaling" not in text
    assert "reckoned" not in text


# Log and rules


def test_without_a_log_nothing_is_known_and_none_is_made(
    typed: Typed, answered: Answered, log: Path, capsys: Capture
) -> None:
    """Looking starts no log; exit code 0."""
    assert {each["state"] for each in answered("care")["items"]} == {"not_known", "unanswered"}
    assert answered("care")["findings"] == {}
    assert typed("care") == 0
    text = words(capsys)
    assert "By this log nothing is due." in text
    assert "screen every 7 days or 20 shots" in text
    assert typed("care", "list") == 0
    assert not log.exists()


@pytest.mark.parametrize("arguments", [(), ("list",), ("done", "screen"), ("water",), ("water", "--litres", "2")])
def test_an_unusable_log_is_exit_code_4_and_left_alone(
    typed: Typed, log: Path, capsys: Capture, arguments: tuple[str, ...]
) -> None:
    """The message names the file."""
    log.write_bytes(b"some other file " * 99)
    assert typed("care", *arguments) == 4
    assert str(log) in capsys.readouterr().err
    assert log.read_bytes() == b"some other file " * 99


def test_without_a_log_by_wish_there_is_no_care(typed: Typed, capsys: Capture) -> None:
    """--no-log and `care` exclude each other: usage."""
    assert typed("care", "done", "screen", "--no-log") == 2
    assert "leave --no-log away" in capsys.readouterr().err


def test_the_log_named_in_the_environment_is_used(log: Path, monkeypatch: pytest.MonkeyPatch, capsys: Capture) -> None:
    """DIAGNOSE_LOG, and the real clock of the machine."""
    monkeypatch.setenv("DIAGNOSE_LOG", str(log))
    assert cli.main(["care", "done", "screen", "--json"]) == 0
    done = json.loads(capsys.readouterr().out)["written"][0]["done"]
    assert datetime.fromisoformat(done).utcoffset() is not None
    assert cli.main(["care", "--json"]) == 0
    found = item(json.loads(capsys.readouterr().out), "screen")
    assert (found["state"], found["last_done"]) == ("in_time", done)
    assert cli.main(["log", "list", "--json"]) == 0
    assert json.loads(capsys.readouterr().out)["shots"] == []


def test_a_copy_of_the_rules_brings_its_own_intervals(
    typed: Typed, answered: Answered, tmp_path: Path, capsys: Capture
) -> None:
    """--rules DIR; a slip in it is exit code 3 with its place, whatever stands in the other files."""
    own = tmp_path / "rules"
    assert copy(own) == 0
    capsys.readouterr()
    plan = own / "care.yaml"
    plan.write_text(plan.read_text("utf-8").replace("home: {days: 7, shots: 20}", "home: {days: 3}"), "utf-8")
    (own / "causes" / "broken.yaml").write_text("name: [\n", "utf-8")
    found = answered("care", "list", "--rules", str(own))
    assert item(found, "screen")["every"] == {"days": 3, "shots": None, "scale": None}
    plan.write_text(plan.read_text("utf-8").replace("home: {days: 3}", "home: {days: soon}", 1), "utf-8")
    assert typed("care", "--rules", str(own)) == 3
    assert capsys.readouterr().err.startswith("care.yaml:")
