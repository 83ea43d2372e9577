"""A `shows` entry can never count: an earlier entry for the same finding holds whenever it does.

The first entry that holds counts. Put the special case (with the narrower `applies_when`) before the general one.
"""

from collections.abc import Iterator

from diagnose.model import Problem
from diagnose.rulebase.base import RuleBase
from diagnose.rulebase.checks.evidence_pairs import pairs

CODE = "subsumed-evidence"


def check(base: RuleBase) -> Iterator[Problem]:
    """Yield a problem at each entry contained in an earlier one."""
    for pair in pairs(base):
        if pair.relation == "contained":
            what = f"an earlier entry for {pair.finding} holds whenever this one does, and the first one counts."
            yield pair.problem(base, CODE, what, "Put this entry before the other, or give that one a condition.")
