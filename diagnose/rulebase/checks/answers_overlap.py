"""Two answers to one question stand for the same level.

The person picks one answer, and picking it must rule the others out.
"""

from collections.abc import Iterator

from diagnose.model import Problem
from diagnose.rulebase.base import RuleBase

CODE = "answers-overlap"


def check(base: RuleBase) -> Iterator[Problem]:
    """Yield a problem for each level that stands under a second answer, or twice under one."""
    for name, finding in base.findings.items():
        if finding.ask is None:
            continue
        taken: dict[str, int] = {}
        for index, answer in enumerate(finding.ask.answers):
            for place, level in enumerate(answer.levels):
                if level in taken:
                    what = f"{level} stands under answer {index + 1} and already under answer {taken[level]}."
                    path = ("ask", "answers", index, "levels", place)
                    yield base.document("findings", name).problem(path, CODE, what, "Leave it under one of them.")
                taken.setdefault(level, index + 1)
