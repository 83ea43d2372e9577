"""The chart of a spread as a small SVG picture that says in words what it shows.

Black on white: shots that stand out are squares with a letter, the limits are dashed and named, so nothing hangs on
colour. The image is named by its `title` and `desc` elements, as SVG 2 and ARIA (W3C) have it.
"""

from textwrap import wrap
from xml.etree.ElementTree import Element, SubElement, indent, tostring

from diagnose.upkeep.chart import label
from diagnose.upkeep.lines import counted
from diagnose.upkeep.spread import SAYS, Spread, Timed, standing_out

WIDTH, HEIGHT = 800, 420
_LEFT, _RIGHT, _TOP, _BOTTOM = 70, 640, 60, 350
_APART = 18  # between the names of two levels
_LINE = 20  # between lines of text
_CHARACTERS = 95  # in a line of text below
_STEPS = (0.5, 1.0, 2.0, 5.0, 10.0, 20.0, 50.0)


def svg(spread: Spread) -> str:
    """Return the picture as a document of its own, the same bytes for the same shots."""
    out = [line for letter, shot in standing_out(spread.shots) for line in wrap(_said(letter, shot), _CHARACTERS)]
    height = HEIGHT + _LINE * (len(out) + 1)
    root = Element(
        "svg",
        {
            "xmlns": "http://www.w3.org/2000/svg",
            "viewBox": f"0 0 {WIDTH} {height}",
            "width": str(WIDTH),
            "height": str(height),
            "role": "img",
            "aria-labelledby": "title desc",
            "font-family": "sans-serif",
            "font-size": "14",
        },
    )
    SubElement(root, "title", id="title").text = _title(spread)
    SubElement(root, "desc", id="desc").text = description(spread)
    SubElement(root, "rect", width=str(WIDTH), height=str(height), fill="white")
    picture = _Picture(root, spread)
    picture.draw()
    for place, line in enumerate(out or ["Nothing stands out."]):
        picture.text(_LEFT, HEIGHT + _LINE * (place + 0.5), line)
    indent(root)
    return '<?xml version="1.0" encoding="UTF-8"?>\n' + tostring(root, encoding="unicode") + "\n"


def _title(spread: Spread) -> str:
    return f"Shot times at {label(spread.coffee, spread.dial)}"


def description(spread: Spread) -> str:
    """Return in words what the picture shows."""
    chart = spread.chart
    out = [f"{_said(letter, shot)}." for letter, shot in standing_out(spread.shots)]
    times = ", ".join(f"{shot.time:.1f}" for shot in spread.shots)
    return " ".join(
        [
            f"Individuals chart of {counted(len(spread.shots), 'shot')}, oldest first.",
            f"Centre {chart.centre:.1f} s, limits {max(chart.lower, 0.0):.1f} and {chart.upper:.1f} s.",
            *(out or ["Nothing stands out."]),
            f"Times in s: {times}.",
        ]
    )


def _said(letter: str, shot: Timed) -> str:
    return f"{letter}: shot {shot.entry.id}, {shot.time:.1f} s, {'; '.join(SAYS[sign] for sign in shot.signs)}"


