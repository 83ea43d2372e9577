"""Short notes from the numbers told: extraction, beans, old grounds, what chance or hotter water would do by itself.

None in service, where a queue waits, but for what changes the step itself.
"""

from collections.abc import Callable

from diagnose.conversation.assess import Assessment
from diagnose.conversation.wording import Wording
from diagnose.errors import OutOfRange
from diagnose.science.beans import (
    WINDOWS_DAYS,
    AgeState,
    Roast,
    age_state,
    oxygen_factor,
    thaw_time,
    warmth_factor,
    water_activity_factor,
)
from diagnose.science.control import next_closer_probability
from diagnose.science.extraction import tds_for
from diagnose.science.flow import size_ratio_for, time_factor
from diagnose.sizing.sized import number

MOST_NOTES = 2
USUAL_EXTRACTION_PCT = (18.0, 22.0)  # what training material calls well extracted (common practice, no source)
TARGET_EXTRACTION_PCT = 20.0
ROAST_FINDING, STATE_FINDING, COLD = "roast", "bean_state", ("cold_or_damp",)
ROASTS: dict[str, Roast] = {"light": "light", "medium": "medium", "dark": "dark", "very_dark": "dark"}
THAW_STEP, STORAGE_STEP = "let_beans_warm", "fresh_beans"
A_BAG_G, A_KILO_G = 250.0, 1000.0
# The ends of the published test: oxygen in kPa, water activity from dry to moist; and ten degrees at room warmth.
OXYGEN_KPA, WATER_ACTIVITY, ROOM_DEGC = (0.5, 21.3), (0.1, 0.4), (20.0, 30.0)

Note = Callable[[Wording, Assessment], str]


def figure_notes(wording: Wording, assessment: Assessment, before: Assessment | None) -> list[str]:
    """Return at most two notes; what was not yet to be said the turn before comes first."""
    earlier = _all(wording, before) if before is not None else []
    notes = sorted(_all(wording, assessment), key=lambda text: text in earlier)
    return notes[:MOST_NOTES]


def _all(wording: Wording, assessment: Assessment) -> list[str]:
    """Return all notes that the numbers of a turn call for, the most useful first."""
    if assessment.case.setting == "service":
        return [thaw_note(wording, assessment)] if assessment.choice.id == THAW_STEP else []
    notes: tuple[Note, ...] = (
        chance_note,
        purge_note,
        temperature_note,
        extraction_note,
        reading_note,
        age_note,
        thaw_note,
        storage_note,
        packed_bed_note,
    )
    return [text for note in notes if (text := note(wording, assessment))]


def chance_note(wording: Wording, assessment: Assessment) -> str:
    """Return how often the next shot is closer with nothing done, where a shot is to be repeated first."""
    z = assessment.measures.values.get("time_z")
    if not assessment.repeat_first or z is None or "onset" in assessment.known.findings:  # something is known to be new
        return ""
    closer = min(99, int(100.0 * next_closer_probability(min(abs(z), 38.0))))
    return wording.say("next_closer", count=str(closer))


def purge_note(wording: Wording, assessment: Assessment) -> str:
    """Return how much of the next two shots is old grounds; for a grind step only by what the grinder itself keeps."""
    fields = assessment.sized.fields
    if "kept" not in fields and ("guess" not in fields or "purge" in fields):
        return ""
    key, kept = ("purge_told", fields["kept"]) if "kept" in fields else ("purge_guess", fields["guess"])
    thrown = fields.get("purge", fields["amount"])
    return wording.say(key, kept=kept, thrown=thrown, first=fields["first"], second=fields["second"])


def temperature_note(wording: Wording, assessment: Assessment) -> str:
    """Return how little a step of brew temperature moves the time."""
    fields = assessment.sized.fields
    if "seconds" not in fields:
        return ""
    key = "hotter_runs" if wording.base.steps[assessment.choice.id].direction == "hotter" else "cooler_runs"
    return wording.say(key, seconds=fields["seconds"], shots=fields["shots"])


def extraction_note(wording: Wording, assessment: Assessment) -> str:
    """Return the extraction yield of the shot and, outside the usual, which reading 20 % would be at this weight."""
    values = assessment.measures.values
    extraction, dose, drink = (values.get(name) for name in ("extraction", "dose", "yield"))
    if extraction is None or dose is None or drink is None or "extracted" in assessment.sized.fields:
        return ""
    low, high = USUAL_EXTRACTION_PCT
    fields = {"extraction": number(extraction), "low": number(low), "high": number(high)}
    if low <= round(extraction) <= high:
        return wording.say("extracted_usual", **fields)
    try:
        tds = tds_for(TARGET_EXTRACTION_PCT, drink, dose)
    except OutOfRange:
        return ""
    return wording.say("extracted_off", **fields, target=number(TARGET_EXTRACTION_PCT), tds=f"{tds:.1f}")


