"""The answer to a text about a water: heard, hardness and alkalinity, machine, cup, table, treatment, cautions."""

from diagnose.errors import DiagnoseError, OutOfRange
from diagnose.report.answer import Answer
from diagnose.report.digits import Figure, plain
from diagnose.report.said import Asked
from diagnose.report.water_fields import enter
from diagnose.report.water_figures import Findings, findings
from diagnose.report.water_reading import Request
from diagnose.report.water_said import WaterSaid
from diagnose.report.water_text import (
    amount_line,
    cautions,
    corrosion_lines,
    index_line,
    overall_line,
    reasons,
    table_lines,
    taste_line,
    taste_ranges,
)
from diagnose.report.water_treatment import Blended, Dosed, base_of, blended, dosed
from diagnose.report.water_words import ION_FIELDS
from diagnose.science.water.dosing import DOSING_CAUTIONS, SALTS, Recipe
from diagnose.science.water.meter import convert_ppm
from diagnose.science.water.standard import BREWING_WATER, compare_item

EXAMPLE = "Ca 72 mg/L, Mg 26 mg/L, HCO3 133 mg/L"
TABLE = "Against the published table for brewing water (SCAA, 2009):"
_SOLIDS = BREWING_WATER[1]


def answer(request: Request, recipe: Recipe | None = None) -> Answer:
    """Return the answer to a request; `recipe` names salts and concentrates for dosing.

    The fields of a blend (`blend_...`) and of a dosing (`dose_...`) are there only when they were asked for. Raises
    Asked when nothing was told, DiagnoseError for half an order, and OutOfRange for what no formula covers.
    """
    first, said = request.first, Answer("water")
    dosing = request.dose_litres is not None
    if dosing and request.second is not None:
        raise DiagnoseError("Blending and dosing are two steps: ask for the blend, then dose what came out of it.")
    if not (first.values or dosing):
        which = "the first water" if request.second else "a water"
        raise Asked(f"I found no number that tells of {which}. Write for example “{EXAMPLE}” or “GH 8, KH 5”.")
    blend, dose = blended(request), dosed(request, recipe or Recipe())
    found = findings(base_of(request), first.places)
    _heard(said, request)
    enter(said, found, "")
    if first.halves or not dosing:
        _water(said, first, found)
    else:
        said.fields |= {"reasons": [], "taste": None}
    if blend is not None:
        _blend(said, blend)
    if dose is not None:
        _dose(said, dose)
    _open(said, request, found)
    warned = [line for one in (found, *(each.result for each in (blend, dose) if each)) for line in cautions(one)]
    warned += DOSING_CAUTIONS if dose is not None else ()
    said.listed("Cautions:", list(dict.fromkeys(warned)), "cautions")
    return said


def _heard(said: Answer, request: Request) -> None:
    """Say back what was understood, and what was not used."""
    first, second = request.first, request.second
    heard = [*first.heard, *([] if first.values else ["pure water, as nothing is told of it"])]
    lines = [f"Heard: {', '.join(heard)}."]
    if second is not None:
        lines.append(f"Second water: {', '.join(second.heard)}.")
    not_used = [*first.not_used, *(second.not_used if second else [])]
    if not_used:
        lines.append(f"Not used: {', '.join(not_used)}.")
    said.block(*lines)
    said.fields |= {"heard": heard, "heard_second": list(second.heard) if second else [], "not_used": not_used}


def _water(said: Answer, told: WaterSaid, found: Findings) -> None:
    """Tell of the water itself."""
    grounds = reasons(found)
    said.block(
        amount_line("Hardness", found.hardness, told.scales.get("hardness")),
        amount_line("Alkalinity", found.alkalinity, told.scales.get("alkalinity")),
        *_meter_lines(said, found),
    )
    said.block(overall_line(found), *(f"  {line}" for line in grounds))
    said.block(taste_line(found), f"  {taste_ranges()}")
    said.block(TABLE, *(f"  {line}" for line in table_lines(found)))
    said.fields |= {"reasons": list(grounds), "taste": taste_line(found).removeprefix("Taste: ")}


def _meter_lines(said: Answer, found: Findings) -> list[str]:
    """Return what meters of each kind show for a conductivity, and enter it."""
    meter = found.report.meter
    if meter is None:
        return []
    half = 0.7 * found.source.halves.get("conductivity_us_cm", 0.0)
    kcl, nacl, mix = (Figure(ppm, half) for ppm in (meter.kcl_ppm, meter.nacl_ppm, meter.mix_442_ppm))
    said.figures({"meter_kcl_ppm": kcl, "meter_nacl_ppm": nacl, "meter_442_ppm": mix})
    others = f"For the same water a KCl meter shows {kcl.shown} ppm, a NaCl meter {nacl.shown} ppm."
    return [f"Dissolved solids by conductivity: {mix.shown} mg/L by the 442 convention, the table's. {others}"]


