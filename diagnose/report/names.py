"""Which word names which number: "Ca 72 mg/L, Mg 26 mg/L" and "72 mg/L calcium, 26 mg/L magnesium" alike."""

from collections.abc import Mapping
from dataclasses import dataclass

from diagnose.report.amounts import Reading

_LONGEST = 4


@dataclass(slots=True)
class Phrase:
    """One name in the text: what it stands for, its places, and whether a number has taken it."""

    key: str
    first: int
    last: int
    taken: bool = False


def phrases(reading: Reading, table: Mapping[str, str]) -> list[list[Phrase]]:
    """Return the names in each gap: before the first amount, between amounts, and behind the last."""
    return [_in_gap(reading, reading.gap(index), table) for index in range(len(reading.amounts) + 1)]


def named(reading: Reading, table: Mapping[str, str]) -> list[Phrase | None]:
    """Return the name of each amount, or None.

    A name goes before its number unless the text begins with a number and ends with a name. Where a number has none
    before it, the name right behind it counts, unless the next number needs that one.
    """
    gaps = phrases(reading, table)
    behind_style = bool(reading.amounts) and not gaps[0] and bool(gaps[-1])
    found: list[Phrase | None] = []
    for index in range(len(reading.amounts)):
        before = next((one for one in reversed(gaps[index]) if not one.taken), None)
        behind = _right_behind(reading, index, gaps[index + 1], alone=not behind_style)
        name = (behind or before) if behind_style else (before or behind)
        if name is not None:
            name.taken = True
        found.append(name)
    return found


def _in_gap(reading: Reading, gap: range, table: Mapping[str, str]) -> list[Phrase]:
    """Return the names in a stretch, the longest first at each place."""
    found: list[Phrase] = []
    place = gap.start
    while place < gap.stop:
        longest = 0 if place in reading.loose else min(_LONGEST, gap.stop - place)
        for length in range(longest, 0, -1):
            key = table.get(" ".join(one.text for one in reading.pieces[place : place + length]))
            if key is not None:
                found.append(Phrase(key, place, place + length - 1))
                place += length - 1
                break
        place += 1
    return found


def _right_behind(reading: Reading, index: int, gap: list[Phrase], *, alone: bool) -> Phrase | None:
    """Return the first name behind an amount with no break between; with `alone`, a break or the end must follow."""
    stretch = reading.gap(index + 1)
    breaks = [place for place in stretch if reading.pieces[place].kind == "break"]
    clause_end = breaks[0] if breaks else stretch.stop
    if not gap or gap[0].last >= clause_end:
        return None
    last_one = index == len(reading.amounts) - 1
    return gap[0] if not alone or breaks or last_one or len(gap) > 1 else None
