"""``diagnose log export|import|spread``: files out and in, and the person's own spread as lines, JSON and picture."""

import io
import json
import stat
import sys
from collections.abc import Callable
from datetime import UTC, datetime
from pathlib import Path
from types import SimpleNamespace
from typing import Any
from xml.etree.ElementTree import fromstring

import pytest

from diagnose import cli, log_command
from diagnose.logbook import Logbook

Typed = Callable[..., int]
Answered = Callable[..., dict[str, Any]]
Pull = Callable[..., list[int]]
Capture = pytest.CaptureFixture[str]
HEADER = '{"format":"diagnose-log","version":1}'


def fact(uid: str, value: object = 1) -> str:
    """Return one line of an export."""
    what = {"key": "k", "value": value}
    return json.dumps({"uid": uid, "kind": "fact", "at": "2026-06-01T08:00:00+02:00", "about": None, "what": what})


# export and import


def test_what_is_exported_comes_back_in_another_log(
    typed: Typed, answered: Answered, logbook: Logbook, *, pull: Pull, tmp_path: Path, capsys: Capture
) -> None:
    """Everything, withdrawn rows too, in the log's own format; a second import changes nothing."""
    pull(logbook, [27, 28, 29])
    logbook.retract(2, "undo")
    target, other = tmp_path / "out.jsonl", tmp_path / "other.sqlite3"
    assert answered("log", "export", str(target)) == {"format": 1, "exported": 4, "to": str(target)}
    assert target.read_text("utf-8").splitlines() == list(logbook.export_lines())
    assert stat.S_IMODE(target.stat().st_mode) == 0o600
    assert typed("log", "export") == 0
    assert capsys.readouterr().out == target.read_text("utf-8")
    assert typed("log", "export", "-") == 0
    assert capsys.readouterr().out == target.read_text("utf-8")

    assert cli.main(["log", "import", str(target), "--log", str(other)]) == 0
    assert capsys.readouterr().out == f"Imported 4 rows from {target} (1 retraction, 3 shot).\n"
    with Logbook.open_existing(other, lambda: datetime(2026, 6, 5, tzinfo=UTC)) as copy:
        assert list(copy.export_lines()) == list(logbook.export_lines())
    assert cli.main(["log", "import", str(target), "--log", str(other)]) == 0
    assert "Imported 0 rows" in capsys.readouterr().out


def test_an_export_overwrites_nothing(typed: Typed, logbook: Logbook, tmp_path: Path, capsys: Capture) -> None:
    """What stands there stays; a place that cannot be written is named."""
    logbook.remember("k", 1)
    target = tmp_path / "taken"
    target.write_text("mine", "utf-8")
    for place, said in (
        (target, "is there already"),
        (tmp_path, "is there already"),
        (target / "x", "cannot be written"),
    ):
        assert typed("log", "export", str(place)) == 2
        assert said in capsys.readouterr().err
    assert target.read_text("utf-8") == "mine"
    assert typed("log", "export", str(tmp_path / "new")) == 0
    assert capsys.readouterr().out == f"Exported 1 row to {tmp_path / 'new'}.\n"


BAD = {
    "no JSON at all": "the line is not JSON",
    '{"uid": "x"}': "kind must be one of",
    fact("two words"): "uid must be",
}


def test_bad_lines_are_named_with_their_number_and_the_rest_is_kept(
    typed: Typed, answered: Answered, log: Path, tmp_path: Path, capsys: Capture
) -> None:
    """Exit code 1: something was found. Bytes that are no UTF-8 are a bad line and never altered text."""
    source = tmp_path / "in.jsonl"
    lines = [
        HEADER.encode(),
        fact("a").encode(),
        *(line.encode() for line in BAD),
        b'{"uid": "\xff"}',
        fact("b").encode(),
    ]
    source.write_bytes(b"\n".join(lines) + b"\n")
    assert typed("log", "import", str(source)) == 1
    out = capsys.readouterr().out.splitlines()
    assert out[0] == f"Imported 2 rows from {source} (2 fact)."
    assert out[1] == "4 problems; the other lines were kept:"
    for line, (number, said) in zip(out[2:], enumerate([*BAD.values(), "the line is not JSON"], start=3), strict=True):
        assert line.startswith(f"  line {number}: ")
        assert said in line
    found = answered("log", "import", str(source), code=1)
    assert (found["added"], found["known"]) == ({}, 2)
    assert [problem["line"] for problem in found["problems"]] == [3, 4, 5, 6]
    assert log.exists()


def test_of_very_many_bad_lines_the_first_are_shown(
    typed: Typed, answered: Answered, tmp_path: Path, capsys: Capture
) -> None:
    """The screen is not flooded; JSON has them all."""
    source = tmp_path / "letter.txt"
    source.write_text("a line of a letter\n" * 50, "utf-8")
    assert typed("log", "import", str(source)) == 1
    out = capsys.readouterr().out.splitlines()
    assert sum(line.startswith("  line ") for line in out) == log_command.SHOWN_PROBLEMS
    assert out[-1].endswith(
        f"and {len(answered('log', 'import', str(source), code=1)['problems']) - 20} more; --json gives them all."
    )


