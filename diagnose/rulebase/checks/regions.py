"""What a list of conditions leaves open: an interval for each measure, a set of levels for each finding."""

from collections.abc import Iterable, Iterator, Mapping
from dataclasses import dataclass, field
from math import inf

from diagnose.rulebase.schema import Condition
from diagnose.rulebase.vocabulary import MEASURES


@dataclass(frozen=True, slots=True)
class Interval:
    """Numbers from `low` to `high`; `low_in` and `high_in` say whether the ends belong to it."""

    low: float = -inf
    high: float = inf
    low_in: bool = True
    high_in: bool = True

    @property
    def empty(self) -> bool:
        """Return whether no number lies in it."""
        return self.low > self.high or (self.low == self.high and not (self.low_in and self.high_in))

    def __contains__(self, value: float) -> bool:
        """Return whether `value` lies in it."""
        above = value > self.low or (value == self.low and self.low_in)
        return above and (value < self.high or (value == self.high and self.high_in))

    def meet(self, other: "Interval") -> "Interval":
        """Return what lies in both."""
        low, low_in = max((self.low, not self.low_in), (other.low, not other.low_in))
        high, high_in = min((self.high, self.high_in), (other.high, other.high_in))
        return Interval(low, high, not low_in, high_in)


def interval(condition: Condition) -> Interval:
    """Return the numbers a condition on a measure lets through."""
    found = Interval()
    if condition.below is not None:
        found = found.meet(Interval(high=condition.below, high_in=False))
    if condition.at_most is not None:
        found = found.meet(Interval(high=condition.at_most))
    if condition.above is not None:
        found = found.meet(Interval(low=condition.above, low_in=False))
    if condition.at_least is not None:
        found = found.meet(Interval(low=condition.at_least))
    return found


def plausible(measure: str) -> Interval:
    """Return the range in which a stated number is taken seriously."""
    return Interval(MEASURES[measure].low, MEASURES[measure].high)


@dataclass(frozen=True, slots=True)
class Region:
    """What conditions that hold together leave open; a measure or finding they do not name is free."""

    measures: Mapping[str, Interval] = field(default_factory=dict)
    findings: Mapping[str, frozenset[str]] = field(default_factory=dict)

    def inside(self, other: "Region") -> bool:
        """Return whether everything in this region lies in `other` too."""
        return all(
            name in self.measures and self.measures[name].meet(bounds) == self.measures[name]
            for name, bounds in other.measures.items()
        ) and all(name in self.findings and self.findings[name] <= levels for name, levels in other.findings.items())

    def impossible(self) -> Iterator[str]:
        """Yield the measures and findings for which nothing is left, or nothing anyone could state."""
        for name, bounds in self.measures.items():
            if bounds.empty or bounds.meet(plausible(name)).empty:
                yield name
        for name, levels in self.findings.items():
            if not levels:
                yield name


def region(conditions: Iterable[Condition]) -> Region:
    """Return what `conditions` together leave open."""
    measures: dict[str, Interval] = {}
    findings: dict[str, frozenset[str]] = {}
    for condition in conditions:
        if condition.measure is not None:
            name = condition.measure
            measures[name] = measures.get(name, Interval()).meet(interval(condition))
        else:  # the schema lets a condition name either a measure or a finding
            name, levels = str(condition.finding), frozenset(condition.levels)
            findings[name] = findings.get(name, levels) & levels
    return Region(measures, findings)
