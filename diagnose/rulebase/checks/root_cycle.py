"""A cause is, through its roots, a root of itself.

A root is the reason behind a cause. Two causes cannot each be the reason for the other.
"""

from collections.abc import Iterator

from diagnose.model import Problem
from diagnose.rulebase.base import RuleBase

CODE = "root-cycle"


def check(base: RuleBase) -> Iterator[Problem]:
    """Yield a problem at each `roots` entry that leads back to its own cause."""
    for name, cause in base.causes.items():
        for index, root in enumerate(cause.roots):
            way = _way(base, root.cause, name)
            if way:
                what = f"the roots lead back to where they started: {' <- '.join((name, *way))}."
                path = ("roots", index, "cause")
                todo = "Keep the direction in which the one brings about the other."
                yield base.document("causes", name).problem(path, CODE, what, todo)


def _way(base: RuleBase, start: str, goal: str) -> tuple[str, ...]:
    """Return the shortest way over roots from `start` to `goal`, both included, or nothing."""
    ways: list[tuple[str, ...]] = [(start,)]
    seen = {start}
    for way in ways:
        if way[-1] == goal:
            return way
        for root in base.causes[way[-1]].roots if way[-1] in base.causes else ():
            if root.cause not in seen:
                seen.add(root.cause)
                ways.append((*way, root.cause))
    return ()
