"""What a line can go on to, and what the terminal says by itself."""

from collections.abc import Callable
from dataclasses import dataclass, replace
from pathlib import Path

import pytest

from diagnose.conversation.reply import Reply
from diagnose.model import Answer, NextStep, Setting, StepKind
from diagnose.rulebase.base import RuleBase
from diagnose.terminal import texts
from diagnose.terminal.words import Words, in_common, spelled_out

QUESTION = NextStep(
    "question",
    "taste_lean",
    "Which?",
    answers=(Answer(1, "tonic water", ("bitter",)), Answer(2, "lemon: quick and sharp", ("sour",))),
)


@pytest.fixture
def words(rules: RuleBase) -> Words:
    """Return the words of the small rule base."""
    return Words(rules)


def phrases(words: Words, before: str, pending: NextStep | None = None) -> list[str]:
    """Return the whole phrases a line can go on to."""
    return [phrase for _, phrase in words.going_on(before, pending)]


@pytest.mark.parametrize(
    ("before", "phrase"),
    [
        ("so", "sour"),
        ("tastes lemo", "lemony"),
        ("18 g in, 16 s, gus", "gushes"),
        ("I have ground fi", "ground finer"),
        ("On ti", "on time"),
        ("und", "undo"),
        ("tastes like lem", "lemon"),
    ],
)
def test_words_of_the_trade(words: Words, before: str, phrase: str) -> None:
    """Phrases of findings, names of levels, steps that were tried and commands are gone on with."""
    assert phrase in phrases(words, before)


def test_what_is_typed_is_told(words: Words) -> None:
    """Each phrase comes with what of it is already there, as it was typed."""
    assert ("Bit", "bitter") in words.going_on("fast and Bit")


def test_commands_only_begin_a_line(words: Words) -> None:
    """Within a sentence a command is no command."""
    assert "undo" not in phrases(words, "it was und")


def test_an_empty_line_offers_commands(words: Words) -> None:
    """With nothing open, an empty line offers one phrase of each command, and never the whole vocabulary."""
    offered = phrases(words, "  ")
    assert {"why", "undo", "start over", "help", "quit"} <= set(offered)
    assert "sour" not in offered


def test_an_open_question_offers_its_answers(words: Words) -> None:
    """With a question open, an empty line offers its answers; they can also be typed on, past their commas."""
    assert phrases(words, "", QUESTION) == ["tonic water", "lemon: quick and sharp"]
    assert "tonic water" in phrases(words, "ton", QUESTION)
    assert phrases(words, "lemon: qu", QUESTION) == ["lemon: quick and sharp"]


def test_why_not_offers_causes_alone(words: Words) -> None:
    """After "why not" come names of causes and nothing else."""
    assert phrases(words, "Why not do") == ["dose too low"]
    assert phrases(words, "why not ") == ["a new bag", "beans too old", "dose too low", "grind too coarse"]
    assert phrases(words, "why not sou") == []


def test_a_whole_phrase_goes_on_to_longer_ones_only(words: Words) -> None:
    """What is typed in full is not offered again."""
    assert phrases(words, "lemon") == ["lemony"]


def test_words_without_a_words_file(rules: RuleBase) -> None:
    """A rule base without general words still has those of its findings."""
    assert phrases(Words(replace(rules, words={})), "so") == ["sour"]
    assert phrases(Words(replace(rules, words={"en": {"marks": {}}})), "") == []


def test_phrases_are_spelled_out() -> None:
    """Alternatives make phrases of their own, within reason; what must not stand close by is no word to type."""
    assert spelled_out("smell|smells + burnt - coffee") == ["smell burnt", "smells burnt"]
    assert len(spelled_out(" ".join(["a|b|c"] * 5))) == 12


def test_in_common() -> None:
    """The common beginning of nothing is nothing."""
    assert [in_common(words) for words in (["sour", "soupy"], ["a"], [])] == ["sou", "a", ""]


@dataclass
class Standing:
    """A talk that stands somewhere."""

    rules: RuleBase
    make_reply: Callable[..., Reply]
    setting: Setting = "home"
    shots_told: int = 0
    pending: NextStep | None = None

    def say(self, text: str) -> Reply:
        """Echo the text."""
        return self.make_reply(("note", text))


@pytest.fixture
def standing(rules: RuleBase, make_reply: Callable[..., Reply]) -> Standing:
    """Return a talk in which nothing was said yet."""
    return Standing(rules, make_reply)


@pytest.mark.parametrize(
    ("setting", "shots", "kind", "line"),
    [
        ("home", 0, None, "home | no shot yet | what is wrong?"),
        ("training", 1, "question", "training | 1 shot | question: answer 1-2"),
        ("home", 2, "check", "home | 2 shots | check: answer 1-2"),
        ("service", 12, "adjust", "service | 12 shots | to do: grind finer"),
    ],
)
def test_toolbar(standing: Standing, setting: Setting, shots: int, kind: StepKind | None, line: str) -> None:
    """The toolbar says the setting, how many shots were told and what is open, within 40 columns."""
    pending = None if kind is None else replace(QUESTION, kind=kind, id="grind_finer")
    assert texts.toolbar(replace(standing, setting=setting, shots_told=shots, pending=pending)) == line
    assert len(line) <= 40


def test_first_start(rules: RuleBase) -> None:
    """Three lines: what it is, where the log lies or that there is none, how to begin."""
    what, kept, begin = texts.first_start(rules.wording, Path("/data/log.sqlite3"))
    assert "coffee" in what
    assert "/data/log.sqlite3" in kept
    assert "--no-log" in kept
    assert "help" in begin
    assert texts.first_start(rules.wording, None)[1] == "It remembers nothing after you leave."


def test_long_lists_are_cut(rules: RuleBase) -> None:
    """A list names so many words and counts the others."""
    assert texts.listed(rules.wording, ["a", "b"], 2) == "a, b"
    assert texts.listed(rules.wording, ["a", "b", "c", "d"], 2) == "a, b, and 2 more"
