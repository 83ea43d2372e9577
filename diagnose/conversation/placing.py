"""Places what was heard among the shots told so far: it speaks of the shot talked about, or of the next one."""

import re
from collections.abc import Mapping, Sequence
from dataclasses import replace

from diagnose.language import Understanding
from diagnose.model import NextStep, Quantity, Statement
from diagnose.rulebase.base import RuleBase

DOING = frozenset({"adjust", "fix", "repeat"})


def named(earlier: Sequence[Statement], placed: Sequence[Statement]) -> tuple[Statement, ...]:
    """Return a correction's statements, each number named after the one it replaces.

    "27 not 17" replaces the latest 17; "I meant 27" the only number of the latest shot. A number for which that is
    not clear keeps its empty name.
    """
    found = []
    for said in placed:
        replaced = _replaced(earlier, said) if not said.name and said.quantity is not None else None
        if replaced is None or replaced.quantity is None or said.quantity is None:
            found.append(said)
            continue
        scale = replaced.quantity.value / float(said.levels[0]) if said.levels and float(said.levels[0]) else 1.0
        quantity = Quantity.exact(said.quantity.value * scale, replaced.quantity.unit)
        found.append(replace(said, name=replaced.name, shot=replaced.shot, levels=(), quantity=quantity))
    return tuple(found)


def _replaced(earlier: Sequence[Statement], said: Statement) -> Statement | None:
    """Return the earlier measurement a corrected number stands for, or None where that is not clear."""
    measured = [one for one in reversed(earlier) if one.kind == "measurement" and one.quantity is not None]
    if said.levels:
        old = float(said.levels[0])
        return next((one for one in measured if _reads(one, old)), None)
    latest = [one for one in measured if one.shot == (measured[0].shot if measured else None)]
    return latest[0] if len(latest) == 1 else None


def _reads(one: Statement, number: float) -> bool:
    """Return whether a measurement was said with this number, whatever its unit."""
    quantity = one.quantity
    if quantity is None:
        return False
    shown = re.match(r"\D*(\d+(?:[.,]\d+)?)", quantity.shown)
    said = float(shown.group(1).replace(",", ".")) if shown else quantity.value
    return abs(said - number) < 1e-9


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
    told = {said.name: said.quantity for said in earlier if said.shot == last and said.quantity is not None}
    if pending is not None and pending.kind in DOING:
        # Only saying again what is known of the last shot tells of no new one.
        return not all(said.quantity is not None and _known(told, said) for said in of_shot)
    return any(said.quantity is not None and said.name in told and not _known(told, said) for said in of_shot)


def _known(told: Mapping[str, Quantity], said: Statement) -> bool:
    """Return whether a measurement says what was told before, however it was written."""
    one, other = told.get(said.name), said.quantity
    if one is None or other is None:
        return False
    return (one.value, one.low, one.high) == (other.value, other.low, other.high)
