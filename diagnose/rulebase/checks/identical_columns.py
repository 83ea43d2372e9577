"""Two causes of one complaint show exactly the same, under the same needs.

No question and no look can ever tell them apart. Add the evidence that separates them, or make them one cause.
"""

from collections.abc import Hashable, Iterator

from diagnose.model import Problem
from diagnose.rulebase.base import RuleBase
from diagnose.rulebase.checks.regions import region
from diagnose.rulebase.schema import Cause, Condition

CODE = "identical-columns"


def check(base: RuleBase) -> Iterator[Problem]:
    """Yield a problem at the later of two causes that nothing separates, once for each."""
    seen: dict[tuple[str, Hashable], str] = {}
    for name, cause in base.causes.items():
        if cause.prior is None:
            continue  # only a root; it is no rival of the cause it is behind
        column = _column(cause)
        twin = next((seen[(complaint, column)] for complaint in cause.complaints if (complaint, column) in seen), "")
        if twin:
            what = f"{name} shows exactly what {twin} shows; nothing can tell them apart."
            todo = "Add what separates them, or make them one cause."
            yield base.document("causes", name).problem(("shows",), CODE, what, todo)
        for complaint in cause.complaints:
            seen.setdefault((complaint, column), name)


def _column(cause: Cause) -> Hashable:
    shows = frozenset(
        (show.finding, frozenset(show.levels.items()), _condition(show.applies_when)) for show in cause.shows
    )
    return _condition(cause.needs), shows


def _condition(conditions: tuple[Condition, ...]) -> Hashable:
    open_ = region(conditions)
    return frozenset(open_.measures.items()), frozenset(open_.findings.items())
