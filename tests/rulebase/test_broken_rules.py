"""Each check finds its fault, at the line and column of the very entry.

Every file in broken/ is named after a code and lists ways to break the good rule base: what to change, and where the
problem must then be reported. The places were read off the changed files by eye.
"""

import shutil
from pathlib import Path
from typing import TypedDict, cast

import pytest
import yaml

from diagnose.model import SETTINGS, Problem
from diagnose.rulebase.base import RuleBase
from diagnose.rulebase.checks import CHECKS, ESSENTIAL, engine_unsafe, essential, everything, long_file
from diagnose.rulebase.loader import read_rules
from diagnose.rulebase.location import rules_folder

HERE = Path(__file__).parent
ONSET = "findings/kit/onset.yaml"
FROM_READING = {"duplicate-key", "schema", "missing-key", "unknown-key"}  # codes no check module carries


class Broken(TypedDict):
    """One way to break the good rules: `change` maps a file to [old, new] pairs, or a new file to its text."""

    says: str
    at: list[str]
    change: dict[str, list[list[str]] | str]


def broken_cases() -> list[tuple[str, Broken]]:
    """Return every case in broken/ with its code."""
    files = sorted((HERE / "broken").glob("*.yaml"))
    return [
        (file.stem, case) for file in files for case in cast("list[Broken]", yaml.safe_load(file.read_text("utf-8")))
    ]


def break_rules(folder: Path, case: Broken) -> None:
    """Carry out the changes; every old text must stand in its file exactly once."""
    for name, change in case["change"].items():
        if isinstance(change, str):
            (folder / name).write_text(change, "utf-8")
            continue
        text = (folder / name).read_text("utf-8")
        for old, new in change:
            assert text.count(old) == 1
            text = text.replace(old, new)
        (folder / name).write_text(text, "utf-8")


def place(problem: Problem) -> str:
    """Return where a problem stands."""
    return f"{problem.file}:{problem.line}:{problem.column}"


@pytest.mark.parametrize(("code", "case"), broken_cases(), ids=lambda value: value if isinstance(value, str) else "")
def test_every_fault_is_found_at_its_place(folder: Path, code: str, case: Broken) -> None:
    """The problems of this code stand exactly at the places given, and say what is wrong and what to do."""
    break_rules(folder, case)
    base, problems = read_rules(folder)
    problems = problems or everything(base)
    found = [problem for problem in problems if problem.code == code]
    assert [place(problem) for problem in found] == case["at"]
    assert any(case["says"] in f"{problem.what} {problem.todo}" for problem in found)


def test_every_check_has_a_broken_fixture() -> None:
    """No check is without a fault it must find; a long file is built in its own test."""
    codes = {check.CODE for check in CHECKS}
    assert len(codes) == len(CHECKS)
    assert codes | FROM_READING == {code for code, _ in broken_cases()} | {long_file.CODE}


def test_every_check_and_code_is_documented() -> None:
    """Each check says in its docstring what it is, and the author's guide names its code."""
    guide = (HERE.parent.parent / "rules" / "README.md").read_text("utf-8")
    for check in CHECKS:
        assert check.__doc__
        assert f"`{check.CODE}`" in guide


def test_the_good_rules_have_no_problem(good: RuleBase) -> None:
    """The base all broken fixtures start from is clean, so what they report comes from their change."""
    assert everything(good) == []


def test_essential_checks_are_a_part_of_all() -> None:
    """What is checked at every load is checked by the full run too."""
    assert set(ESSENTIAL) < set(CHECKS)


def test_problems_come_in_file_order(folder: Path) -> None:
    """Problems are sorted by file, line and column whatever check finds them."""
    for name in ("findings/shot/flow.yaml", "causes/grinder/dose_low.yaml"):
        text = (folder / name).read_text("utf-8").replace("name: {en: ", "name: {de: ", 1).replace("fast", "fats", 1)
        (folder / name).write_text(text, "utf-8")
    base, problems = read_rules(folder)
    assert problems == []
    places = [(problem.file, problem.line, problem.column) for problem in everything(base)]
    assert places == sorted(places)
    assert len({file for file, _, _ in places}) >= 2
    assert set(essential(base)) < set(everything(base))


