"""A cause gives one level two different grades under the same condition.

One of the two is wrong, or their conditions should differ.
"""

from collections.abc import Iterator

from diagnose.model import Problem
from diagnose.rulebase.base import RuleBase
from diagnose.rulebase.checks.evidence_pairs import pairs

CODE = "conflicting-evidence"


def check(base: RuleBase) -> Iterator[Problem]:
    """Yield a problem at each entry that contradicts an earlier one."""
    for pair in pairs(base):
        if pair.relation == "conflict":
            what = f"an earlier entry grades a level of {pair.finding} differently under the same condition."
            yield pair.problem(base, CODE, what, "Keep one grade, or give the entries different `applies_when`.")
