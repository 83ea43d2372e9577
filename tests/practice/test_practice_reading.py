"""Reading a transcript: what its parts mean, and which line is named when something is wrong with it."""

from collections.abc import Callable
from datetime import UTC, datetime
from pathlib import Path

import pytest

from diagnose.errors import DiagnoseError
from diagnose.practice.reading import read
from diagnose.practice.transcript import Malformed, text_of


def test_the_parts_of_a_transcript(talk: str) -> None:
    """Title, setting, width, date and log are read, and each line of the person makes a turn."""
    found = read(talk, "talk.md")
    assert (found.title, found.setting, found.width, found.log) == ("A gusher", "service", 80, False)
    (chat,) = found.chats
    assert chat.when == datetime(2026, 5, 4, 6, 50, tzinfo=UTC)
    assert [(turn.number, turn.line, turn.said, turn.answer) for turn in found.turns] == [
        (1, 17, "18 g in, 44 g out in 16 s, sour, recipe is 18 in 36 out 27 s", None),
        (2, 21, "why", None),
    ]


def test_expectations_keep_their_line(talk: str) -> None:
    """An expectation goes on in indented lines; backticks are for the eye only."""
    found = read(talk, "talk.md").expectations
    assert [(wanted.line, str(wanted)) for wanted in found] == [
        (11, "turn 1: first cause grind_too_coarse"),
        (11, "turn 1: step adjust grind_finer"),
        (13, "talk: questions 0"),
    ]


def test_an_answer_stands_between_fences(talk: str) -> None:
    """An answer may hold a fence itself where its own is longer; what stands around it is the narrator's."""
    answered = talk.replace("> why\n", "> why\n\n````text\none\n```\n\ntwo\n````\n\nThe end.\n")
    assert [turn.answer for turn in read(answered, "talk.md").turns] == [None, ("one", "```", "", "two")]


def test_a_heading_begins_a_new_chat(talk: str) -> None:
    """It may set the clock; without a date the time stays, and turns are counted on."""
    more = talk + "\n### The next morning (2026-05-05 07:00)\n\n> hello\n\n### Later\n\n> hello again\n"
    chats = read(more.replace("- Date", "- Log: kept\n- Date"), "talk.md").chats
    assert [(chat.when.day, chat.when.hour) for chat in chats] == [(4, 6), (5, 7), (5, 7)]
    assert [[turn.number for turn in chat.turns] for chat in chats] == [[1, 2], [3], [4]]


def test_an_empty_line_can_be_said(talk: str) -> None:
    """A lone mark is somebody pressing return."""
    assert read(talk + "\n>\n", "talk.md").turns[-1].said == ""


@pytest.mark.parametrize(
    ("old", "new", "line", "code"),
    [
        ("# A gusher", "A gusher", 1, "no-title"),
        ("The bar opens in ten minutes.\n", "", 1, "no-scenario"),
        ("- Setting: service\n", "", 1, "no-entry"),
        ("service", "bar", 5, "setting"),
        ("Width: 80", "Width: 8", 6, "width"),
        ("Width: 80", "Width: wide", 6, "width"),
        ("Width: 80", "Width: 101", 6, "width"),
        ("2026-05-04 06:50", "Monday", 7, "date"),
        ("- Date", "- Log: perhaps\n- Date", 7, "log"),
        ("- Date", "- Width: 70\n- Date", 7, "second-entry"),
        ("- Date", "- Weather: fine\n- Date", 7, "unknown-entry"),
        ("## What it must show", "## What it shows", 9, "unknown-section"),
        ("- turn 1: first", "turn 1: first", 11, "not-an-expectation"),
        ("- turn 1: first", "- after 1: first", 11, "not-an-expectation"),
        ("- turn 1: first", "- turn 1: second", 11, "not-an-expectation"),
        ("`grind_too_coarse`", "", 11, "not-an-expectation"),
        ("step adjust", "step adjusting", 11, "not-an-expectation"),
        ("questions 0", "questions few", 13, "not-an-expectation"),
        ("questions 0", "first cause `unknown`", 13, "not-an-expectation"),
        ("- turn 1: first", "- turn 3: first", 11, "no-turn"),
        ("## The talk\n", "## The talk\n\n```\nbefore anything was said\n```\n", 17, "stray-answer"),
        ("> why\n", "> why\n\n```\none\n```\n\n```\ntwo\n```\n", 27, "stray-answer"),
        ("> why\n", "> why\n\n```text\none\n", 23, "open-answer"),
        ("> why\n", "### The next day (tomorrow)\n\n> why\n", 21, "date"),
    ],
)
def test_a_malformed_transcript_is_refused(talk: str, old: str, new: str, line: int, code: str) -> None:
    """The message names file and line, what is wrong, and what to do."""
    with pytest.raises(Malformed) as refused:
        read(talk.replace(old, new, 1), "talk.md")
    problem = refused.value.problems[0]
    assert (problem.line, problem.code) == (line, code)
    assert str(refused.value).startswith(f"talk.md:{line}:1: {code} ")
    assert problem.todo


def test_a_talk_without_a_word_is_refused(talk: str) -> None:
    """A transcript in which nobody says anything shows nothing."""
    with pytest.raises(Malformed, match=r"talk.md:0:0: no-talk .*“## The talk”"):
        read(talk[: talk.index("> 18 g")], "talk.md")


@pytest.mark.parametrize("text", ["", "\n\n"])
def test_an_empty_file_is_refused(text: str) -> None:
    """There is nothing to replay in it."""
    with pytest.raises(Malformed, match=r"talk.md:1:1: empty .*title"):
        read(text, "talk.md")


def test_every_problem_is_named_at_once(talk: str) -> None:
    """Whoever writes a transcript sees all that is wrong after one run, in the order of the file."""
    wrong = talk.replace("service", "bar").replace("Width: 80", "Width: 8").replace("questions 0", "questions few")
    with pytest.raises(Malformed) as refused:
        read(wrong, "talk.md")
    assert [(found.line, found.code) for found in refused.value.problems] == [
        (5, "setting"),
        (6, "width"),
        (13, "not-an-expectation"),
    ]
    assert refused.value.exit_code == 2


def test_a_file_that_is_no_text_is_refused(tmp_path: Path) -> None:
    """Bytes that are not UTF-8 and files that are not there are said in a sentence."""
    path = tmp_path / "talk.md"
    path.write_bytes(b"# A gusher\n\xff\n")
    with pytest.raises(DiagnoseError, match=r"talk\.md:1: this is not UTF-8"):
        text_of(path)
    with pytest.raises(DiagnoseError, match=r"other\.md: it cannot be read"):
        text_of(tmp_path / "other.md")


def test_a_file_is_read_as_it_was_written(talk: str, put: Callable[..., Path]) -> None:
    """Reading gives back the text, with the line ends of this program."""
    assert text_of(put(talk.replace("\n", "\r\n"))) == talk
