"""A cause excludes itself."""

from collections.abc import Iterator

from diagnose.model import Problem
from diagnose.rulebase.base import RuleBase

CODE = "excludes-itself"


def check(base: RuleBase) -> Iterator[Problem]:
    """Yield a problem for each cause that stands in its own `excludes`."""
    for name, cause in base.causes.items():
        if name in cause.excludes:
            path = ("excludes", cause.excludes.index(name))
            todo = "Remove it; name the cause that cannot be true together with this one."
            yield base.document("causes", name).problem(path, CODE, f"{name} excludes itself.", todo)
