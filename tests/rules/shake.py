"""Shakes all grades by normal errors and counts how often the expected cause still comes first.

Run by hand: ``python tests/rules/shake.py [SHAKES] [SD]``: 100 shakes by 2 dB when left out.
"""

import sys
from collections.abc import Sequence
from math import log10
from pathlib import Path
from random import Random
from statistics import fmean

sys.path.insert(0, str(Path(__file__).parents[2]))

from diagnose.inference.likelihood import Tables, row_from_grades, tempered
from diagnose.model import SETTINGS, Setting
from diagnose.rulebase.base import RuleBase
from diagnose.rulebase.schema import Show
from diagnose.rulebase.vocabulary import GRADES
from tests.rules.judging import Swift
from tests.rules.materials import Read, materials, rules

SHAKES, SD_DB = 100, 2.0
MOST = 0.95  # named levels may take this much of the probability at the most


class Shaken(Tables):
    """Tables of a rule base whose grades are each off by a normal error, the same in every setting for one seed."""

    def __init__(self, base: RuleBase, setting: Setting, seed: int, sd_db: float) -> None:
        """Draw the errors in the order of the rules."""
        self._rng, self._sd = Random(seed), sd_db
        super().__init__(base, setting)

    def _row(self, show: Show) -> dict[str, float]:
        base = self.bases[show.finding]
        grades = {level: GRADES[grade] + self._rng.gauss(0.0, self._sd) for level, grade in show.levels.items()}
        named = sum(base[level] * 10 ** (grade / 10) for level, grade in grades.items())
        if named > MOST and len(grades) < len(base):
            grades = {level: grade + 10 * log10(MOST / named) for level, grade in grades.items()}
        return tempered(row_from_grades(base, grades), base, self.trust(self._rules.findings[show.finding]))


def asked() -> list[Read]:
    """Return the examples and cases that say which cause is right."""
    return [read for read in materials() if read.expectation.expect]


def leads(reads: Sequence[Read], tables: dict[Setting, Tables]) -> list[bool]:
    """Return for each expectation whether an expected cause comes first."""
    found = []
    for read in reads:
        weigher = Swift(rules(), tables[read.expectation.setting], read.case, read.known, read.complaint)
        found.append(read.expectation.leads(weigher.beliefs(), rules()))
    return found


def shaken(reads: Sequence[Read], shakes: int, sd_db: float = SD_DB) -> tuple[list[bool], list[list[bool]]]:
    """Return whether each expectation is led by an expected cause as things are, and after each shake."""
    still = leads(reads, {setting: Tables(rules(), setting) for setting in SETTINGS})
    moved = [
        leads(reads, {setting: Shaken(rules(), setting, seed, sd_db) for setting in SETTINGS}) for seed in range(shakes)
    ]
    return still, moved


def losses(still: Sequence[bool], moved: Sequence[Sequence[bool]]) -> list[float]:
    """Return for each expectation how much less often than before it is led by an expected cause."""
    return [before - fmean(after) for before, after in zip(still, zip(*moved, strict=True), strict=True)]


def main(arguments: Sequence[str]) -> None:
    """Print the shares before and after."""
    shakes = int(arguments[0]) if arguments else SHAKES
    sd_db = float(arguments[1]) if len(arguments) > 1 else SD_DB
    still, moved = shaken(asked(), shakes, sd_db)
    shares = [fmean(after) for after in moved]
    sys.stdout.write(
        f"{len(still)} examples and cases; first without shaking {fmean(still):.1%}; "
        f"{shakes} shakes of sd {sd_db:g} dB: "
        f"mean {fmean(shares):.1%}, worst {min(shares):.1%}, best {max(shares):.1%}; "
        f"falls by {100 * fmean(losses(still, moved)):.1f} points\n"
    )


if __name__ == "__main__":
    main(sys.argv[1:])
