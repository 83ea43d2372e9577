"""Why a cause is where it stands: from what was said or measured to findings to evidence to its share."""

from collections.abc import Sequence
from math import log10

from diagnose.inference.hypotheses import Belief, Weigher
from diagnose.inference.likelihood import share
from diagnose.inference.weights import explain
from diagnose.model import NOTHING_WRONG, Explanation


def best_explanation(weigher: Weigher, beliefs: Sequence[Belief], cause: str) -> Explanation | None:
    """Return the explanation of `cause` with its likeliest root, or None where it was not weighed (ruled out)."""
    nothing = next(belief for belief in beliefs if belief.hypothesis.causes == (NOTHING_WRONG,))
    own = [belief for belief in beliefs if belief.hypothesis.causes == (cause,)]
    return explain(weigher, own[0], nothing) if own else None


def for_nothing_wrong(weigher: Weigher, beliefs: Sequence[Belief]) -> list[tuple[str, float]]:
    """Return (finding, dB) of what speaks for *nothing wrong* against all causes together, strongest first.

    The weight is 10 log10 of P(finding | nothing wrong) over its mean under the causes, by their prior shares.
    """
    others = [belief.hypothesis for belief in beliefs if belief.hypothesis.causes != (NOTHING_WRONG,)]
    whole = sum(hypothesis.prior for hypothesis in others)
    found = []
    for finding, levels in weigher.findings.items():
        mean = sum(h.prior * share(weigher.row(h, finding), levels) for h in others) / whole
        found.append((finding, 10 * log10(share(weigher.tables.bases[finding], levels) / mean)))
    return sorted(((name, weight) for name, weight in found if weight > 0), key=lambda entry: (-entry[1], entry[0]))
