"""How much hangs on single grades, and whether a spoilt rule base would be noticed.

Longer runs by hand: ``python tests/rules/mutants.py`` and ``python tests/rules/shake.py``.
"""

from math import sqrt
from random import Random
from statistics import fmean, stdev

import pytest

from tests.rules.judging import judged, killed
from tests.rules.mutation import mutants
from tests.rules.shake import asked, losses, shaken

SHAKES, SAMPLED, MOST_LOST = 10, 3, 0.05  # every third example or case
FORWARD = frozenset({"drop rule", "drop condition", "move threshold", "drop stop condition"})
FORWARD_MUTANTS, WEIGHT_MUTANTS = 16, 60
WEIGHTS_NOTICED = 0.95  # share of the mutants of weights that signs, readings, examples, cases and checks notice
MUTANTS = mutants()


def noticed(count: int, *, forward: bool) -> list[bool]:
    """Return for a seeded sample of mutants whether each was noticed."""
    chosen = [mutant for mutant in MUTANTS if (mutant.kind in FORWARD and bool(mutant.parts)) == forward]
    return [killed(judged(mutant)) for mutant in Random(4).sample(chosen, count)]


def test_every_spoilt_forward_rule_is_noticed() -> None:
    """A rule or a condition left out, or a threshold moved by a twentieth, fails a check or a reading."""
    assert all(noticed(FORWARD_MUTANTS, forward=True))


def test_spoilt_weights_are_noticed() -> None:
    """Weights left out, turned round or given to another cause fail a check, a sign, an example or a case."""
    found = noticed(WEIGHT_MUTANTS, forward=False)
    assert fmean(found) >= WEIGHTS_NOTICED


@pytest.mark.slow
def test_shaken_grades_cost_little() -> None:
    """With every grade off by a normal error of 2 dB the right cause leads at most five points less often.

    A sample is allowed its own standard error; the script measures all examples and cases.
    """
    still, moved = shaken(asked()[::SAMPLED], SHAKES)
    lost = losses(still, moved)
    assert fmean(still) > 0.85
    assert 0 < fmean(lost) <= MOST_LOST + stdev(lost) / sqrt(len(lost))
