"""The person's own spread: which setting, what stands out, and the chart in text."""

import re
from collections.abc import Callable
from dataclasses import replace
from datetime import datetime

import pytest

from diagnose.logbook import Logbook
from diagnose.upkeep.chart import label, spread_lines, too_few_lines
from diagnose.upkeep.spread import CHARTED, REPEATABILITY, Spread, TooFew, spread_of, standing_out

Clock = Callable[[], datetime]
Pull = Callable[..., list[int]]

# NIST/SEMATECH e-Handbook of Statistical Methods 6.3.2.2, the flow rates of the worked individuals chart.
HANDBOOK = (49.6, 47.6, 49.9, 51.3, 47.8, 51.2, 52.6, 52.4, 53.6, 52.1)


def charted(book: Logbook) -> Spread:
    """Return the spread, which there must be."""
    found = spread_of(book)
    assert isinstance(found, Spread)
    return found


def test_the_chart_is_that_of_the_handbook(book: Logbook, pull: Pull) -> None:
    """Centre 50.81, mean moving range 1.8778, limits 45.8159 and 55.8041 (NIST/SEMATECH 6.3.2.2), nothing out."""
    rows = pull(book, HANDBOOK)
    found = charted(book)
    assert found.chart.centre == pytest.approx(50.81)
    assert found.chart.moving_range == pytest.approx(1.8778, abs=5e-5)
    assert (found.chart.lower, found.chart.upper) == pytest.approx((45.8159, 55.8041), abs=2e-3)
    assert [shot.entry.id for shot in found.shots] == rows
    assert [shot.time for shot in found.shots] == list(HANDBOOK)
    assert list(standing_out(found.shots)) == []


def test_two_shots_differ_by_less_than_the_repeatability_limit(book: Logbook, pull: Pull) -> None:
    """ISO 5725-6: 2.8 standard deviations, that is 1.96 times the square root of two."""
    pull(book, HANDBOOK)
    assert pytest.approx(1.96 * 2**0.5, abs=0.05) == REPEATABILITY
    assert charted(book).repeatability == pytest.approx(2.8 * 1.8778 / 1.128, rel=1e-4)


@pytest.mark.parametrize(
    ("pulled", "dial", "coffee"),
    [
        ([([27] * 5, 12, None)], 12, None),
        # The newest setting with five shots, though a newer one has four and an older one many.
        ([([27] * 40, 14, None), ([26] * 5, 12, None), ([24] * 4, 11, None)], 12, None),
        # Back at an old setting: its last shot is the newest.
        ([([27] * 5, 14, None), ([26] * 5, 12, None), ([27], 14, None)], 14, None),
        # Another coffee at the same number is another setting, however its label is spelt.
        ([([27] * 4, 12, "Harbour Blend"), ([27] * 4, 12, None), ([27], 12, "harbour  blend")], 12, "harbour  blend"),
    ],
)
def test_the_newest_setting_with_five_shots_is_charted(
    book: Logbook, pull: Pull, pulled: list[tuple[list[float], float, str | None]], dial: float, coffee: str | None
) -> None:
    """Shots at different settings are never thrown together, so a change of grind is no spread."""
    for times, at, of in pulled:
        pull(book, times, at, of)
    found = charted(book)
    assert (found.dial, found.coffee) == (dial, coffee)
    expected = [time for times, at, of in pulled for time in times if (at, bool(of)) == (dial, bool(coffee))]
    assert [shot.time for shot in found.shots] == expected


def test_a_withdrawn_shot_is_not_charted(book: Logbook, pull: Pull) -> None:
    """Five minus one is too few."""
    rows = pull(book, [27, 28, 29, 26, 95])
    assert charted(book).chart.upper > 80
    book.retract(rows[-1], "undo")
    assert spread_of(book) == TooFew(None, 12.0, 4)


@pytest.mark.parametrize(
    ("times", "dial", "expected", "said"),
    [
        ([], 12, TooFew(), "no shot was told with both"),
        ([27] * 9, None, TooFew(), "no shot was told with both"),
        ([None] * 9, 12, TooFew(), "no shot was told with both"),
        ([27], 12, TooFew(None, 12.0, 1), "dial 12 has 1 shot."),
        ([27, 28, 29, 30], 12.5, TooFew(None, 12.5, 4), "dial 12.5 has 4 shots. It takes 5 shots"),
    ],
)
def test_with_too_few_shots_it_says_how_far_the_nearest_setting_is(
    book: Logbook, pull: Pull, times: list[float | None], dial: float | None, *, expected: TooFew, said: str
) -> None:
    """Shots without time or dial number belong to no setting."""
    pull(book, times, dial)
    found = spread_of(book)
    assert found == expected
    assert isinstance(found, TooFew)
    assert said in " ".join(too_few_lines(found))


def test_only_the_newest_hundred_shots_of_a_setting_count(book: Logbook, pull: Pull) -> None:
    """What was long ago does not widen the limits of today."""
    pull(book, [40, 10] * 10 + [27.0 + place % 3 for place in range(CHARTED)])
    found = charted(book)
    assert len(found.shots) == CHARTED
    assert found.chart.upper < 35


# Western Electric and Nelson rules as quoted in diagnose.science.variation: sigma of the zigzag is 2 / 1.128.
ZIGZAG = [26.0, 28.0] * 10