def test_an_id_used_twice_is_refused(folder: Path) -> None:
    """Two files of one kind and name cannot both be the rule; the reader says so at the top of one of them."""
    shutil.copy(folder / "causes/grinder/dose_low.yaml", folder / "causes/beans/dose_low.yaml")
    _, problems = read_rules(folder)
    (problem,) = [problem for problem in problems if problem.code == "duplicate-id"]
    assert (Path(problem.file).name, problem.line, problem.column) == ("dose_low.yaml", 1, 1)


def test_a_file_with_another_ending_is_not_passed_over(folder: Path) -> None:
    """A cause saved as .yml would otherwise be missing without a word."""
    shutil.copy(folder / "causes/grinder/dose_low.yaml", folder / "causes/beans/basket_wet.yml")
    _, problems = read_rules(folder)
    (problem,) = problems
    assert (problem.file, problem.code) == ("causes/beans/basket_wet.yml", "unreadable")
    assert ".yaml" in problem.todo


@pytest.mark.parametrize(("lines", "places"), [(100, []), (101, [f"{ONSET}:101:1"])])
def test_a_file_may_have_a_hundred_lines(folder: Path, lines: int, places: list[str]) -> None:
    """A last entry on line 100 is in order, one on line 101 is not."""
    text = (folder / ONSET).read_text("utf-8")
    padding = "#\n" * (lines - text.count("\n"))
    (folder / ONSET).write_text(text.replace("  always:", f"{padding}  always:"), "utf-8")
    base, _ = read_rules(folder)
    assert [place(problem) for problem in everything(base)] == places


def test_examples_run_only_on_rules_that_load(folder: Path, good: RuleBase) -> None:
    """What runs the examples is called on a sound base and its problems are added; on an unsound one it is not."""
    failing = Problem("causes/a.yaml", 1, 1, "failing-example", "it is second.", "Look again.")
    assert everything(good, lambda _: [failing]) == [failing]
    (folder / ONSET).write_text((folder / ONSET).read_text("utf-8").replace("0.95", "0.5"), "utf-8")
    base, _ = read_rules(folder)
    assert {problem.code for problem in everything(base, lambda _: [failing])} == {"base-sum"}


# The good rules make 27 engine rules: 18 for evidence (flow 4, taste 3, dose 3, strength 3 under each of two
# conditions, onset 2), 8 `read` rules and one notice. time_z, dose_off and bean_age are each compared with two numbers;
# an age over 60 passes both conditions on it. Each of these makes three rules, one for each level of strength, and two
# rules on flow share "time_z below -2". Counted by hand in the files.
LIMITS = [
    ("MAX_RULES", 27, 0),
    ("MAX_RULES", 26, 1),
    ("MAX_CONSTANTS", 2, 0),
    ("MAX_CONSTANTS", 1, 3),
    ("MAX_AT_ONCE", 2, 0),
    ("MAX_AT_ONCE", 1, 1),
    ("MAX_SAME_TEST", 3, 0),
    ("MAX_SAME_TEST", 2, 2),
    ("MAX_SAME_TEST", 1, 3),
    ("MAX_TESTS", 2, 0),
    ("MAX_TESTS", 1, 4),
]


@pytest.mark.parametrize(("limit", "value", "count"), LIMITS)
def test_engine_limits_hold_to_the_last_one(
    monkeypatch: pytest.MonkeyPatch, good: RuleBase, limit: str, value: int, count: int
) -> None:
    """At the limit nothing is reported, one beyond it every place that passes it is."""
    monkeypatch.setattr(engine_unsafe, limit, value)
    assert [problem.code for problem in engine_unsafe.check(good)] == ["engine-unsafe"] * count


def test_engine_limits_are_no_wider_than_what_the_engine_is_given() -> None:
    """The limits told to authors and those the engine's own guard refuses at agree."""
    from diagnose.inference import engine_forms

    assert engine_unsafe.MAX_TESTS <= engine_forms.MAX_PATTERNS
    assert engine_unsafe.MAX_SAME_TEST <= engine_forms.MAX_SAME_END
    assert engine_unsafe.MAX_CONSTANTS <= engine_forms.MAX_SIBLINGS
    assert engine_unsafe.MAX_AT_ONCE <= engine_forms.MAX_PENDING
    assert engine_unsafe.MAX_RULES <= engine_forms.MAX_RULES
    assert (engine_unsafe.SMALLEST, engine_unsafe.LARGEST) == (engine_forms.SMALLEST, engine_forms.LARGEST)


