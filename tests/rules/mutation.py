"""Mutants of the rule base, made in memory, and whether readings, examples, cases, separators and checks notice them.

A mutant is killed when something that held no longer holds: a static check finds a problem, a row of the table of
readings comes out otherwise, two confusable causes are no longer told apart, or an example or case is ranked wrongly.
What survives is either seen (some posterior moved, no verdict did) or not reached (no posterior moved at all).
"""

import copy
from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass, replace
from functools import cache, cached_property
from random import Random
from typing import ClassVar

from diagnose.case.fold import Case
from diagnose.errors import EngineFault
from diagnose.inference.forward import ForwardChainer, Known
from diagnose.inference.hypotheses import Belief, Hypothesis, Weigher, marginals
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
from diagnose.rulebase.schema import Cause, Condition, Show
from diagnose.rulebase.vocabulary import GRADES
from tests.rules.materials import Read, materials, reader, rules
from tests.rules.readings import readings
from tests.rules.separators import separated, separators

STEPS = ("slight", "moderate", "strong", "very strong")
BOUNDS = ("below", "at_most", "above", "at_least")
MOVED = 0.05  # thresholds are moved by this share of themselves
LEAST_MOVE = 0.05
CHANGED = 1e-9  # posteriors closer than this count as the same
ON_CAUSES = (incoherent_grades, duplicate_evidence, subsumed_evidence, conflicting_evidence)
ON_ALL = (identical_columns, unread_finding, unreachable)



@dataclass(frozen=True)
class Mutant:
    """One change: what was done where, the parts that replace those of the rule base, and what it may touch.

    `chained` says that forward rules are affected, so that facts have to be run through them again; `grade` is the strongest
    grade concerned.
    """

    kind: str
    file: str
    line: int
    what: str
    causes: Mapping[str, Cause]
    parts: Mapping[str, object]
    finding: str
    chained: bool = False
    grade: str = ""

    def base(self) -> RuleBase:
        """Return the changed rule base."""
        whole = rules()
        changed = {kind: {**getattr(whole, kind), **{n: p}} for kind, (n, p) in self._parts()}
        return replace(whole, causes={**whole.causes, **self.causes}, **changed)

    def _parts(self) -> Iterator[tuple[str, tuple[str, object]]]:
        for name, part in self.parts.items():
            kind, _, key = name.partition("/")
            yield kind, (key, part)

    @cached_property
    def reach(self) -> frozenset[str]:
        """Return the causes whose likelihood may have changed: those named, and those they are roots of."""
        named = set(self.causes)
        led = (name for name, cause in rules().causes.items() if {root.cause for root in cause.roots} & named)
        return frozenset(named.union(led))


def with_show(cause: Cause, index: int, show: Show | None) -> Cause:
    """Return a cause with one weight replaced, or dropped."""
    return cause.model_copy(
        update={"shows": (*cause.shows[:index], *([show] if show else []), *cause.shows[index + 1 :])}
    )


def against(grade: str) -> str:
    """Return the grade of the opposite sign."""
    return grade.removesuffix(" against") if grade.endswith(" against") else f"{grade} against"


def weight_mutants(rng: Random) -> Iterator[Mutant]:
    """Yield mutants of the weights: dropped, given to another cause, turned round."""
    base = rules()
    for name, cause in base.causes.items():
        document = base.document("causes", name)
        for index, show in enumerate(cause.shows):
            where = document.file, document.line("shows", index)
            chained = any(other.applies_when for other in cause.shows)
            most = max(show.levels.values(), key=lambda grade: abs(GRADES[grade]))
            if len(cause.shows) > 1:
                dropped = {name: with_show(cause, index, None)}
                yield Mutant("drop weight", *where, show.finding, dropped, {}, show.finding, chained, most)
                swapped = _swapped(rng, name, index)
                if swapped:
                    to = next(other for other in swapped if other != name)
                    what = f"{show.finding} to {to}"
                    yield Mutant("swap cause", *where, what, swapped, {}, show.finding, chained, most)
            for level, grade in show.levels.items():
                if grade != "neutral":
                    levels = {**show.levels, level: against(grade)}
                    turned = {name: with_show(cause, index, show.model_copy(update={"levels": levels}))}
                    what = f"{show.finding} {level}: {grade}"
                    yield Mutant("flip sign", *where, what, turned, {}, show.finding, chained, grade)


def _swapped(rng: Random, name: str, index: int) -> dict[str, Cause]:
    """Return both causes after a weight went to another cause of the same complaint that has none on its finding."""
    base = rules()
    cause, show = base.causes[name], base.causes[name].shows[index]
    others = [
        other
        for other, spec in base.causes.items()
        if other != name
        and set(spec.complaints) & set(cause.complaints)
        and (spec.prior is None) == (cause.prior is None)
        and all(own.finding != show.finding for own in spec.shows)
    ]
    if not others:
        return {}
    to = rng.choice(others)
    receiver = base.causes[to]
    given = receiver.model_copy(update={"shows": (*receiver.shows, show)})
    return {name: with_show(cause, index, None), to: given}


