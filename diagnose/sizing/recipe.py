"""How many grams: dose and yield brought to the recipe, or the yield moved to suit the roast."""

from diagnose.errors import OutOfRange
from diagnose.model import Amount, Quantity, Range, Setting
from diagnose.science.extraction import effect_of_yield
from diagnose.science.flow import dose_time_factor, time_at_yield
from diagnose.sizing.sized import Request, Sized, number, span

# How closely the yield is met by hand: a trained bar within half a gram, at home 1.5 to 2 g (common practice).
YIELD_WITHIN_G: dict[Setting, float] = {"home": 2.0, "service": 0.5, "training": 0.5}
# Ratios to try first where the roast does not suit the recipe (common practice, no source).
LONGER_RATIO, SHORTER_RATIO, USUAL_RATIO = 2.5, 1.7, 2.0
UNSIZED_DOSE_G = 1.0


def _value(quantity: Quantity | None) -> float | None:
    return None if quantity is None else quantity.value


def dose_to_recipe(request: Request) -> Sized:
    """Bring the dose back to the recipe in one step, and say what time to expect at the same grind.

    Without a recipe or a weighed dose it is one gram, the most that should move blindly.
    """
    measures = request.measures
    dose, wanted = measures.values.get("dose"), measures.target.dose_g or measures.values.get("basket_size")
    sign = 1.0 if request.step.direction == "more" else -1.0
    if dose is None or wanted is None or (wanted - dose) * sign <= 0.05:
        fields = {"amount": f"{number(UNSIZED_DOSE_G, 0.1)} g", "to": "your recipe's dose", "from": "what it was"}
        return Sized(Amount(0.5, UNSIZED_DOSE_G, "g"), (), fields)
    change = abs(wanted - dose)
    expect = [Range("dose", round(wanted - 0.2, 1), round(wanted + 0.2, 1), "g")]
    if measures.projected_s is not None:
        factor = dose_time_factor(dose, wanted)
        sigma = measures.target.sigma_s
        low, high = sorted((measures.projected_s * factor.low, measures.projected_s * factor.high))
        expect.append(Range("time", float(round(max(low - sigma, 1.0))), float(round(high + sigma)), "s"))
    fields = {"amount": f"{number(change, 0.1)} g", "from": f"{number(dose, 0.1)} g", "to": f"{number(wanted, 0.1)} g"}
    return Sized(Amount(round(change, 1), round(change, 1), "g"), tuple(expect), fields)


def yield_to_recipe(request: Request) -> Sized:
    """Bring the yield to the recipe at the same grind, and say what that does to time and strength."""
    target = request.measures.target
    return _yield_step(request, target.yield_g, (USUAL_RATIO, USUAL_RATIO))


def yield_for_roast(request: Request) -> Sized:
    """Move the yield to a ratio that suits a lighter (longer) or darker (shorter) roast."""
    dose = request.measures.values.get("dose") or request.measures.target.dose_g
    ratio = LONGER_RATIO if request.step.direction == "longer" else SHORTER_RATIO
    return _yield_step(request, None if dose is None else dose * ratio, (LONGER_RATIO, SHORTER_RATIO))


def _yield_step(request: Request, wanted: float | None, ratios: tuple[float, float]) -> Sized:
    """Size a step of the yield to `wanted` g; while no dose is known, in g a gram: `ratios` when longer, shorter."""
    measures = request.measures
    now = measures.values.get("yield")
    sign = 1.0 if request.step.direction == "longer" else -1.0
    if wanted is None:
        ratio = ratios[0] if sign > 0 else ratios[1]
        words = f"{number(ratio, 0.1)} g in the cup for each gram of coffee"
        return Sized(None, (), {"amount": "a quarter", "from": "what it was", "to": words, "effect": ""})
    if now is None or (wanted - now) * sign <= 0.5:
        now = now or measures.target.yield_g or wanted
        wanted = wanted if (wanted - now) * sign > 0.5 else now * (1.25 if sign > 0 else 0.85)
    within = YIELD_WITHIN_G[request.case.setting]
    expect = [Range("yield", round(wanted - within, 1), round(wanted + within, 1), "g")]
    time = measures.values.get("time")
    if time is not None:
        reached = time_at_yield(time, now, wanted, measures.values.get("first_drops"), measures.values.get("flow_rate"))
        spread = measures.target.sigma_s + reached.sd
        low, high = max(reached.seconds - spread, 1.0), reached.seconds + spread
        expect.append(Range("time", float(round(low)), float(round(high)), "s"))
    change = float(round(abs(wanted - now)))
    fields = {
        "amount": f"{number(change)} g",
        "from": f"{number(now)} g",
        "to": f"{number(wanted)} g",
        "effect": _effect(request, now, wanted),
        **_reading(request, now, wanted),
    }
    return Sized(Amount(change, change, "g"), tuple(expect), fields)


def _effect(request: Request, now: float, wanted: float) -> str:
    """Return in a sentence what the change of yield does to strength and extraction, in whole percent."""
    dose = request.measures.values.get("dose") or request.measures.target.dose_g
    if dose is None:
        return ""
    try:
        effect = effect_of_yield(dose, now, wanted)
    except OutOfRange:
        return ""
    strength = round(abs(effect.strength_factor - 1.0) * 100)
    ends = sorted(abs(end - 1.0) * 100 for end in (effect.extraction_low, effect.extraction_high))
    more, stronger = ("more", "weaker") if wanted > now else ("less", "stronger")
    return f"That makes it about {strength} % {stronger}, with {span(ends[0], ends[1], '%')} {more} extracted."


def _reading(request: Request, now: float, wanted: float) -> dict[str, str]:
    """Return what a refractometer should then show: `extracted` and `tds` in %; nothing where it was not read now."""
    dose, extraction = request.measures.values.get("dose"), request.measures.values.get("extraction")
    if dose is None or extraction is None:
        return {}
    try:
        effect = effect_of_yield(dose, now, wanted, extraction)
    except OutOfRange:
        return {}
    if effect.extraction_pct is None or effect.tds_pct is None:
        return {}
    low, high = (extraction * end for end in (effect.extraction_low, effect.extraction_high))
    return {"extracted": span(low, high, "%"), "tds": number(effect.tds_pct, 0.5)}
