"""Nothing reads a finding: whatever is known about it changes no answer.

A finding is read where a cause `shows` it, or where it stands in a condition: `needs`, `applies_when`, the `when` of a
`read` rule of another finding or of a notice. `verdict`, `dial_direction` and
`step_result` are read by the program itself.
"""

from collections.abc import Iterator

from diagnose.model import Problem
from diagnose.rulebase.base import RuleBase
from diagnose.rulebase.checks.mentions import BUILT_IN_FINDINGS, mentions

CODE = "unread-finding"
READING = frozenset({"shows", "needs", "applies_when", "read", "ask", "when"})


def check(base: RuleBase) -> Iterator[Problem]:
    """Yield a problem for each finding nothing reads."""
    read = {
        mention.name
        for mention in mentions(base)
        if mention.kind == "findings"
        and mention.role in READING
        and (mention.by_kind, mention.by) != ("findings", mention.name)
    }
    for name in base.findings:
        if name not in read | BUILT_IN_FINDINGS:
            what = f"nothing reads {name}: no cause shows it and no condition names it."
            todo = "Name it in the `shows` of a cause it speaks for or against, or remove it."
            yield base.document("findings", name).problem((), CODE, what, todo)
