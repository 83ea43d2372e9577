"""The command line: exit codes, JSON lines, and one clear message where something cannot be done."""

import json
import os
import shutil
import signal
import subprocess
import sys
from pathlib import Path

import pytest

RULES = Path(__file__).parent.parent.parent / "rules"
TEXT = "18 g in, 44 g out in 16 s, sour, recipe is 18 in 36 out 27 s"


def run(*arguments: str, typed: str = "", **environment: str) -> subprocess.CompletedProcess[str]:
    """Run the command with an empty home of its own and return what came of it."""
    clean = {name: value for name, value in os.environ.items() if not name.startswith("DIAGNOSE")}
    return subprocess.run(
        [sys.executable, "-m", "diagnose", *arguments],
        input=typed,
        capture_output=True,
        text=True,
        check=False,
        env=clean | environment,
    )


def clear(result: subprocess.CompletedProcess[str]) -> str:
    """Return the error output after checking that it is a message and no traceback."""
    assert "Traceback" not in result.stderr
    assert result.stderr.strip()
    return result.stderr


def test_an_answer_is_success_whatever_it_says() -> None:
    """Exit 0 for advice, for nothing wrong and for danger alike."""
    for text in (TEXT, "20 in 40 out 27 s, tastes great", "smell of gas", "blah"):
        result = run("ask", text)
        assert result.returncode == 0
        assert result.stdout.strip()
        assert not result.stderr


def test_a_piped_chat_answers_line_by_line(tmp_path: Path) -> None:
    """One block of text a line; with --json one object a line; nothing on the error stream."""
    log = str(tmp_path / "log.sqlite3")
    plain = run("--log", log, typed="my coffee is bitter\ndont know\ndont know\n")
    assert plain.returncode == 0
    assert plain.stdout.count("  1. ") == 3
    lines = run("--json", "--no-log", typed="my coffee is bitter\ndont know\nquit\nnever read\n").stdout.splitlines()
    assert len(lines) == 3
    assert all(json.loads(line)["format"] == 1 for line in lines)


@pytest.mark.parametrize(
    "arguments", [("--nonsense",), ("rules",), ("rules", "dance"), ("ask",), ("--setting", "moon")]
)
def test_wrong_usage_is_two(arguments: tuple[str, ...]) -> None:
    """The message names what was expected."""
    result = run(*arguments)
    assert result.returncode == 2
    assert "usage" in clear(result)


def test_a_broken_rule_file_is_three_with_its_place(tmp_path: Path) -> None:
    """path:line:column and what to do; the same from a missing folder."""
    shutil.copytree(RULES, tmp_path / "rules")
    broken = tmp_path / "rules" / "causes" / "grinder" / "grind_too_coarse.yaml"
    broken.write_text(broken.read_text(encoding="utf-8") + "colour: red\n", encoding="utf-8")
    result = run("ask", TEXT, "--rules", str(tmp_path / "rules"))
    assert result.returncode == 3
    assert "grind_too_coarse.yaml:" in clear(result)
    assert "colour" in result.stderr
    assert run("ask", TEXT, DIAGNOSE_RULES=str(tmp_path)).returncode == 3
    assert run("rules", "check", "--rules", str(tmp_path / "rules")).returncode == 1


def test_an_unusable_log_is_four_and_the_answer_is_printed(tmp_path: Path) -> None:
    """Corrupt or unwritable, named on the command line or by the environment."""
    log = tmp_path / "log.sqlite3"
    log.write_text("not a database " * 400, encoding="utf-8")
    for result in (
        run("ask", TEXT, "--log", str(log)),
        run("--log", str(log), typed=f"{TEXT}\n"),
        run(typed=f"{TEXT}\n", DIAGNOSE_LOG=str(log)),
    ):
        assert result.returncode == 4
        assert str(log) in clear(result)
        assert "Most likely: grind too coarse" in result.stdout
    assert log.read_text(encoding="utf-8").startswith("not a database")


def test_an_engine_that_cannot_be_loaded_is_five_and_says_how_to_install_it(tmp_path: Path) -> None:
    """The compiled module is shadowed by one that fails to import."""
    (tmp_path / "durable_rules_engine.py").write_text("raise ImportError('undefined symbol')\n", encoding="utf-8")
    result = run("ask", TEXT, PYTHONPATH=str(tmp_path))
    assert result.returncode == 5
    assert "CPPFLAGS" in clear(result)


def test_interrupting_leaves_cleanly(tmp_path: Path) -> None:
    """Ctrl-C in a piped chat: 130, no traceback."""
    process = subprocess.Popen(
        [sys.executable, "-m", "diagnose", "--log", str(tmp_path / "log.sqlite3")],
        stdin=subprocess.PIPE,
        stdout=subprocess.PIPE,
        stderr=subprocess.PIPE,
        text=True,
    )
    assert process.stdin is not None
    assert process.stdout is not None
    process.stdin.write("my coffee is bitter\n")
    process.stdin.flush()
    assert process.stdout.readline().strip()
    process.send_signal(signal.SIGINT)
    _, errors = process.communicate(timeout=20)
    assert process.returncode == 130
    assert "Traceback" not in errors


def test_a_reader_that_goes_away_is_no_error() -> None:
    """`diagnose rules list | head -1` ends quietly."""
    command = f"{sys.executable} -m diagnose rules list | head -1"
    result = subprocess.run(["bash", "-c", command], capture_output=True, text=True, check=True)
    assert len(result.stdout.splitlines()) == 1
    assert not result.stderr


def test_ask_touches_no_log_unless_told(tmp_path: Path) -> None:
    """Without --log nothing is written under the home folder."""
    result = run("ask", TEXT, HOME=str(tmp_path), XDG_DATA_HOME=str(tmp_path / "data"))
    assert result.returncode == 0
    assert list(tmp_path.iterdir()) == []


def test_undecodable_input_is_no_error() -> None:
    """Bytes that are no UTF-8 are read as best they can."""
    result = subprocess.run(
        [sys.executable, "-m", "diagnose", "--no-log"], input=b"sour \xff\xfe coffee\n", capture_output=True, check=True
    )
    assert b"sour" in result.stdout
