"""The `read` rules of a finding leave out numbers: nothing is read there.

Together the rules should cover every number a person can state. The usual slip is a bound that belongs to neither side:
`below: 2` beside `above: 2`; make one of them `at_most` or `at_least`. Where the rules of a finding use two measures,
gaps are looked for only if some rule tests both.
"""

from collections.abc import Iterator

from diagnose.model import Problem
from diagnose.rulebase.base import RuleBase
from diagnose.rulebase.checks.ranges import grid, joined

CODE = "range-gap"


def check(base: RuleBase) -> Iterator[Problem]:
    """Yield a problem for each finding with numbers that no rule reads, naming all stretches of them."""
    for name, finding in base.findings.items():
        tried = grid(base, finding)
        if tried and tried.linked:
            gaps = [str(gap) for gap in joined(point for point in tried.points() if not point.rules)]
            if gaps:
                what = f"nothing is read where {'; or where '.join(gaps[:3])}{' (and more)' if len(gaps) > 3 else ''}."
                todo = "Widen the bounds of a neighbouring level, or add a rule for it."
                yield base.document("findings", name).problem(("read",), CODE, what, todo)
