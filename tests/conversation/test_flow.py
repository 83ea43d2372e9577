"""How a talk goes on: next shots, verdicts, undo, corrections, explanations, and the log beside it."""

from collections.abc import Callable
from datetime import datetime, timedelta
from functools import partial
from pathlib import Path

import pytest

from diagnose import Conversation, Reply
from diagnose.conversation.explaining import Explainer
from diagnose.explanation import best_explanation, why_not
from diagnose.logbook import Logbook
from diagnose.model import Setting
from diagnose.rulebase.base import RuleBase

Clock = Callable[[], datetime]
Talk = Callable[..., Conversation]
GUSHER = "gushing, 18 g in, 44 g out in 16 s, sour, recipe is 18 in 36 out 27 s"


@pytest.fixture
def talk(rules: RuleBase, clock: Clock) -> Talk:
    """Return a function that starts a talk."""

    def start(setting: Setting = "service", log: Path | None = None) -> Conversation:
        return Conversation(rules=rules, setting=setting, clock=clock, log=log)

    return start


def step_of(reply: Reply) -> tuple[str, str]:
    """Return kind and id of the step."""
    assert reply.step is not None
    return reply.step.kind, reply.step.id


def test_a_step_that_worked_is_followed_to_its_end(talk: Talk) -> None:
    """Gusher, one step, a shot on target: it helped; then the taste is asked, and the talk ends."""
    chat = talk("training")
    assert step_of(chat.say(GUSHER)) == ("adjust", "grind_finer")
    after = chat.say("26 s, 36 g out")
    assert after.verdict is not None
    assert after.verdict.step == "grind_finer"
    assert after.verdict.helped > 0.9
    assert step_of(after) == ("question", "verdict")
    end = chat.say("good")
    assert step_of(end) == ("accept", "accept")


def test_in_service_a_step_that_worked_ends_the_talk(talk: Talk) -> None:
    """With a queue waiting nobody is asked for the taste of a shot that is on target."""
    chat = talk("service")
    chat.say(GUSHER)
    assert step_of(chat.say("26 s, 36 g out")) == ("accept", "accept")


def test_undoing_a_correction_brings_the_number_back(talk: Talk) -> None:
    """Undo takes the correction back, not what it corrected."""
    chat = talk()
    first = chat.say("18 g in, 36 g out in 17 s, recipe 18 in 36 out 27 s")
    chat.say("no, 27 not 17")
    chat.say("undo")
    again = chat.say("it pours evenly")
    assert [f.levels for f in again.findings if f.id == "flow"] == [f.levels for f in first.findings if f.id == "flow"]


def test_a_number_said_again_in_another_way_is_no_new_shot(talk: Talk) -> None:
    """18 g and 18.0 g are the same dose of the same shot."""
    chat = talk()
    assert chat.say("18 g in, 36 g out in 20 s").step is not None
    chat.say("18.0 g in")
    assert chat.shots_told == 1


def test_a_step_that_failed_lowers_its_cause_and_raises_the_unknown(talk: Talk) -> None:
    """The same gusher again after a finer grind: the cause falls, something unlisted rises."""
    chat = talk()
    before = {cause.id: cause.probability for cause in chat.say(GUSHER).causes}
    after = chat.say("no change, 16 s, 44 out")
    assert after.verdict is not None
    assert after.verdict.helped < 0.2
    now = {cause.id: cause.probability for cause in after.causes}
    assert now["grind_too_coarse"] < before["grind_too_coarse"]
    assert now["unknown"] > before["unknown"]


def test_a_partial_answer_of_the_grinder_is_no_failure(talk: Talk) -> None:
    """38 s becomes 33 s after a coarser step: less than guessed, yet a response, so the grind goes on."""
    chat = talk()
    assert step_of(chat.say("recipe 18 in 36 out 24 s. 18 in 36 out 38 s")) == ("adjust", "grind_coarser")
    after = chat.say("33 s, 36 out")
    assert after.verdict is not None
    assert step_of(after) == ("adjust", "grind_coarser")


def test_dialling_in_by_the_dials_numbers(talk: Talk) -> None:
    """Notches 12, 11, 10 with 38, 33, 31 s, lower is coarser, target 24: two notches to 8; then on target."""
    chat = talk()
    chat.say("recipe 18 in 36 out 24 s, lower is coarser")
    chat.say("notch 12, 18 in 36 out, 38 s")
    chat.say("notch 11, 36 out, 33 s")
    reply = chat.say("notch 10, 36 out, 31 s")
    assert reply.step is not None
    assert (reply.step.id, reply.step.direction) == ("grind_coarser", "coarser")
    assert reply.step.amount is not None
    assert reply.step.amount.low == pytest.approx(1.7, abs=0.1)
    assert "to 8 on the dial" in reply.step.text
    assert reply.step.expect
    after = chat.say("notch 8, 36 out, 25 s, tastes good")
    assert after.verdict is not None
    assert after.verdict.helped > 0.9
    assert step_of(after)[0] == "accept"


