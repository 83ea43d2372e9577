"""A cause has two `shows` entries for one finding under the same condition.

Only the first counts. Put all levels of the finding into one entry.
"""

from collections.abc import Iterator

from diagnose.model import Problem
from diagnose.rulebase.base import RuleBase
from diagnose.rulebase.checks.evidence_pairs import pairs

CODE = "duplicate-evidence"


def check(base: RuleBase) -> Iterator[Problem]:
    """Yield a problem at the second of two entries for the same finding and condition."""
    for pair in pairs(base):
        if pair.relation == "same":
            what = f"{pair.finding} already has an entry with this condition; only the first counts."
            yield pair.problem(base, CODE, what, "Put the levels of both into one entry.")
