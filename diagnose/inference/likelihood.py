"""Likelihood tables: for each cause and finding, the probability of each level.

A cause names some levels of a finding with grades in decibans. ``P(level | cause) = base(level) 10**(grade/10)`` for
the named levels; the others share what is left in proportion to their base rates, so that the weight of the normal
level and of every absence follows by itself. In a setting where a finding is often misjudged its `trust` below 1
tempers the row towards the base rates.
"""

from collections.abc import Iterable, Mapping
from functools import cached_property
from math import log10

from diagnose.model import NOTHING_WRONG, UNKNOWN, Setting
from diagnose.rulebase.base import RuleBase
from diagnose.rulebase.schema import Finding, Show
from diagnose.rulebase.vocabulary import GRADES

Row = Mapping[str, float]

# The (cause, index) of the `shows` entries that speak in a case.
Active = frozenset[tuple[str, int]]

VERDICT = "verdict"
# A content person is strong evidence that nothing needs doing, an unchanged taste a moderate one: the sizes are
# chosen so that "20 g in, 40 g out, 27 s, tastes great" is nothing wrong however many causes there are (tested).
VERDICT_GRADES: Mapping[str, float] = {"fine": -13.0, "as_before": -7.0}
# What an unlisted cause shows: mostly what anybody shows, and a share of anything at all.
UNKNOWN_BASE_SHARE = 0.7


def row_from_grades(base: Row, decibans: Mapping[str, float]) -> dict[str, float]:
    """Return P(level) for named levels in decibans over `base`; the rest share what is left by base.

    Raises ValueError if the named levels leave nothing for the others (the rule base check prevents it).
    """
    named = {level: base[level] * 10 ** (weight / 10) for level, weight in decibans.items()}
    left, rest = 1.0 - sum(named.values()), sum(p for level, p in base.items() if level not in named)
    if rest and left <= 0:
        raise ValueError("the named levels leave no room for the others")
    scale = left / rest if rest else 1.0
    row = {level: named.get(level, p * scale) for level, p in base.items()}
    total = sum(row.values())
    return {level: p / total for level, p in row.items()}


def tempered(row: Row, base: Row, trust: float) -> dict[str, float]:
    """Return `row` with each likelihood ratio against `base` raised to `trust`, and normalised."""
    if trust >= 1:
        return dict(row)
    raw = {level: base[level] * (row[level] / base[level]) ** trust for level in base}
    total = sum(raw.values())
    return {level: p / total for level, p in raw.items()}


def pair_row(first: Row, second: Row, base: Row, normal: str | None) -> dict[str, float]:
    """Return the row of two causes acting together.

    With a normal level n: it is at most as likely as under either cause, and below both where they act
    independently, P(n|ij) = min(P(n|i), P(n|j), P(n|i) P(n|j) / P(n|0)); the other levels share the rest as the
    two causes together would. Without a normal level: the mean of both.
    """
    if normal is None:
        return {level: (first[level] + second[level]) / 2 for level in base}
    n = min(first[normal], second[normal], first[normal] * second[normal] / base[normal])
    departures = (1 - first[normal]) + (1 - second[normal])
    row = {level: (1 - n) * (first[level] + second[level]) / departures for level in base if level != normal}
    row[normal] = n
    return row


def share(row: Row, levels: Iterable[str]) -> float:
    """Return the probability that one of `levels` is true."""
    return sum(row[level] for level in levels)


def decibans(row: Row, base: Row, levels: Iterable[str]) -> float:
    """Return 10 log10 of P(levels | row) / P(levels | base)."""
    levels = tuple(levels)
    return 10 * log10(share(row, levels) / share(base, levels))


class Tables:
    """The rows of one rule base in one setting, computed once.

    `pair_totals` keeps the sums over all pairs of the causes that are possible, by these causes. `cures` holds by
    step and cause the chance that the step ends it: of every cure (True), or only of those that last (False).
    """

    def __init__(self, base: RuleBase, setting: Setting) -> None:
        """Prepare the rows of every cause."""
        self._rules = base
        self.setting = setting
        self.bases: dict[str, dict[str, float]] = {
            name: _normalised({level: spec.base for level, spec in finding.levels.items()})
            for name, finding in base.findings.items()
        }
        self._rows: dict[tuple[str, int], dict[str, float]] = {}
        self._entries: dict[tuple[str, str], tuple[int, ...]] = {}
        self.pair_totals: dict[tuple[str, ...], float] = {}
        self.cures: dict[bool, dict[str, dict[str, float]]] = {True: {}, False: {}}
        for cause, spec in base.causes.items():
            for cure in spec.cures:
                for today in (True,) if cure.today else (True, False):
                    chances = self.cures[today].setdefault(cure.step, {})
                    chances[cause] = max(chances.get(cause, 0.0), cure.chance)
            for index, show in enumerate(spec.shows):
                self._rows[(cause, index)] = self._row(show)
                self._entries[(cause, show.finding)] = (*self._entries.get((cause, show.finding), ()), index)

    def _row(self, show: Show) -> dict[str, float]:
        base = self.bases[show.finding]
        grades = {level: GRADES[grade] for level, grade in show.levels.items()}
        return tempered(row_from_grades(base, grades), base, self.trust(self._rules.findings[show.finding]))

    def trust(self, finding: Finding) -> float:
        """Return how far this finding is trusted in this setting, 0 to 1."""
        return float(getattr(finding.trust, self.setting))

    @cached_property
    def verdict_row(self) -> Row:
        """Return what every cause shows on the built-in finding `verdict`."""
        base = self.bases[VERDICT]
        return row_from_grades(base, {level: db for level, db in VERDICT_GRADES.items() if level in base})

    def row(self, cause: str, finding: str, active: Active | None = None) -> Row | None:
        """Return the row of `cause` for `finding`, or None where the cause says nothing about it.

        `active` holds the (cause, index) of the conditional `shows` entries whose condition is known to hold.
        """
        if cause == NOTHING_WRONG:
            return None
        if cause == UNKNOWN:
            return self._unknown(finding)
        return self.shown(cause, finding, active) or (self.verdict_row if finding == VERDICT else None)

    def shown(self, cause: str, finding: str, active: Active | None = None) -> Row | None:
        """Return the row of the `shows` entry of `cause` for `finding`, or None where there is none that applies."""
        for index in self._entries.get((cause, finding), ()):
            conditional = self._rules.causes[cause].shows[index].applies_when
            if not conditional or (active and (cause, index) in active):
                return self._rows[(cause, index)]
        return None

    def _unknown(self, finding: str) -> Row:
        if finding == VERDICT:
            # Something unlisted that is wrong is as unlikely in a good cup as anything listed.
            return self.verdict_row
        base = self.bases[finding]
        even = (1 - UNKNOWN_BASE_SHARE) / len(base)
        return {level: UNKNOWN_BASE_SHARE * p + even for level, p in base.items()}


def _normalised(row: Row) -> dict[str, float]:
    total = sum(row.values())
    return {level: p / total for level, p in row.items()}