def _result_lines(found: Findings) -> list[str]:
    """Return the short form for a water that is made rather than found."""
    lines = [
        amount_line("Hardness", found.hardness, None),
        amount_line("Alkalinity", found.alkalinity, None),
        *([] if found.solids is None else [f"Dissolved solids: {found.solids.shown} mg/L."]),
        overall_line(found),
        *(f"  {index_line(where, one)}" for where, one in (("Brewing", found.brew), ("Boiler", found.boiler)) if one),
        *(f"  {line}" for line in corrosion_lines(found)),
        taste_line(found),
    ]
    return [f"  {line}" for line in lines]


def _blend(said: Answer, blend: Blended) -> None:
    """Tell of a blend."""
    share = blend.share.times(100.0)
    rest = Figure(100.0 - share.value, share.half)
    said.block(
        f"Blend for {blend.target.shown}: {share.shown} % of the first water with {rest.shown} % of the second "
        f"({share.times(10.0).shown} mL and {rest.times(10.0).shown} mL in a litre). It has:",
        *_result_lines(blend.result),
        "  What only one of the two waters tells of stays unknown in the blend, and the pH until it is measured.",
    )
    said.figures({"blend_first_share_percent": share, "blend_second_share_percent": rest})
    enter(said, blend.result, "blend_")


def _dose(said: Answer, dose: Dosed) -> None:
    """Tell of a dosing."""
    litres = plain(float(f"{dose.litres:.3g}"))
    lines = [f"Salts for {litres} L, for {' and '.join(target.shown for target in dose.targets)}:"]
    said.fields["dose_litres"] = dose.litres
    for purpose, salt in zip(("hardness", "alkalinity"), dose.salts, strict=True):
        lines += _salt_lines(salt.salt, salt.grams, salt.concentrate_ml, salt.concentrate_g_l)
        said.fields[f"dose_{purpose}_salt"] = salt.salt
        said.fields[f"dose_{purpose}_concentrate_g_l"] = salt.concentrate_g_l
        said.figures({f"dose_{purpose}_salt_g": salt.grams, f"dose_{purpose}_concentrate_ml": salt.concentrate_ml})
    names = {ion: name for ion, (_, name) in ION_FIELDS.items()}
    added = ", ".join(f"{names[ion]} {one.shown} mg/L" for ion, one in dose.added.items() if one.value > 0.0)
    lines += [f"  This adds {added}. The water then has:"] if added else ["  Nothing is missing. The water has:"]
    said.block(*lines, *_result_lines(dose.result))
    said.figures({f"dose_adds_{names[ion]}_mg_l": one for ion, one in dose.added.items()})
    enter(said, dose.result, "dose_")


def _salt_lines(formula: str, grams: Figure, millilitres: Figure, strength: float) -> list[str]:
    """Return the line of one salt, none for a salt that is not needed."""
    if grams.value <= 0.0:
        return []
    bottle = f"{millilitres.shown} mL of a concentrate of {plain(strength)} g in a litre"
    return [f"  {SALTS[formula].name} ({formula}): {grams.shown} g, or {bottle}."]


def _open(said: Answer, request: Request, found: Findings) -> None:
    """Tell of what was taken for granted, and what is asked."""
    first, second = request.first, request.second
    notes = [*first.notes, *(second.notes if second else [])]
    if first.halves:
        notes += found.report.notes
    aims_at_solids = request.blend_target is not None and request.blend_target.axis == "dissolved solids"
    questions: list[str] = []
    for told in (first, second):
        if told is not None and told.doubtful_meter:
            question = _meter_question(told.values["tds_mg_l"], told.halves["tds_mg_l"], always=aims_at_solids)
            (questions if question.endswith("meter”.") else notes).append(question)
    said.listed("Taken for granted, or missing:", list(dict.fromkeys(notes)), "notes")
    said.listed("To know:", questions, "questions")


def _meter_question(ppm: float, half: float, *, always: bool) -> str:
    """Return the question for a meter's salt where it decides something, or else the remark that it does not."""
    figures = []
    for convention in ("442", "KCl", "NaCl"):
        try:
            figures.append(Figure(convert_ppm(ppm, convention, "442"), half))
        except OutOfRange:
            continue
    standings = [compare_item(_SOLIDS, one.value).standing for one in figures]
    ends = " to ".join(one.shown for one in figures[:: max(len(figures) - 1, 1)])
    said = f"TDS {plain(ppm)} ppm by a meter is {ends} mg/L by the table's 442 convention, by the salt the meter counts"
    if len(set(standings)) < 2 and not always:
        return f"{said}: 442, KCl or NaCl. The table's verdict is the same for each."
    return f"{said}. Is it 442, KCl or NaCl? Write for example “TDS {plain(ppm)} ppm by a NaCl meter”."
