"""Places what was heard among the shots told so far: it speaks of the shot talked about, or of the next one."""

from collections.abc import Sequence
from dataclasses import replace

from diagnose.language import Understanding
from diagnose.model import NextStep, Statement
from diagnose.rulebase.base import RuleBase

DOING = frozenset({"adjust", "fix", "repeat"})


def place(
    base: RuleBase, earlier: Sequence[Statement], heard: Understanding, pending: NextStep | None
) -> tuple[Statement, ...]:
    """Return the statements with absolute shot numbers.

    A shot is a new one when something was to be done before it, or when a number contradicts the shot told last and
    is no correction. Several shots in one text are always new ones.
    """
    last = max((said.shot for said in earlier if said.shot), default=0)
    first = last + 1 if last and _is_new(base, earlier, heard, pending, last) else max(last, 1)
    if last and not heard.correction and heard.shots > 1:
        first = last + 1
    current = first + max(heard.shots, 1) - 1
    placed = []
    for said in heard.statements:
        if said.shot is not None:
            placed.append(replace(said, shot=first + said.shot - 1))
        elif said.name in base.findings and base.findings[said.name].per_shot and said.kind != "belief":
            placed.append(replace(said, shot=current))
        else:
            placed.append(said)
    return tuple(placed)


def _is_new(
    base: RuleBase, earlier: Sequence[Statement], heard: Understanding, pending: NextStep | None, last: int
) -> bool:
    """Return whether the text speaks of a shot after the one told last."""
    if heard.correction:
        return False
    of_shot = [
        said
        for said in heard.statements
        if said.shot is not None or (said.name in base.findings and base.findings[said.name].per_shot)
    ]
    if not of_shot:
        return False
    if pending is not None and pending.kind in DOING:
        return True
    told = {said.name: said.quantity for said in earlier if said.shot == last and said.quantity is not None}
    return any(
        said.quantity is not None and said.name in told and told[said.name] != said.quantity for said in of_shot
    )
