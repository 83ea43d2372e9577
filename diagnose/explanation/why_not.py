"""Why another cause is not first: the strongest evidence against it, and what would change that."""

from collections.abc import Callable, Sequence
from dataclasses import dataclass

from diagnose.explanation.why import best_explanation
from diagnose.inference.hypotheses import Belief, Weigher, marginals
from diagnose.model import Evidence, Explanation

WORTH_SAYING_DB = 0.5
Supposing = Callable[[str, str], Weigher]
"""Takes a finding and a level, and returns the weigher of the same case with that level in place of what is known."""


@dataclass(frozen=True, slots=True)
class WhatWouldChange:
    """A level of a finding that, if it were seen, would raise the cause to `probability`, and whether to first."""

    finding: str
    level: str
    probability: float
    first: bool


@dataclass(frozen=True, slots=True)
class WhyNot:
    """Why `cause` is not first.

    `against` is evidence that lowers it; `better` says what speaks more for the first cause than for this one (as
    evidence for the first); `changes` what would raise it most, best first; `explanation` is None where the cause is
    ruled out, and `ruled_out_by` then names the finding.
    """

    cause: str
    probability: float
    explanation: Explanation | None
    against: tuple[Evidence, ...]
    better: tuple[Evidence, ...]
    changes: tuple[WhatWouldChange, ...]
    ruled_out_by: str | None


def why_not(weigher: Weigher, beliefs: Sequence[Belief], cause: str, supposing: Supposing) -> WhyNot:
    """Return why `cause` is not first. Every change named was computed by weighing the case with it in place."""
    chances = marginals(beliefs)
    explanation = best_explanation(weigher, beliefs, cause)
    if explanation is None:
        return WhyNot(cause, 0.0, None, (), (), (), _ruled_out_by(weigher, cause))
    own = {entry.finding: entry.decibans for entry in explanation.evidence}
    first = next((name for name in chances if name in weigher.base.causes and name != cause), None)
    of_first = best_explanation(weigher, beliefs, first) if first else None
    better = tuple(
        entry
        for entry in (of_first.evidence if of_first else ())
        if entry.decibans - own.get(entry.finding, 0.0) > WORTH_SAYING_DB
    )
    against = tuple(entry for entry in explanation.evidence if entry.decibans < -WORTH_SAYING_DB)
    changes = _changes(weigher, cause, chances.get(cause, 0.0), supposing)
    return WhyNot(cause, chances.get(cause, 0.0), explanation, against, better, changes, None)


def _ruled_out_by(weigher: Weigher, cause: str) -> str | None:
    known = weigher.known.findings
    for condition in weigher.base.causes[cause].needs:
        name = condition.finding
        if name is not None and name in known and not set(condition.levels) & set(known[name].levels):
            return name
    return None


def _changes(weigher: Weigher, cause: str, now: float, supposing: Supposing) -> tuple[WhatWouldChange, ...]:
    """Return the levels this cause names that would raise it, tried one at a time in place of what is known."""
    named = dict.fromkeys((show.finding, level) for show in weigher.base.causes[cause].shows for level in show.levels)
    found = []
    for finding, level in named:
        known = weigher.known.findings.get(finding)
        if known is not None and known.levels == (level,):
            continue
        chances = marginals(supposing(finding, level).beliefs())
        if chances.get(cause, 0.0) > now + 0.01:
            found.append(WhatWouldChange(finding, level, chances[cause], next(iter(chances)) == cause))
    return tuple(sorted(found, key=lambda change: (-change.probability, change.finding, change.level)))
