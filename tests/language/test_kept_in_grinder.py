"""What a grinder keeps: grams said plainly, vague words only beside a grinder, and units that are never guessed."""

from datetime import date

import pytest

from diagnose.language import understand
from tests.language.helpers import lexicon, written

TODAY = date(2024, 12, 1)


@pytest.mark.parametrize(
    ("say", "heard"),
    [
        ("my grinder keeps 3 g", "retained 3 g"),
        ("grinder retains 0.5 g", "retained 0.5 g"),
        ("retention of 2 g", "retained 2 g"),
        ("3 g stays in the grinder", "retained 3 g"),
        ("18 g in, 36 g out, grinder retains 2 to 3 g", "dose 18 g #1; yield 36 g #1; retained 2.5 (2 to 3) g"),
        ("my grinder keeps 3", "refused '3'"),
        ("retention is 3", "refused '3'"),
        ("retention of 40 g", "refused '40 g'"),
        ("I keep 18 in 36 out", "dose 18 g #1; yield 36 g #1"),
        ("I keep 18 g in the basket", "dose 18 g #1"),
        ("my grinder keeps giving me 40 g out in 20 s", "yield 40 g #1; time 20 s #1"),
        ("I keep the grinder at 12, 18 g in", "dial 12 notch #1; dose 18 g #1"),
    ],
)
def test_grams_kept_in_the_grinder_are_heard(say: str, heard: str) -> None:
    """Each text gives the statements and refusals beside it."""
    assert written(understand(say, lexicon(), today=TODAY)) == heard
