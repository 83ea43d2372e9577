"""Nobody can state a finding: it has no words, no `read` rule and no `ask`.

Findings whose name starts with `care_` come from the log (overdue care) and need none of the three.
"""

from collections.abc import Iterator

from diagnose.model import Problem
from diagnose.rulebase.base import RuleBase

CODE = "unasked-finding"
FROM_LOG = "care_"


def check(base: RuleBase) -> Iterator[Problem]:
    """Yield a problem for each finding that can be neither said nor measured nor asked."""
    for name, finding in base.findings.items():
        said = any(phrases for level in finding.levels.values() for phrases in level.words.values())
        if not said and not finding.read and finding.ask is None and not name.startswith(FROM_LOG):
            what = f"{name} can be neither said (no words), nor measured (no read), nor asked (no ask)."
            yield base.document("findings", name).problem((), CODE, what, "Add one of the three.")
