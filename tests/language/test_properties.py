"""What holds for any text at all."""

import re
from datetime import date

from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st

from diagnose.language import Understanding, understand
from diagnose.language.tokens import clean, tokenize
from diagnose.model import Answer, NextStep
from tests.language.helpers import lexicon

TODAY = date(2024, 12, 1)
QUESTION = NextStep(
    "question",
    "taste_lean",
    "?",
    finding="taste_lean",
    answers=(
        Answer(1, "sour", ("sour",)),
        Answer(2, "bitter, as tonic water", ("bitter",)),
        Answer(3, "no", ("both",)),
    ),
)
ADVICE = NextStep("adjust", "grind_finer", "Grind finer.")
VOCABULARY = """
    in out g s sec sour bitter not no a bit recipe usual shot first second then yesterday today now grind notch finer
    ground ml oz bar psi ppm dH milk steam roasted opened days weeks because is it too fine ? , . ; : - / ~ < + % ° ->
    descaled change gas smell burnt hand why what if undo I meant yes dunno about twenty half minute water KH temp C F
    between and to ratio basket cup no, shots 12 Nov
"""
WORDS = st.sampled_from([*VOCABULARY.split(), "\n"])
TEXTS = st.lists(st.one_of(WORDS, st.integers(0, 400).map(str), st.text(max_size=6)), max_size=25).map(" ".join)
QUIET = settings(deadline=None, suppress_health_check=[HealthCheck.too_slow], max_examples=150)


def quoted(heard: Understanding) -> list[str]:
    """Return every text a statement or refusal quotes."""
    return [said.text for said in heard.statements] + [refused.text for refused in heard.refused]


@QUIET
@given(text=st.one_of(st.text(max_size=300), TEXTS), pending=st.sampled_from([None, QUESTION, ADVICE]))
def test_no_text_makes_it_raise(text: str, pending: NextStep | None) -> None:
    """Whatever is typed, something comes back: statements, refusals, or a refusal of the whole."""
    heard = understand(text, lexicon(), pending=pending, today=TODAY)
    assert heard.statements or heard.refused


@QUIET
@given(text=TEXTS)
def test_the_same_text_is_heard_the_same_way_twice(text: str) -> None:
    """Nothing is remembered from one text to the next."""
    first = understand(text, lexicon(), today=TODAY)
    understand("18 in 36 out 27 s, sour", lexicon(), pending=QUESTION)
    assert understand(text, lexicon(), today=TODAY) == first


@QUIET
@given(text=TEXTS)
def test_statements_use_known_names_and_levels(text: str) -> None:
    """Findings and their levels are those of the rules; shots are numbered from 1 without gaps above the count."""
    heard = understand(text, lexicon(), pending=QUESTION, today=TODAY)
    for said in heard.statements:
        if said.kind in {"observation", "answer"}:
            assert set(said.levels) <= set(lexicon().findings[said.name].levels)
        if said.quantity is not None:
            assert said.quantity.low <= said.quantity.value <= said.quantity.high
        assert said.shot is None or 1 <= said.shot <= heard.shots
    told = {said.shot for said in heard.statements if said.shot}
    assert told <= set(range(1, heard.shots + 1))


@settings(deadline=None, suppress_health_check=[HealthCheck.too_slow], max_examples=300)
@given(
    numbers=st.lists(st.integers(2, 9999), min_size=1, max_size=8, unique=True),
    # "shot 3" is accounted for by the number of the shot, and "12" in the list of words is a number itself.
    words=st.lists(WORDS.filter(lambda word: word not in {"shot", "12"}), min_size=9, max_size=9),
)
def test_every_number_ends_in_a_statement_or_a_refusal(numbers: list[int], words: list[str]) -> None:
    """No number is dropped in silence: each stands in the text of a statement or of a refusal."""
    pieces = [piece for pair in zip(words, map(str, numbers), strict=False) for piece in pair]
    text = " ".join([*pieces, words[-1]])
    accounted = set(re.findall(r"\d+", " ".join(quoted(understand(text, lexicon(), today=TODAY)))))
    assert {str(number) for number in numbers} <= accounted, text


@given(text=st.text(max_size=200))
def test_tokens_lie_in_order_within_the_cleaned_text(text: str) -> None:
    """Tokens do not overlap, stand where they say, and leave out nothing but white space."""
    cleaned = clean(text)
    end = 0
    for token in tokenize(cleaned):
        assert cleaned[end : token.start].strip() == ""
        assert cleaned[token.start : token.end].lower() == token.text
        end = token.end
    assert cleaned[end:].strip() == ""


@given(text=st.text(max_size=200))
def test_a_cleaned_text_is_clean(text: str) -> None:
    """Cleaning once is enough, and no control character or foreign digit is left."""
    cleaned = clean(text)
    assert all(character == "\n" or character.isprintable() for character in cleaned)
    assert all(character in "0123456789" for character in cleaned if character.isdecimal())
