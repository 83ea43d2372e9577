"""The chart of a spread in plain text: time runs down the page, seconds across it."""

import textwrap
from collections.abc import Iterator

from diagnose.science.variation import SPREAD_FROM
from diagnose.upkeep.lines import counted, minute, paragraph, printable
from diagnose.upkeep.spread import SAYS, Spread, Timed, TooFew, setting_name, standing_out

ROUGH_BELOW = 10
DRAWN = 30
_ACROSS = 42
_LIMIT, _CENTRE, _SHOT, _OUT = ":", "|", "*", "#"


def spread_lines(spread: Spread, *, drawn: bool = True) -> Iterator[str]:
    """Yield the spread in words and, if `drawn`, the chart of its newest 30 shots."""
    chart = spread.chart
    first, last = (minute(spread.shots[place].entry.at)[:10] for place in (0, -1))
    shots = counted(len(spread.shots), "shot")
    yield from paragraph(f"{setting_name(spread.coffee, spread.dial)}: {shots}, {first} to {last}")
    yield from paragraph(
        f"centre {chart.centre:.1f} s, spread {chart.sigma:.1f} s, limits {_limits(spread)} "
        "(three times the spread to either side)"
    )
    if chart.sigma > 0:
        differ = f"{spread.repeatability:.1f} s"
        yield from paragraph(f"Two shots may differ by {differ} by chance alone (95 times in 100 by no more).")
    else:
        yield from paragraph("All times are the same; clocked more finely they would tell a spread.")
    if len(spread.shots) < ROUGH_BELOW:
        yield from paragraph(
            f"From fewer than {ROUGH_BELOW} shots this is a rough guess, more often too small than too large."
        )
    yield ""
    yield from _drawing(spread) if drawn else _list(spread)
    yield ""
    yield from _standing_out(spread)


def too_few_lines(found: TooFew) -> Iterator[str]:
    """Yield why there is no spread yet, and what would give one."""
    need = f"It takes {SPREAD_FROM} shots with their time at one number on the dial."
    if found.dial is None:
        said = "No spread yet: no shot was told with both its time and the number on the dial."
    else:
        said = f"No spread yet: {setting_name(found.coffee, found.dial)} has {counted(found.shots, 'shot')}."
    yield from paragraph(f"{said} {need}")


def _limits(spread: Spread) -> str:
    return f"{max(spread.chart.lower, 0.0):.1f} to {spread.chart.upper:.1f} s"


def _list(spread: Spread) -> Iterator[str]:
    """Yield each shot as words, for who cannot use a drawing."""
    letters = {shot.entry.id: letter for letter, shot in standing_out(spread.shots)}
    for shot in spread.shots[-DRAWN:]:
        mark = f", {letters[shot.entry.id]}" if shot.signs else ""
        yield f"shot {shot.entry.id}, {minute(shot.entry.at)}, {shot.time:.1f} s{mark}"


def _drawing(spread: Spread) -> Iterator[str]:
    """Yield a line for each shot: row, time of day, its place across the page, seconds, the letter if it stands out."""
    scale = _Scale(spread)
    letters = {shot.entry.id: letter for letter, shot in standing_out(spread.shots)}
    hidden = len(spread.shots) - DRAWN
    if hidden > 0:
        yield f"  ({hidden} older shots not drawn)"
    for shot in spread.shots[-DRAWN:]:
        number = f"{shot.entry.id:>7}  {shot.entry.at:%m-%d %H:%M}"
        yield f"{number}  {scale.line(shot)}  {shot.time:5.1f} s  {letters.get(shot.entry.id, '')}".rstrip()
    yield from paragraph(f"{_SHOT} shot   {_OUT} stands out   {_CENTRE} centre   {_LIMIT} limits", 2)


class _Scale:
    """Places seconds on a line of fixed length."""

    def __init__(self, spread: Spread) -> None:
        self.chart = spread.chart
        times = [shot.time for shot in spread.shots[-DRAWN:]]
        self.low = min(max(self.chart.lower, 0.0), *times)
        self.high = max(self.chart.upper, *times)

    def place(self, seconds: float) -> int:
        """Return the column, from 0, of a time; the middle where all times are the same."""
        if self.high <= self.low:
            return _ACROSS // 2
        return round((min(max(seconds, self.low), self.high) - self.low) / (self.high - self.low) * (_ACROSS - 1))

    def line(self, shot: Timed) -> str:
        """Return the line of one shot; its mark stands over those of centre and limits."""
        marks = [" "] * _ACROSS
        for seconds, mark in ((self.chart.lower, _LIMIT), (self.chart.upper, _LIMIT), (self.chart.centre, _CENTRE)):
            marks[self.place(seconds)] = mark
        marks[self.place(shot.time)] = _OUT if shot.signs else _SHOT
        return "".join(marks)


def _standing_out(spread: Spread) -> Iterator[str]:
    """Yield what stands out and what to make of the rest."""
    found = list(standing_out(spread.shots))
    for letter, shot in found:
        said = "; ".join(SAYS[sign] for sign in shot.signs)
        yield from paragraph(f"{letter}  shot {shot.entry.id}, {minute(shot.entry.at)}: {said}.", 2, 3)
    if found:
        yield from paragraph(
            "What stands out most likely had a reason of its own: look for what was different with that shot."
        )
    else:
        yield "Nothing stands out."
    yield from paragraph("A shot inside the limits is no reason to touch the grinder.")


def label(coffee: str | None, dial: float) -> str:
    """Return a setting's name short and plain enough for a heading."""
    return textwrap.shorten(printable(setting_name(coffee, dial)), 50, placeholder="...")
