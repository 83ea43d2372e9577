"""``diagnose log list|show|retract|path``: what is printed, the exit codes, and what is never done to a log."""

import json
import sys
from collections.abc import Callable
from pathlib import Path
from typing import Any

import pytest

from diagnose import cli
from diagnose.logbook import Adjustment, Coffee, Logbook, PulledShot
from diagnose.model import Finding, Quantity, Range, Verdict

Typed = Callable[..., int]
Answered = Callable[..., dict[str, Any]]
Pull = Callable[..., list[int]]
Capture = pytest.CaptureFixture[str]


# Without a log


@pytest.mark.parametrize("words", [("list",), ("show", "1"), ("retract", "1"), ("spread",)])
def test_no_log_yet_is_no_fault_and_none_is_made(typed: Typed, log: Path, capsys: Capture, words: tuple[str]) -> None:
    """It says so and where the log would lie; exit code 0."""
    assert typed("log", *words) == 0
    assert capsys.readouterr().out.startswith(f"Nothing logged yet: there is no log at {log}.")
    assert not log.exists()


@pytest.mark.parametrize(
    ("words", "expected"),
    [
        (("list",), {"told": 0, "shots": []}),
        (("show", "1"), {"row": None}),
        (("retract", "1"), {"retracted": None}),
        (("spread",), {"setting": None, "told": 0, "chart": None, "shots": [], "svg": None}),
        (("path",), {"exists": False}),
    ],
)
def test_no_log_yet_as_json(answered: Answered, log: Path, words: tuple[str], expected: dict[str, Any]) -> None:
    """The same, for programs."""
    found = answered("log", *words)
    assert found["format"] == 1
    assert expected.items() <= found.items()
    assert not log.exists()


def test_an_export_of_no_log_prints_no_line(typed: Typed, log: Path, tmp_path: Path, capsys: Capture) -> None:
    """Standard output stays clean for the program behind it, and no file is made."""
    assert typed("log", "export", str(tmp_path / "out.jsonl")) == 0
    printed = capsys.readouterr()
    assert printed.out == ""
    assert "Nothing logged yet" in printed.err
    assert list(tmp_path.iterdir()) == []
    assert not log.exists()


@pytest.mark.parametrize("words", [("list",), ("show", "1"), ("retract", "1"), ("export",), ("spread",)])
@pytest.mark.parametrize("content", [b"", b"some other file " * 99, b"SQLite format 3\x00" + bytes(900)])
def test_an_unusable_log_is_exit_code_4_and_left_alone(
    typed: Typed, log: Path, capsys: Capture, words: tuple[str], content: bytes
) -> None:
    """The message names the file and what to do; the file stays as it was."""
    log.write_bytes(content)
    assert typed("log", *words) == 4
    printed = capsys.readouterr()
    assert printed.out == ""
    assert str(log) in printed.err
    assert "--log FILE" in printed.err or "Move it aside" in printed.err
    assert log.read_bytes() == content


def test_a_log_below_a_file_is_unusable(tmp_path: Path, capsys: Capture) -> None:
    """A place that can never hold a log is not the same as one that does not hold one yet."""
    (tmp_path / "file").write_text("x", "utf-8")
    assert cli.main(["log", "list", "--log", str(tmp_path / "file" / "log.sqlite3")]) == 4
    assert "There is no log at" in capsys.readouterr().err


def test_without_a_log_by_wish_there_is_nothing_to_ask(typed: Typed, capsys: Capture) -> None:
    """--no-log and `log` exclude each other: usage."""
    assert typed("log", "list", "--no-log") == 2
    assert "leave --no-log away" in capsys.readouterr().err


def test_the_path_is_that_of_the_option_the_variable_or_the_platform(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch, capsys: Capture
) -> None:
    """In this order; nothing but the path is printed."""
    monkeypatch.setenv("DIAGNOSE_LOG", str(tmp_path / "named.db"))
    monkeypatch.setenv("HOME", str(tmp_path))
    monkeypatch.setattr(sys, "platform", "linux")
    monkeypatch.delenv("XDG_DATA_HOME", raising=False)
    assert cli.main(["log", "path", "--log", "mine.db"]) == 0
    assert cli.main(["log", "path"]) == 0
    monkeypatch.delenv("DIAGNOSE_LOG")
    assert cli.main(["log", "path"]) == 0
    expected = ["mine.db", str(tmp_path / "named.db"), str(tmp_path / ".local/share/diagnose/log.sqlite3")]
    assert capsys.readouterr().out.splitlines() == expected
    monkeypatch.delenv("HOME")
    assert cli.main(["log", "list"]) == 4


