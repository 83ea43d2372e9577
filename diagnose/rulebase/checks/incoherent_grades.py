"""The grades a cause gives to the levels of one finding leave too little for its other levels.

A named level becomes as likely as base x 10^(decibans / 10); the levels not named share what is left. So the named ones
may take 0.9 together, and at least one level stays unnamed. A strong grade on a level that is common anyway cannot
be: if four of five cups show it when nothing is wrong, nothing can make it ten times as frequent. The message names the
largest grade that fits on the level that takes most.
"""

from collections.abc import Iterator

from diagnose.model import Problem
from diagnose.rulebase.base import RuleBase
from diagnose.rulebase.schema import Finding, Show
from diagnose.rulebase.vocabulary import GRADES

CODE = "incoherent-grades"
LIMIT = 0.9


def check(base: RuleBase) -> Iterator[Problem]:
    """Yield a problem for each `shows` entry whose levels take more than 0.9, or which names every level."""
    for name, cause in base.causes.items():
        document = base.document("causes", name)
        for index, show in enumerate(cause.shows):
            finding = base.findings.get(show.finding)
            if finding is None or not show.levels.keys() <= finding.levels.keys():
                continue  # unknown-name reports it
            path = ("shows", index, "levels")
            if show.levels.keys() == finding.levels.keys():
                what = f"every level of {show.finding} has a grade; none is left to take the rest."
                todo = f"Leave one out, best the usual one ({finding.normal or _commonest(finding)})."
                yield document.problem(path, CODE, what, todo)
                continue
            taken = {
                level: finding.levels[level].base * 10 ** (GRADES[grade] / 10) for level, grade in show.levels.items()
            }
            if sum(taken.values()) > LIMIT + 1e-12:
                level = max(taken, key=lambda named: taken[named])
                what = (
                    f"the levels named here take {sum(taken.values()):.2f} of {show.finding}, "
                    f"more than {LIMIT:g}; {level} alone takes {taken[level]:.2f}."
                )
                yield document.problem((*path, level), CODE, what, _advice(finding, show, taken, level))


def _commonest(finding: Finding) -> str:
    return max(finding.levels, key=lambda level: finding.levels[level].base)


def _advice(finding: Finding, show: Show, taken: dict[str, float], level: str) -> str:
    """Return the largest grade that fits on `level`, the others left as they are."""
    room = LIMIT - sum(share for other, share in taken.items() if other != level)
    fitting = [
        word
        for word, decibans in GRADES.items()
        if decibans <= GRADES[show.levels[level]] and finding.levels[level].base * 10 ** (decibans / 10) <= room + 1e-12
    ]
    if not fitting:
        return "No grade fits on it while the others stay: lower several of them."
    return f"The largest grade that fits on it is {max(fitting, key=lambda word: GRADES[word])!r}."