def test_recipe_and_kit_alone_are_noted_and_nothing_is_asked(talk: Talk) -> None:
    """Before anything is wrong there is nothing to diagnose."""
    reply = talk().say("my recipe is 18 in 36 out 27 s")
    assert reply.step is None
    assert "Noted" in reply.text


def test_undo_takes_back_exactly_one_turn(talk: Talk) -> None:
    """After undo the talk stands where it stood, and the next line goes on from there."""
    chat = talk()
    first = chat.say(GUSHER)
    chat.say("24 s, 36 out, much better")
    back = chat.say("undo")
    assert back.step == first.step
    assert back.causes == first.causes
    chat.say("undo")
    assert "nothing to take back" in chat.say("undo").text


def test_a_correction_replaces_what_was_said(talk: Talk) -> None:
    """Saying no, 27 not 17 changes the number, not the number of shots."""
    chat = talk()
    chat.say("18 g in, 36 g out in 17 s, recipe 18 in 36 out 27 s")
    reply = chat.say("no, 27 not 17")
    flow = next(finding for finding in reply.findings if finding.id == "flow")
    assert flow.levels == ("on_target",)
    assert chat.shots_told == 1


def test_start_over_forgets_the_talk(talk: Talk) -> None:
    """A new talk begins with nothing known."""
    chat = talk()
    chat.say(GUSHER)
    reply = chat.say("start over")
    assert reply.step is None
    assert reply.findings == ()
    assert chat.shots_told == 0


def test_quit_ends_and_help_helps(talk: Talk) -> None:
    """Quit says so; help names how to begin and keeps the open question."""
    chat = talk()
    assert chat.say("quit").ended
    first = chat.say("my coffee is bitter")
    helped = chat.say("help")
    assert "18 g in" in helped.text
    assert helped.step == first.step


def test_why_shows_the_chain_and_its_sum(talk: Talk) -> None:
    """Each line has a weight, its source and the rule's file; the sum is that of the JSON."""
    chat = talk()
    reply = chat.say(GUSHER)
    text = chat.say("why").text
    assert "flow" in text or "gushing" in text
    assert ".yaml:" in text
    explained = next(e for e in reply.explanations if e.cause == "grind_too_coarse")
    total = explained.prior_db + sum(entry.decibans for entry in explained.evidence) + explained.tried_db
    assert total == pytest.approx(explained.posterior_db, abs=1e-9)
    assert f"{round(explained.posterior_db):+d} dB against nothing wrong" in text


def test_why_not_names_what_speaks_against_and_what_would_change_it(talk: Talk, rules: RuleBase) -> None:
    """A measured dose on recipe speaks against a low dose; a low one would change it."""
    chat = talk()
    reply = chat.say(GUSHER)
    text = chat.say("why not dose low").text
    assert rules.cause_name("dose_low").lower() in text
    assert "What would change it" in text
    before = {cause.id: cause.probability for cause in reply.causes}["dose_low"]
    weigher = chat._assessor.weigher(chat._turns[-1].assessment)
    assessment = chat._turns[-1].assessment
    found = why_not(weigher, assessment.beliefs, "dose_low", partial(chat._assessor.supposing, assessment))
    assert found.changes
    assert all(change.probability > before for change in found.changes)
    assert all(entry.decibans < 0 for entry in found.against)


def test_every_stated_change_really_happens(talk: Talk) -> None:
    """Saying what "why not" names raises the cause as much as it says."""
    chat = talk()
    chat.say(GUSHER)
    assessment = chat._turns[-1].assessment
    weigher, supposing = chat._assessor.weigher(assessment), partial(chat._assessor.supposing, assessment)
    for cause in ("uneven_distribution", "dose_low", "beans_stale"):
        before = {c.id: c.probability for c in assessment.causes}[cause]
        for change in why_not(weigher, assessment.beliefs, cause, supposing).changes[:2]:
            assert change.probability > before


def test_explanations_exist_for_ruled_out_and_unknown_names(talk: Talk, rules: RuleBase) -> None:
    """What is ruled out says by what; a root says that it stands behind others; nonsense says so."""
    chat = talk()
    chat.say("I buy it ready ground, it gushes, 18 in 40 out 12 s")
    assessment = chat._turns[-1].assessment
    explainer = Explainer(rules, chat._assessor, chat._composer.wording)
    assert "reason behind" in explainer.why_not(assessment, "new_bag")[0].text
    assert "no cause called" in explainer.why_not(assessment, "moon")[0].text
    if best_explanation(chat._assessor.weigher(assessment), assessment.beliefs, "grind_too_coarse") is None:
        assert "ruled out" in explainer.why_not(assessment, "grind_too_coarse")[0].text


