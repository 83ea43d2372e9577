"""How many notches: a stated first guess before the grinder's own response is known."""

from math import ceil, floor, hypot

from diagnose.model import Amount, Range
from diagnose.science.control import GrindResponse, decide
from diagnose.sizing.sized import Request, Sized, number

# First guess of a notch on a stepped dial: 5 s, give or take 3 (common practice, no source; dials differ widely).
SECONDS_A_NOTCH = 5.0
SECONDS_A_NOTCH_SD = 3.0
# Where only a word was given for the speed: how far off the shot is taken to be, as a share of the recipe's time.
OFF_BY_WORD = {"gushing": -0.5, "fast": -0.25, "slow": 0.3, "choked": 1.0}
# Effects smaller than this many sigma cannot be told from scatter in the next shot.
VISIBLE_SIGMA = 2.5
MOST_NOTCHES = 4


def shot_deviations(request: Request) -> list[float]:
    """Return the deviations of the told shots from the recipe in sigma, in time order; the last is the current one."""
    measures = request.measures
    if "time_z" not in measures.values:
        return []
    target = measures.target
    earlier = [
        (shot.measures["time"].value - target.time_s) / target.sigma_s
        for shot in request.case.shots[:-1]
        if "time" in shot.measures
    ]
    return [*earlier, measures.values["time_z"]]


def grind_decision(request: Request) -> str:
    """Return "adjust", "repeat" or "hold" for the grind; without a time there is nothing to hold against."""
    deviations = shot_deviations(request)
    return decide(deviations) if deviations else "adjust"


def grind_step(request: Request) -> Sized:
    """Size a grind step from the time the shot missed its recipe by.

    The cautious gain of a guessed response (the less is known, the smaller the step), at least large enough to be
    seen above the scatter, at most `MOST_NOTCHES`. The expected time carries the guess's uncertainty.
    """
    target = request.measures.target
    now = request.measures.projected_s
    off = (now - target.time_s) if now is not None else OFF_BY_WORD.get(request.flow, -0.25) * target.time_s
    guess = GrindResponse.prior(0.0, (target.time_s + off, SECONDS_A_NOTCH), (1e-3, SECONDS_A_NOTCH_SD), target.sigma_s)
    wanted = max(abs(guess.step_to(target.time_s)), VISIBLE_SIGMA * target.sigma_s / SECONDS_A_NOTCH)
    low = min(max(1, floor(wanted)), MOST_NOTCHES)
    high = min(max(low, ceil(wanted)), MOST_NOTCHES)
    if low == high == 1:
        words = "1 notch (on a stepless dial: a small, visible turn)"
    else:
        words = f"{number(low)} to {number(high)} notches" if low != high else f"{number(low)} notches"
        words += " (a first guess: dials differ)"
    sign = 1.0 if request.step.direction == "finer" else -1.0
    expect: tuple[Range, ...] = ()
    if now is not None:
        middle = (low + high) / 2
        mean = now + sign * middle * SECONDS_A_NOTCH
        spread = hypot(middle * SECONDS_A_NOTCH_SD, target.sigma_s)
        # The change can only go one way, so the range starts where a visible change begins.
        seen = now + sign * target.sigma_s
        low_s, high_s = mean - spread, mean + spread
        low_s, high_s = (max(low_s, seen), high_s) if sign > 0 else (low_s, min(high_s, seen))
        expect = (Range("time", float(round(max(low_s, 1.0))), float(round(max(high_s, 2.0))), "s"),)
    return Sized(Amount(float(low), float(high), "notch"), expect, {"amount": words})