class _Picture:
    """Draws axes, lines and shots into the picture."""

    def __init__(self, root: Element, spread: Spread) -> None:
        self.root = root
        self.spread = spread
        times = [shot.time for shot in spread.shots]
        low, high = min(max(spread.chart.lower, 0.0), *times), max(spread.chart.upper, *times)
        self.step = next((step for step in _STEPS if (high - low) / step <= 8), 100.0)
        self.low = max(self.step * ((low - self.step / 2) // self.step), 0.0)
        self.high = self.step * (high // self.step + 1)

    def draw(self) -> None:
        """Draw everything, what must not be covered last."""
        self.text(_LEFT, 30, _title(self.spread), size="18")
        self.axes()
        chart = self.spread.chart
        middle = self.y(chart.centre)
        self.level(chart.centre, middle, f"centre {chart.centre:.1f} s")
        self.level(chart.upper, min(self.y(chart.upper), middle - _APART), f"upper limit {chart.upper:.1f} s", "8 5")
        if chart.lower > 0:
            said = f"lower limit {chart.lower:.1f} s"
            self.level(chart.lower, max(self.y(chart.lower), middle + _APART), said, "8 5")
        self.shots()

    def x(self, place: int) -> float:
        """Return how far right the shot at a place stands."""
        return _LEFT + 20 + (_RIGHT - _LEFT - 40) * place / (len(self.spread.shots) - 1)

    def y(self, seconds: float) -> float:
        """Return how far down a time stands."""
        return _BOTTOM - (_BOTTOM - _TOP) * (seconds - self.low) / (self.high - self.low)

    def text(self, x: float, y: float, said: str, *, anchor: str = "start", size: str = "14") -> None:
        """Write a text."""
        place = {"x": f"{x:.1f}", "y": f"{y:.1f}", "text-anchor": anchor, "font-size": size, "fill": "black"}
        SubElement(self.root, "text", place).text = said

    def line(self, ends: tuple[float, float, float, float], *, width: str = "1", dash: str | None = None) -> None:
        """Draw a line from one point to another."""
        names = zip(("x1", "y1", "x2", "y2"), (f"{value:.1f}" for value in ends), strict=True)
        looks = {"stroke": "black", "stroke-width": width} | ({"stroke-dasharray": dash} if dash else {})
        SubElement(self.root, "line", dict(names) | looks)

    def axes(self) -> None:
        """Draw the seconds to the left and what runs to the right."""
        self.line((_LEFT, _TOP, _LEFT, _BOTTOM))
        self.line((_LEFT, _BOTTOM, _RIGHT, _BOTTOM))
        for tick in range(round((self.high - self.low) / self.step) + 1):
            seconds = self.low + tick * self.step
            self.line((_LEFT - 5, self.y(seconds), _LEFT, self.y(seconds)))
            self.text(_LEFT - 9, self.y(seconds) + 5, f"{seconds:g}", anchor="end")
        self.text(12, _TOP - 12, "seconds")
        for place in (0, len(self.spread.shots) - 1):
            entry = self.spread.shots[place].entry
            self.text(self.x(place), _BOTTOM + 20, f"shot {entry.id}", anchor="middle")
            self.text(self.x(place), _BOTTOM + 38, f"{entry.at:%Y-%m-%d}", anchor="middle")
        self.text((_LEFT + _RIGHT) / 2, _BOTTOM + 56, "oldest to newest", anchor="middle")

    def level(self, seconds: float, name_y: float, said: str, dash: str | None = None) -> None:
        """Draw a level across, named to its right at `name_y`."""
        self.line((_LEFT, self.y(seconds), _RIGHT, self.y(seconds)), dash=dash)
        self.text(_RIGHT + 8, name_y + 5, said)

    def shots(self) -> None:
        """Draw the shots: dots joined by a line, a square with a letter where one stands out."""
        letters = {shot.entry.id: letter for letter, shot in standing_out(self.spread.shots)}
        at = [(self.x(place), self.y(shot.time)) for place, shot in enumerate(self.spread.shots)]
        joined = " ".join(f"{x:.1f},{y:.1f}" for x, y in at)
        SubElement(self.root, "polyline", {"points": joined, "fill": "none", "stroke": "black", "stroke-width": "1.5"})
        for (x, y), shot in zip(at, self.spread.shots, strict=True):
            if shot.signs:
                corner = {"x": f"{x - 6:.1f}", "y": f"{y - 6:.1f}", "width": "12", "height": "12"}
                SubElement(self.root, "rect", corner | {"fill": "white", "stroke": "black", "stroke-width": "2.5"})
                above = shot.time >= self.spread.chart.centre
                self.text(x, y - 11 if above else y + 22, letters[shot.entry.id], anchor="middle")
            else:
                SubElement(self.root, "circle", {"cx": f"{x:.1f}", "cy": f"{y:.1f}", "r": "4", "fill": "black"})
