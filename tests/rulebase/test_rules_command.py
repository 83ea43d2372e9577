"""``diagnose rules ...``: what is printed where, and the exit codes."""

import json
from argparse import Namespace
from pathlib import Path

import pytest

from diagnose import rules_command
from diagnose.errors import RuleBaseError, RuleBaseMissing
from diagnose.model import Problem

GOOD = Path(__file__).parent / "good"
Capture = pytest.CaptureFixture[str]


def test_clean_rules_are_one_line_and_exit_code_0(capsys: Capture) -> None:
    """What is in order is counted in one line."""
    assert rules_command.check(GOOD) == 0
    assert capsys.readouterr().out == "No problems: 4 causes, 8 findings, 4 steps, 2 notices, 1 source.\n"


def test_problems_are_printed_in_file_order_with_their_number(
    folder: Path, monkeypatch: pytest.MonkeyPatch, capsys: Capture
) -> None:
    """Each problem is a line an editor can jump to from here; exit code 1."""
    onset, low = folder / "findings/kit/onset.yaml", folder / "causes/grinder/dose_low.yaml"
    onset.write_text(onset.read_text("utf-8").replace("0.95", "0.85"), "utf-8")
    low.write_text(low.read_text("utf-8").replace("dose_up", "dose_op").replace("fast:", "fats:"), "utf-8")
    monkeypatch.chdir(folder.parent)
    assert rules_command.check(folder) == 1
    lines = capsys.readouterr().out.splitlines()
    assert [line.split(" ", 2)[:2] for line in lines[:-1]] == [
        ["rules/causes/grinder/dose_low.yaml:9:14:", "unknown-name"],
        ["rules/causes/grinder/dose_low.yaml:11:6:", "unknown-name"],
        ["rules/findings/kit/onset.yaml:2:1:", "base-sum"],
        ["rules/steps/dose_up.yaml:1:1:", "unreferenced"],
    ]
    assert lines[-1] == "4 problems in 3 files."


def test_problems_elsewhere_are_named_with_the_whole_path(
    folder: Path, tmp_path_factory: pytest.TempPathFactory, monkeypatch: pytest.MonkeyPatch, capsys: Capture
) -> None:
    """Rules that do not lie below the working folder keep the path they were given by."""
    (folder / "causes/grinder/grind_too_coarse.yaml").unlink()
    monkeypatch.chdir(tmp_path_factory.mktemp("elsewhere"))
    assert rules_command.check(folder) == 1
    assert f"{folder}/sources.yaml:1:1: unreferenced" in capsys.readouterr().out


def test_while_a_file_cannot_be_read_the_other_checks_wait(folder: Path, capsys: Capture) -> None:
    """A rule that cannot be read would look missing to all that name it, so only the reading is reported."""
    (folder / "steps/dose_up.yaml").write_text("name: [\n", "utf-8")
    assert rules_command.check(folder) == 1
    lines = capsys.readouterr().out.splitlines()
    assert [line.split(": ")[1].split()[0] for line in lines[:1]] == ["not-yaml"]
    assert lines[1:] == ["1 problem in 1 file.", "The other checks run once every file can be read."]


def test_check_as_json_and_with_examples(capsys: Capture) -> None:
    """Problems come as objects with their place, those of the examples among them."""
    failing = Problem("causes/a.yaml", 3, 5, "failing-example", "it is second.", "Look again.")
    assert rules_command.check(GOOD, as_json=True, examples=lambda _: [failing]) == 1
    answer = json.loads(capsys.readouterr().out)
    assert answer["format"] == 1
    assert answer["counts"]["causes"] == 4
    assert answer["problems"] == [
        {
            "file": "causes/a.yaml",
            "line": 3,
            "column": 5,
            "code": "failing-example",
            "what": "it is second.",
            "todo": "Look again.",
        }
    ]


def test_rules_without_sources_and_words_are_checked_too(folder: Path, capsys: Capture) -> None:
    """Neither sources.yaml nor words/ must be there."""
    (folder / "sources.yaml").unlink()
    (folder / "words/en.yaml").unlink()
    coarse = folder / "causes/grinder/grind_too_coarse.yaml"
    coarse.write_text(coarse.read_text("utf-8").replace("made_up_table", "common_practice"), "utf-8")
    assert rules_command.check(folder) == 0
    assert capsys.readouterr().out.endswith("0 sources.\n")


