"""A line under `beliefs` in a words file names nothing.

Each names a cause or a finding, or a finding and its level (`flow.fast`): what the person's theory is about.
"""

from collections.abc import Iterator, Mapping
from difflib import get_close_matches

from diagnose.model import Problem
from diagnose.rulebase.base import RuleBase

CODE = "unknown-belief"


def check(base: RuleBase) -> Iterator[Problem]:
    """Yield a problem for each belief about something no rule file defines."""
    files = [document for (kind, _), document in base.documents.items() if kind == "words"]
    for document in files:
        beliefs = document.data.get("beliefs")
        for target in beliefs if isinstance(beliefs, Mapping) else ():
            name, _, level = str(target).partition(".")
            finding = base.findings.get(name)
            if (finding is not None and level in {"", *finding.levels}) or (name in base.causes and not level):
                continue
            levels = (f"{one}.{at}" for one, spec in base.findings.items() for at in spec.levels)
            near = get_close_matches(str(target), [*base.causes, *base.findings, *levels], 1)
            todo = f"Did you mean {near[0]!r}?" if near else "Name a cause, a finding, or a finding and its level."
            what = f"{target!r} is neither a cause nor a finding with that level."
            yield document.problem(("beliefs", str(target)), CODE, what, todo)
