"""``diagnose replay``: exit codes, what is printed, and rewriting."""

import io
import json
import sys
from collections.abc import Callable
from pathlib import Path
from typing import Any, NoReturn

import pytest

from diagnose.cli import main
from diagnose.errors import DiagnoseError
from diagnose.practice import command
from diagnose.practice.reading import read
from diagnose.practice.replaying import replay
from diagnose.rulebase.base import RuleBase

Put = Callable[..., Path]


@pytest.fixture(autouse=True)
def loaded(rules: RuleBase, monkeypatch: pytest.MonkeyPatch) -> None:
    """Let the command use the rules that are loaded already."""
    monkeypatch.setattr(command, "load", lambda _folder: rules)


@pytest.fixture
def written(talk: str, rules: RuleBase) -> str:
    """Return the transcript with its answers."""
    return replay(read(talk, "talk.md"), rules).text


def objects(capsys: pytest.CaptureFixture[str]) -> list[dict[str, Any]]:
    """Return the JSON objects printed, one a line."""
    return [json.loads(line) for line in capsys.readouterr().out.splitlines()]


def test_a_true_transcript_passes(written: str, put: Put, capsys: pytest.CaptureFixture[str]) -> None:
    """Exit code 0 and one line that says so."""
    path = put(written)
    assert main(["replay", str(path)]) == 0
    assert capsys.readouterr().out == f"{path}: all of 2 turns are answered as written.\n"


def test_a_difference_is_printed_and_left_alone(written: str, put: Put, capsys: pytest.CaptureFixture[str]) -> None:
    """Exit code 1, a unified diff, the way to write it down, and the file as it was."""
    path = put(written.replace("Heard:", "Understood:", 1))
    before = path.read_text(encoding="utf-8")
    assert main(["replay", str(path)]) == 1
    said = capsys.readouterr().out
    assert said.startswith(f"{path}: 1 of 2 turns are answered otherwise; --rewrite")
    assert "\n-Understood:" in said
    assert path.read_text(encoding="utf-8") == before


def test_rewriting_tells_what_it_changed(written: str, put: Put, capsys: pytest.CaptureFixture[str]) -> None:
    """Turn, line, old and new number of lines, and the diff; afterwards the transcript is true."""
    path = put(written.replace("Heard:", "One line more\nHeard:", 1))
    assert main(["replay", str(path), "--rewrite"]) == 0
    said = capsys.readouterr().out
    lines = len(read(written, "talk.md").turns[0].answer or ())
    assert f"{path}:17: turn 1, {lines + 1} → {lines} lines\n" in said
    assert "turn 2" not in said
    assert "\n-One line more\n" in said
    assert path.read_text(encoding="utf-8") == written
    assert main(["replay", str(path), "--rewrite"]) == 0
    assert capsys.readouterr().out == f"{path}: all of 2 turns are answered as written.\n"


def test_rewriting_never_touches_what_must_be_shown(written: str, put: Put, capsys: pytest.CaptureFixture[str]) -> None:
    """New words are written, and what is not met fails all the same, with the line it stands in."""
    wrong = written.replace("questions 0", "questions 3")
    path = put(wrong.replace("Heard:", "Understood:", 1))
    assert main(["replay", "--rewrite", str(path)]) == 1
    assert f"{path}:13: NOT MET talk: questions 3; found 0\n" in capsys.readouterr().out
    assert path.read_text(encoding="utf-8") == wrong


def test_several_files_at_once(talk: str, written: str, put: Put, capsys: pytest.CaptureFixture[str]) -> None:
    """Each file is replayed whatever becomes of the others; the worst exit code is returned."""
    good, bad, new = put(written, "a.md"), put(talk.replace("service", "bar"), "b.md"), put(talk, "c.md")
    assert main(["replay", str(good), str(bad), str(new), "--rewrite"]) == 2
    printed = capsys.readouterr()
    assert f"{good}: all of 2" in printed.out
    assert f"{new}: 2 of 2 turns rewritten:" in printed.out
    assert printed.err.startswith(f"{bad}:5:1: setting there is no setting “bar”.")
    assert new.read_text(encoding="utf-8") == written


