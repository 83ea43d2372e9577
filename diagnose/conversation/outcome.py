"""Did the last step help, and does it hold? All shots since are weighed against what was promised and against chance.

A better next shot proves little by itself: from a steady process the shot after a bad one is usually better with
nothing done. So the step's chance beforehand counts, the shots before it say where an uncured fault would keep the
next ones, one shot's numbers count for at most 15 dB, and nothing is called cured on one shot.
"""

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, replace
from math import exp, log, sqrt
from statistics import NormalDist

from diagnose.case.fold import STEP_RESULT, Case
from diagnose.case.history import History
from diagnose.case.measures import Measures, measures_of
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
# From here on, and from so many shots, a fault is called cured (simulated: `diagnose practice steady`).
SURE, LEAST_SHOTS = 0.96, 2
# Where an uncured fault may keep the shots, in sigma about the recipe, before any was seen (judgement, no source).
ASTRAY_SIGMA = 3.0
# Where a move may have carried them instead: this many sigma off, to either side (judgement, no source).
ELSEWHERE_SIGMA = (2.0, 3.0, 4.0, 6.0)
SPEED = "flow"
TINY = 1e-300


@dataclass(frozen=True, slots=True)
class Trial:
    """A step under trial, and the assessment it was advised on.

    `since` is the number of the last shot before the change before this one, 0 where nothing was changed before;
    `good_from` the number of the first of the latest shots nobody complained of.
    """

    before: Assessment
    step: NextStep
    since: int = 0
    good_from: int = 0


@dataclass(frozen=True, slots=True)
class Told:
    """What is known now: the case, the earlier shots that bear on it, the current shot's measures and findings."""

    case: Case
    history: History
    measures: Measures
    known: Known


@dataclass(frozen=True, slots=True)
class Outcome:
    """What came of a step: a verdict once a later shot was told; `failed` is its id where it did not help.

    `overshot`: the time went to the other side of the recipe. `proven` is how many shots in a row show that the fault
    is gone, 0 while they do not; without times nothing is proven.
    """

    verdict: Verdict | None = None
    failed: str | None = None
    overshot: bool = False
    proven: int = 0


NO_OUTCOME = Outcome()


def judge(base: RuleBase, tables: Tables, trial: Trial, told: Told) -> Outcome:
    """Return what the shots since a step say of it."""
    before, step = trial.before, trial.step
    shots = told.case.current - before.case.current
    if step.kind not in DOING or shots <= 0 or _undone(before, step, told.measures):
        return NO_OUTCOME
    chance = min(max(before.choice.solves, LEAST), MOST)
    prior = log(chance / (1.0 - chance))
    times = _times(told)
    times_db = _times_db(trial, told, times)
    said_db = _said_db(told.known)
    if said_db is None and not told.measures.values.get("time") and _same_again(base, before.known, told.known):
        said_db = SAID_DB["no_change"]
    seen_db = _seen_db(base, tables, before, told.known, timed=times_db is not None)
    fixed_db, moved_db = seen_db + (times_db or 0.0), _moved_db(before, step, told.measures)
    if said_db is not None:
        moved_db = said_db + (moved_db or 0.0)
        fixed_db += said_db if said_db < 0 or _said(told.known) == "gone" else 0.0
    fixed = _logistic(prior + fixed_db / DECIBANS)
    helped = fixed if moved_db is None else max(fixed, _logistic(prior + moved_db / DECIBANS))
    failed = helped < 0.5 and (fixed_db if moved_db is None else moved_db) < FAILED_DB
    good = _good_shots(trial, told, times) if fixed >= SURE else 0
    proven = good if good >= LEAST_SHOTS else 0
    return Outcome(Verdict(step.id, helped, fixed), step.id if failed else None, _overshot(before, step, told), proven)


def _good_shots(trial: Trial, told: Told, times: Mapping[int, float]) -> int:
    """Return how many shots in a row, the newest included, are on time at one setting with nobody complaining."""
    target, dial = told.measures.target, told.case.measured("dial")
    count = 0
    for shot in reversed(told.case.shots):
        own, time = shot.measures.get("dial"), times.get(shot.number)
        moved = dial is not None and own is not None and own.value != dial.value
        if time is None or moved or shot.number <= max(trial.before.case.current, trial.good_from - 1):
            break
        if abs(time - target.time_s) > 2.0 * target.sigma_s:
            break
        count += 1
    return count


def _overshot(before: Assessment, step: NextStep, told: Told) -> bool:
    """Return whether an adjustment carried the time from beyond two sigma on one side to beyond two on the other."""
    then, now = before.measures.values.get("time_z", 0.0), told.measures.values.get("time_z", 0.0)
    return step.kind == "adjust" and min(abs(then), abs(now)) > 2.0 and then * now < 0


