"""How much to run through the grinder so that what comes next is of the setting that stands on it."""

from dataclasses import replace

from diagnose.model import Amount, Setting
from diagnose.science.flow import old_grounds_share, purge_for
from diagnose.sizing.grind import grind_step
from diagnose.sizing.sized import Request, Sized, number

# What a grinder keeps where nobody weighed it: a few grams at home, more in a large café grinder (common practice, no
# source; single-dose grinders keep less than one gram).
GUESSED_KEPT_G: dict[Setting, float] = {"home": 3.0, "service": 8.0, "training": 8.0}
# Of another coffee 20 to 60 g stand in throat and chamber and come first (common practice, no source).
OTHER_COFFEE_G = 20.0
OTHER_COFFEE = {"mixed_taste": "present", "grinder_shared": "other_before"}
USUAL_DOSE_G = 18.0  # common practice, no source
LEAST_PURGE_G = 1.0
PURGE_STEP = "purge_and_repeat"


def purge_step(request: Request) -> Sized:
    """Size the step that only purges: as much more as it was already tried without success."""
    return _purged(request, request.case.failed.count(PURGE_STEP))


def _purged(request: Request, tries: int) -> Sized:
    """Run as much through as leaves half of what the grinder keeps, a quarter after a try that did not help, and so on.

    Fields: `amount` in g; `first` and `second`, the share of old grounds the next two doses then hold; `guess`, what
    the grinder was taken to keep in g, or `kept`, what the person said.
    """
    kept, source = _kept(request)
    left = 0.5 ** (1 + tries)
    grams = float(max(LEAST_PURGE_G, round(purge_for(kept, left))))
    first, second = _shares(request, kept, grams)
    fields = {"amount": f"{number(grams)} g", "first": first, "second": second, source: number(kept, 0.1)}
    return Sized(Amount(grams, grams, "g"), (), fields)


def grind_step_with_purge(request: Request) -> Sized:
    """Size a grind step, and add what to throw out before the dose: `purge` in g, with the shares that leaves."""
    purge = _purged(request, 0).fields
    sized = grind_step(request)
    rest = {name: text for name, text in purge.items() if name != "amount"}
    return replace(sized, fields={**rest, **sized.fields, "purge": purge["amount"]})


def _kept(request: Request) -> tuple[float, str]:
    """Return what is old in the grinder in g, and "kept" where the person said it, else "guess"."""
    told, seen = request.measures.values.get("retained"), request.case.observations
    other = any(name in seen and seen[name].levels == (level,) for name, level in OTHER_COFFEE.items())
    guess = max(GUESSED_KEPT_G[request.case.setting], OTHER_COFFEE_G if other else 0.0)
    return (guess, "guess") if told is None or (other and told < guess) else (told, "kept")


def _shares(request: Request, kept: float, purged: float) -> tuple[str, str]:
    """Return the share of old grounds in the first and the second dose after purging, in whole percent."""
    dose = request.measures.values.get("dose") or request.measures.target.dose_g or USUAL_DOSE_G
    left = kept / (kept + purged)
    first, second = (left * old_grounds_share(kept, dose, shot) for shot in (1, 2))
    return _percent(first), _percent(second)


def _percent(share: float) -> str:
    return "under 1 %" if share < 0.01 else f"{number(100 * share)} %"
