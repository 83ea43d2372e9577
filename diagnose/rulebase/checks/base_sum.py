"""The bases of a finding do not sum to 1 (within 0.005).

The bases say how the people who ask are spread over the levels when nothing is wrong; every one of them is at exactly
one level. Usually the normal level is the one to adjust.
"""

from collections.abc import Iterator

from diagnose.model import Problem
from diagnose.rulebase.base import RuleBase

CODE = "base-sum"
TOLERANCE = 0.005


def check(base: RuleBase) -> Iterator[Problem]:
    """Yield a problem for each finding whose bases miss 1."""
    for name, finding in base.findings.items():
        total = sum(level.base for level in finding.levels.values())
        if abs(total - 1) > TOLERANCE + 1e-12:
            largest = max(finding.levels, key=lambda level: finding.levels[level].base)
            level = finding.normal if finding.normal in finding.levels else largest
            fitting = finding.levels[level].base + 1 - total
            todo = "Lower some of them."
            if fitting > 0:
                todo = f"Set the base of {level} to {fitting:.4g}, or change others."
            what = f"the bases of {name} sum to {total:.4g}, not 1."
            yield base.document("findings", name).problem(("levels",), CODE, what, todo)
