"""The answers to a question leave out a level.

Whoever has that level finds no answer and would have to say "don't know".
"""

from collections.abc import Iterator

from diagnose.model import Problem
from diagnose.rulebase.base import RuleBase

CODE = "answers-gap"


def check(base: RuleBase) -> Iterator[Problem]:
    """Yield a problem for each question whose answers do not cover all levels."""
    for name, finding in base.findings.items():
        if finding.ask is None:
            continue
        covered = {level for answer in finding.ask.answers for level in answer.levels}
        missing = [level for level in finding.levels if level not in covered]
        if missing:
            what = f"no answer stands for {', '.join(missing)}."
            todo = "Add an answer, or put the level under one that fits."
            yield base.document("findings", name).problem(("ask", "answers"), CODE, what, todo)