def grade_mutants() -> Iterator[Mutant]:
    """Yield mutants with one grade a step stronger or weaker; they are counted, and need not be killed."""
    base = rules()
    for name, cause in base.causes.items():
        document = base.document("causes", name)
        for index, show in enumerate(cause.shows):
            where = document.file, document.line("shows", index)
            chained = any(other.applies_when for other in cause.shows)
            for level, grade in show.levels.items():
                word = grade.removesuffix(" against")
                at = STEPS.index(word) if word in STEPS else -9
                for to in (at - 1, at + 1):
                    if 0 <= to < len(STEPS):
                        levels = {**show.levels, level: STEPS[to] + grade.removeprefix(word)}
                        changed = {name: with_show(cause, index, show.model_copy(update={"levels": levels}))}
                        what = f"{show.finding} {level}: {grade} to {levels[level]}"
                        yield Mutant("grade size", *where, what, changed, {}, show.finding, chained, grade)


def without(conditions: Sequence[Condition], index: int) -> tuple[Condition, ...]:
    """Return conditions without one of them."""
    return (*conditions[:index], *conditions[index + 1 :])


def condition_mutants() -> Iterator[Mutant]:
    """Yield mutants without one condition under which a weight speaks or a cause is possible."""
    base = rules()
    for name, cause in base.causes.items():
        document = base.document("causes", name)
        for index, show in enumerate(cause.shows):
            for at, condition in enumerate(show.applies_when):
                less = show.model_copy(update={"applies_when": without(show.applies_when, at)})
                what = f"{show.finding} applies_when {condition.finding}"
                changed = {name: with_show(cause, index, less)}
                line = document.line("shows", index)
                yield Mutant("drop condition", document.file, line, what, changed, {}, show.finding, chained=True)
        for at, condition in enumerate(cause.needs):
            changed = {name: cause.model_copy(update={"needs": without(cause.needs, at)})}
            what, line = f"needs {condition.finding}", document.line("needs", at)
            yield Mutant("drop condition", document.file, line, what, changed, {}, condition.finding or "")


def reading_mutants() -> Iterator[Mutant]:
    """Yield mutants of the forward rules: one dropped, one without a condition, one with a threshold moved."""
    base = rules()
    for name, finding in base.findings.items():
        document = base.document("findings", name)
        for index, rule in enumerate(finding.read):
            where = document.file, document.line("read", index)
            changes: list[tuple[str, str, object]] = [("drop rule", rule.level, None)]
            for at, condition in enumerate(rule.when):
                if len(rule.when) > 1:
                    less = rule.model_copy(update={"when": without(rule.when, at)})
                    changes.append(("drop condition", f"{rule.level}, {condition.measure or condition.finding}", less))
                for what, moved in _moved(condition):
                    when = (*rule.when[:at], moved, *rule.when[at + 1 :])
                    changes.append(("move threshold", what, rule.model_copy(update={"when": when})))
            for kind, what, new in changes:
                read = (*finding.read[:index], *([new] if new else []), *finding.read[index + 1 :])
                part = {f"findings/{name}": finding.model_copy(update={"read": read})}
                yield Mutant(kind, *where, f"{name}: {what}", {}, part, name, chained=True)
    for name, notice in base.notices.items():
        document = base.document("notices", name)
        for at, condition in enumerate(notice.when):
            part = {f"notices/{name}": notice.model_copy(update={"when": without(notice.when, at)})}
            what, line = f"{name}: {condition.finding}", document.line("when")
            yield Mutant("drop stop condition", document.file, line, what, {}, part, name, chained=True)


def _moved(condition: Condition) -> Iterator[tuple[str, Condition]]:
    """Yield a condition on a number with each of its bounds moved up, and down."""
    for bound in BOUNDS if condition.measure else ():
        value = getattr(condition, bound)
        if value is not None:
            for sign in (1, -1):
                to = value + sign * max(abs(value) * MOVED, LEAST_MOVE)
                yield f"{condition.measure} {bound} {value:g} to {to:g}", condition.model_copy(update={bound: to})


def mutants(seed: int = 1) -> list[Mutant]:
    """Return every mutant."""
    return [*reading_mutants(), *condition_mutants(), *weight_mutants(Random(seed))]


class Swift(Weigher):
    """A weigher that keeps the likelihood of every hypothesis a mutant does not reach."""

    excluded: ClassVar[dict[tuple[str, str], bool]] = {}

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

    def _exclude(self, first: str, second: str) -> bool:
        key = first, second
        if key not in self.excluded:
            self.excluded[key] = super()._exclude(first, second)
        return self.excluded[key]


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

    def __init__(self, mutant: Mutant) -> None:
        """Apply the mutant."""
        self.mutant = mutant
        self.base = mutant.base()
        self._tables: dict[Setting, Tables] = {}
        self.changed = False

    def verdict(self) -> str:
        """Return what killed it ("check", "reading", "separator", "example", "case"), or "seen", or "not reached"."""
        if self._checked():
            return "check"
        try:
            chainer = ForwardChainer(self.base) if self.mutant.chained else None
        except EngineFault:
            return "check"
        if chainer and self.mutant.parts and self._misread(chainer):
            return "reading"
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

    def _misread(self, chainer: ForwardChainer) -> bool:
        return any(not row.met(row.chained(chainer)) for row in readings() if row.touches({self.mutant.finding}))

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


def judged(mutant: Mutant) -> str:
    """Return the verdict on a mutant."""
    return Judge(mutant).verdict()


def killed(verdict: str) -> bool:
    """Return whether a verdict is that something noticed the mutant."""
    return verdict not in {"seen", "not reached"}


