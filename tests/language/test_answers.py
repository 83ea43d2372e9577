"""Replies to an open question or to an advice, as the table `answers.yaml` says."""

import pytest

from diagnose.language import understand
from diagnose.model import Answer, NextStep
from tests.language.helpers import lexicon, table, written


def question(finding: str, *answers: tuple[str, tuple[str, ...]], check: bool = False) -> NextStep:
    """Return an open question with numbered answers."""
    numbered = tuple(Answer(number, text, levels) for number, (text, levels) in enumerate(answers, 1))
    return NextStep("check" if check else "question", finding, "?", finding=finding, answers=numbered)


PENDING = {
    "taste_lean": question(
        "taste_lean",
        ("lemon or unripe apple: quick and sharp (sour)", ("sour", "slightly_sour")),
        ("tonic water or grapefruit peel: comes late, stays (bitter)", ("bitter", "slightly_bitter")),
        ("both at once", ("both",)),
        ("neither", ("balanced",)),
    ),
    "verdict": question(
        "verdict", ("good", ("fine",)), ("as it was before", ("as_before",)), ("not good", ("complaint",))
    ),
    "exhaust_valve": question("exhaust_valve", ("yes, it hisses at the end", ("yes",)), ("no hiss", ("no",))),
    "dose": question(
        "dose",
        ("a gram or more too little", ("low",)),
        ("within a gram", ("on_recipe",)),
        ("a gram or more too much", ("high",)),
        check=True,
    ),
    "flow": question(
        "flow",
        ("gushed or ran fast", ("gushing", "fast")),
        ("about right", ("on_target",)),
        ("slow or only dripped", ("slow", "choked")),
    ),
    "onset": question(
        "onset", ("suddenly", ("sudden",)), ("with a new bag", ("new_bag",)), ("it has always been so", ("always",))
    ),
    "advice": NextStep("adjust", "grind_finer", "Grind finer."),
}
ROWS = [
    pytest.param(PENDING[name], say, heard, id=f"{name}: {say}")
    for name, rows in table("answers").items()
    for say, heard in rows.items()
]


@pytest.mark.parametrize(("pending", "say", "heard"), ROWS)
def test_a_reply_is_heard_as_the_table_says(pending: NextStep, say: str, heard: str) -> None:
    """Numbers, yes and no, "don't know", own words and measured numbers answer; new facts are kept beside them."""
    assert written(understand(say, lexicon(), pending=pending)) == heard


def test_an_answer_belongs_to_no_shot_of_its_text() -> None:
    """An answer speaks of the shot under discussion, so it tells of no new one."""
    heard = understand("sour", lexicon(), pending=PENDING["taste_lean"])
    assert (heard.shots, heard.statements[0].shot, heard.statements[0].source) == (0, None, "answered")


def test_yes_to_a_question_without_yes_is_asked_back() -> None:
    """A yes that fits no answer is refused with a pointer to the numbers."""
    heard = understand("yes", lexicon(), pending=PENDING["taste_lean"])
    assert heard.refused[0].reason == "the question has no yes or no; which of the numbered answers?"


def test_yes_and_no_are_recognised_by_the_levels_alone() -> None:
    """Answers whose text says neither yes nor no still count as such when their levels are present and absent."""
    pending = question("gas_smell", ("there is a smell", ("present",)), ("no smell at all", ("absent",)))
    assert written(understand("yes", lexicon(), pending=pending)) == "answer gas_smell present"
    assert written(understand("nope", lexicon(), pending=pending)) == "answer gas_smell absent"


def test_a_bare_number_that_is_an_option_is_the_option_unless_it_has_a_unit() -> None:
    """A bare "2" is the second answer, "2 g" is a number that is not believable as a dose."""
    assert written(understand("2", lexicon(), pending=PENDING["dose"])) == "answer dose on_recipe"
    assert written(understand("2 g", lexicon(), pending=PENDING["dose"])) == "refused '2 g'"
