"""Whether readings, examples, cases, separators and checks notice a mutant of the rule base.

A mutant is killed when something that held no longer holds: a static check finds a problem, a row of the table of
readings comes out otherwise, a sign of the table of signs no longer holds, two confusable causes are no longer told
apart, or an example or case is ranked wrongly.
What survives is either seen (some posterior moved, no verdict did) or not reached (no posterior moved at all).
"""

import copy
from collections.abc import Mapping, Sequence
from dataclasses import replace
from functools import cache
from typing import ClassVar

from diagnose.case.fold import Case
from diagnose.errors import EngineFault
from diagnose.inference.forward import ForwardChainer, Known
from diagnose.inference.hypotheses import PAIRS_SHARE, Belief, Hypothesis, Weigher, marginals
from diagnose.inference.likelihood import Tables
from diagnose.model import Setting
from diagnose.rulebase.base import RuleBase
from diagnose.rulebase.checks import (
    conflicting_evidence,
    duplicate_evidence,
    identical_columns,
    incoherent_grades,
    range_gap,
    range_overlap,
    subsumed_evidence,
    unreachable,
    unread_finding,
)
from tests.rules.materials import Read, materials, reader, rules
from tests.rules.mutation import Mutant
from tests.rules.readings import STOPS, possible_still, readings, speaking
from tests.rules.separators import separated, separators
from tests.rules.signs import missed

CHANGED = 1e-9  # posteriors closer than this count as the same
ON_CAUSES = (incoherent_grades, duplicate_evidence, subsumed_evidence, conflicting_evidence)
ON_ALL = (identical_columns, unread_finding, unreachable)


class Swift(Weigher):
    """A weigher that keeps the likelihood of every hypothesis a mutant does not reach, and the sum over all pairs."""

    # By setting and causes: one pair, the product of its weights, and the sum of such products over all pairs.
    totals: ClassVar[dict[tuple[str, ...], tuple[list[str], float, float]]] = {}

    def __init__(self, base: RuleBase, tables: Tables, case: Case, known: Known, complaint: str) -> None:
        """Start without anything kept."""
        super().__init__(base, tables, case, known, complaint)
        self.kept: dict[tuple[tuple[str, ...], str | None], float] = {}
        self.reach: frozenset[str] = frozenset()

    def log_likelihood(self, hypothesis: Hypothesis) -> float:
        """Return the log likelihood, from what is kept where it cannot have changed."""
        key = hypothesis.causes, hypothesis.root
        if not self.reach.isdisjoint(hypothesis.causes):
            return super().log_likelihood(hypothesis)
        if key not in self.kept:
            self.kept[key] = super().log_likelihood(hypothesis)
        return self.kept[key]

    def _pairs(self, scored: Sequence[tuple[Hypothesis, float]]) -> list[Hypothesis]:
        """Return the pairs, their priors scaled by the sum over all pairs, which is worked out once only."""
        causes, key = self.causes, (self.tables.setting, *self.causes)
        if key not in self.totals:
            found = super()._pairs(scored)
            if found:
                product = self._weight(found[0].causes[0]) * self._weight(found[0].causes[1])
                self.totals[key] = list(found[0].causes), product, PAIRS_SHARE * product / found[0].prior
            return found
        self.causes, product, total = self.totals[key]
        try:
            return [replace(pair, prior=pair.prior * product / total) for pair in super()._pairs(scored)]
        finally:
            self.causes = causes


@cache
def tables(setting: Setting) -> Tables:
    """Return the tables of the rule base as it is."""
    return Tables(rules(), setting)


@cache
def before(index: int) -> tuple[Swift, dict[str, float]] | None:
    """Return the weigher and the probabilities of one expectation as things are; None if it does not hold anyway."""
    read = materials()[index]
    weigher = Swift(rules(), tables(read.expectation.setting), read.case, read.known, read.complaint)
    beliefs = weigher.beliefs()
    return (weigher, marginals(beliefs)) if read.expectation.met(beliefs, rules()) else None


