"""Steps whose size is a fixed small move."""

from diagnose.model import Amount
from diagnose.sizing.sized import Request, Sized

# One or two degrees change little by themselves (Batali, Ristenpart, Guinard, Sci Rep 10:16450, 2020: no appreciable
# difference between 87, 90 and 93 degC at fixed strength and extraction, filter coffee), so a step is at least two.
TEMPERATURE_STEP_DEGC = (2.0, 3.0)


def temperature_step(_request: Request) -> Sized:
    """Return the usual step of brew temperature in degC."""
    low, high = TEMPERATURE_STEP_DEGC
    return Sized(Amount(low, high, "degC"), (), {"amount": f"{low:g} to {high:g} degrees C"})
