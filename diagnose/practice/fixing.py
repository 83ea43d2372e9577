"""Simulated faults and cures: of those declared fixed, how many are, and after how many shots.

Two rules are tried. `weighed` weighs every shot after a cure until one side is 95 % likely; `talked` is what a talk
does: the verdict on its last step after each shot, until it says "it holds".
"""

from collections.abc import Sequence
from dataclasses import dataclass, replace
from functools import cache
from random import Random

from diagnose.case.fold import Case
from diagnose.case.history import NO_HISTORY
from diagnose.case.measures import DEFAULT_SIGMA_S
from diagnose.conversation.assess import Assessment, Assessor
from diagnose.conversation.closing import closed
from diagnose.conversation.composing import Composer
from diagnose.conversation.outcome import Outcome, Told, Trial, judge
from diagnose.model import NextStep, Quantity, Setting, Shot
from diagnose.practice.steady import RECIPE, SEED, TARGET_S
from diagnose.rulebase.base import RuleBase
from diagnose.science.control import confirmation_db

EFFECTS = (2.0, 2.5, 3.0)  # sigma that a fault moves the shots by
SHARES = (0.4, 0.3, 0.2, 0.1)  # of four suspects
SURE = 0.95
MOST_SHOTS = 9  # of a talk after one step
SETTING: Setting = "home"


@dataclass(frozen=True, slots=True)
class Declared:
    """How many of the declarations are true, the mean shots to one, and the share of faults that came to one."""

    true: float
    shots: float
    share: float


def _declared(tries: Sequence[tuple[bool, int] | None]) -> Declared:
    """Return the figures of tries, each None or (declared truly, shots)."""
    ended = [one for one in tries if one is not None]
    count = max(1, len(ended))
    return Declared(sum(t for t, _ in ended) / count, sum(s for _, s in ended) / count, len(ended) / max(1, len(tries)))


def weighed(effect: float, tries: int, *, threshold: float = SURE, seed: int = SEED) -> Declared:
    """Try cures of four suspects in order until one fault is declared fixed.

    A fault moves shots by `effect` sigma. A cure stays in place; after each shot the suspects' shares are weighed
    with `confirmation_db`, and the next cure is tried once the fault is as likely (`threshold`) to be still there.
    Those that ran out of suspects need no proof.
    """
    rng = Random(seed)  # noqa: S311 - simulated scatter, nothing secret
    faults = rng.choices(range(len(SHARES)), SHARES, k=tries)
    return _declared([_hunt(rng, fault, effect, threshold) for fault in faults])


def _hunt(rng: Random, fault: int, effect: float, threshold: float) -> tuple[bool, int] | None:
    weights, taken = list(SHARES), 0
    for cured in range(1, len(SHARES)):
        fixed = 0.5
        while 1.0 - threshold < fixed < threshold:
            taken += 1
            y = rng.gauss(0.0 if fault < cured else effect)
            ratio = 10.0 ** (confirmation_db(y, effect, 0.0, 1.0) / 10.0)
            weights = [weight * (ratio if i < cured else 1.0) for i, weight in enumerate(weights)]
            fixed = sum(weights[:cured]) / sum(weights)
        if fixed >= threshold:
            return fault < cured, taken
    return None


class Bench:
    """A talk's own judgement on shots in whole seconds, without the words; what was judged once is kept."""

    def __init__(self, base: RuleBase) -> None:
        """Compile the rules. Raises EngineUnavailable when the engine cannot be loaded."""
        self._base, self._assessor, self._composer = base, Assessor(base), Composer(base)
        self.advised = cache(self._advised)

    def _advised(self, *times: int) -> tuple[Assessment, NextStep]:
        """Return what is concluded and advised after shots of these times."""
        assessment = self._assessor.assess(_case(times))
        return assessment, self._composer.step(assessment)

    def judged(self, trial: Trial, *times: int) -> tuple[Outcome, Assessment]:
        """Return what a talk makes of the step under trial after shots of these times, and whether it is at its end.

        What to do instead is not worked out again: only `holds` and `proven` of the assessment are new.
        """
        case = _case(times)
        measures, known = self._assessor.know(case)
        told = Told(case, NO_HISTORY, measures, known)
        outcome = judge(self._base, self._assessor.tables(SETTING), trial, told)
        return outcome, closed(self._base, replace(trial.before, case=case, measures=measures, known=known), outcome)

    def talked(self, effect: float, tries: int, *, seed: int = SEED) -> Declared:
        """Take the steps a talk advises against faults of `effect` sigma, with the chance of a cure it counts on.

        Counted are faults that come to an adjustment, if need be after one repeat. Declared is "it holds": what the
        talk says after the next shots, until it says so, gives the step up or advises another.
        """
        rng = Random(seed)  # noqa: S311 - simulated scatter, nothing secret
        found = (self._try(rng, rng.choice((-effect, effect)) * DEFAULT_SIGMA_S) for _ in range(tries))
        return _declared([one for advised, one in found if advised])

    def _try(self, rng: Random, shift: float) -> tuple[bool, tuple[bool, int] | None]:
        """Return whether an adjustment was advised, and what was declared after it."""
        times: tuple[int, ...] = (_seconds(rng, shift),)
        if self.advised(*times)[1].kind != "adjust":
            times = (*times, _seconds(rng, shift))
        before, step = self.advised(*times)
        if step.kind != "adjust":
            return False, None
        cured = rng.random() < before.choice.solves
        trial, taken = Trial(before, step), len(times)
        while len(times) < taken + MOST_SHOTS:
            times = (*times, _seconds(rng, 0.0 if cured else shift))
            outcome, after = self.judged(trial, *times)
            if outcome.proven and after.proven:
                return True, (cured, len(times) - taken)
            if outcome.failed or (not after.holds and self.advised(*times)[1].kind == "adjust"):
                break
        return True, None


def _seconds(rng: Random, shift: float) -> int:
    """Return the time of a shot as a person reads it off."""
    return max(3, round(rng.gauss(TARGET_S + shift, DEFAULT_SIGMA_S)))


def _case(times: Sequence[int]) -> Case:
    weights = {name: RECIPE[name] for name in ("dose", "yield")}
    shots = (Shot(n, {**weights, "time": Quantity.exact(time, "s")}) for n, time in enumerate(times, 1))
    return Case(SETTING, tuple(shots), RECIPE, current=len(times))
