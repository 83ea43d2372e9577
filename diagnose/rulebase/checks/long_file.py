"""A rule file is longer than 100 lines.

One thing of the trade is one file, short enough to see at once. Counted is up to the line of the last entry.
"""

from collections.abc import Iterator

from diagnose.model import Problem
from diagnose.rulebase.base import KINDS, RuleBase

CODE = "long-file"
LIMIT = 100


def check(base: RuleBase) -> Iterator[Problem]:
    """Yield a problem for each file with an entry beyond line 100, at the first line too many."""
    for (kind, _), document in base.documents.items():
        if kind in KINDS and document.lines > LIMIT:
            what = f"the file has entries up to line {document.lines}; at most {LIMIT} lines are wanted."
            todo = "Say it shorter, or split what are really two things."
            yield Problem(document.file, LIMIT + 1, 1, CODE, what, todo)