def _times(told: Told) -> dict[int, float]:
    """Return the time in s at the recipe's yield of each shot told, by its number."""
    case, found = told.case, dict[int, float]()
    for place, shot in enumerate(case.shots, 1):
        until = replace(case, shots=case.shots[:place], current=shot.number)
        time = measures_of(until, told.history).projected_s
        if time is not None:
            found[shot.number] = time
    return found


def _times_db(trial: Trial, told: Told, times: Mapping[int, float]) -> float | None:
    """Return the evidence in dB of the times since a step that the fault is gone; None without times on both sides.

    Cured, they scatter about the recipe. Uncured they stay where the shots before the step were, or, where something
    was moved, half of the time end up elsewhere.
    """
    last = trial.before.case.current
    since = [time for number, time in times.items() if number > last]
    earlier = [time for number, time in times.items() if trial.since < number <= last]
    if not since or not earlier:
        return None
    goal = NormalDist(told.measures.target.time_s, told.measures.target.sigma_s)
    uncured = _stayed(since, earlier, goal)
    if trial.step.kind == "adjust":
        uncured = _mean_log([uncured, _elsewhere(since, goal)])
    return max(-CAP_DB * len(since), min(CAP_DB * len(since), DECIBANS * (_log_pdf(since, goal) - uncured)))


def _log_pdf(times: Sequence[float], about: NormalDist) -> float:
    """Return the log likelihood of independent times."""
    return sum(log(about.pdf(time) or TINY) for time in times)


def _mean_log(logs: Sequence[float]) -> float:
    """Return the log of the mean of numbers given by their logs."""
    top = max(logs)
    return top + log(sum(exp(one - top) for one in logs) / len(logs))


def _elsewhere(since: Sequence[float], goal: NormalDist) -> float:
    """Return the log likelihood of times about a mean that is off the recipe to either side, nobody knows how far."""
    offsets = [sign * sigma * goal.stdev for sigma in ELSEWHERE_SIGMA for sign in (-1, 1)]
    return _mean_log([_log_pdf(since, goal + offset) for offset in offsets])


def _stayed(since: Sequence[float], earlier: Sequence[float], goal: NormalDist) -> float:
    """Return the log likelihood of times whose mean is where `earlier` ones, from a wide normal prior, tell it is."""
    mean, variance, total = goal.mean, (ASTRAY_SIGMA * goal.stdev) ** 2, 0.0
    for place, time in enumerate((*earlier, *since)):
        if place >= len(earlier):
            total += _log_pdf([time], NormalDist(mean, sqrt(variance + goal.variance)))
        kept = goal.variance / (variance + goal.variance)
        mean, variance = mean + (1.0 - kept) * (time - mean), variance * kept
    return total


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


def _undone(before: Assessment, step: NextStep, measures: Measures) -> bool:
    """Return whether the dial's numbers say that a grind step was not made."""
    then, now = before.measures.values.get("dial"), measures.values.get("dial")
    return step.variable == "grind" and then is not None and then == now


def _done(before: Assessment, step: NextStep, measures: Measures) -> float:
    """Return how much of a grind step was made, by the dial's numbers where both shots have one; else all of it."""
    then, now = before.measures.values.get("dial"), measures.values.get("dial")
    if step.amount is None or step.amount.unit != "notch" or then is None or now is None:
        return 1.0
    return abs(now - then) / ((step.amount.low + step.amount.high) / 2)


def _seen_db(base: RuleBase, tables: Tables, before: Assessment, known: Known, *, timed: bool) -> float:
    """Return the evidence in dB that the fault is gone: what a good cup shows against what the fault shows.

    Findings of one cluster count once, the strongest; those of speed not at all where the times were weighed.
    """
    speed = base.findings[SPEED].cluster if timed and SPEED in base.findings else None
    fault = next((cause.id for cause in before.causes if cause.id in base.causes), None)
    strongest: dict[str, float] = {}
    for name, finding in known.findings.items():
        row: Row | None = tables.row(fault, name, known.active) if fault else None
        if row is None or name == STEP_RESULT or not (base.findings[name].per_shot or name == VERDICT):
            continue
        if timed and speed in {name, base.findings[name].cluster}:
            continue
        normal = share(tables.bases[name], finding.levels) / share(row, finding.levels)
        weight = DECIBANS * log(normal)
        cluster = base.findings[name].cluster or name
        if abs(weight) > abs(strongest.get(cluster, 0.0)):
            strongest[cluster] = weight
    return max(-2 * CAP_DB, min(2 * CAP_DB, sum(strongest.values())))
