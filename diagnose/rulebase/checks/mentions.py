"""Every place where a rule file names something defined elsewhere, and every list of conditions.

The checks and the cards ask the same question, "who refers to this?", and both read the answer from here.
"""

from collections.abc import Iterable, Iterator
from dataclasses import dataclass

from diagnose.model import Problem
from diagnose.rulebase.base import Kind, RuleBase
from diagnose.rulebase.reading import PathKey
from diagnose.rulebase.schema import Cause, Condition, Finding, Step

COMMON_PRACTICE = "common_practice"
BUILT_IN_STEPS = frozenset({"accept", "hand_over", "repeat_unchanged"})
# Read by the program itself: how content the person is, and which way is finer on the dial.
BUILT_IN_FINDINGS = frozenset({"verdict", "dial_direction", "step_result"})


@dataclass(frozen=True, slots=True)
class Mention:
    """One name in a rule file: what `kind` of thing it names, the rule that names it and where in that file.

    `kind` is "causes", "findings", "steps", "notices", "sources", "levels" (of `finding`), "clusters" or "held";
    `role` is the key under which the name stands.
    """

    kind: str
    name: str
    by_kind: Kind
    by: str
    path: PathKey
    role: str
    finding: str = ""


@dataclass(frozen=True, slots=True)
class When:
    """One list of conditions: the rule it stands in, its key (`role`) and its place."""

    by_kind: Kind
    by: str
    path: PathKey
    role: str
    conditions: tuple[Condition, ...]


def problem(base: RuleBase, at: Mention | When, code: str, what: str, todo: str) -> Problem:
    """Return a Problem at the place of a mention or of a list of conditions."""
    return base.document(at.by_kind, at.by).problem(at.path, code, what, todo)


def whens(base: RuleBase) -> Iterator[When]:
    """Yield every list of conditions that is not empty, rule by rule."""
    yield from (when for when in _all_whens(base) if when.conditions)


def _all_whens(base: RuleBase) -> Iterator[When]:
    for name, cause in base.causes.items():
        yield When("causes", name, ("needs",), "needs", cause.needs)
        for index, show in enumerate(cause.shows):
            yield When("causes", name, ("shows", index, "applies_when"), "applies_when", show.applies_when)
    for name, finding in base.findings.items():
        for index, rule in enumerate(finding.read):
            yield When("findings", name, ("read", index, "when"), "read", rule.when)
        if finding.ask:
            yield When("findings", name, ("ask", "needs"), "ask", finding.ask.needs)
            yield When("findings", name, ("ask", "only_if"), "ask", finding.ask.only_if)
    for name, step in base.steps.items():
        yield When("steps", name, ("needs",), "needs", step.needs)
        yield When("steps", name, ("only_if",), "needs", step.only_if)
    for name, notice in base.notices.items():
        yield When("notices", name, ("when",), "when", notice.when)


def mentions(base: RuleBase) -> Iterator[Mention]:
    """Yield every mention of a name in the rule files, rule by rule."""
    for when in whens(base):
        yield from _in_conditions(when)
    for name, cause in base.causes.items():
        yield from _in_cause(name, cause)
    for name, finding in base.findings.items():
        yield from _in_finding(name, finding)
    for name, step in base.steps.items():
        yield from _in_step(name, step)
    for name, notice in base.notices.items():
        yield Mention("sources", notice.source, "notices", name, ("source",), "source")


def _in_conditions(when: When) -> Iterator[Mention]:
    for index, condition in enumerate(when.conditions):
        if condition.finding is not None:
            path = (*when.path, index)
            finding = condition.finding
            yield Mention("findings", finding, when.by_kind, when.by, (*path, "finding"), when.role)
            yield from _levels(condition.levels, finding, (when.by_kind, when.by), (*path, "is"), when.role)


def _levels(levels: Iterable[str], finding: str, by: tuple[Kind, str], path: PathKey, role: str) -> Iterator[Mention]:
    for index, level in enumerate(levels):
        yield Mention("levels", level, *by, (*path, index), role, finding)


def _named(kind: str, names: Iterable[str], by: tuple[Kind, str], path: PathKey) -> Iterator[Mention]:
    """Yield the names of a plain list that stands at `path`, whose last key is the role."""
    for index, name in enumerate(names):
        yield Mention(kind, name, *by, (*path, index), str(path[-1]))


def _in_cause(name: str, cause: Cause) -> Iterator[Mention]:
    by = ("causes", name)
    yield Mention("sources", cause.source, *by, ("source",), "source")
    yield from _named("causes", cause.excludes, by, ("excludes",))
    for index, show in enumerate(cause.shows):
        path = ("shows", index)
        yield Mention("findings", show.finding, *by, (*path, "finding"), "shows")
        for level in show.levels:
            yield Mention("levels", level, *by, (*path, "levels", level), "shows", show.finding)
        if show.source is not None:
            yield Mention("sources", show.source, *by, (*path, "source"), "source")
    for index, root in enumerate(cause.roots):
        yield Mention("causes", root.cause, *by, ("roots", index, "cause"), "roots")
    for index, cure in enumerate(cause.cures):
        yield Mention("steps", cure.step, *by, ("cures", index, "step"), "cures")
    if cause.check is not None:
        yield Mention("findings", cause.check, *by, ("check",), "check")
    yield from _named("notices", cause.cautions, by, ("cautions",))


def _in_finding(name: str, finding: Finding) -> Iterator[Mention]:
    by = ("findings", name)
    yield Mention("sources", finding.source, *by, ("source",), "source")
    if finding.cluster is not None:
        yield Mention("clusters", finding.cluster, *by, ("cluster",), "cluster")
    if finding.normal is not None:
        yield Mention("levels", finding.normal, *by, ("normal",), "normal", name)
    for level, spec in finding.levels.items():
        if spec.hedged is not None:
            yield Mention("levels", spec.hedged, *by, ("levels", level, "hedged"), "hedged", name)
    for index, rule in enumerate(finding.read):
        yield Mention("levels", rule.level, *by, ("read", index, "level"), "read", name)
    if finding.ask:
        for index, answer in enumerate(finding.ask.answers):
            yield from _levels(answer.levels, name, by, ("ask", "answers", index, "levels"), "ask")
        yield from _named("notices", finding.ask.cautions, by, ("ask", "cautions"))


def _in_step(name: str, step: Step) -> Iterator[Mention]:
    by = ("steps", name)
    yield Mention("sources", step.source, *by, ("source",), "source")
    yield from _named("held", step.hold, by, ("hold",))
    yield from _named("notices", step.cautions, by, ("cautions",))
    for finding, level in step.confirms.items():
        yield Mention("findings", finding, *by, ("confirms", finding), "confirms")
        yield Mention("levels", level, *by, ("confirms", finding), "confirms", finding)