def test_a_finding_of_many_levels_uses_up_the_tests_of_a_rule(folder: Path) -> None:
    """A condition on one of 18 levels is 17 tests, more than a rule may have."""
    levels = "".join(
        f"  l{number}: {{base: {1 / 18:.4f}, name: {{en: l}}, words: {{en: [l]}}}}\n" for number in range(18)
    )
    (folder / "findings/kit/many.yaml").write_text(f"name: {{en: many}}\nlevels:\n{levels}", "utf-8")
    stale = folder / "causes/beans/beans_stale.yaml"
    stale.write_text(stale.read_text("utf-8").replace("measure: bean_age, above: 60", "finding: many, is: l1"), "utf-8")
    base, _ = read_rules(folder)
    (problem,) = everything(base)
    assert problem.code == "engine-unsafe"
    assert place(problem) == "causes/beans/beans_stale.yaml:9:5"
    assert "18 tests" in problem.what


def test_what_the_program_itself_reads_needs_no_rule_to_read_it(folder: Path) -> None:
    """Which way is finer on the dial decides how far to move, not which cause it is."""
    text = (folder / ONSET).read_text("utf-8")
    (folder / "findings/kit/dial_direction.yaml").write_text(text, "utf-8")
    assert everything(read_rules(folder)[0]) == []
    (folder / "findings/kit/dial_lights.yaml").write_text(text, "utf-8")
    assert [problem.code for problem in everything(read_rules(folder)[0])] == ["unread-finding"]


def test_rules_over_three_measures_are_not_tried(folder: Path) -> None:
    """Gaps and overlaps are looked for only where trying the numbers is sure: else nothing is reported."""
    flow = folder / "findings/shot/flow.yaml"
    text = flow.read_text("utf-8").replace("at_least: -2, at_most: 2}", "at_least: -1, at_most: 3}")
    flow.write_text(text.replace("above: 2}", "above: 2}, {measure: yield_ratio, above: 1}"), "utf-8")
    base, _ = read_rules(folder)
    assert everything(base) == []


def test_rules_over_many_findings_are_not_tried(folder: Path) -> None:
    """A rule that names findings with more than 400 combinations of levels is left alone."""
    named = []
    for number in range(9):
        named.append(f", {{finding: f{number}, is: a}}")
        levels = "{a: {base: 0.5, name: {en: a}, words: {en: [a]}}, b: {base: 0.5, name: {en: b}}}"
        (folder / f"findings/kit/f{number}.yaml").write_text(f"name: {{en: f}}\nlevels: {levels}\n", "utf-8")
    dose = folder / "findings/shot/dose.yaml"
    text = dose.read_text("utf-8")
    dose.write_text(text.replace("above: 1}", f"above: 2}}{''.join(named)}"), "utf-8")
    assert everything(read_rules(folder)[0]) == []
    dose.write_text(text.replace("above: 1}", f"above: 2}}{''.join(named[:8])}"), "utf-8")
    (folder / "findings/kit/f8.yaml").unlink()
    assert [problem.code for problem in everything(read_rules(folder)[0])] == ["range-gap"]


def test_two_measures_no_rule_joins_are_tried_for_overlaps_alone(folder: Path) -> None:
    """A level that may be read from either of two measures leaves no gap, since the other measure may fill it."""
    dose = folder / "findings/shot/dose.yaml"
    text = dose.read_text("utf-8").replace("{measure: dose_off, above: 1}", "{measure: dose_over_basket, above: 3}")
    dose.write_text(text, "utf-8")
    base, _ = read_rules(folder)
    assert everything(base) == []


def test_the_prices_must_be_somewhere(folder: Path) -> None:
    """Without costs.yaml nothing can be weighed, and no number stands in for it."""
    (folder / "costs.yaml").unlink()
    _, problems = read_rules(folder)
    (problem,) = problems
    assert (place(problem), problem.code) == ("costs.yaml:1:1", "missing-file")


def test_prices_are_those_of_the_file(folder: Path) -> None:
    """What a trainer writes is what is weighed by, each setting for itself."""
    costs = (folder / "costs.yaml").read_text("utf-8")
    (folder / "costs.yaml").write_text(costs.replace("gram: {home: 2,", "gram: {home: 3.5,"), "utf-8")
    base, problems = read_rules(folder)
    assert problems == []
    assert [base.costs.gram.of(setting) for setting in SETTINGS] == [3.5, 0.5, 0.5]


def test_the_rules_shipped_can_be_used() -> None:
    """The shipped rule base reads without a problem and passes the essential checks."""
    base, problems = read_rules(rules_folder())
    assert problems == []
    assert essential(base) == []