# list and show


def tasted(*findings: tuple[str, str], step: str | None = None, **numbers: float) -> PulledShot:
    """Return a shot with numbers and findings."""
    units = {"dose": "g", "out": "g", "time": "s", "dial": "notch"}
    measures = {name.replace("out", "yield"): Quantity.exact(number, units[name]) for name, number in numbers.items()}
    seen = tuple(Finding(name, tuple(levels.split("|")), "said") for name, levels in findings)
    return PulledShot(1, measures=measures, findings=seen, step=step, text="as typed")


@pytest.mark.parametrize(
    ("shot", "expected"),
    [
        (
            tasted(("taste_lean", "slightly_sour"), step="grind_finer", time=27.5, dial=12.5, dose=18, out=36.2),
            "1 21:30 18 36.2 27.5 12.5 slightly sour grind finer",
        ),
        (tasted(), "1 21:30 - - - -"),
        (tasted(("taste_lean", "sour|both"), ("dryness", "dry")), "1 21:30 - - - - sour or both, dry"),
        (tasted(("rancid_taste", "present"), ("raw_taste", "grassy")), "1 21:30 - - - - rancid, raw (grassy)"),
        (tasted(("verdict", "fine")), "1 21:30 - - - - fine"),
        # What is as it should be, and what is no taste, is left out.
        (tasted(("dryness", "none"), ("burnt_taste", "absent"), ("flow", "fast")), "1 21:30 - - - -"),
        (tasted(dial=1234.0, dose=18.12345), "1 21:30 18.12 - - 1234"),
    ],
)  # fmt: skip
def test_a_shot_is_listed_with_what_was_told(
    typed: Typed, logbook: Logbook, capsys: Capture, shot: PulledShot, expected: str
) -> None:
    """Number, time of day, dose in, yield out, seconds, dial, taste, what was tried."""
    logbook.add_shot(shot)
    assert typed("log", "list") == 0
    head, day, *rows = capsys.readouterr().out.splitlines()
    assert head.split() == ["no", "time", "in", "g", "out", "g", "s", "dial", "taste", "tried"]
    assert day == "2026-06-04"
    # A cell that is too long runs on below itself, so the words of a row are compared as a set.
    assert sorted(" ".join(rows).replace(",", " ").split()) == sorted(expected.replace(",", " ").split())
    assert rows[0].split()[:6] == expected.split()[:6]


def test_the_list_is_the_newest_with_the_newest_last(
    typed: Typed, answered: Answered, logbook: Logbook, pull: Pull, capsys: Capture
) -> None:
    """Twenty unless asked otherwise; how many there are is said."""
    rows = pull(logbook, range(20, 45))
    assert [shot["id"] for shot in answered("log", "list")["shots"]] == rows[-20:]
    assert [shot["id"] for shot in answered("log", "list", "--last", "3")["shots"]] == rows[-3:]
    assert answered("log", "list")["told"] == 25
    assert typed("log", "list", "--last", "2") == 0
    lines = capsys.readouterr().out.splitlines()
    assert lines[0] == "The newest 2 of 25 shots; --last N shows more."
    assert [line.split()[4] for line in lines if "00:" in line] == ["43", "44"]
    assert typed("log", "list", "--last", "99") == 0
    assert "newest" not in capsys.readouterr().out


def test_the_list_fits_80_columns_whatever_was_told(typed: Typed, logbook: Logbook, capsys: Capture) -> None:
    """Long tastes, steps and numbers run over into lines below."""
    logbook.add_shot(
        tasted(
            ("taste_lean", "both"), ("dryness", "dry"), ("metallic_taste", "present"), ("flavour", "flat"),
            step="descale_as_maker_says_in_its_manual", dose=1e17, time=123456.789, dial=-99.125,
        )
    )  # fmt: skip
    assert typed("log", "list") == 0
    lines = capsys.readouterr().out.splitlines()
    assert max(map(len, lines)) <= 80
    assert "metallic" in " ".join(lines)


@pytest.mark.parametrize("last", ["0", "-3"])
def test_a_list_of_nothing_is_a_matter_of_usage(typed: Typed, capsys: Capture, last: str) -> None:
    """SQLite would take a negative number for no limit."""
    assert typed("log", "list", "--last", last) == 2
    assert "from 1 on" in capsys.readouterr().err