def test_an_import_may_come_by_pipe(answered: Answered, monkeypatch: pytest.MonkeyPatch, log: Path) -> None:
    """- is standard input."""
    text = f"{HEADER}\n{fact('a')}\n"
    monkeypatch.setattr(sys, "stdin", io.TextIOWrapper(io.BytesIO(text.encode())))
    assert answered("log", "import", "-")["added"] == {"fact": 1}
    assert log.exists()


def test_what_cannot_be_read_is_said_and_starts_no_log(
    typed: Typed, log: Path, tmp_path: Path, capsys: Capture
) -> None:
    """The file is opened before the log."""
    for source in (tmp_path / "missing", tmp_path):
        assert typed("log", "import", str(source)) == 2
        assert "cannot be read" in capsys.readouterr().err
    assert not log.exists()


class Failing(io.RawIOBase):
    """A file whose disk fails after one line."""

    def __init__(self) -> None:
        """Begin with a good line."""
        self.lines = [f"{HEADER}\n".encode()]

    def __next__(self) -> bytes:
        """Return the line, then fail."""
        if self.lines:
            return self.lines.pop()
        raise OSError(5, "Input/output error")


def test_a_disk_that_fails_while_reading_is_said(
    typed: Typed, monkeypatch: pytest.MonkeyPatch, capsys: Capture
) -> None:
    """What was read before is kept, and the same import can be run again."""
    monkeypatch.setattr(sys, "stdin", SimpleNamespace(buffer=Failing()))
    assert typed("log", "import", "-") == 2
    assert "cannot be read to its end (Input/output error)" in capsys.readouterr().err


# spread


def test_the_spread_is_that_of_the_handbook_in_json_words_and_picture(
    typed: Typed, answered: Answered, logbook: Logbook, *, pull: Pull, tmp_path: Path, capsys: Capture
) -> None:
    """NIST/SEMATECH e-Handbook 6.3.2.2: centre 50.81, limits 45.8159 and 55.8041."""
    rows = pull(logbook, [49.6, 47.6, 49.9, 51.3, 47.8, 51.2, 52.6, 52.4, 53.6, 52.1])
    found = answered("log", "spread")
    assert found["setting"] == {"coffee": None, "dial": 12.0}
    chart = found["chart"]
    assert (chart["centre"], chart["unit"]) == (pytest.approx(50.81), "s")
    assert (chart["lower"], chart["upper"]) == pytest.approx((45.8159, 55.8041), abs=2e-3)
    assert [(shot["id"], shot["signs"]) for shot in found["shots"]] == [(row, []) for row in rows]
    picture = tmp_path / "spread.svg"
    assert typed("log", "spread", "--svg", str(picture)) == 0
    out = capsys.readouterr().out
    assert "limits 45.8 to 55.8 s" in out
    assert "*" in out
    assert out.endswith(f"Drawn in {picture}.\n")
    assert fromstring(picture.read_text("utf-8")).attrib["role"] == "img"  # noqa: S314 - our own output
    assert typed("log", "spread", "--plain") == 0
    assert "*" not in capsys.readouterr().out


def test_a_picture_overwrites_nothing(
    typed: Typed, logbook: Logbook, pull: Pull, tmp_path: Path, capsys: Capture
) -> None:
    """The file that stands there stays as it is, and nothing is printed as if it had been drawn."""
    pull(logbook, [27, 28, 29, 27, 26])
    picture = tmp_path / "mine.svg"
    picture.write_text("mine", "utf-8")
    assert typed("log", "spread", "--svg", str(picture)) == 2
    printed = capsys.readouterr()
    assert (printed.out, picture.read_text("utf-8")) == ("", "mine")
    assert "is there already" in printed.err


def test_with_too_few_shots_there_is_no_picture(
    typed: Typed, answered: Answered, logbook: Logbook, *, pull: Pull, tmp_path: Path, capsys: Capture
) -> None:
    """It says how many there are and how many it takes."""
    pull(logbook, [27, 28, 29])
    picture = tmp_path / "none.svg"
    assert typed("log", "spread", "--svg", str(picture)) == 0
    assert "dial 12 has 3 shots. It takes 5 shots" in " ".join(capsys.readouterr().out.split())
    found = answered("log", "spread")
    assert (found["setting"], found["told"], found["chart"]) == ({"coffee": None, "dial": 12.0}, 3, None)
    assert not picture.exists()


def test_a_log_that_is_only_for_reading_is_read(
    typed: Typed, logbook: Logbook, pull: Pull, log: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    """Looking needs no right to write: a log is never opened for starting one."""
    pull(logbook, [27] * 5)
    monkeypatch.setattr(Logbook, "open", lambda *_: pytest.fail("opened for writing"))
    for words in (("list",), ("show", "1"), ("spread",), ("export",)):
        assert typed("log", *words) == 0
    assert log.exists()
