"""Did the last step help? The shot after it is weighed against what was promised and against chance.

A better next shot proves little by itself: from a steady process the shot after a bad one is usually better with
nothing done. So the step's chance beforehand counts, and one shot's numbers count for at most 15 dB.
"""

from math import exp, log, sqrt

from diagnose.case.fold import STEP_RESULT
from diagnose.case.measures import Measures
from diagnose.conversation.assess import Assessment
from diagnose.conversation.placing import DOING
from diagnose.inference.forward import Known
from diagnose.inference.likelihood import VERDICT, Row, Tables, share
from diagnose.model import NextStep, Verdict
from diagnose.rulebase.base import RuleBase
from diagnose.science.control import DECIBANS, response_db
from diagnose.sizing.grind import EXPECTED_SD

CAP_DB = 15.0
# A person's own word, capped like one shot's numbers (judgement, no source).
SAID_DB = {"gone": 13.0, "better": 7.0, "no_change": -10.0, "worse": -13.0}
FAILED_DB = -3.0  # evidence weaker than this leaves it open whether a step failed
LEAST, MOST = 0.05, 0.95  # no step is taken for certain or for hopeless beforehand


def judge(
    base: RuleBase, tables: Tables, before: Assessment, step: NextStep, now: tuple[int, Measures, Known]
) -> tuple[Verdict | None, str | None]:
    """Return the verdict on `step` and its id if it failed; (None, None) while no later shot was told.

    `now` is the number of the current shot, its measures and what is known about it.
    """
    current, measures, known = now
    if step.kind not in DOING or current <= before.case.current:
        return None, None
    chance = min(max(before.choice.solves, LEAST), MOST)
    prior = log(chance / (1.0 - chance))
    said_db = _said_db(known)
    if said_db is None and not measures.values.get("time") and _same_again(base, before.known, known):
        said_db = SAID_DB["no_change"]
    fixed_db, moved_db = _fixed_db(base, tables, before, known), _moved_db(before, step, measures)
    if said_db is not None:
        moved_db = said_db + (moved_db or 0.0)
        fixed_db += said_db if said_db < 0 or _said(known) == "gone" else 0.0
    fixed = _logistic(prior + fixed_db / DECIBANS)
    helped = fixed if moved_db is None else max(fixed, _logistic(prior + moved_db / DECIBANS))
    failed = helped < 0.5 and (fixed_db if moved_db is None else moved_db) < FAILED_DB
    return Verdict(step.id, helped, fixed), step.id if failed else None


def unexpected(before: Assessment, step: NextStep, now: tuple[int, Measures]) -> bool:
    """Return whether the time after an adjustment lies outside the range it was to fall into, on either side.

    `now` is the number of the current shot and its measures. Nothing is unexpected where no time was promised or
    told, where the shot is the one from before, or where the dial says that the step was made larger or smaller.
    """
    current, measures = now
    wanted = next((r for r in step.expect if r.name == "time"), None)
    if step.kind != "adjust" or wanted is None or current <= before.case.current:
        return False
    # A step of the yield promises the time at the new yield, any other that at the recipe's.
    time = measures.values.get("time") if step.variable == "yield" else measures.projected_s
    if time is None or not _as_advised(before, step, measures):
        return False
    return not wanted.low <= time <= wanted.high


def _as_advised(before: Assessment, step: NextStep, measures: Measures) -> bool:
    """Return whether the dial moved as far as a grind step said; True where its numbers are not told."""
    then, now = before.measures.values.get("dial"), measures.values.get("dial")
    if step.amount is None or step.amount.unit != "notch" or then is None or now is None:
        return True
    return step.amount.low <= abs(now - then) <= step.amount.high


def _same_again(base: RuleBase, before: Known, now: Known) -> bool:
    """Return whether a symptom of the shot before was told of this one in the same words: "still bitter"."""
    return any(
        spec.symptom and spec.per_shot and spec.normal not in found.levels and found.source == "said"
        for name, found in now.findings.items()
        if name in before.findings and found.levels == before.findings[name].levels and (spec := base.findings[name])
    )


def _said(known: Known) -> str | None:
    """Return what the person said of the step, if it is one thing."""
    found = known.findings.get(STEP_RESULT)
    return found.levels[0] if found is not None and len(found.levels) == 1 else None


def _said_db(known: Known) -> float | None:
    """Return the evidence in dB of the person's own word on the step, or None where they gave none."""
    said = _said(known)
    return SAID_DB[said] if said is not None else None


def _logistic(x: float) -> float:
    return 1.0 / (1.0 + exp(-x))


def _moved_db(before: Assessment, step: NextStep, measures: Measures) -> float | None:
    """Return the evidence in dB that the time moved as predicted, or None where there is nothing to compare."""
    wanted = next((r for r in step.expect if r.name == "time"), None)
    if wanted is None or before.measures.projected_s is None or measures.projected_s is None:
        return None
    sigma, start = measures.target.sigma_s, before.measures.projected_s
    spread = (wanted.high - wanted.low) / 2 / EXPECTED_SD
    done = _done(before, step, measures)
    middle = start + done * ((wanted.low + wanted.high) / 2 - start)
    response = (middle, done * sqrt(max(spread**2 - sigma**2, 0.0)))
    return response_db(measures.projected_s, start, response, sigma, CAP_DB)


def _done(before: Assessment, step: NextStep, measures: Measures) -> float:
    """Return how much of a grind step was made, by the dial's numbers where both shots have one; else all of it."""
    then, now = before.measures.values.get("dial"), measures.values.get("dial")
    if step.amount is None or step.amount.unit != "notch" or then is None or now is None or then == now:
        return 1.0
    return abs(now - then) / ((step.amount.low + step.amount.high) / 2)


def _fixed_db(base: RuleBase, tables: Tables, before: Assessment, known: Known) -> float:
    """Return the evidence in dB that the fault is gone: what a good cup shows against what the fault shows.

    Findings of one cluster count once, the strongest.
    """
    fault = next((cause.id for cause in before.causes if cause.id in base.causes), None)
    strongest: dict[str, float] = {}
    for name, finding in known.findings.items():
        row: Row | None = tables.row(fault, name, known.active) if fault else None
        if row is None or name == STEP_RESULT or not (base.findings[name].per_shot or name == VERDICT):
            continue
        normal = share(tables.bases[name], finding.levels) / share(row, finding.levels)
        weight = DECIBANS * log(normal)
        cluster = base.findings[name].cluster or name
        if abs(weight) > abs(strongest.get(cluster, 0.0)):
            strongest[cluster] = weight
    return max(-2 * CAP_DB, min(2 * CAP_DB, sum(strongest.values())))