class Judge:
    """Tries one mutant."""

    def __init__(self, mutant: Mutant, *, by_signs: bool = True) -> None:
        """Apply the mutant. `by_signs`: the table of signs may notice it too."""
        self.mutant = mutant
        self._by_signs = by_signs
        self.base = mutant.base()
        self._tables: dict[Setting, Tables] = {}
        self.changed = False

    def verdict(self) -> str:
        """Return what killed it (check, reading, sign, separator, example or case), else "seen" or "not reached"."""
        if self._checked():
            return "check"
        try:
            chainer = ForwardChainer(self.base) if self.mutant.chained else None
        except EngineFault:
            return "check"
        if self._misread(chainer):
            return "reading"
        if self._by_signs and next(missed(self.base, self.mutant.causes), None):
            return "sign"
        if self._not_separated():
            return "separator"
        return self._misranked(chainer) or ("seen" if self.changed else "not reached")

    def _checked(self) -> bool:
        """Return whether a static check finds something it did not find before."""
        if self.mutant.parts:
            findings = {name: f for name, f in self.base.findings.items() if name == self.mutant.finding}
            narrow = replace(self.base, findings=findings)
            return any(next(check.check(narrow), None) for check in (range_gap, range_overlap))
        narrow = replace(self.base, causes={name: self.base.causes[name] for name in self.mutant.causes})
        return any(next(check.check(narrow), None) for check in ON_CAUSES) or any(
            next(check.check(self.base), None) for check in ON_ALL
        )

    def _misread(self, chainer: ForwardChainer | None) -> bool:
        """Return whether some row of the table of readings comes out otherwise."""
        if possible_still(self.base, self.mutant.causes):
            return True
        if chainer is None:
            return False
        if not self.mutant.parts:
            return bool(speaking(self.base, chainer, self.mutant.causes))
        names = {self.mutant.finding} | ({STOPS} if self.mutant.finding in self.base.notices else set())
        return any(not row.met(row.chained(chainer)) for row in readings() if row.touches(names))

    def _not_separated(self) -> bool:
        touched = [
            pair
            for pair in separators()
            if pair[2] == self.mutant.finding and not self.mutant.reach.isdisjoint(pair[:2])
        ]
        return any(not separated(self.base, self.tables("training"), pair) for pair in touched)

    def tables(self, setting: Setting) -> Tables:
        """Return the changed tables of a setting; only the rows of changed causes are made anew."""
        if setting not in self._tables:
            whole = tables(setting)
            new = copy.copy(whole)
            part = Tables(replace(self.base, causes=self.mutant.causes), setting)
            new._rules = self.base
            new._rows = {key: row for key, row in whole._rows.items() if key[0] not in self.mutant.causes} | part._rows
            old = {key: entry for key, entry in whole._entries.items() if key[0] not in self.mutant.causes}
            new._entries = old | part._entries
            self._tables[setting] = new
        return self._tables[setting]

    def _misranked(self, chainer: ForwardChainer | None) -> str:
        """Return what kind of expectation fails, "" if none does."""
        assessor = copy.copy(reader().assessor)
        assessor.base = self.base
        if chainer:
            assessor._chainer = chainer
        touched = [index for index, read in enumerate(materials()) if self._touches(read)]
        for index in sorted(touched, key=lambda index: materials()[index].expectation.about not in self.mutant.causes):
            read = materials()[index]
            known = assessor.know(read.case)[1] if chainer else read.known
            if chainer and self.mutant.parts and known == read.known:
                continue
            old = before(index)
            if old is None:
                continue
            complaint = assessor._complaints(read.case, known)[0]
            again = Swift(self.base, self.tables(read.expectation.setting), read.case, known, complaint)
            if (again.findings, again.causes, known.active) == (old[0].findings, old[0].causes, read.known.active):
                again.kept, again.reach = old[0].kept, self.mutant.reach
            beliefs = again.beliefs()
            self._note(beliefs, old[1])
            if not read.expectation.met(beliefs, self.base):
                return "example" if read.expectation.about else "case"
        return ""

    def _touches(self, read: Read) -> bool:
        """Return whether an expectation can be affected at all."""
        if self.mutant.parts:
            return True
        complaints = {name for cause in self.mutant.reach for name in rules().causes[cause].complaints}
        return self.mutant.finding in read.known.findings and read.complaint in complaints

    def _note(self, beliefs: Sequence[Belief], old: Mapping[str, float]) -> None:
        now = marginals(beliefs)
        names = {*now, *old}
        self.changed = self.changed or any(abs(now.get(n, 0) - old.get(n, 0)) > CHANGED for n in names)


def judged(mutant: Mutant, *, by_signs: bool = True) -> str:
    """Return the verdict on a mutant, with or without the table of signs."""
    return Judge(mutant, by_signs=by_signs).verdict()


def killed(verdict: str) -> bool:
    """Return whether a verdict is that something noticed the mutant."""
    return verdict not in {"seen", "not reached"}
