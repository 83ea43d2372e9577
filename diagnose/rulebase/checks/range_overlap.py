"""Two `read` rules of one finding give different levels for the same number.

The levels of a finding exclude each other, so their bounds must not overlap. The usual slip is a bound that belongs to
both sides: `at_most: 2` beside `at_least: 2`; make one of them `below` or `above`.
"""

from collections.abc import Iterator
from itertools import combinations

from diagnose.model import Problem
from diagnose.rulebase.base import RuleBase
from diagnose.rulebase.checks.ranges import Grid, Point, grid
from diagnose.rulebase.schema import Finding

CODE = "range-overlap"


def check(base: RuleBase) -> Iterator[Problem]:
    """Yield a problem at the later of two rules that overlap, once for each pair."""
    for name, finding in base.findings.items():
        tried = grid(base, finding)
        if tried:
            for (first, second), point in _overlaps(finding, tried).items():
                levels = [finding.read[index].level for index in (first, second)]
                what = f"where {point}, both {levels[0]} and {levels[1]} are read."
                path = ("read", second)
                yield base.document("findings", name).problem(path, CODE, what, "Move a bound of one of the two.")


def _overlaps(finding: Finding, tried: Grid) -> dict[tuple[int, int], Point]:
    """Return the pairs of rules over a common measure that disagree, each with the first point where they do."""
    found: dict[tuple[int, int], Point] = {}
    for point in tried.points():
        for first, second in combinations(point.rules, 2):
            common = tried.regions[first].measures.keys() & tried.regions[second].measures.keys()
            if common and finding.read[first].level != finding.read[second].level:
                found.setdefault((first, second), point)
    return found
