"""What follows a step, shot by shot: nothing is called cured on one shot, and a new bag starts from the old one."""

from collections.abc import Callable, Iterable
from datetime import datetime, timedelta
from itertools import count
from pathlib import Path

import pytest

from diagnose import Conversation, Reply
from diagnose.logbook import Logbook
from diagnose.rulebase.base import RuleBase

Start = Callable[..., Conversation]
DIALLING = (
    "recipe is 18 in 36 out 27 s, a higher number is finer",
    "dial 10, 18 g in, 36 g out in 16 s, sour",
    "dial 13, 18 g in, 36 g out in 22 s, sour",
    "dial 15, 18 g in, 36 g out in 27 s",
)
NEW_BAG = "opened a new bag, dial 15, 18 g in, 36 g out in 17 s, sour"


@pytest.fixture
def start(rules: RuleBase) -> Start:
    """Return a function that starts a talk; its clock moves on by a minute with every look."""
    minutes = count()

    def later() -> datetime:
        return datetime.fromisoformat("2026-05-04T08:30:00+00:00") + timedelta(minutes=next(minutes))

    def begin(log: Path | None = None, coffee: str | None = None) -> Conversation:
        return Conversation(rules=rules, setting="service", clock=later, log=log, coffee=coffee)

    return begin


def last(chat: Conversation, lines: Iterable[str]) -> Reply:
    """Return the reply to the last line."""
    return [chat.say(line) for line in lines][-1]


def parts(reply: Reply, kind: str) -> str:
    """Return the text of all parts of one kind."""
    return " ".join(part.text for part in reply.parts if part.kind == kind)


GUSHER = "recipe is 18 in 36 out 27 s, 18 g in, 36 g out in 15 s, sour"


def test_one_good_shot_is_not_called_fixed_and_two_are(start: Start) -> None:
    """On target once: wait for the next. Twice: it holds, and how many shots show it is said."""
    chat = start()
    once = last(chat, (GUSHER, "36 g in 27 s"))
    assert once.step is not None
    assert once.step.kind == "accept"
    assert "It holds" not in once.step.text
    assert "next one" in once.step.text
    twice = chat.say("36 g in 28 s")
    assert twice.step is not None
    assert twice.step.text.startswith("It holds: 2 shots")
    assert once.verdict is not None
    assert twice.verdict is not None
    assert once.verdict.fixed < twice.verdict.fixed
    assert twice.verdict.fixed >= 0.96


def test_a_second_shot_that_is_off_again_is_not_called_fixed(start: Start) -> None:
    """15 s, then 27 s, then 17 s: one good one was chance."""
    reply = last(start(), (GUSHER, "36 g in 27 s", "36 g in 17 s"))
    assert reply.step is not None
    assert reply.step.kind in {"adjust", "repeat", "fix", "question", "check"}
    assert "It holds" not in reply.step.text


def test_what_was_proven_is_not_judged_again(start: Start) -> None:
    """After "it holds" the next shot begins anew: no verdict on a step long done."""
    chat = start()
    last(chat, (GUSHER, "36 g in 27 s", "36 g in 28 s"))
    assert chat.say("36 g in 26 s").verdict is None


def test_a_step_that_went_too_far_says_so(start: Start) -> None:
    """From 15 s to 41 s finer was right and too much: it is neither praised as a cure nor called a failure."""
    reply = last(start(), (GUSHER, "36 g in 41 s, bitter"))
    assert "too far" in parts(reply, "verdict")
    assert reply.verdict is not None
    assert reply.verdict.fixed < 0.2


def test_a_verdict_is_said_once_for_each_shot(start: Start) -> None:
    """A remark without a new shot does not bring the same verdict again."""
    chat = start()
    first = last(chat, (GUSHER, "36 g in 27 s"))
    assert parts(first, "verdict")
    assert not parts(chat.say("my machine has an exhaust valve"), "verdict")


def test_each_shot_after_a_step_adds_a_verdict_to_the_log(start: Start, tmp_path: Path) -> None:
    """What one shot leaves open the next may settle: both stand in the log."""
    path = tmp_path / "log.db"
    chat = start(path)
    last(chat, (GUSHER, "36 g in 27 s", "36 g in 28 s"))
    chat.close()
    with Logbook.open(path, lambda: datetime.fromisoformat("2026-05-05T08:30:00+00:00")) as book:
        assert len(book.verdicts()) == 2


