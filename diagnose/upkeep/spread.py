"""The person's own spread in seconds: the newest setting with shots enough, and its individuals chart.

A setting is a coffee and a number on the dial; shots told without a time or without the dial belong to none.
"""

from collections.abc import Iterable, Iterator, Mapping
from dataclasses import dataclass
from itertools import groupby
from typing import Final

from diagnose.logbook import Entry, Logbook, PulledShot
from diagnose.logbook.codec import same_label
from diagnose.model import frozen_map
from diagnose.science.variation import SPREAD_FROM, IndividualsChart, Rule, individuals

LOOKED_AT = 2000
"""The newest shots among which a setting is looked for."""

CHARTED = 100
"""The newest shots of a setting that a chart is made of, as many as sizing a step looks at."""

REPEATABILITY = 2.8
"""Two results under the same conditions differ by less than 2.8 standard deviations in 95 of 100 pairs (ISO 5725-6)."""

SAYS: Final[Mapping[Rule, str]] = frozen_map(
    {
        "beyond_3_sigma": "outside the limits",
        "two_of_three_beyond_2_sigma": "second of three far off on the same side",
        "nine_on_one_side": "ninth in a row on one side of the centre",
        "range_beyond_limit": "a greater jump from the shot before than chance makes",
    }
)
"""What each sign of a special cause is, in words."""


_RUN: Rule = "nine_on_one_side"


@dataclass(frozen=True, slots=True)
class Timed:
    """One shot of the chart: its row, time in s, and what stands out about it."""

    entry: Entry[PulledShot]
    time: float
    signs: tuple[Rule, ...]


@dataclass(frozen=True, slots=True)
class Spread:
    """The shots at one setting, oldest first, and their chart in s."""

    coffee: str | None
    dial: float
    shots: tuple[Timed, ...]
    chart: IndividualsChart

    @property
    def repeatability(self) -> float:
        """Return by how much two shots at this setting differ at the most, 95 times in 100, in s."""
        return REPEATABILITY * self.chart.sigma


@dataclass(frozen=True, slots=True)
class TooFew:
    """No setting has shots enough: the one that comes nearest, None where no shot has both a time and a dial number."""

    coffee: str | None = None
    dial: float | None = None
    shots: int = 0


def spread_of(book: Logbook) -> Spread | TooFew:
    """Return the chart of the setting used last of those with at least five timed shots. Raises LogError."""
    settings: dict[tuple[str | None, float], list[Entry[PulledShot]]] = {}
    for entry in reversed(book.shots(limit=LOOKED_AT)):
        measures = entry.what.measures
        if "time" in measures and "dial" in measures:
            settings.setdefault((same_label(entry.what.coffee), measures["dial"].value), []).append(entry)
    enough = (found for found in settings.values() if len(found) >= SPREAD_FROM)
    found = next(enough, None)
    if found is not None:
        return _charted(found[:CHARTED][::-1])
    nearest = max(settings.values(), key=len, default=None)
    if nearest is None:
        return TooFew()
    newest = nearest[0].what
    return TooFew(newest.coffee, newest.measures["dial"].value, len(nearest))


def _charted(entries: list[Entry[PulledShot]]) -> Spread:
    """Return the chart of shots at one setting, oldest first."""
    times = [entry.what.measures["time"].value for entry in entries]
    chart = individuals(times)
    signs = {index: tuple(each.rule for each in of) for index, of in groupby(chart.signals, lambda one: one.index)}
    # A run on one side is one thing: said of its ninth shot, not again of every one that follows.
    signs = {
        index: tuple(rule for rule in rules if rule != _RUN or _RUN not in signs.get(index - 1, ()))
        for index, rules in signs.items()
    }
    shots = tuple(
        Timed(entry, time, signs.get(index, ())) for index, (entry, time) in enumerate(zip(entries, times, strict=True))
    )
    newest = entries[-1].what
    return Spread(newest.coffee, newest.measures["dial"].value, shots, chart)


def setting_name(coffee: str | None, dial: float) -> str:
    """Return a setting in words: ``dial 12`` or ``dial 12, coffee "house"``."""
    return f"dial {dial:g}" + (f', coffee "{coffee}"' if coffee else "")


def standing_out(shots: Iterable[Timed]) -> Iterator[tuple[str, Timed]]:
    """Yield the shots that stand out with a letter each: A, B, ... Z, AA, AB, ..."""
    for place, shot in enumerate(each for each in shots if each.signs):
        more, letter = divmod(place, 26)
        yield (chr(64 + more) if more else "") + chr(65 + letter), shot
