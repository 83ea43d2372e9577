"""A step whose result nobody can see, or a question whose answer leads to no cause.

An adjustment or a fix says what the next cup must show: `expect` (measures) or `confirms` (a finding and its level).
A question is worth asking only if a cause reads the answer, in `shows`, `needs` or `applies_when`, or through the
`read` rule of a finding that a cause reads.
"""

from collections.abc import Iterator

from diagnose.model import Problem
from diagnose.rulebase.base import RuleBase
from diagnose.rulebase.checks.mentions import BUILT_IN_FINDINGS, mentions

CODE = "dead-end"


def check(base: RuleBase) -> Iterator[Problem]:
    """Yield a problem for each step without a visible result and each question without use."""
    for name, step in base.steps.items():
        if step.kind in {"adjust", "fix"} and not step.expect and not step.confirms:
            what = f"{name} does not say what the next cup must show."
            todo = "Add `expect` with measures, or `confirms` with a finding and its level."
            yield base.document("steps", name).problem(("kind",), CODE, what, todo)
    useful, read = _read_findings(base)
    for name, finding in base.findings.items():
        if finding.ask and name in read and name not in useful:
            what = f"no cause reads the answer to the question about {name}."
            todo = "Name it in the `shows` of a cause, or remove `ask`."
            yield base.document("findings", name).problem(("ask",), CODE, what, todo)


def _read_findings(base: RuleBase) -> tuple[set[str], set[str]]:
    """Return the findings that lead to a cause, and all that anything reads."""
    useful, read = set(BUILT_IN_FINDINGS), set()
    feeds: dict[str, set[str]] = {}
    for mention in mentions(base):
        if mention.kind == "findings":
            read.add(mention.name)
            if mention.role in {"shows", "needs", "applies_when", "ask"}:
                useful.add(mention.name)
            elif mention.role == "read":
                feeds.setdefault(mention.by, set()).add(mention.name)
    waiting = sorted(useful)
    while waiting:
        for name in sorted(feeds.get(waiting.pop(), set()) - useful):
            useful.add(name)
            waiting.append(name)
    return useful, read