def reading_note(wording: Wording, assessment: Assessment) -> str:
    """Return what a step of the yield does to extraction and reading, where both are known now."""
    fields = assessment.sized.fields
    if "extracted" not in fields:
        return ""
    extraction = number(assessment.measures.values["extraction"])
    return wording.say("extracted_then", extraction=extraction, extracted=fields["extracted"], tds=fields["tds"])


def age_note(wording: Wording, assessment: Assessment) -> str:
    """Return where the beans stand in the window of their roast, "" inside it or while the roast leaves it open."""
    values = assessment.measures.values
    days, opened = values.get("bean_age"), values.get("days_open")
    if (days is None and opened is None) or assessment.complaint != "shot":
        return ""
    roasts = _roasts(assessment)
    try:
        states = [age_state(days, roast, opened) for roast in roasts]
    except OutOfRange:  # opened before it was roasted: one of the two is mistaken
        return ""
    if len({state.state for state in states}) > 1 or states[0].state == "in_window":
        return ""
    return _age_text(wording, states[0], days, opened, roasts)


def _roasts(assessment: Assessment) -> list[Roast]:
    """Return the roasts that what was seen leaves open, all of them while nothing was."""
    seen = assessment.known.findings.get(ROAST_FINDING)
    return list(dict.fromkeys(ROASTS[level] for level in (seen.levels if seen is not None else ROASTS)))


def _age_text(wording: Wording, state: AgeState, days: float | None, opened: float | None, roasts: list[Roast]) -> str:
    reason = state.reasons[-1]
    if reason.startswith("opened") and opened is not None:
        fields = {"open": number(opened), "state": wording.entry("bean_opened_state", reason)}
        return wording.say("bean_opened", **fields)
    if days is None:
        return ""
    first, last = min(WINDOWS_DAYS[roast][0] for roast in roasts), max(WINDOWS_DAYS[roast][1] for roast in roasts)
    window = {"first": number(first), "last": number(last)}
    key = "bean_days" if len(roasts) == 1 else "bean_days_any"
    return wording.say(key, days=number(days), state=wording.entry("bean_state", reason), **window)


def thaw_note(wording: Wording, assessment: Assessment) -> str:
    """Return how long frozen beans stay closed, where the freezer was named or warming up is the step."""
    seen = assessment.case.observations.get(STATE_FINDING)
    words = wording.words("freezer")
    named = seen is not None and seen.levels == COLD and any(word in seen.text.lower() for word in words)
    if not named and assessment.choice.id != THAW_STEP:
        return ""
    bag, kilo = thaw_time(A_BAG_G), thaw_time(A_KILO_G)
    hours = {"low": bag.low, "high": bag.high, "kilo_low": kilo.low, "kilo_high": kilo.high}
    return wording.say("thaw", **{name: number(value) for name, value in hours.items()})


def storage_note(wording: Wording, assessment: Assessment) -> str:
    """Return what counts in keeping beans, as published, where a fresher bag is the step."""
    if assessment.choice.id != STORAGE_STEP:
        return ""
    air, damp, warm = oxygen_factor(*OXYGEN_KPA), water_activity_factor(*WATER_ACTIVITY), warmth_factor(*ROOM_DEGC)
    return wording.say("storage", air=number(air), damp=number(damp), warm=number(100.0 * (warm - 1.0), 5.0))


def packed_bed_note(wording: Wording, assessment: Assessment) -> str:
    """Return for a training bar what the law of packed beds says of a grind step: a guide to size, no setting."""
    now, wanted = assessment.measures.projected_s, assessment.measures.target.time_s
    step = wording.base.steps.get(assessment.choice.id)
    if assessment.case.setting != "training" or now is None or step is None or step.variable != "grind":
        return ""
    if assessment.repeat_first:
        return ""
    try:
        size = size_ratio_for(wanted / now)
    except OutOfRange:
        return ""
    share = 100.0 * (time_factor(0.9) - 1.0)
    fields = {"now": number(now), "wanted": number(wanted), "size": number(100.0 * size, 5.0)}
    return wording.say("packed_bed", share=number(share), **fields)
