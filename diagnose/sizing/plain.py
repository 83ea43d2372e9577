"""Steps whose size is a fixed small move."""

from diagnose.errors import OutOfRange
from diagnose.model import Amount
from diagnose.science.flow import time_factor
from diagnose.science.variation import repeats_needed
from diagnose.sizing.sized import Request, Sized, span

# One or two degrees change little by themselves (Batali, Ristenpart, Guinard, Sci Rep 10:16450, 2020: no appreciable
# difference between 87, 90 and 93 degC at fixed strength and extraction, filter coffee), so a step is at least two.
TEMPERATURE_STEP_DEGC = (2.0, 3.0)
USUAL_BREW_DEGC = 93.0  # common practice, no source
MOST_SHOTS = 490  # more repeats than this are not counted


def temperature_step(request: Request) -> Sized:
    """Return the usual step of brew temperature in degC, and how little it moves the time of the last shot.

    Fields beside the amount, where a time was told: `seconds`, by how much the water's viscosity alone changes it,
    and `shots`, how many at each setting would show that above the scatter. No time is promised: taste judges it.
    """
    low, high = TEMPERATURE_STEP_DEGC
    fields = {"amount": f"{low:g} to {high:g} degrees C"}
    time, before = request.measures.values.get("time"), request.measures.values.get("brew_temperature", USUAL_BREW_DEGC)
    if time is not None:
        sign = 1.0 if request.step.direction == "hotter" else -1.0
        changes = [time * abs(time_factor(1.0, before, before + sign * step) - 1.0) for step in (low, high)]
        fields |= {"seconds": span(changes[0], changes[1], "s"), "shots": str(_shots(request, sum(changes) / 2))}
    return Sized(Amount(low, high, "degC"), (), fields)


def _shots(request: Request, seconds: float) -> int:
    """Return, down to whole tens, how many shots at each setting tell a difference in s from the scatter."""
    try:
        count = repeats_needed(request.measures.target.sigma_s, seconds)
    except OutOfRange:
        return MOST_SHOTS
    return count if count < 10 else count // 10 * 10
