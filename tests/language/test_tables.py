"""What is heard of each text in the tables beside this file, as one line a person can read."""

from datetime import date

import pytest

from diagnose.language import understand
from diagnose.model import Answer, NextStep
from tests.language.helpers import lexicon, own_lexicon, own_rules, table, written

TODAY = date(2024, 12, 1)
ROWS = [
    pytest.param(say, heard, id=f"{name}: {say}")
    for name in ("numbers", "shots", "words", "talk", "hurried")
    for say, heard in table(name).items()
]


@pytest.mark.parametrize(("say", "heard"), ROWS)
def test_a_text_is_heard_as_the_table_says(say: str, heard: str) -> None:
    """Each text gives the statements and refusals of its row, in the order they stand in the text."""
    assert written(understand(say, lexicon(), today=TODAY)) == heard


OWN_ROWS = [
    pytest.param(pending, say, heard, id=f"{pending}: {say}")
    for pending, rows in table("own_rules").items()
    for say, heard in rows.items()
]


def _pending(name: str) -> NextStep | None:
    """Return what is open: nothing, a step, or the question for a finding as its rule asks it."""
    if name == "plain":
        return None
    if name == "after_a_step":
        return NextStep("adjust", "grind_finer", "Grind finer.")
    ask = own_rules().findings[name].ask
    assert ask is not None
    answers = tuple(Answer(number, one.text["en"], one.levels) for number, one in enumerate(ask.answers, 1))
    return NextStep(ask.kind, name, "?", finding=name, answers=answers)


@pytest.mark.parametrize(("pending", "say", "heard"), OWN_ROWS)
def test_a_text_is_heard_with_the_programs_own_rules_as_the_table_says(pending: str, say: str, heard: str) -> None:
    """The phrases of the rule files are told apart where they look alike."""
    today = date(2026, 5, 4)
    assert written(understand(say, own_lexicon(), pending=_pending(pending), today=today)) == heard


def test_a_written_date_is_said_back_as_a_number_of_days() -> None:
    """The reply says "roasted ... ago", so an age told by a date is shown in days."""
    days = {"roasted 1 Nov": "30 days", "roasted 30 Nov": "1 day", "roasted 1 Dec": "0 days"}
    heard = {say: understand(say, lexicon(), today=TODAY).statements[0].quantity for say in days}
    assert {say: one.shown for say, one in heard.items() if one is not None} == days


def test_texts_without_a_shot_count_none() -> None:
    """The number of shots told is 0 for water, 1 for a taste, and one more where only a past is told."""
    counts = [understand(say, lexicon()).shots for say in ("hardness 8 dH", "sour", "27 s, 29 s", "used to be sweet")]
    assert counts == [0, 1, 2, 2]


def test_a_statement_quotes_what_was_typed() -> None:
    """The text of a statement is the person's own, with the words that name or deny it."""
    said = understand("Tastes NOT sour, 18,5 g in", lexicon()).statements
    assert [one.text for one in said] == ["NOT sour", "18,5 g in"]


def test_a_quantity_keeps_the_number_as_written() -> None:
    """A quantity in the canonical unit remembers how the person wrote it."""
    (said,) = understand("about 2 oz out", lexicon()).statements
    assert said.quantity is not None
    assert (said.quantity.shown, said.quantity.unit) == ("about 2 oz", "mL")


@pytest.mark.parametrize(
    ("say", "reason"),
    [
        ("0 g in", "ground coffee in the basket: believable from 5 to 30 g"),
        ("18 kg in", "ground coffee in the basket: believable from 0.005 to 0.03 kg"),
        ("brew temp 300 F", "brew water temperature: believable from 140 to 221 °F"),
        ("-5 s", "length of the shot: believable from 1 to 180 s"),
        ("400 ml out", "espresso in the cup by volume, crema included: believable from 5 to 300 mL"),
        ("1:20 ratio", "grams out for one gram in: believable from 0.5 to 8"),
        ("42", "of what? Please give the unit: g, s, bar, °C, or “dial” before it"),
        ("18 in 27", "grams out or seconds? Please give the unit"),
        ("25 g", "the coffee in the basket or the drink in the cup? Say “in” or “out”"),
        ("1:30", "a ratio, or minutes and seconds?"),
        ("65C", "the milk or the brewing water?"),
        ("120 ppm", "hardness, alkalinity or dissolved solids (TDS)?"),
        ("9 %", "per cent of what?"),
        ("2 shots", "read as a count, not as a measurement"),
        ("15 bar machine", "the rating of the pump, not the pressure while brewing"),
        ("80 g of water in 12 s", "water is compared over ten seconds: please weigh what runs in 10 s"),
        ("roasted 11/12", "day first or month first? Please write the month as a word"),
        ("12 Nov", "a date, but of what? Say “roasted” or “opened”"),
        ("roasted 31 Feb", "there is no such date"),
        ("roasted 12 Jan 2030", "that day is still to come"),
        ("roasted 12 Jan 2015", "days since roast: believable up to 1500 days"),
        ("best before 12 Jan 2025", "a best-before date does not tell the roast date"),
        ("not 18 g", "said not to be so"),
    ],
)
def test_a_number_that_cannot_be_used_says_why(say: str, reason: str) -> None:
    """The reason asks for what is missing, or gives the believable range in the person's own unit."""
    assert understand(say, lexicon(), today=TODAY).refused[0].reason == reason


def test_a_date_needs_the_day_it_is_read_on() -> None:
    """Without today's date a written date cannot become an age."""
    assert "today" in understand("roasted 12 Nov", lexicon()).refused[0].reason


def test_what_is_not_read_of_a_long_text_is_said() -> None:
    """Beyond ten thousand characters the text is cut between words, and the reply can say how much was left out."""
    heard = understand("sour and bitter " * 1000, lexicon())
    assert heard.refused[-1].reason == "only the first 10000 characters are read; 6001 were left out"
    assert [said.name for said in heard.statements] == ["taste_lean"]


@pytest.mark.parametrize("text", ["", "   ", "\n\t", "\x00\x01", "🙂🙂"])
def test_nothing_is_heard_of_nothing(text: str) -> None:
    """An empty text gives no statement and one refusal without a reason: it was not understood."""
    heard = understand(text, lexicon())
    assert heard.statements == ()
    assert [refused.reason for refused in heard.refused] == [""]