def test_what_if_moves_the_ranking_and_changes_nothing(talk: Talk) -> None:
    """Supposing a low dose raises it; the talk itself stays as it was."""
    chat = talk()
    first = chat.say(GUSHER)
    supposed = chat.say("what if dose is 15 g")
    assert "Supposing" in supposed.text
    assert supposed.causes == first.causes
    assert chat.shots_told == 1


def test_commands_before_anything_was_said(talk: Talk) -> None:
    """Why, why not and what if ask for a beginning."""
    for command in ("why", "why not dose low", "what if dose is 15 g"):
        assert talk().say(command).text.strip()


def test_shots_are_logged_corrected_and_taken_back(talk: Talk, clock: Clock, tmp_path: Path) -> None:
    """Each shot is one row; a correction replaces it; undo withdraws it; nothing is deleted."""
    path = tmp_path / "log.sqlite3"
    chat = talk(log=path)
    chat.say(GUSHER)
    chat.say("24 s, 36 out")
    chat.say("no, 25 not 24")
    with Logbook.open(path, clock) as book:
        times = [entry.what.measures["time"].value for entry in book.shots()]
        assert times == [16, 25]
        assert book.adjustments()[0].what.step == "grind_finer"
        assert book.verdicts()
        assert book.recall("recipe") is not None
    chat.say("undo")
    chat.close()
    with Logbook.open(path, clock) as book:
        assert len(book.shots()) in {1, 2}
        assert sum("retraction" in line for line in book.export_lines()) >= 1


def test_recipe_and_kit_are_remembered_by_the_next_talk(talk: Talk, tmp_path: Path) -> None:
    """The second talk judges against the recipe of the first."""
    path = tmp_path / "log.sqlite3"
    chat = talk(log=path)
    chat.say("recipe 18 in 36 out 31 s, lower is coarser")
    chat.close()
    again = talk(log=path)
    reply = again.say("18 in 36 out 30 s")
    assert "You gave no recipe" not in reply.text
    assert any(finding.id == "dial_direction" for finding in reply.findings)
    again.close()


def test_a_log_that_cannot_be_used_never_stops_the_talk(talk: Talk, tmp_path: Path) -> None:
    """A corrupt file: the answer is the same, and the fault is kept for the caller."""
    path = tmp_path / "log.sqlite3"
    path.write_bytes(b"this is no database, whatever its name says" * 50)
    chat = talk(log=path)
    reply = chat.say(GUSHER)
    assert step_of(reply) == ("adjust", "grind_finer")
    assert chat.log_fault is not None
    assert str(path) in chat.log_fault
    assert path.read_bytes().startswith(b"this is no database")
    chat.close()


def test_a_measurement_beats_what_was_said_and_says_so(talk: Talk) -> None:
    """Slow with 16 s at 36 g: the number wins, and the reply names the disagreement."""
    reply = talk().say("it runs slow, 18 g in 36 g out in 16 s, recipe 18 in 36 out 27 s")
    flow = next(finding for finding in reply.findings if finding.id == "flow")
    assert flow.levels in {("fast",), ("gushing",)}
    assert "go by the number" in reply.text


def test_overdue_care_in_the_log_speaks_for_its_cause(talk: Talk, clock: Clock, tmp_path: Path) -> None:
    """A group last cleaned two months ago raises the dirty group for a bitter cup; a fresh clean lowers it."""
    chances = {}
    for days in (1, 60):
        path = tmp_path / f"{days}.sqlite3"
        with Logbook.open(path, clock) as book:
            book.add_care("basket_soak", clock() - timedelta(days=days))
        chat = talk("home", path)
        causes = {cause.id: cause.probability for cause in chat.say("all coffees taste bitter and rancid").causes}
        chances[days] = causes["group_dirty"]
        chat.close()
    assert chances[60] > chances[1]


def test_a_second_complaint_waits_its_turn_and_is_taken_up(talk: Talk) -> None:
    """Sour coffee and big bubbles: the shot first, the milk kept, and then the milk."""
    chat = talk("home")
    first = chat.say("my coffee is sour and the milk has big bubbles")
    assert (first.complaint, first.other_complaints) == ("shot", ("milk",))
    second = chat.say("it runs fast")
    assert (second.complaint, second.other_complaints) == ("shot", ("milk",))
    complaints = {chat.say(line).complaint for line in ("better", "good", "good")}
    assert "milk" in complaints


@pytest.mark.parametrize("setting", ["home", "service", "training"])
def test_who_knows_nothing_is_handed_over_after_a_few_turns(talk: Talk, setting: Setting) -> None:
    """Only "don't know", also to every step: the talk ends, and soon."""
    chat = talk(setting)
    reply = chat.say("my espresso tastes bad and bitter")
    turns = 0
    while reply.step is not None and reply.step.kind not in {"accept", "hand_over"}:
        reply = chat.say("dont know")
        turns += 1
        assert turns <= 14
    assert reply.step is not None
    assert reply.step.kind == "hand_over"