def test_json_has_an_object_for_each_file(written: str, put: Put, capsys: pytest.CaptureFixture[str]) -> None:
    """Changes, missed expectations, the diff and what could not be replayed are there as values."""
    wrong = written.replace("Heard:", "Understood:", 1).replace("questions 0", "questions 3")
    wrong = wrong.replace("`grind_too_coarse`", "`grind_too_fine`")
    good, bad = put(written, "a.md"), put(wrong, "b.md")
    assert main(["replay", "--json", str(good), str(bad), "none.md"]) == 2
    first, second, third = objects(capsys)
    assert first == {
        "format": 1,
        "file": str(good),
        "title": "A gusher",
        "turns": 2,
        "same": True,
        "rewritten": False,
        "changes": [],
        "missed": [],
        "diff": "",
    }
    (change,) = second["changes"]
    assert (change["turn"], change["line"], second["same"]) == (1, 17, False)
    assert change["before"][0].startswith("Understood:")
    assert change["after"][0].startswith("Heard:")
    assert second["missed"] == [
        {"turn": 1, "line": 11, "expected": "first cause grind_too_fine", "found": "grind_too_coarse"},
        {"turn": None, "line": 13, "expected": "questions 3", "found": "0"},
    ]
    assert "none.md" in third["error"]


def test_json_says_when_it_has_rewritten(talk: str, put: Put, capsys: pytest.CaptureFixture[str]) -> None:
    """A file that was written anew says so, and one that needed nothing does not."""
    path = put(talk)
    assert main(["replay", "--json", "--rewrite", str(path)]) == 0
    assert main(["replay", "--json", "--rewrite", str(path)]) == 0
    assert [one["rewritten"] for one in objects(capsys)] == [True, False]


def test_a_file_that_cannot_be_written(
    talk: str, put: Put, capsys: pytest.CaptureFixture[str], monkeypatch: pytest.MonkeyPatch
) -> None:
    """It is said in a sentence."""
    path = put(talk)

    def refuse(*_args: object, **_fields: object) -> NoReturn:
        raise PermissionError(13, "Permission denied")

    monkeypatch.setattr(Path, "write_text", refuse)
    assert main(["replay", "--rewrite", str(path)]) == DiagnoseError.exit_code
    assert capsys.readouterr().err.startswith(f"{path}: it cannot be written (Permission denied).")


def test_rules_that_do_not_load_end_it(
    talk: str, put: Put, capsys: pytest.CaptureFixture[str], monkeypatch: pytest.MonkeyPatch
) -> None:
    """Without rules nothing can be answered: exit code 3, as everywhere."""
    monkeypatch.undo()
    assert main(["replay", "--rules", "no/such/folder", str(put(talk))]) == 3
    assert "no-rules" in capsys.readouterr().err


@pytest.mark.parametrize("encoding", ["ascii", "utf-8"])
def test_a_stream_that_cannot_carry_every_character(
    talk: str, put: Put, encoding: str, monkeypatch: pytest.MonkeyPatch
) -> None:
    """The arrow between the numbers of lines becomes a question mark on a stream in ASCII."""
    out = io.TextIOWrapper(io.BytesIO(), encoding=encoding, write_through=True)
    monkeypatch.setattr(sys, "stdout", out)
    assert main(["replay", "--rewrite", str(put(talk))]) == 0
    out.seek(0)
    assert f"turn 1, 0 {'?' if encoding == 'ascii' else '→'} ".encode() in out.buffer.read()


def test_printing_needs_no_stream_of_its_own_kind(talk: str, put: Put, monkeypatch: pytest.MonkeyPatch) -> None:
    """Any text stream will do."""
    out = io.StringIO()
    monkeypatch.setattr(sys, "stdout", out)
    assert main(["replay", "--rewrite", str(put(talk))]) == 0
    assert "turn 1, 0 → " in out.getvalue()


def test_a_file_must_be_named(capsys: pytest.CaptureFixture[str]) -> None:
    """Exit code 2 where nothing is to be replayed."""
    assert main(["replay"]) == 2
    assert "FILE" in capsys.readouterr().err