def test_list_show_and_map_print_text_or_one_json_object(capsys: Capture) -> None:
    """Each answers with exit code 0, and with --json prints one object on one line."""
    assert rules_command.list_rules(GOOD) == 0
    assert "\nCauses, grinder (2)\n" in capsys.readouterr().out
    assert rules_command.show("flow", GOOD) == 0
    assert capsys.readouterr().out.startswith("flow: finding, findings/shot/flow.yaml\n")
    assert rules_command.map_rules(GOOD) == 0
    assert capsys.readouterr().out.count("(causes: ") == 2
    assert rules_command.map_rules(GOOD, complaint="brew") == 0
    assert capsys.readouterr().out.startswith("BREW ")
    for action in ("check", "list", "show", "map"):
        assert rules_command.run(action, GOOD, Namespace(name="flow"), as_json=True) == 0
        (line,) = capsys.readouterr().out.splitlines()
        assert json.loads(line)["format"] == 1


@pytest.mark.parametrize(
    ("name", "why"),
    [
        ("grind_to_coarse", "Did you mean grind_too_coarse?"),
        ("qqqq", "`diagnose rules list` names them all."),
    ],
)
def test_an_unknown_name_is_refused_with_what_may_be_meant(capsys: Capture, name: str, why: str) -> None:
    """Exit code 2; nothing on standard output."""
    assert rules_command.show(name, GOOD) == 2
    printed = capsys.readouterr()
    assert printed.out == ""
    assert why in printed.err


def test_an_unknown_complaint_is_refused(capsys: Capture) -> None:
    """Exit code 2 and the complaints there are."""
    assert rules_command.map_rules(GOOD, complaint="tea") == 2
    assert "shot, milk, machine, water, brew" in capsys.readouterr().err


def test_rules_that_do_not_load_cannot_be_shown(folder: Path) -> None:
    """The commands that read the rules raise what the command line turns into exit code 3."""
    onset = folder / "findings/kit/onset.yaml"
    onset.write_text(onset.read_text("utf-8").replace("0.95", "0.85"), "utf-8")
    with pytest.raises(RuleBaseError, match="base-sum"):
        rules_command.list_rules(folder)
    with pytest.raises(RuleBaseMissing):
        rules_command.check(folder / "nowhere")


def test_a_copy_holds_the_same_files_and_says_how_to_use_it(tmp_path: Path, capsys: Capture) -> None:
    """All files are there byte for byte, writable, and the printed commands name the copy."""
    target = tmp_path / "my rules"
    assert rules_command.run("copy", GOOD, Namespace(folder=str(target))) == 0
    copied = {path.relative_to(target): path.read_bytes() for path in target.rglob("*") if path.is_file()}
    assert copied == {path.relative_to(GOOD): path.read_bytes() for path in GOOD.rglob("*") if path.is_file()}
    printed = capsys.readouterr().out
    assert f"Copied {len(copied)} files to {target}." in printed
    assert f"diagnose rules check --rules '{target}'" in printed
    assert rules_command.check(target) == 0


def test_a_copy_goes_into_an_empty_folder_and_answers_as_json(tmp_path: Path, capsys: Capture) -> None:
    """A folder that is there but empty loses nothing."""
    assert rules_command.copy(tmp_path, GOOD, as_json=True) == 0
    answer = json.loads(capsys.readouterr().out)
    assert answer == {"format": 1, "copied": sum(p.is_file() for p in GOOD.rglob("*")), "to": str(tmp_path)}


def test_a_copy_overwrites_nothing(tmp_path: Path, capsys: Capture) -> None:
    """A folder with anything in it, and a file, are refused and left as they are."""
    kept = tmp_path / "kept.txt"
    kept.write_text("mine", "utf-8")
    assert rules_command.copy(tmp_path, GOOD) == 2
    assert rules_command.copy(kept, GOOD) == 2
    assert list(tmp_path.iterdir()) == [kept]
    assert kept.read_text("utf-8") == "mine"
    assert capsys.readouterr().err.count("is there already and nothing was copied") == 2


def test_a_copy_into_the_rules_themselves_is_refused(folder: Path, capsys: Capture) -> None:
    """The copy would become a part of what is copied."""
    assert rules_command.copy(folder / "causes" / "copy", folder) == 2
    assert "inside the rules" in capsys.readouterr().err
    assert not (folder / "causes" / "copy").exists()


def test_a_copy_that_cannot_be_written_is_refused(tmp_path: Path, capsys: Capture) -> None:
    """A file where a folder would have to be is said with what to do."""
    (tmp_path / "file").write_text("", "utf-8")
    assert rules_command.copy(tmp_path / "file" / "rules", GOOD) == 2
    assert "Name a folder you may write to." in capsys.readouterr().err
