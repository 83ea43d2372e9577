"""The weight of each finding for one hypothesis against *nothing wrong*, in decibans: what they add up to is exact."""

from math import log

from diagnose.inference.hypotheses import Belief, Hypothesis, Weigher
from diagnose.inference.likelihood import decibans
from diagnose.model import Evidence, Explanation
from diagnose.rulebase.schema import Show

DECIBANS = 10.0 / log(10.0)


def explain(weigher: Weigher, belief: Belief, nothing: Belief) -> Explanation:
    """Return prior, evidence and posterior of a hypothesis with one cause, in dB against nothing wrong.

    ``prior_db + sum of evidence + tried_db = posterior_db`` holds exactly: these are the numbers the ranking used.
    """
    hypothesis = belief.hypothesis
    evidence = tuple(sorted(_evidence(weigher, hypothesis), key=lambda entry: (-abs(entry.decibans), entry.finding)))
    return Explanation(
        hypothesis.causes[0],
        hypothesis.root,
        DECIBANS * log(hypothesis.prior / nothing.hypothesis.prior),
        evidence,
        DECIBANS * log(weigher.not_cured(hypothesis)),
        DECIBANS * log(belief.probability / nothing.probability),
    )


def _evidence(weigher: Weigher, hypothesis: Hypothesis) -> list[Evidence]:
    found = []
    for finding, levels in weigher.findings.items():
        base_row = weigher.tables.bases[finding]
        row = weigher.row(hypothesis, finding)
        if row is base_row:
            continue
        weight = weigher.factor[finding] * decibans(row, base_row, levels)
        found.append(_placed(weigher, hypothesis, finding, levels, weight))
    return found


def _placed(weigher: Weigher, hypothesis: Hypothesis, finding: str, levels: tuple[str, ...], weight: float) -> Evidence:
    """Return one piece of evidence with the place of the rule it comes from; the root's where the root speaks."""
    base = weigher.base
    for cause in filter(None, (hypothesis.root, hypothesis.causes[0])):
        for index, show in enumerate(base.causes[cause].shows):
            applies = not show.applies_when or (cause, index) in weigher.known.active
            if show.finding == finding and applies:
                document = base.document("causes", cause)
                because = base.text(show.because) if show.because else ""
                line = document.line("shows", index)
                return Evidence(cause, finding, levels, weight, _grade(show, levels), because, document.file, line)
    document = base.document("findings", finding)
    return Evidence(hypothesis.causes[0], finding, levels, weight, "", "", document.file, document.line())


def _grade(show: Show, levels: tuple[str, ...]) -> str:
    """Return the author's word, "" where it follows from the other levels."""
    return show.levels.get(levels[0], "") if len(levels) == 1 else ""
