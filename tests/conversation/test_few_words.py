"""Few words, hurried or helpless: what is meant is taken up, and nothing is turned down that was not."""

import pytest

from diagnose import Conversation
from diagnose.rulebase.base import RuleBase

GUSHER = "recipe is 18 in 36 out 27 s, 18 g in 36 out in 14 s, sour"


@pytest.fixture
def chat(rules: RuleBase) -> Conversation:
    """Return a talk in a service that has been told of a gusher."""
    talk = Conversation(rules=rules, setting="service")
    talk.say(GUSHER)
    return talk


@pytest.mark.parametrize("text", ["finer 2", "turned 2", "ok boss", "hang on", "doing that"])
def test_few_words_beside_a_step_do_not_turn_it_down(chat: Conversation, text: str) -> None:
    """The step stays open, and what comes next is said once."""
    before = chat.pending
    reply = chat.say(text)
    assert chat.pending == before
    assert "All right, not that" not in reply.text


@pytest.mark.parametrize("text", ["no", "rather not", "not that", "I wont", "something else please", "skip"])
def test_a_refusal_turns_the_step_down(chat: Conversation, text: str) -> None:
    """The next best thing is offered."""
    before = chat.pending
    reply = chat.say(text)
    assert reply.text.startswith("All right, not that")
    assert chat.pending != before


def test_a_bare_number_goes_on_with_the_times_and_is_said_back_in_seconds(chat: Conversation) -> None:
    """25 s, then 26: the second of two good shots."""
    chat.say("25 s now")
    reply = chat.say("26")
    assert "Heard: 26 s." in reply.text
    assert reply.step is not None
    assert reply.step.text.startswith("It holds")


@pytest.mark.parametrize("number", ["3", "90", "-5", "1000"])
def test_a_bare_number_far_from_the_times_is_asked_about(chat: Conversation, number: str) -> None:
    """It may be anything: an answer, a weight, a notch."""
    chat.say("25 s now")
    assert not any(said.name == "time" for said in chat.say(number).heard)


@pytest.mark.parametrize("text", ["my coffee is bad", "awful", "not good", "my coffee is off", "something is wrong"])
def test_a_bare_complaint_begins_the_questions(rules: RuleBase, text: str) -> None:
    """Who only knows that it is bad is asked."""
    reply = Conversation(rules=rules).say(text)
    assert reply.step is not None
    assert reply.step.kind in {"question", "check"}


def test_who_finds_no_words_is_asked_all_the_same(rules: RuleBase) -> None:
    """The second line in vain puts the first question; "don't know" to all of them comes to an end."""
    chat = Conversation(rules=rules)
    assert chat.say("hmm dunno").step is None
    reply = chat.say("dont know")
    assert reply.step is not None
    for _ in range(12):
        assert reply.step is not None
        if reply.step.kind not in {"question", "check"}:
            break
        reply = chat.say("dont know")
    assert reply.step is not None
    assert reply.step.kind not in {"question", "check"}


@pytest.mark.parametrize("text", ["perfect ty", "great thanks mate", "all good now"])
def test_a_happy_word_ends_the_talk(chat: Conversation, text: str) -> None:
    """Nothing more is asked."""
    chat.say("27 s")
    reply = chat.say(text)
    assert reply.step is None or reply.step.kind == "accept"


def test_a_cry_for_help_is_no_praise_of_the_last_step(chat: Conversation) -> None:
    """A call for help says nothing of the step."""
    reply = chat.say("13 s still sour help")
    assert all(said.name != "step_result" or "better" not in said.levels for said in reply.heard)


@pytest.mark.parametrize("text", ["36 out 27 s, good", "27 s great", "36 g in 28 s nice thanks"])
def test_a_judgement_after_the_numbers_is_heard(chat: Conversation, text: str) -> None:
    """Nobody is asked how the cup is who just said so."""
    assert any(said.name == "verdict" and said.levels == ("fine",) for said in chat.say(text).heard)


@pytest.mark.parametrize("text", ["36 out 27 s, good flow", "27 s great crema", "is 27 s good?"])
def test_praise_of_something_else_is_no_judgement_of_the_cup(chat: Conversation, text: str) -> None:
    """Only what stands at the end, by itself, is."""
    assert not any(said.name == "verdict" for said in chat.say(text).heard)


@pytest.mark.parametrize(("text", "dial"), [("ground finer to 9, 22 s", 9), ("finer to 10, 24 s", 10)])
def test_a_number_after_finer_to_is_the_dials(rules: RuleBase, text: str, dial: float) -> None:
    """Never grams in the basket."""
    heard = {said.name: said.quantity for said in Conversation(rules=rules).say(text).heard}
    assert heard["dial"] is not None
    assert heard["dial"].value == dial
    assert "dose" not in heard