def test_a_log_without_shots_says_so(typed: Typed, logbook: Logbook, log: Path, capsys: Capture) -> None:
    """There is a log, so it does not say there is none."""
    logbook.remember("k", 1)
    assert typed("log", "list") == 0
    assert capsys.readouterr().out == f"No shots in the log {log} yet.\n"


def test_every_kind_of_row_can_be_shown(typed: Typed, answered: Answered, logbook: Logbook, capsys: Capture) -> None:
    """By the number that `list`, `care done` and the others print; `what` is as in an export."""
    exported: dict[int, dict[str, Any]] = {}
    adjusted = logbook.add_adjustment(
        Adjustment("grind_finer", 1.5, "notch", 12.0, None, (Range("time", 25, 29, "s"),))
    )
    rows = [
        (logbook.add_shot(tasted(("flow", "fast"), dose=18.0)), "shot", "measures: dose 18 g"),
        (adjusted, "adjustment", "expected: name time, low 25, high 29, unit s"),
        (logbook.add_verdict(Verdict("grind_finer", 0.9, 0.75), adjusted), "verdict", f"about: row {adjusted}"),
        (logbook.add_care("screen", note="blue brush"), "care", "note: blue brush"),
        (logbook.add_coffee(Coffee("Harbour Blend")), "coffee", "label: Harbour Blend"),
        (logbook.remember("recipe", {"dose": {"value": 18, "low": 18, "high": 18, "unit": "g"}}), "fact", "dose 18 g"),
        (logbook.remember("recipe", {"dose": {"value": 19, "low": 18, "high": 20, "unit": "g"}}), "fact", "18 to 20 g"),
        (logbook.remember("finer", "lower"), "fact", "value: lower"),
    ]
    lines = [json.loads(line) for line in list(logbook.export_lines())[1:]]
    exported = {line["uid"]: line for line in lines}
    for number, kind, said in rows:
        row = answered("log", "show", str(number))["row"]
        assert (row["id"], row["kind"]) == (number, kind)
        assert row["what"] == exported[row["uid"]]["what"]
        assert typed("log", "show", str(number)) == 0
        assert said in capsys.readouterr().out
    assert typed("log", "show", "1") == 0


def test_an_old_shot_is_found_among_many(answered: Answered, logbook: Logbook, pull: Pull) -> None:
    """Also one that is none of the newest."""
    first, *_ = pull(logbook, [27] * 300)
    assert answered("log", "show", str(first))["row"]["kind"] == "shot"


def test_text_of_a_log_cannot_steer_the_terminal(typed: Typed, logbook: Logbook, capsys: Capture) -> None:
    """An import may hold anything."""
    number = logbook.add_shot(PulledShot(1, text="\x1b]0;owned\x07 \x9b31m red", step="\x1b[2J"))
    assert typed("log", "show", str(number)) == 0
    assert typed("log", "list") == 0
    printed = capsys.readouterr().out
    assert "owned" in printed
    assert all(letter.isprintable() or letter == "\n" for letter in printed)


# retract


def test_a_withdrawn_shot_is_gone_from_the_answers_and_stays_in_the_file(
    typed: Typed, answered: Answered, logbook: Logbook, pull: Pull, capsys: Capture
) -> None:
    """Said so, with the number of the row that withdraws it; asking again finds nothing."""
    first, second = pull(logbook, [27, 99])
    assert typed("log", "retract", str(second)) == 0
    out = capsys.readouterr().out
    assert out.startswith(f"Row {second}, a shot of 2026-06-04 21:44, is withdrawn by row {second + 1}.\n")
    assert "stay in the file" in out
    assert [shot["id"] for shot in answered("log", "list")["shots"]] == [first]
    assert sum(1 for _ in logbook.export_lines()) == 1 + 3
    for action in ("retract", "show"):
        assert typed("log", action, str(second)) == 2
        assert f"no row {second}" in capsys.readouterr().err


def test_care_written_by_mistake_is_withdrawn_too(answered: Answered, logbook: Logbook) -> None:
    """Any kind of row has a number; JSON names both rows."""
    row = logbook.add_care("screen")
    assert answered("log", "retract", str(row)) == {"format": 1, "retracted": row, "by": row + 1}
    assert logbook.care() == []


@pytest.mark.parametrize("number", ["x", "1.5", ""])
def test_a_number_is_a_number(typed: Typed, capsys: Capture, number: str) -> None:
    """Usage, said by the parser of arguments."""
    assert typed("log", "retract", number) == 2
    assert "invalid int value" in capsys.readouterr().err
