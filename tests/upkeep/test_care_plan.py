"""The shipped care plan holds to the practice of the trade, and every slip in such a file is named with its place."""

from pathlib import Path

import pytest

from diagnose.conversation import memory
from diagnose.errors import RuleBaseError
from diagnose.model import SETTINGS
from diagnose.rulebase.base import RuleBase
from diagnose.upkeep import standing
from diagnose.upkeep.plan import CarePlan, read_care, text

ITEMS = {
    "group_water_flush",
    "group_detergent",
    "screen",
    "basket_soak",
    "burrs",
    "hopper",
    "grinder_tablets",
    "wand",
    "descaling",
    "water_filter",
    "gasket",
}
GOOD = """\
tray:
  name: {en: Empty the tray}
  every: {home: {days: 2}, service: {days: 1, shots: 90}, training: {days: 1}}
  why: {en: It smells.}
  how: {en: Pour it away.}
  only_if: [{finding: valve, is: yes_fitted}]
  cautions: [hot]
  finding: {name: care_tray, times: {home: 1, service: 2, training: 1}}
  source: common_practice
"""


@pytest.fixture
def folder(tmp_path: Path) -> Path:
    """Return a rules folder with one thing to look after and what it refers to."""
    files = {
        "care.yaml": GOOD,
        "causes/x.yaml": "",
        "notices/hot.yaml": "severity: caution\ntext: {en: It is hot.}\n",
        "notices/silent.yaml": "severity: caution\n",
        "findings/kit/valve.yaml": "levels: {yes_fitted: {name: {en: valve fitted}}, missing: {}}\n",
        "findings/care/care_tray.yaml": "levels: {done: {}, overdue: {}}\n",
        "findings/care/care_odd.yaml": "levels: {done: {}, late: {}}\n",
        "findings/care/no_levels.yaml": "name: {en: odd}\n",
        "sources.yaml": "book: {title: A book, tag: read}\n",
    }
    for name, content in files.items():
        path = tmp_path / name
        path.parent.mkdir(parents=True, exist_ok=True)
        path.write_text(content, "utf-8")
    return tmp_path


def test_everything_that_comes_round_is_there_in_every_setting(plan: CarePlan) -> None:
    """All eleven items, each with an interval everywhere, a reason of taste and a way of doing it."""
    assert set(plan.items) == ITEMS
    for item in plan.items.values():
        assert all(item.every.at(setting).days >= 1 for setting in SETTINGS)
        assert text(item.why)
        assert text(item.how).endswith(".")


@pytest.mark.parametrize(
    ("item", "setting", "shortest", "longest"),
    [
        # Common practice, no source: at home detergent every one or two weeks, in a cafe every day at close.
        ("group_detergent", "home", 7, 14),
        ("group_detergent", "service", 1, 1),
        # Common practice, no source: burr chamber brushed daily in a busy cafe, tablets every couple of months at home.
        ("burrs", "service", 1, 1),
        ("grinder_tablets", "home", 50, 75),
        # Common practice, no source: gasket after six to twelve months in a cafe, two to four years at home.
        ("gasket", "service", 180, 365),
        ("gasket", "home", 730, 1460),
        # Common practice, no source: screen wiped every day in a cafe.
        ("screen", "service", 1, 1),
    ],
)
def test_intervals_lie_where_the_trade_puts_them(
    plan: CarePlan, item: str, setting: str, shortest: int, longest: int
) -> None:
    """Days between two times."""
    every = getattr(plan.items[item].every, setting)
    assert shortest <= every.days <= longest


@pytest.mark.parametrize(
    ("item", "notices"),
    [
        ("group_detergent", {"detergent", "portafilter_pressure", "hot_water"}),
        ("basket_soak", {"detergent", "hot_water"}),
        ("descaling", {"descaler", "closed_machine"}),
        ("burrs", {"grinder_fingers"}),
        ("hopper", {"grinder_fingers"}),
        ("grinder_tablets", {"grinder_fingers", "grinder_tablets"}),
        ("wand", {"steam"}),
        ("screen", {"hot_metal"}),
        ("gasket", {"hot_metal"}),
        ("group_water_flush", {"hot_water"}),
    ],
)
def test_what_can_hurt_names_its_caution(plan: CarePlan, item: str, notices: set[str]) -> None:
    """Chemicals, hot metal, steam, pressure, burrs and allergens are never left without a word."""
    assert notices <= set(plan.items[item].cautions)
    assert all(plan.notices[notice] for notice in notices)


@pytest.mark.parametrize("item", ["group_detergent", "basket_soak", "descaling"])
def test_after_a_chemical_water_is_tasted_before_anybody_is_served(plan: CarePlan, item: str) -> None:
    """Rinsing is said again when it has been done."""
    assert "rinse_first" in plan.items[item].afterwards


