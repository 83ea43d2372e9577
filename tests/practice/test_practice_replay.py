"""Replaying a talk: what is compared, and what a rewrite touches."""

from pathlib import Path
from typing import NoReturn

import pytest

from diagnose.conversation.memory import Memory
from diagnose.errors import DiagnoseError, LogError
from diagnose.practice.reading import read
from diagnose.practice.replaying import replay
from diagnose.rulebase.base import RuleBase
from diagnose.terminal.layout import columns


@pytest.fixture
def written(talk: str, rules: RuleBase) -> str:
    """Return the transcript with its answers."""
    return replay(read(talk, "talk.md"), rules).text


def test_answers_are_written_below_what_was_said(talk: str, written: str) -> None:
    """Every turn gets its answer between fences; nothing else changes."""
    turns = read(written, "talk.md").turns
    assert all(turn.answer for turn in turns)
    lines = written.split("\n")
    for turn in turns:
        assert (lines[turn.line], lines[turn.line + 1]) == ("", "```text")
    rest = "".join(lines[:17] + lines[turns[0].end : turns[1].line] + lines[turns[1].end :])
    assert rest == "".join(talk.split("\n"))


def test_a_talk_written_down_is_true(written: str, rules: RuleBase) -> None:
    """Replaying what was just written finds no difference and leaves the text alone."""
    again = replay(read(written, "talk.md"), rules)
    assert (again.changes, again.missed, again.diff) == ((), (), "")
    assert again.text == written


def test_a_changed_answer_shows_as_a_diff(written: str, rules: RuleBase) -> None:
    """The diff goes from what is written to what is answered now, and only that turn is named."""
    changed = written.replace("Heard: 18 g in", "Understood: 18 g in", 1)
    again = replay(read(changed, "talk.md"), rules)
    assert [change.turn.number for change in again.changes] == [1]
    assert "--- talk.md\n+++ talk.md (replayed)\n" in again.diff
    assert "\n-Understood: 18 g in" in again.diff
    assert "\n+Heard: 18 g in" in again.diff
    assert again.text == written


def test_the_width_is_the_transcripts_own(talk: str, rules: RuleBase) -> None:
    """Answers are laid out at the width given, whatever the terminal."""
    narrow = replay(read(talk.replace("Width: 80", "Width: 40"), "talk.md"), rules)
    answers = [line for change in narrow.changes for line in change.after]
    assert 30 < max(map(columns, answers)) <= 40


def test_an_expectation_is_checked_and_never_rewritten(written: str, rules: RuleBase) -> None:
    """An expectation that is not met is told apart from a change of wording."""
    wrong = written.replace("`grind_too_coarse`", "`grind_too_fine`")
    again = replay(read(wrong, "talk.md"), rules)
    (one,) = again.missed
    assert (one.expectation.line, one.found) == (11, "grind_too_coarse")
    assert again.changes == ()
    assert again.text == wrong


def test_a_fence_said_back_does_not_end_the_answer(talk: str, rules: RuleBase) -> None:
    """What holds a fence itself stands between longer ones."""
    odd = talk.replace("> why\n", "> 17 s ````\n\n> undo\n")
    done = replay(read(odd, "talk.md"), rules)
    assert any("````" in line for line in done.changes[2].after)
    assert "\n`````text\n" in done.text
    assert replay(read(done.text, "talk.md"), rules).changes == ()


def test_room_is_made_before_the_next_line(talk: str, rules: RuleBase) -> None:
    """Two lines the person typed one below the other are taken apart by the answer."""
    close = talk.replace("\nSomebody knocks at the door.\n\n", "")
    lines = replay(read(close, "talk.md"), rules).text.split("\n")
    place = lines.index("> why")
    assert lines[place - 2 : place] == ["```", ""]


def test_a_log_is_kept_from_chat_to_chat(talk: str, rules: RuleBase) -> None:
    """With a log the recipe of the first chat holds in the second; without one it does not."""
    more = talk + "\n### The next morning (2026-05-05 06:50)\n\n> 18 g in, 36 g out in 27 s, tastes good\n"
    none = replay(read(more, "talk.md"), rules).changes[2].after
    kept = replay(read(more.replace("- Date", "- Log: kept\n- Date"), "talk.md"), rules).changes[2].after
    assert any("no recipe" in line for line in none)
    assert not any("no recipe" in line for line in kept)


def test_a_log_that_cannot_be_kept_is_said(talk: str, rules: RuleBase, monkeypatch: pytest.MonkeyPatch) -> None:
    """A replay without the log the talk counts on would show something else, so there is none."""

    def refuse(_path: Path, _clock: object) -> NoReturn:
        raise LogError("the disk is full")

    monkeypatch.setattr("diagnose.conversation.memory.Logbook.open", refuse)
    with pytest.raises(LogError, match="the disk is full"):
        replay(read(talk.replace("- Date", "- Log: kept\n- Date"), "talk.md"), rules)
    assert Memory(rules, None, lambda: pytest.fail("no clock is needed")).fault is None


def test_nothing_is_said_after_the_end(talk: str, rules: RuleBase) -> None:
    """A line typed after quitting is named, since no chat would take it."""
    with pytest.raises(DiagnoseError, match=r"talk\.md:23: the talk has ended before this"):
        replay(read(talk.replace("> why\n", "> quit\n\n> why\n"), "talk.md"), rules)


@pytest.mark.parametrize(("date", "rule"), [("2026-05-04", "very_fresh"), ("2026-08-14", "old")])
def test_the_clock_stands_at_the_date_given(talk: str, rules: RuleBase, date: str, rule: str) -> None:
    """Beans roasted on the first of May are fresh on the fourth and old in August (common practice, no source)."""
    dated = talk.replace("> why\n", "> the beans were roasted on 1 May 2026\n").replace("2026-05-04", date)
    expecting = dated.replace("- talk: questions 0", f"- turn 2: rule `bean_freshness/{rule}`")
    assert replay(read(expecting, "talk.md"), rules).missed == ()
