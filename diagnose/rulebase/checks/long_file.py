"""A rule file is longer than 100 lines.

One thing of the trade is one file, short enough to see at once. Counted is up to the line of the last entry.
"""

from collections.abc import Iterator

from diagnose.errors import Problem
from diagnose.rulebase.base import KINDS, RuleBase

CODE = "long-file"
LIMIT = 100


def check(base: RuleBase) -> Iterator[Problem]:
    """Yield a problem for each file with an entry beyond line 100, at the first such entry."""
    for (kind, _), document in base.documents.items():
        beyond = sorted(place for place in document.places.values() if place[0] > LIMIT)
        if beyond and kind in KINDS:
            what = f"the file has entries up to line {beyond[-1][0]}; at most {LIMIT} lines are wanted."
            todo = "Say it shorter, or split what are really two things."
            yield Problem(document.file, *beyond[0], CODE, what, todo)