def test_detergent_goes_through_the_group_only_with_an_exhaust_valve(plan: CarePlan) -> None:
    """Without one it is not flushed back and leaves hot caustic pressure under the handle (common practice)."""
    (kit,) = plan.items["group_detergent"].only_if
    assert (kit.finding, kit.levels) == ("exhaust_valve", ("fitted",))


def test_every_care_finding_of_the_rules_is_told_by_the_log(plan: CarePlan, rules: RuleBase) -> None:
    """What the rules ask about care is what the plan speaks to, and the levels are those of the rules."""
    told = {item.finding.name for item in plan.items.values() if item.finding}
    assert told == {name for name in rules.findings if name.startswith("care_")}
    assert all(set(rules.findings[name].levels) == {"done", "overdue"} for name in told)


def test_the_kit_is_read_from_where_a_talk_keeps_it() -> None:
    """Both sides use one key."""
    assert standing.KIT_KEY == memory.KIT_KEY


def test_a_plan_of_ones_own_is_read_with_what_it_refers_to(folder: Path) -> None:
    """Texts of notices and names of levels come with it; a level may stand without brackets."""
    own = read_care(folder)
    assert own.notices == {"hot": "It is hot."}
    assert own.levels["valve", "yes_fitted"] == "valve fitted"
    assert own.levels["care_tray", "overdue"] == "overdue"
    assert own.items["tray"].only_if[0].levels == ("yes_fitted",)
    assert own.items["tray"].every.at("service").shots == 90
    assert own.nearest("trai") == ["tray"]


def test_a_text_in_another_language_alone_is_shown_as_it_is() -> None:
    """Nothing is hidden for want of English."""
    assert text({"it": "vaschetta"}) == "vaschetta"


@pytest.mark.parametrize(
    ("old", "new", "place", "code", "said"),
    [
        ("days: 2", "days: two", "care.yaml:3:", "schema", "integer"),
        ("days: 2", "days: 0", "care.yaml:3:", "schema", "greater than or equal to 1"),
        ("  why:", "  wy:", "care.yaml:4:3:", "unknown-key", "'wy'"),
        ("  why: {en: It smells.}\n", "", "care.yaml:1:1:", "missing-key", "'why'"),
        ("{en: It smells.}", "{it: Puzza.}", "care.yaml:4:3:", "empty-text", "no English text"),
        ("[hot]", "[hop]", "care.yaml:7:14:", "unknown-name", "Did you mean 'hot'?"),
        ("[hot]", "[hot, silent]", "care.yaml:7:19:", "empty-text", "or in the notice"),
        ("finding: valve", "finding: vlave", "care.yaml:6:", "unknown-name", "Did you mean 'valve'?"),
        ("yes_fitted", "fitted", "care.yaml:6:", "unknown-name", "no level of valve called 'fitted'"),
        ("care_tray", "care_odd", "care.yaml:8:3:", "unknown-name", "'overdue'"),
        ("care_tray", "no_levels", "care.yaml:8:3:", "unknown-name", "write the level of no_levels called first"),
        ("common_practice", "hearsay", "care.yaml:9:3:", "unknown-name", "no source 'hearsay'"),
        ("tray:\n", "Drip tray:\n", "care.yaml:1:1:", "schema", "pattern"),
        ("home: {days: 2}, ", "", "care.yaml:3:3:", "missing-key", "'home'"),
        ("home: 1,", "home: 0,", "care.yaml:8:", "schema", "greater than 0"),
        ("tray:\n", "tray: [\n", "care.yaml:", "not-yaml", ""),
    ],
)
def test_a_slip_is_named_with_line_and_column(
    folder: Path, old: str, new: str, *, place: str, code: str, said: str
) -> None:
    """Each problem carries its place, a code and what to do."""
    path = folder / "care.yaml"
    assert GOOD.count(old) >= 1
    path.write_text(GOOD.replace(old, new, 1), "utf-8")
    with pytest.raises(RuleBaseError) as raised:
        read_care(folder)
    problem = next(each for each in raised.value.problems if each.code == code)
    assert str(problem).startswith(place)
    assert said in f"{problem.what} {problem.todo}"


def test_published_sources_may_be_cited(folder: Path) -> None:
    """A source is an entry of sources.yaml; without that file only common practice is known."""
    path = folder / "care.yaml"
    path.write_text(GOOD.replace("common_practice", "book"), "utf-8")
    assert read_care(folder).items["tray"].source == "book"
    (folder / "sources.yaml").unlink()
    with pytest.raises(RuleBaseError, match="no source 'book'"):
        read_care(folder)


def test_rules_without_a_plan_say_where_to_get_one(folder: Path) -> None:
    """An older copy of the rules may have none."""
    (folder / "care.yaml").unlink()
    with pytest.raises(RuleBaseError, match=r"care\.yaml:0:0: missing-file .*rules copy DIR"):
        read_care(folder)
