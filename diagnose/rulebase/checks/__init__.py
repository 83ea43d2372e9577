"""The static checks on a rule base, one module each.

Every check module has `CODE` (the code its problems carry), `check(base)` and a docstring that is the author's
documentation of the check. `essential` runs at every load; `everything` runs with ``diagnose rules check``. The codes
`duplicate-key`, `duplicate-id`, `schema`, `unknown-key`, `missing-key`, `not-yaml`, `not-text`, `not-a-mapping`,
`unreadable` and `missing-file` come from reading the files.
"""

from collections.abc import Callable, Iterable, Iterator
from typing import Protocol

from diagnose.model import Problem
from diagnose.rulebase.base import RuleBase
from diagnose.rulebase.checks import (
    answers_gap,
    answers_overlap,
    base_sum,
    conflicting_evidence,
    dead_end,
    decisive_grade,
    duplicate_evidence,
    empty_text,
    engine_unsafe,
    excludes_itself,
    identical_columns,
    incoherent_grades,
    long_file,
    missing_language,
    range_gap,
    range_overlap,
    root_cycle,
    shared_name,
    subsumed_evidence,
    unasked_finding,
    unknown_belief,
    unknown_name,
    unquoted_text,
    unreachable,
    unread_finding,
    unreferenced,
)


class Check(Protocol):
    """What a check module has."""

    CODE: str
    __doc__: str | None

    def check(self, base: RuleBase) -> Iterator[Problem]:
        """Yield a problem for each fault of its kind."""
        ...


# Without these a rule base gives wrong numbers, names nothing, or makes the engine fail.
ESSENTIAL: tuple[Check, ...] = (
    unknown_name,
    base_sum,
    incoherent_grades,
    answers_overlap,
    answers_gap,
    root_cycle,
    engine_unsafe,
)
CHECKS: tuple[Check, ...] = (
    *ESSENTIAL,
    unknown_belief,
    decisive_grade,
    range_gap,
    range_overlap,
    unread_finding,
    unasked_finding,
    unreferenced,
    dead_end,
    duplicate_evidence,
    subsumed_evidence,
    conflicting_evidence,
    unreachable,
    identical_columns,
    excludes_itself,
    shared_name,
    missing_language,
    empty_text,
    unquoted_text,
    long_file,
)


def essential(base: RuleBase) -> list[Problem]:
    """Return the problems that make a rule base unusable, in file order."""
    return sorted(found for one in ESSENTIAL for found in one.check(base))


def everything(base: RuleBase, examples: Callable[[RuleBase], Iterable[Problem]] | None = None) -> list[Problem]:
    """Return the problems of all checks in file order; `examples` runs the examples of the causes and adds its own.

    Examples are run only on a base without essential problems, since no answer can be worked out from any other.
    """
    problems = [found for one in CHECKS for found in one.check(base)]
    if examples and not essential(base):
        problems += examples(base)
    return sorted(problems)
