"""The `read` rules of one finding tried over a grid of numbers.

Every bound of every rule, every middle between two neighbouring bounds and a number beyond the outermost ones are
tried, for at most two measures together, in every context (levels of the findings the rules also name). Numbers that
cannot occur together (a shot at twice the recipe's time that is faster than usual) are left out.
"""

from collections.abc import Iterable, Iterator, Mapping
from dataclasses import dataclass
from itertools import pairwise, product

from diagnose.rulebase.base import RuleBase
from diagnose.rulebase.checks.regions import Interval, Region, plausible, region
from diagnose.rulebase.schema import Finding

MAX_MEASURES = 2
MAX_CONTEXTS = 400

# Measures that lie on the same side of these values at the same time: both say "more than the recipe" or "less".
CENTRES: tuple[Mapping[str, float], ...] = (
    {"time_ratio": 1.0, "time_z": 0.0},
    {"dose_ratio": 1.0, "dose_off": 0.0},
)


@dataclass(frozen=True, slots=True)
class Point:
    """One combination of levels and of stretches of numbers, and the rules (by index) that read it."""

    context: Mapping[str, str]
    cells: Mapping[str, Interval]
    rules: tuple[int, ...]

    def __str__(self) -> str:
        """Return the point in words: ``time_z is above 2, and roast is dark``."""
        parts = [f"{measure} is {_words(cell, plausible(measure))}" for measure, cell in self.cells.items()]
        return ", and ".join(parts + [f"{finding} is {level}" for finding, level in self.context.items()])

    def joined(self, other: "Point") -> "Point | None":
        """Return this point and the one after it as one, if they differ only in neighbouring stretches."""
        *same, (measure, mine) = self.cells.items()
        *other_same, (_, theirs) = other.cells.items()
        if (self.context, same) != (other.context, other_same) or mine.high != theirs.low:
            return None
        both = Interval(mine.low, theirs.high, mine.low_in, theirs.high_in)
        return Point(self.context, {**self.cells, measure: both}, self.rules)


@dataclass(frozen=True, slots=True)
class Grid:
    """The rules of one finding as regions, its measures, and the contexts in which some rule may apply."""

    regions: tuple[Region, ...]
    measures: tuple[str, ...]
    contexts: tuple[Mapping[str, str], ...]

    @property
    def linked(self) -> bool:
        """Return whether the measures belong to one table: there is only one, or some rule tests both."""
        return len(self.measures) == 1 or any(len(found.measures) == len(self.measures) for found in self.regions)

    def points(self) -> Iterator[Point]:
        """Yield the points of the grid in order, for the contexts in which some rule on a number may apply."""
        axes = [_axis(self._bounds(measure)) for measure in self.measures]
        for context in self.contexts:
            applying = [i for i, found in enumerate(self.regions) if _applies(found, context)]
            if not any(self.regions[i].measures for i in applying):
                continue
            for crossing in product(*axes):
                cells = dict(zip(self.measures, crossing, strict=True))
                numbers = {measure: (cell.low + cell.high) / 2 for measure, cell in cells.items()}
                if _possible(numbers):
                    yield Point(context, cells, tuple(i for i in applying if _reads(self.regions[i], numbers)))

    def _bounds(self, measure: str) -> set[float]:
        """Return the numbers at which some rule changes its mind about `measure`."""
        ends = plausible(measure)
        bounds = {ends.low, ends.high}
        for found in self.regions:
            if measure in found.measures:
                bounds |= {found.measures[measure].low, found.measures[measure].high}
        for centres in CENTRES:
            if len(self.measures) > 1 and centres.keys() >= set(self.measures):
                bounds.add(centres[measure])
        return {bound for bound in bounds if bound in ends}


def grid(base: RuleBase, finding: Finding) -> Grid | None:
    """Return the grid of a finding, or None where its rules use no measure, more than two or too many contexts."""
    regions = tuple(region(rule.when) for rule in finding.read)
    measures = tuple(sorted({measure for found in regions for measure in found.measures}))
    named = sorted({name for found in regions for name in found.findings})
    if not 1 <= len(measures) <= MAX_MEASURES or any(name not in base.findings for name in named):
        return None
    size = 1
    for name in named:
        size *= len(base.findings[name].levels)
    if size > MAX_CONTEXTS:
        return None
    choices = product(*(base.findings[name].levels for name in named))
    return Grid(regions, measures, tuple(dict(zip(named, choice, strict=True)) for choice in choices))


def joined(points: Iterable[Point]) -> list[Point]:
    """Return the points with neighbours made one."""
    found: list[Point] = []
    for point in points:
        both = found[-1].joined(point) if found else None
        found[-1:] = [both] if both else [*found[-1:], point]
    return found


def _axis(bounds: set[float]) -> list[Interval]:
    """Return the stretches between the bounds and the inner bounds themselves, in order."""
    axis: list[Interval] = []
    for low, high in pairwise(sorted(bounds)):
        axis += [Interval(low, high, low_in=False, high_in=False), Interval(high, high)]
    return axis[:-1]


def _words(cell: Interval, ends: Interval) -> str:
    """Return a stretch of numbers in words; the ends of the plausible range go without saying."""
    if cell.low == cell.high:
        return f"{cell.low:g}"
    low = f"{'from' if cell.low_in else 'above'} {cell.low:g}" if cell.low > ends.low else ""
    high = f"{'up to' if cell.high_in else 'below'} {cell.high:g}" if cell.high < ends.high else ""
    return " and ".join(filter(None, (low, high))) or "any number"


def _applies(found: Region, context: Mapping[str, str]) -> bool:
    return all(context[name] in levels for name, levels in found.findings.items())


def _reads(found: Region, numbers: Mapping[str, float]) -> bool:
    return all(numbers[measure] in bounds for measure, bounds in found.measures.items())


def _possible(numbers: Mapping[str, float]) -> bool:
    """Return whether the numbers can occur together."""
    for centres in CENTRES:
        sides = {
            (numbers[measure] > centre) - (numbers[measure] < centre)
            for measure, centre in centres.items()
            if measure in numbers
        }
        if len(sides) > 1:
            return False
    return True
