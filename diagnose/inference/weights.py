"""The weight of each finding for one cause, as evidence against *nothing wrong*, in decibans."""

from diagnose.inference.hypotheses import Weigher
from diagnose.inference.likelihood import VERDICT, decibans
from diagnose.model import Evidence
from diagnose.rulebase.schema import Show


def evidence_for(weigher: Weigher, cause: str) -> list[Evidence]:
    """Return what every known finding says about `cause` acting alone, strongest first.

    The decibans are those used in the ranking, clusters discounted, so prior and evidence add up to the posterior.
    """
    found = []
    document = weigher.base.document("causes", cause)
    for finding, levels in weigher.findings.items():
        row = weigher.tables.row(cause, finding, weigher.known.active)
        if row is None:
            continue
        weight = weigher.factor[finding] * decibans(row, weigher.tables.bases[finding], levels)
        index, show = _entry(weigher, cause, finding)
        grade = show.levels.get(levels[0], "") if show is not None and len(levels) == 1 else ""
        because = weigher.base.text(show.because) if show is not None and show.because else ""
        line = document.line("shows", index) if show is not None else document.line()
        found.append(Evidence(cause, finding, levels, weight, grade, because, document.file, line))
    return sorted(found, key=lambda entry: (-abs(entry.decibans), entry.finding))


def _entry(weigher: Weigher, cause: str, finding: str) -> tuple[int, Show | None]:
    """Return the index and the `shows` entry that speaks; none for the built-in verdict."""
    for index, show in enumerate(weigher.base.causes[cause].shows):
        applies = not show.applies_when or (cause, index) in weigher.known.active
        if show.finding == finding and applies:
            return index, show
    assert finding == VERDICT  # noqa: S101 - only the built-in row has no entry
    return 0, None
