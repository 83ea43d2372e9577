"""Why a cause is where it stands: from what was said or measured to findings to evidence to its share."""

from collections.abc import Sequence

from diagnose.inference.hypotheses import Belief, Weigher
from diagnose.inference.weights import explain
from diagnose.model import NOTHING_WRONG, Explanation


def best_explanation(weigher: Weigher, beliefs: Sequence[Belief], cause: str) -> Explanation | None:
    """Return the explanation of `cause` with its likeliest root, or None where it was not weighed (ruled out)."""
    nothing = next(belief for belief in beliefs if belief.hypothesis.causes == (NOTHING_WRONG,))
    own = [belief for belief in beliefs if belief.hypothesis.causes == (cause,)]
    return explain(weigher, own[0], nothing) if own else None