@pytest.mark.parametrize(
    ("times", "signs"),
    [
        (ZIGZAG, {}),
        ([*ZIGZAG, 36.0], {20: ("beyond_3_sigma", "range_beyond_limit")}),
        # A run is told once, at its ninth shot, though a tenth and eleventh follow.
        ([*ZIGZAG, *[28.0] * 10], {27: ("nine_on_one_side",)}),
        # Broken and begun again it is told again.
        ([*ZIGZAG, *[28.0] * 9, 26.0, *[28.0] * 9], {27: ("nine_on_one_side",), 38: ("nine_on_one_side",)}),
    ],
)
def test_what_stands_out_is_marked_once(
    book: Logbook, pull: Pull, times: list[float], signs: dict[int, tuple[str, ...]]
) -> None:
    """Each sign is at the shot that completed it."""
    pull(book, times)
    assert {place: shot.signs for place, shot in enumerate(charted(book).shots) if shot.signs} == signs


def test_shots_that_stand_out_have_letters_beyond_z(book: Logbook, pull: Pull) -> None:
    """A wild log still tells them apart."""
    pull(book, [27.0] * 60)
    out = [replace(shot, signs=("beyond_3_sigma",)) for shot in charted(book).shots]
    letters = [letter for letter, _ in standing_out(out)]
    assert letters[:2] + letters[25:28] + letters[51:53] == ["A", "B", "Z", "AA", "AB", "AZ", "BA"]
    assert len(set(letters)) == 60


def test_the_drawing_shows_later_as_lower_and_longer_as_further_right(book: Logbook, pull: Pull) -> None:
    """The place of a mark grows with the seconds, and limits and centre stand where the numbers are."""
    rows = pull(book, [27, 25, 30, 26, 29, 24, 28, 27.5])
    lines = list(spread_lines(charted(book)))
    drawn = [line for line in lines if line.rstrip().endswith(" s") and line.lstrip()[0].isdigit()]
    assert [int(line.split()[0]) for line in drawn] == rows
    places = {float(line.split()[-2]): line.index("*") for line in drawn}
    assert [places[time] for time in sorted(places)] == sorted(places.values())
    assert len(set(places.values())) == 8
    (left, right), centre = (drawn[1].index(":", 20), drawn[1].rindex(":")), drawn[1].index("|")
    assert left < min(places.values()) < centre < max(places.values()) < right
    # Linear: the centre is half way between the limits.
    assert centre - left == pytest.approx(right - centre, abs=1)


def test_what_stands_out_has_a_mark_of_its_own_in_the_drawing(book: Logbook, pull: Pull) -> None:
    """One shot, one mark, one letter."""
    pull(book, [*ZIGZAG, 36.0])
    drawn = [line for line in spread_lines(charted(book)) if re.match(r" +\d+  \d\d-\d\d", line)]
    assert [line.count("#") for line in drawn] == [0] * 20 + [1]
    assert [line.count("*") for line in drawn] == [1] * 20 + [0]
    assert drawn[-1].endswith("36.0 s  A")


def test_every_line_fits_80_columns_and_no_mark_leaves_its_place(book: Logbook, pull: Pull) -> None:
    """Even with a wild shot, a long label and more shots than are drawn."""
    pull(book, [*ZIGZAG, *ZIGZAG, 180.0, 1.0], coffee="the longest label anybody has ever given to a coffee " * 3)
    lines = list(spread_lines(charted(book)))
    assert max(map(len, lines)) <= 80
    assert any("12 older shots not drawn" in line for line in lines)
    assert len([line for line in lines if re.match(r" +\d+  \d\d-\d\d \d\d:\d\d  ", line)]) == 30


@pytest.mark.parametrize(
    ("times", "said", "unsaid"),
    [
        ([27.0] * 6, "All times are the same", "by chance alone"),
        ([27, 25, 30, 26, 29], "From fewer than 10 shots this is a rough guess", "All times"),
        (ZIGZAG, "Nothing stands out.", "rough guess"),
        ([*ZIGZAG, 36.0], "A shot 21,", "Nothing stands out"),
        ([2, 30, 3, 28, 4, 31], "limits 0.0 to", "limits -"),
    ],
)
def test_the_words_say_what_the_drawing_shows(
    book: Logbook, pull: Pull, times: list[float], said: str, unsaid: str
) -> None:
    """Summary before, what stands out behind; no time below nought."""
    pull(book, times)
    text = " ".join(" ".join(spread_lines(charted(book))).split())
    assert said in text
    assert unsaid not in text


def test_without_a_drawing_each_shot_is_a_line_of_words(book: Logbook, pull: Pull) -> None:
    """A screen reader meets no row of blanks and colons."""
    pull(book, [*ZIGZAG, 36.0])
    lines = list(spread_lines(charted(book), drawn=False))
    assert "shot 21, 2026-06-04 23:57, 36.0 s, A" in lines
    assert "shot 20, 2026-06-04 23:50, 28.0 s" in lines
    assert not any("*" in line or "|" in line for line in lines)


def test_a_label_for_a_heading_is_short_and_plain() -> None:
    """Nothing in it can steer a terminal or break a file."""
    assert label("a\x1b[31m\nb", 12.0) == 'dial 12, coffee "a [31m b"'
    assert len(label("long " * 30, 12.0)) <= 50
