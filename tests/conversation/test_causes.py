"""Which cause a word means: the best of the names, several where they fit alike, none where none comes near."""

import pytest

from diagnose import Conversation
from diagnose.conversation.causes import causes_called
from diagnose.rulebase.base import RuleBase


@pytest.mark.parametrize(
    ("words", "cause"),
    [
        ("water_too_hard", "water_too_hard"),
        ("Water too hard or alkaline", "water_too_hard"),
        ("stale water", "water_stale"),
        ("weather", "weather"),
        ("gasket", "gasket_worn"),
        ("the gasket", "gasket_worn"),
        ("gaskte", "gasket_worn"),
        ("grind too fin", "grind_too_fine"),
        ("wheather", "weather"),
    ],
)
def test_words_that_fit_one_cause_name_it(rules: RuleBase, words: str, cause: str) -> None:
    """An id, a name in full, whole words of one name only, or one mistyped."""
    assert causes_called(rules, words) == (cause,)


@pytest.mark.parametrize("word", ["water", "pump", "grind", "filter", "the pump", "watr"])
def test_a_word_of_several_names_picks_none(rules: RuleBase, word: str) -> None:
    """Water is in many names, and is no weather: all of them hold the word, and the one asked for stays open."""
    found = causes_called(rules, word)
    bare = {"watr": "water"}.get(word, word.removeprefix("the "))
    assert len(found) > 1
    assert all(bare in f"{cause.replace('_', ' ')} {rules.cause_name(cause).lower()}".split() for cause in found)


def test_several_stand_likeliest_first(rules: RuleBase) -> None:
    """What leads the talk is offered before what does not; without a talk, names that begin with the word."""
    assert causes_called(rules, "water", ("brew_too_hot", "water_salty"))[:2] == ("brew_too_hot", "water_salty")
    assert rules.cause_name(causes_called(rules, "pump")[0]).lower().startswith("pump")


@pytest.mark.parametrize("word", ["xyz", "temperature of the moon", "", "the"])
def test_what_comes_near_nothing_is_no_cause(rules: RuleBase, word: str) -> None:
    """The reply then says that no cause is called so."""
    assert causes_called(rules, word) == ()


def test_the_reply_asks_which_cause_is_meant(rules: RuleBase) -> None:
    """Three at the most are offered, the likeliest of the talk first."""
    chat = Conversation(rules=rules)
    chat.say("flat, chalky, my water is 14 dH")
    text = chat.say("why not water").text
    assert text.startswith("Which do you mean: water too hard")
    assert text.splitlines()[0].count(";") == 2
