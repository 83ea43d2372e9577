"""Did the last step help? The shot after it is weighed against what was promised and against chance.

A better next shot proves little by itself: from a steady process the shot after a bad one is usually better with
nothing done. So the step's chance beforehand counts, and one shot's numbers count for at most 15 dB.
"""

from math import exp, hypot, log

from diagnose.case.measures import Measures
from diagnose.conversation.assess import Assessment
from diagnose.conversation.placing import DOING
from diagnose.inference.forward import Known
from diagnose.inference.likelihood import VERDICT, Row, Tables, share
from diagnose.model import NextStep, Verdict
from diagnose.rulebase.base import RuleBase
from diagnose.science.control import DECIBANS, confirmation_db

CAP_DB = 15.0
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
    moved_db = _moved(before, step, measures)
    fixed = _logistic(prior + _fixed_db(base, tables, before, known) / DECIBANS)
    helped = fixed if moved_db is None else max(fixed, _logistic(prior + moved_db / DECIBANS))
    verdict = Verdict(step.id, helped, fixed)
    return verdict, step.id if helped < 0.5 else None


def _logistic(x: float) -> float:
    return 1.0 / (1.0 + exp(-x))


def _moved(before: Assessment, step: NextStep, measures: Measures) -> float | None:
    """Return the evidence in dB that the time moved as predicted, or None where there is nothing to compare."""
    wanted = next((r for r in step.expect if r.name == "time"), None)
    if wanted is None or before.measures.projected_s is None or measures.projected_s is None:
        return None
    middle, half = (wanted.low + wanted.high) / 2, (wanted.high - wanted.low) / 2
    sigma = hypot(measures.target.sigma_s, half / 2)
    return confirmation_db(measures.projected_s, before.measures.projected_s, middle, sigma, CAP_DB)


def _fixed_db(base: RuleBase, tables: Tables, before: Assessment, known: Known) -> float:
    """Return the evidence in dB that the fault is gone: what a good cup shows against what the fault shows.

    Findings of one cluster count once, the strongest.
    """
    fault = next((cause.id for cause in before.causes if cause.id in base.causes), None)
    strongest: dict[str, float] = {}
    for name, finding in known.findings.items():
        row: Row | None = tables.row(fault, name, known.active) if fault else None
        if row is None or not (base.findings[name].per_shot or name == VERDICT):
            continue
        normal = share(tables.bases[name], finding.levels) / share(row, finding.levels)
        weight = DECIBANS * log(normal)
        cluster = base.findings[name].cluster or name
        if abs(weight) > abs(strongest.get(cluster, 0.0)):
            strongest[cluster] = weight
    return max(-2 * CAP_DB, min(2 * CAP_DB, sum(strongest.values())))
