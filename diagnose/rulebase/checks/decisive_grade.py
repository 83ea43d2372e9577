"""A grade above "very strong" stands on a finding nobody looks at or measures.

"decisive" (and "decisive against") is for what was seen or weighed directly: the finding is read from numbers (`read`),
or it is asked as a check (`ask: kind: check`). What is only remembered or described is at most "very strong".
"""

from collections.abc import Iterator

from diagnose.model import Problem
from diagnose.rulebase.base import RuleBase
from diagnose.rulebase.vocabulary import GRADES

CODE = "decisive-grade"


def check(base: RuleBase) -> Iterator[Problem]:
    """Yield a problem for each decisive grade without direct observation."""
    highest = GRADES["very strong"]
    for name, cause in base.causes.items():
        for index, show in enumerate(cause.shows):
            finding = base.findings.get(show.finding)
            if finding is None or finding.read or (finding.ask and finding.ask.kind == "check"):
                continue
            for level, grade in show.levels.items():
                if abs(GRADES[grade]) > highest:
                    what = f"{grade!r} on {show.finding}, which is neither measured nor looked at."
                    fitting = "very strong" if GRADES[grade] > 0 else "very strong against"
                    todo = f"Write {fitting!r}, or give {show.finding} a `read` rule or a check."
                    path = ("shows", index, "levels", level)
                    yield base.document("causes", name).problem(path, CODE, what, todo)
