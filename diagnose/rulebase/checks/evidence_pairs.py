"""The pairs of `shows` entries of one cause that speak about the same finding.

Where several entries of a cause for one finding hold at once, the first in the file counts.
"""

from collections.abc import Iterator
from dataclasses import dataclass
from typing import Literal

from diagnose.model import Problem
from diagnose.rulebase.base import RuleBase
from diagnose.rulebase.checks.regions import region
from diagnose.rulebase.schema import Cause


@dataclass(frozen=True, slots=True)
class Pair:
    """Two entries of one cause for one finding.

    `relation` is "same" (same condition, no level with two grades), "conflict" (same condition, a level with two
    grades) or "contained" (whenever the second holds the first does too).
    """

    cause: str
    finding: str
    first: int
    second: int
    relation: Literal["same", "conflict", "contained"]

    def problem(self, base: RuleBase, code: str, what: str, todo: str) -> Problem:
        """Return a problem at the second entry."""
        return base.document("causes", self.cause).problem(("shows", self.second), code, what, todo)


def pairs(base: RuleBase) -> Iterator[Pair]:
    """Yield every pair of entries of which the second can never count."""
    for name, cause in base.causes.items():
        for second, show in enumerate(cause.shows):
            for first in range(second):
                if cause.shows[first].finding == show.finding:
                    relation = _relation(cause, first, second)
                    if relation:
                        yield Pair(name, show.finding, first, second, relation)


def _relation(cause: Cause, first: int, second: int) -> Literal["same", "conflict", "contained"] | None:
    one, other = cause.shows[first], cause.shows[second]
    earlier, later = region(one.applies_when), region(other.applies_when)
    if earlier == later:
        differ = any(one.levels[level] != other.levels[level] for level in one.levels.keys() & other.levels.keys())
        return "conflict" if differ else "same"
    return "contained" if later.inside(earlier) else None
