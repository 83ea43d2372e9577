"""How many notches: a stated first guess, and the grinder's own response once two settings have been tried."""

from collections.abc import Sequence
from dataclasses import replace
from math import ceil, floor, hypot, sqrt

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
BRACKET_NOTCHES = 8
# The next shot falls into the stated range four times in five if the step does what it should.
EXPECTED_SD = 1.28
# Belief about a dial before its own shots tell: within 10 s of the recipe, 3 s a notch give or take 2.
PRIOR_LEVEL_SD, PRIOR_SLOPE, PRIOR_SLOPE_SD = 10.0, 3.0, 2.0
# What a new bag, basket or dose may move level (s) and slope (s a notch) by: judgement, no source.
RENEWED_SD = (8.0, 1.0)
DIAL_DIRECTION = "dial_direction"
# One odd shot among good ones is repeated, not followed: so many shots together must ask for half a notch at least.
# Simulated steady bars: following it makes the variance up to 1.22 times as large, waiting at most 1.06 times.
RECENT_SHOTS, LEAST_NOTCH = 6, 0.5


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
    decision = decide(deviations) if deviations else "adjust"
    return "repeat" if decision == "adjust" and _odd_one_out(request) else decision


def _odd_one_out(request: Request) -> bool:
    """Return whether the last shots with the dial's number, taken together, ask for less than half a notch."""
    shots = _on_the_dial(request)[-RECENT_SHOTS:]
    response = _response(request, shots, _sign(request) or 1.0)
    one_setting = len({notch for notch, _ in shots}) == 1
    if response is None or len(shots) < 2 or not (one_setting or _sign(request)):
        return False
    return abs(response.step_to(request.measures.target.time_s, shots[-1][0])) < LEAST_NOTCH


def grind_step(request: Request) -> Sized:
    """Size a grind step: from the grinder's own response where the dial's numbers tell it, else a stated guess."""
    known = learned(request)
    sized = _learned_step(request, *known) if known is not None else _guessed_step(request)
    recipe = request.case.recipe.get("yield")
    weight = "the same weight" if recipe is None else f"{number(recipe.value, 0.1)} g"
    return replace(sized, fields={**sized.fields, "to": weight})


def _guessed_step(request: Request) -> Sized:
    """Size a step from the time the shot missed its recipe by.

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
    words = f"{low} to {high} notches" if low != high else f"{low} notch{'es' if low > 1 else ''}"
    sign = 1.0 if request.step.direction == "finer" else -1.0
    expect: tuple[Range, ...] = ()
    if now is not None:
        middle = (low + high) / 2
        expect = _expected(now, now + sign * middle * SECONDS_A_NOTCH, middle * SECONDS_A_NOTCH_SD, target.sigma_s)
    return Sized(Amount(float(low), float(high), "notch"), expect, {"amount": f"{words} (a first guess: dials differ)"})


def learned(request: Request) -> tuple[GrindResponse, float] | None:
    """Return the grinder's response and the dial's number now, or None while two settings have not been tried.

    They may have been tried with an earlier bag or dose, whose response is where this one's starts. Which way is finer
    is the person's word, or a slope clearly different from zero; it is never guessed.
    """
    shots, sign = _on_the_dial(request), _sign(request)
    response = _response(request, shots, sign)
    stretches = (shots, *request.history.before)
    if response is None or all(len({notch for notch, _ in stretch}) < 2 for stretch in stretches):
        return None
    dial = shots[-1][0]
    response = response.at(dial)
    slope, variance = response.mean[1], response.cov[1][1]
    clear = slope * sign > 0 if sign else abs(slope) > 2 * sqrt(variance)
    return (response, dial) if clear else None


def _on_the_dial(request: Request) -> list[tuple[float, float]]:
    """Return the shots told with the dial's number, as (notch, time in s); none where the current one is not."""
    dial, time = request.case.measured("dial"), request.measures.projected_s
    return [] if dial is None or time is None else [*request.history.grind, (dial.value, time)]


def _sign(request: Request) -> float:
    """Return 1 where a higher number is finer, -1 where a lower one is, 0 where nobody said."""
    direction = request.case.observations.get(DIAL_DIRECTION)
    return {"higher": 1.0, "lower": -1.0}.get(" ".join(direction.levels) if direction else "", 0.0)


def _response(request: Request, shots: Sequence[tuple[float, float]], sign: float) -> GrindResponse | None:
    """Return what shots, and the stretches before them, tell of the dial that gets finer with `sign`."""
    if not shots:
        return None
    slope, slope_sd = (sign * PRIOR_SLOPE, PRIOR_SLOPE_SD) if sign else (0.0, 2 * PRIOR_SLOPE_SD)
    target, (*before, now) = request.measures.target, (*request.history.before, shots)
    origin = (before[0] if before else now)[0][0]
    response = GrindResponse.prior(origin, (target.time_s, slope), (PRIOR_LEVEL_SD, slope_sd), target.sigma_s)
    for stretch in before:
        response = _updated(response, stretch).at(stretch[-1][0]).renewed(RENEWED_SD)
    return _updated(response, now)


def _updated(response: GrindResponse, shots: Sequence[tuple[float, float]]) -> GrindResponse:
    """Return the belief after shots at one bag and dose."""
    for notch, seconds in shots:
        response = response.update(notch, seconds)
    return response


def _learned_step(request: Request, response: GrindResponse, dial: float) -> Sized:
    """Size a step from the grinder's response: cautious, visible, then rounded to whole notches."""
    target = request.measures.target
    slope = response.mean[1]
    sign = (1.0 if request.step.direction == "finer" else -1.0) * (1.0 if slope > 0 else -1.0)
    wanted = response.step_to(target.time_s) * sign
    if wanted <= 0:
        return _guessed_step(request)
    notches = min(max(1, round(wanted)), BRACKET_NOTCHES)
    words = f"{notches} notch{'es' if notches > 1 else ''}, to {number(dial + sign * notches, 0.1)} on the dial"
    hidden = notches < VISIBLE_SIGMA * target.sigma_s / abs(slope)
    words += f" ({number(wanted, 0.1)} by your own shots{'; so small a step can hide in the scatter' * hidden})"
    there = response.predict(dial + sign * notches)
    low, high = there.mean - EXPECTED_SD * there.sd, there.mean + EXPECTED_SD * there.sd
    expect = (Range("time", float(round(max(low, 1.0))), float(round(max(high, 2.0))), "s"),)
    raw = round(wanted, 1)
    return Sized(Amount(min(raw, notches), max(raw, notches), "notch"), expect, {"amount": words})


def _expected(now: float, mean: float, doubt: float, sigma: float) -> tuple[Range, ...]:
    """Return the range of the next time; a change can only go one way, so it starts where one becomes visible."""
    half = EXPECTED_SD * hypot(doubt, sigma)
    low, high = mean - half, mean + half
    low, high = (max(low, now + sigma), high) if mean > now else (low, min(high, now - sigma))
    return (Range("time", float(round(max(low, 1.0))), float(round(max(high, 2.0))), "s"),)
