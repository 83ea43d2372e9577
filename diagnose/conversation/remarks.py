"""Short notes beside the one thing to do: how to steam the milk told of, caffeine tasted, a result nobody expected."""

from statistics import fmean

from diagnose.conversation.assess import Assessment, other_brewer
from diagnose.conversation.figures import figure_notes
from diagnose.conversation.reply import Part
from diagnose.conversation.wording import Wording
from diagnose.errors import OutOfRange
from diagnose.science.caffeine import caffeine_mg, limits, shots_per_day
from diagnose.science.milk.heat import Steaming, condensate_g
from diagnose.science.milk.safety import COOKED_FROM_DEGC
from diagnose.science.milk.texturing import AIR_UNTIL_DEGC, shut_steam_at_degc, texturing_window
from diagnose.sizing.sized import number

FRIDGE_DEGC = 5.0  # the warmest milk may be kept: FDA Food Code 3-501.16 (41 degF), quoted in a state's adoption
START_FINDING, COLD = "milk_start_temp", ("cold",)
WAND_FINDING, WANDS = "wand_kind", frozenset({"open_tip", "sleeve"})
LEAST_STOP_DEGC, LEAST_SERVED_DEGC = 40.0, 50.0  # cooler milk is not textured, or not meant to be drunk hot
BOILER_BAR = 1.0  # gauge pressure while none is told (common practice, no source); it moves the water by a percent
COUNTED_EVERY = 3  # shots from one reminder of caffeine to the next


def remarks(wording: Wording, assessment: Assessment, before: Assessment | None) -> tuple[Part, ...]:
    """Return the notes beside the one thing to do. `before` is the turn before."""
    notes = (
        milk_note(wording, assessment),
        *figure_notes(wording, assessment, before),
        caffeine_note(wording, assessment, before),
    )
    return tuple(Part("note", text) for text in notes if text)


def milk_note(wording: Wording, assessment: Assessment) -> str:
    """Return when to take air in and when to shut the steam, "" while start and end of the milk are not both known.

    A machine or a frother that does it by itself is told nothing.
    """
    frother = assessment.known.findings.get(WAND_FINDING)
    if frother is not None and not WANDS & set(frother.levels):
        return ""
    values = assessment.measures.values
    start, stop, mass = values.get("milk_start"), values.get("milk_temperature"), values.get("milk_mass")
    if start is None and _from_the_fridge(wording, assessment):
        start = FRIDGE_DEGC
    if start is None or stop is None or stop < LEAST_STOP_DEGC:
        return ""
    try:
        said = _window(wording, start, stop)
        jug = None if mass is None else Steaming(mass, start, stop, values.get("boiler_pressure", BOILER_BAR))
        water = "" if jug is None else wording.say("milk_water", water=number(condensate_g(jug, stop)))
    except OutOfRange:
        return ""
    return f"{said} {water}".rstrip()


def _window(wording: Wording, start: float, stop: float) -> str:
    window = texturing_window(start, stop)
    fields = {"start": number(start), "stop": number(stop), "air": number(window.air_until_degc)}
    if start >= AIR_UNTIL_DEGC:
        return wording.say("milk_no_air", **fields)
    if not LEAST_SERVED_DEGC <= stop <= COOKED_FROM_DEGC:  # nobody should steam to there again
        return wording.say("milk_window", **fields)
    shut = shut_steam_at_degc(stop)
    return wording.say("milk_shut", **fields, low=number(shut.low), high=number(shut.high))


def _from_the_fridge(wording: Wording, assessment: Assessment) -> bool:
    """Return whether the person said that the milk comes from the fridge, in these words or as the answer asked for."""
    seen = assessment.case.observations.get(START_FINDING)
    if seen is None or seen.levels != COLD:
        return False
    return seen.source == "answered" or any(word in seen.text.lower() for word in wording.words("fridge"))


def caffeine_note(wording: Wording, assessment: Assessment, before: Assessment | None) -> str:
    """Return the caffeine of the doses told so far at every third shot, "" in between."""
    doses = _doses(assessment)
    told = len(doses) // COUNTED_EVERY
    if told == (len(_doses(before)) // COUNTED_EVERY if before is not None else 0) or not told:
        return ""
    each, adult = [caffeine_mg(dose) for dose in doses], limits()
    daily = shots_per_day(fmean(doses))
    return wording.say(
        "caffeine",
        count=str(len(doses)),
        low=number(sum(shot.low for shot in each), 10.0),
        high=number(sum(shot.high for shot in each), 10.0),
        single=number(adult.single_mg or adult.daily_mg),
        daily=number(adult.daily_mg),
        pregnant=number(limits("pregnant").daily_mg),
        fewest=number(daily.low),
        most=number(daily.high),
    )


def _doses(assessment: Assessment) -> list[float]:
    """Return the doses in g of the espressos told in this talk."""
    if other_brewer(assessment.known.findings):
        return []
    return [shot.measures["dose"].value for shot in assessment.case.shots if "dose" in shot.measures]
