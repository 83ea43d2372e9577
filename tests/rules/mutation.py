"""Mutants of the rule base, made in memory: rules, conditions and weights dropped, thresholds and signs changed.

Each says what was done where, so that a survivor can be looked up.
"""

from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass, replace
from functools import cached_property
from random import Random

from diagnose.rulebase.base import RuleBase
from diagnose.rulebase.schema import Cause, Condition, Finding, Notice, Show
from diagnose.rulebase.vocabulary import GRADES
from tests.rules.materials import rules

STEPS = ("slight", "moderate", "strong", "very strong")
BOUNDS = ("below", "at_most", "above", "at_least")
MOVED = 0.05  # thresholds are moved by this share of themselves
LEAST_MOVE = 0.05


@dataclass(frozen=True)
class Mutant:
    """One change: what was done where, the parts that replace those of the rule base, and what it may touch.

    `chained` says that forward rules are affected, so that facts have to be run through them again; `grade` is the
    strongest grade concerned.
    """

    kind: str
    file: str
    line: int
    what: str
    causes: Mapping[str, Cause]
    parts: Mapping[str, Finding | Notice]
    finding: str
    chained: bool = False
    grade: str = ""

    def base(self) -> RuleBase:
        """Return the changed rule base."""
        whole = rules()
        findings = {name: part for name, part in self.parts.items() if isinstance(part, Finding)}
        notices = {name: part for name, part in self.parts.items() if isinstance(part, Notice)}
        return replace(
            whole,
            causes={**whole.causes, **self.causes},
            findings={**whole.findings, **findings},
            notices={**whole.notices, **notices},
        )

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
                part = {name: finding.model_copy(update={"read": read})}
                yield Mutant(kind, *where, f"{name}: {what}", {}, part, name, chained=True)
    for name, notice in base.notices.items():
        document = base.document("notices", name)
        for at, condition in enumerate(notice.when):
            less_strict = {name: notice.model_copy(update={"when": without(notice.when, at)})}
            what, line = f"{name}: {condition.finding}", document.line("when")
            yield Mutant("drop stop condition", document.file, line, what, {}, less_strict, name, chained=True)


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
