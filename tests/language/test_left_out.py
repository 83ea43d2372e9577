"""Units and words left out: read where the rest of the text, or of the talk, leaves one meaning; else asked for."""

import pytest

from diagnose.language import understand
from diagnose.model import Statement
from diagnose.rulebase.vocabulary import BREW_TIME
from tests.language.helpers import own_lexicon, table, written


@pytest.mark.parametrize(("say", "heard"), table("left_out").items())
def test_a_text_is_heard_as_the_table_says(say: str, heard: str) -> None:
    """Each text gives the statements and refusals of its row, the near misses none they should not."""
    assert written(understand(say, own_lexicon())) == heard


@pytest.mark.parametrize(
    ("before", "say", "heard"),
    [
        ("gushing, 27 s", "17 now 27 before", "time 17 s #2; time 27 s #1"),
        ("milk has big bubbles", "from 5 to 65", "milk_start 5 degC; milk_temperature 65 degC"),
        ("my boiler is 0.8 bar gauge", "from 5 to 65", "milk_start 5 degC; milk_temperature 65 degC"),
        ("french press, bitter", "4 min", "time 240 s #1"),
        ("I have a hand pour", "4:30", "time 270 s #1"),
        # What was said before says nothing of these.
        ("milk has big bubbles", "17 now 27 before", "refused '17'; refused '27'"),
        ("gushing, 27 s", "from 5 to 65", "refused '5'; refused '65'"),
        ("sour, espresso machine", "4 min", "refused '4 min'"),
    ],
)
def test_the_talk_so_far_may_say_what_is_meant(before: str, say: str, heard: str) -> None:
    """Earlier statements make a number plain that would be asked for in a text of its own."""
    earlier = understand(before, own_lexicon()).statements
    assert written(understand(say, own_lexicon(), earlier=earlier)) == heard


def test_the_latest_topic_and_brewer_count() -> None:
    """A talk that went on from milk to shots takes bare numbers for those of shots."""
    milk, shot = (understand(say, own_lexicon()).statements for say in ("big bubbles in the milk", "27 s"))
    later: tuple[Statement, ...] = (*milk, *shot)
    assert written(understand("17 now 27 before", own_lexicon(), earlier=later)) == "time 17 s #2; time 27 s #1"
    assert "refused" in written(understand("from 5 to 65", own_lexicon(), earlier=later))


@pytest.mark.parametrize(
    ("say", "shown"),
    [
        ("steam milk to 65", ["65 °C"]),
        ("steam milk up to 60", ["60 °C"]),
        ("milk from 5 to 65", ["5 °C", "65 °C"]),
        ("milk from 40 to 150", ["40 °F", "150 °F"]),
        ("milk from 38 to 62 C", ["38 °C", "62 C"]),
        ("last three 22 23 21", ["22 s", "23 s", "21 s"]),
        ("runs 17 now, 27 before", ["17 s", "27 s"]),
    ],
)
def test_a_unit_taken_for_granted_is_said_back(say: str, shown: list[str]) -> None:
    """Where a temperature or a list had no unit, the number comes back with the one it was read in."""
    quantities = [said.quantity for said in understand(say, own_lexicon()).statements]
    assert [one.shown for one in quantities if one is not None] == shown


@pytest.mark.parametrize(
    ("say", "reason"),
    [
        ("hand pour, 20 minutes", "time of the hand pour, drawdown included: believable from 0.333 to 15 min"),
        ("french press, 10 s", "time of the water on the coffee in the press: believable from 20 to 1800 s"),
        ("EY 35 %", "extraction yield, the share of the coffee that dissolved: believable from 10 to 28 %"),
        ("4 min", "length of the shot: believable from 0.0167 to 3 min"),
    ],
)
def test_a_number_out_of_range_names_the_range_of_its_brewer(say: str, reason: str) -> None:
    """What cannot be believed is refused with the range that holds for this brewer and measure."""
    assert understand(say, own_lexicon()).refused[0].reason == reason


@pytest.mark.parametrize(
    ("brewer", "usual_s"),
    # Contact times of common practice, no source: they stand with the question for brew_time too.
    [("press", (240, 240)), ("pour", (150, 240)), ("drip", (240, 480)), ("moka", (180, 480))],
)
def test_the_usual_times_of_a_brewer_are_well_inside_its_range(brewer: str, usual_s: tuple[float, float]) -> None:
    """A range refuses slips of the pen, not brews: half and double the usual time pass."""
    allowed = BREW_TIME[brewer]
    assert allowed.low <= usual_s[0] / 2
    assert usual_s[1] * 2 <= allowed.high