def test_a_new_bag_starts_from_what_the_old_one_taught(start: Start) -> None:
    """About 2 s a notch was learned, so 17 s with the new bag is not answered by the first guess of 5 s."""
    reply = last(start(), (*DIALLING, NEW_BAG))
    assert "by your own shots" in parts(reply, "step")
    alone = start().say("recipe is 18 in 36 out 27 s, a higher number is finer, " + NEW_BAG)
    assert "a first guess" in parts(alone, "step")


def test_the_log_hands_the_old_bags_lesson_to_the_next_talk(start: Start, tmp_path: Path) -> None:
    """Days later the same holds, from the log."""
    path = tmp_path / "log.db"
    before = start(path)
    last(before, DIALLING)
    before.close()
    reply = start(path).say(NEW_BAG)
    assert "by your own shots" in parts(reply, "step")


def test_a_step_the_dial_shows_undone_is_not_judged(start: Start) -> None:
    """The dial still stands where it stood: the step neither helped nor failed."""
    chat = start()
    first = last(chat, (DIALLING[0], "dial 10, 18 g in, 36 g out in 16 s, sour"))
    assert first.step is not None
    assert first.step.variable == "grind"
    again = chat.say("dial 10, 18 g in, 36 g out in 17 s, sour")
    assert again.verdict is None
    assert again.step is not None
    assert again.step.id == first.step.id


def test_shots_that_jump_at_one_setting_are_said_to_have_shifted(start: Start) -> None:
    """Three at 28 s, then 19 s and 18 s with nothing touched: something else changed."""
    times = (28, 27, 29, 19, 18)
    reply = last(start(), [DIALLING[0], *(f"dial 9, 18 g in, 36 g out in {time} s" for time in times)])
    assert "9 s faster" in parts(reply, "note") or "10 s faster" in parts(reply, "note")


def test_from_five_shots_on_the_persons_own_spread_is_said(rules: RuleBase) -> None:
    """At home and in training; in service nobody reads it."""
    lines = [DIALLING[0], *(f"dial 9, 18 g in, 36 g out in {time} s" for time in (27, 25, 28, 26, 29, 27))]
    home = last(Conversation(rules=rules, setting="home"), lines)
    assert "scatter by about" in parts(home, "note")
    assert "scatter by about" not in parts(last(Conversation(rules=rules, setting="service"), lines), "note")


def test_two_coffees_with_their_grinders_are_kept_apart(start: Start, tmp_path: Path) -> None:
    """What one grinder's dial taught says nothing of another's; the recipe is each coffee's own, however spelt."""
    path = tmp_path / "log.db"
    house = start(path, "House blend")
    last(house, DIALLING)
    house.close()
    lines = ("a higher number is finer, dial 15, 18 g in, 36 g out in 17 s, sour",)
    assert "by your own shots" in parts(last(start(path, "house  BLEND"), lines), "step")
    assert "no recipe" in parts(last(start(path, "decaf"), lines), "note")
    for other in ("decaf", None):
        reply = last(start(path, other), ("my recipe is 18 in 36 out 27 s, " + lines[0],))
        assert "a first guess" in parts(reply, "step")
    with Logbook.open(path, lambda: datetime.fromisoformat("2026-05-05T08:30:00+00:00")) as book:
        assert {row.what.coffee for row in book.shots(limit=20)} == {"House blend", "house  BLEND", "decaf", None}


@pytest.mark.parametrize(
    "lines",
    [
        ("dial 10, 18 g in 36 g out 18 s, sour", "dial 9, 36 g in 22 s, sour", "dial 8, 36 g in 26 s, tastes good"),
        ("18 g in 36 g out 17 s, sour", "36 g in 23 s, sour", "36 g in 26 s, tastes good"),
        ("18 g in 36 g out 17 s, sour", "36 g in 27 s", "36 g in 18 s", "36 g in 27 s"),
    ],
)
def test_only_good_shots_in_a_row_at_one_setting_prove_anything(start: Start, lines: tuple[str, ...]) -> None:
    """A sour shot, another setting of the dial or one off target in between begins the count again."""
    reply = last(start(), ("recipe is 18 in 36 out 27 s", *lines))
    assert reply.step is not None
    assert "It holds" not in reply.step.text
