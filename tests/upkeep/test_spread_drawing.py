"""The picture of a spread: sound XML, true to the numbers, readable without colour or eyes."""

from collections.abc import Callable
from itertools import pairwise
from xml.etree.ElementTree import Element, fromstring

import pytest

from diagnose.logbook import Logbook
from diagnose.upkeep.drawing import svg
from diagnose.upkeep.spread import Spread, spread_of

Pull = Callable[..., list[int]]
SVG = "{http://www.w3.org/2000/svg}"
STEADY = [27.0, 25.0, 30.0, 26.0, 29.0, 24.0, 28.0]
WILD = [*STEADY, *STEADY, 62.0]


def picture(book: Logbook) -> Element:
    """Return the picture's root."""
    found = spread_of(book)
    assert isinstance(found, Spread)
    return fromstring(svg(found))  # noqa: S314 - our own output


def seconds_at(root: Element) -> Callable[[float], float]:
    """Return the function from a height to seconds, fitted to the first and last number beside the axis."""
    ticks = [
        (float(text.attrib["y"]) - 5, float(text.text or ""))
        for text in root.iter(f"{SVG}text")
        if text.attrib["text-anchor"] == "end"
    ]
    (bottom, low), (top, high) = ticks[0], ticks[-1]
    assert low < high
    assert top < bottom  # heights count from above, so longer shots stand higher
    for y, value in ticks:
        assert value == pytest.approx(low + (high - low) * (y - bottom) / (top - bottom), abs=(high - low) / 1000)
    return lambda y: low + (high - low) * (y - bottom) / (top - bottom)


@pytest.mark.parametrize("times", [STEADY, WILD, [27.0] * 6, [3.0, 9.0, 4.0, 20.0, 6.0]])
def test_every_shot_stands_at_its_seconds(book: Logbook, pull: Pull, times: list[float]) -> None:
    """Read back from the axis, the joined line gives the times in their order, evenly spaced."""
    pull(book, times)
    root = picture(book)
    line = root.find(f"{SVG}polyline")
    assert line is not None
    points = [tuple(map(float, point.split(","))) for point in line.attrib["points"].split()]
    seconds = seconds_at(root)
    assert [seconds(y) for _, y in points] == pytest.approx(times, abs=0.3)
    gaps = [after[0] - before[0] for before, after in pairwise(points)]
    assert min(gaps) == pytest.approx(max(gaps), abs=0.2)
    width, height = float(root.attrib["width"]), float(root.attrib["height"])
    assert all(0 < x < width and 0 < y < height for x, y in points)


def test_limits_and_centre_stand_at_their_seconds_and_are_named(book: Logbook, pull: Pull) -> None:
    """Dashes for the limits, a whole line for the centre, words beside both."""
    pull(book, STEADY)
    root, found = picture(book), spread_of(book)
    assert isinstance(found, Spread)
    seconds = seconds_at(root)
    levels = [line for line in root.iter(f"{SVG}line") if line.attrib["y1"] == line.attrib["y2"]]
    dashed = sorted(seconds(float(line.attrib["y1"])) for line in levels if "stroke-dasharray" in line.attrib)
    assert dashed == pytest.approx([found.chart.lower, found.chart.upper], abs=0.2)
    texts = [text.text for text in root.iter(f"{SVG}text")]
    assert f"centre {found.chart.centre:.1f} s" in texts
    assert f"upper limit {found.chart.upper:.1f} s" in texts
    assert f"lower limit {found.chart.lower:.1f} s" in texts


@pytest.mark.parametrize("times", [STEADY, WILD, [27.0] * 6, [27.0] * 20 + [29.0, 27.0, 27.0, 95.0]])
def test_names_of_levels_never_lie_over_each_other(book: Logbook, pull: Pull, times: list[float]) -> None:
    """However close the limits are to the centre."""
    pull(book, times)
    named = [
        float(text.attrib["y"])
        for text in picture(book).iter(f"{SVG}text")
        if any(word in (text.text or "") for word in ("limit ", "centre "))
    ]
    gaps = [after - before for before, after in pairwise(sorted(named))]
    assert min(gaps) >= 14


def test_a_limit_below_nought_is_not_drawn(book: Logbook, pull: Pull) -> None:
    """No shot takes less than no time."""
    pull(book, [3.0, 9.0, 4.0, 20.0, 6.0])
    root = picture(book)
    assert len([line for line in root.iter(f"{SVG}line") if "stroke-dasharray" in line.attrib]) == 1
    assert "lower limit" not in " ".join(text.text or "" for text in root.iter(f"{SVG}text"))


def test_it_has_a_title_and_a_description_that_tell_everything(book: Logbook, pull: Pull) -> None:
    """SVG 2 and ARIA (W3C, from memory): an image named by its title and desc, which come first."""
    pull(book, WILD)
    root = picture(book)
    assert root.attrib["role"] == "img"
    title, desc = list(root)[:2]
    assert (title.tag, desc.tag) == (f"{SVG}title", f"{SVG}desc")
    assert root.attrib["aria-labelledby"].split() == [title.attrib["id"], desc.attrib["id"]]
    assert title.text == "Shot times at dial 12"
    assert "15 shots" in (desc.text or "")
    assert "A: shot 15, 62.0 s, outside the limits" in (desc.text or "")
    assert all(f"{time:.1f}" in (desc.text or "") for time in WILD)


def test_nothing_hangs_on_colour(book: Logbook, pull: Pull) -> None:
    """Black and white alone; what stands out has another shape, a letter, and a line of words below."""
    pull(book, WILD)
    root = picture(book)
    colours = {part.attrib[key] for part in root.iter() for key in ("fill", "stroke") if key in part.attrib}
    assert colours <= {"black", "white", "none"}
    squares = [part for part in root.iter(f"{SVG}rect") if "stroke" in part.attrib]
    assert len(squares) == 1
    assert len(list(root.iter(f"{SVG}circle"))) == len(WILD) - 1
    texts = [text.text or "" for text in root.iter(f"{SVG}text")]
    assert "A" in texts
    assert any(text.startswith("A: shot 15, 62.0 s") for text in texts)


def test_a_hostile_label_stays_text(book: Logbook, pull: Pull) -> None:
    """Markup and control characters in a coffee's name do not break the file."""
    pull(book, STEADY, coffee='<script>"&\x00\x1b</script>')
    root = picture(book)
    assert root.find(f".//{SVG}script") is None
    assert "<script>" in (root[0].text or "")


def test_the_same_shots_give_the_same_bytes(book: Logbook, pull: Pull) -> None:
    """Nothing in it depends on the moment it is drawn."""
    pull(book, STEADY)
    found = spread_of(book)
    assert isinstance(found, Spread)
    assert svg(found) == svg(found)
    assert "Nothing stands out." in svg(found)
