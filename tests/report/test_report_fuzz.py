"""Whatever is typed: an answer or a deliberate error, and every number of the text in one of them."""

import re
from collections.abc import Callable

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from diagnose.errors import DiagnoseError
from diagnose.report.answer import Answer
from diagnose.report.milk_answer import answer as milk_answer
from diagnose.report.milk_reading import read_jug
from diagnose.report.water_answer import answer as water_answer
from diagnose.report.water_reading import read_request

WORDS = (
    "Ca", "Mg", "HCO3", "SO4 2-", "Cl", "GH", "KH", "hardness", "alkalinity", "TDS", "pH", "NO3", "mg/L", "dH", "ppm",
    "meq/L", "mmol/L", "uS/cm", "as CaCO3", "blend with", "to", "dose", "L", "distilled", "from", "g", "ml", "C", "F",
    "bar", "gauge", "absolute", "s", "espresso", "dryness", "%", "m", "at", "after", "-", "<", ",", ";", "(", ")", "°",
    "between", "and", "about", "C/s", "milk", "in", "brew", "boiler", "442", "NaCl",
)  # fmt: skip
PIECES = st.one_of(
    st.sampled_from(WORDS),
    st.integers(0, 400).map(str),
    st.decimals(0, 99, places=1).map(str),
    st.text(max_size=3),
)
TEXTS = st.lists(PIECES, max_size=14).map(" ".join)


def water(text: str) -> Answer:
    """Answer a text about a water."""
    return water_answer(read_request(text))


def milk(text: str) -> Answer:
    """Answer a text about a jug."""
    return milk_answer(read_jug(text))


def outcome(ask: Callable[[str], Answer], text: str) -> str:
    """Return the answer to a text, or the deliberate error."""
    try:
        return ask(text).text
    except DiagnoseError as error:
        return str(error)


@settings(max_examples=400, deadline=None)
@given(TEXTS)
def test_nothing_typed_ends_in_a_crash(text: str) -> None:
    """Only deliberate errors leave the room, and they say something."""
    assert outcome(water, text)
    assert outcome(milk, text)


_IONS = st.sampled_from(("Ca", "Mg", "Na", "K", "HCO3", "SO4", "Cl", "NO3", "silica", "", "strip", "chlorine"))
_UNITS = st.sampled_from(("mg/L", "mmol/L", "ppm", "dH", "L", "", "C", "bar"))


@settings(max_examples=300, deadline=None)
@given(st.lists(st.tuples(_IONS, _UNITS), min_size=1, max_size=6, unique_by=lambda pair: pair[0]))
def test_no_number_is_dropped(parts: list[tuple[str, str]]) -> None:
    """Each number of a label is said back, named as unused, or asked about."""
    numbers = [f"{11 + 2 * place}.5" for place in range(len(parts))]
    text = ", ".join(f"{name} {number} {unit}" for (name, unit), number in zip(parts, numbers, strict=True))
    try:
        fields = water(text).to_dict()
        said = str([fields["heard"], fields["not_used"]])
    except DiagnoseError as error:
        said = str(error)
        if "I found no number" in said or "outside the range" in said:
            return
    found = re.findall(r"\d+\.5", said)
    asked = "unit" in said or "What is" in said or "Which one holds" in said
    assert set(numbers) <= set(found) or asked, (text, said)


@pytest.mark.parametrize("text", ["9" * 400 + " mg/L Ca", "Ca " + "1" * 20_000, "GH 8 " * 3000, "\x00\x1b[31m GH 8"])
def test_long_and_odd_texts(text: str) -> None:
    """Very long numbers and texts, and control characters, end as any other."""
    for ask in (water, milk):
        said = outcome(ask, text)
        assert said
        assert "\x1b" not in said
