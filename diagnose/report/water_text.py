"""The sentences of a report on a water."""

from collections.abc import Iterator

from diagnose.report.digits import Figure, plain
from diagnose.report.water_figures import Findings, Index
from diagnose.report.water_units import Scale
from diagnose.science.water.composition import Water
from diagnose.science.water.judgement import (
    ALKALINITY_FLAT_ABOVE,
    ALKALINITY_SHARP_BELOW,
    HARDNESS_HEAVY_ABOVE,
    HARDNESS_THIN_BELOW,
    Cup,
    Overall,
)
from diagnose.science.water.report import ASSUMED_PH
from diagnose.science.water.scale import carbonate_hardness_mg_l_caco3
from diagnose.science.water.standard import Comparison
from diagnose.science.water.units import MG_L_CACO3_PER

CACO3 = "mg/L as CaCO3"
SOFTENED_HARDNESS_BELOW = 36.0
SOFTENED_ALKALINITY_FROM = 60.0
"""mg/L as CaCO3: so little hardness beside so much alkalinity is rare in nature and usual behind a salt softener
(common practice, no source)."""

OVERALL: dict[Overall, str] = {
    "scaling": "scaling. Chalk settles first where the water is hottest",
    "slightly scaling": "slightly scaling. A little chalk settles where the water is hottest",
    "balanced": "balanced. Neither much scale nor much corrosion is to be expected",
    "slightly corrosive": "slightly corrosive. It leaves little or no scale and may take up a little metal",
    "corrosive": "corrosive. It leaves little or no scale and may take up metal",
    "scaling and corrosive": "scaling and corrosive. Chalk settles, and chloride or acid goes for the metal as well",
    "not known": "not known",
}
_TASTE: dict[Cup, str] = {
    "sharp": "alkalinity {alkalinity} mg/L leaves the acids of the coffee as they are, so the cup leans to sharp",
    "even": "alkalinity {alkalinity} mg/L leaves acids and balance about right",
    "flat": "alkalinity {alkalinity} mg/L takes away much of the acidity, so the cup leans to flat and chalky",
    "not known": "without the alkalinity there is no telling whether the cup leans to flat or to sharp",
}
MAKER = "The machine maker's limits for water come before anything said here: see the manual."
PROBE = (
    "Never use pure water or water softened with salt in a boiler with a level probe: the probe may not sense it, and "
    "the boiler overfills or runs dry."
)
DRINKING = "This is about the machine and the cup. Whether a water is fit to drink is for the supplier to say."
SOFTENED = (
    "So little hardness beside so much alkalinity looks like water softened with salt: find out before it goes into "
    "a machine."
)
DESCALING = (
    "Scale is removed as the maker's manual says, from a steam boiler by a technician. Never mix acid with bleach."
)
NO_CHALK = "no scale, since without calcium or without bicarbonate no chalk can form."
MEASURE = (
    "Without hardness (or calcium) and alkalinity (or bicarbonate) scale cannot be judged: a drop kit or a strip for "
    "both, or the label or supplier's sheet, will do."
)


def amount_line(name: str, figure: Figure | None, scale: Scale | None) -> str:
    """Return hardness or alkalinity in the unit it was told in and in mg/L as calcium carbonate."""
    if figure is None:
        return f"{name}: not known."
    german = figure.times(1.0 / MG_L_CACO3_PER["dH"]).shown
    if scale is None or (scale.factor == 1.0 and scale.unit == CACO3):
        return f"{name}: {figure.shown} {CACO3} ({german} dH)."
    also = "" if scale.unit in {"dH", "dGH", "dKH"} else f" ({german} dH)"
    return f"{name}: {figure.times(1.0 / scale.factor).shown} {scale.unit}, that is {figure.shown} {CACO3}{also}."


def overall_line(found: Findings, heading: str = "Scale and corrosion") -> str:
    """Return what the water does to a machine, in a sentence or two."""
    if found.boiler is None:
        known = found.hardness or found.calcium
        scale = f"scale not known. {MEASURE}" if known is None or found.alkalinity is None else NO_CHALK
        return f"{heading}: corrosion {found.judgement.corrosion}; {scale}"
    vague = found.report.water.ph is None and found.boiler is not None
    said = f"{heading}{f' (pH taken as {plain(ASSUMED_PH)})' if vague else ''}: {OVERALL[found.judgement.overall]}."
    bound = chalk_bound(found)
    if bound is not None and bound.value > 0.0 and found.judgement.boiler in {"scaling", "slightly scaling"}:
        said += f" 1000 L can leave {bound.shown} g at the very most, if all of it settled."
    return said


def chalk_bound(found: Findings) -> Figure | None:
    """Return the grams of chalk that 1000 L could leave if all of the carbonate hardness settled."""

    def bound(water: Water) -> float | None:
        calcium, alkalinity = water.calcium_hardness(), water.total_alkalinity()
        calcium = water.total_hardness() if calcium is None else calcium
        if calcium is None or alkalinity is None:
            return None
        return carbonate_hardness_mg_l_caco3(calcium, alkalinity)

    return found.source.figure(bound)


def index_line(where: str, index: Index) -> str:
    """Return both indices at one place; as ranges where the pH leaves them open."""
    low, high = (f"{end:+.1f}" for end in index.ends("langelier"))
    least, most = (f"{end:.1f}" for end in index.ends("ryznar"))
    at = f"{where} at {index.degc.shown} °C"
    if not index.vague:
        return f"{at}: Langelier index {low} ({index.level}), Ryznar index {least}."
    levels = index.low if index.low == index.high else f"{index.low} to {index.high}"
    return f"{at}: Langelier index {low} to {high} ({levels}), Ryznar index {least} to {most}."


def reasons(found: Findings) -> list[str]:
    """Return the grounds for the judgement, one a line."""
    indices = (("The water", found.water), ("Brewing", found.brew), ("Boiler", found.boiler))
    lines = [index_line(where, index) for where, index in indices if index is not None]
    if lines:
        lines.append("Above 0 a water can leave scale, below 0 it takes chalk up; within half a unit it is balanced.")
    return [*lines, *corrosion_lines(found)]


def corrosion_lines(found: Findings) -> list[str]:
    """Return the grounds for corrosion, the science's own sentences."""
    return [line.replace(" degC", " °C") for line in found.corrosion_reasons]


def taste_line(found: Findings) -> str:
    """Return what the water does to the cup, in one sentence (limits: common practice, no source)."""
    alkalinity = "" if found.alkalinity is None else found.alkalinity.shown
    said = _TASTE[found.judgement.cup].format(alkalinity=alkalinity)
    hardness, joint = found.hardness, "but" if found.judgement.cup == "not known" else "and"
    if hardness is not None and hardness.value < HARDNESS_THIN_BELOW:
        said += f", {joint} hardness {hardness.shown} mg/L gives a thinner body"
    elif hardness is not None and hardness.value > HARDNESS_HEAVY_ABOVE:
        said += f", {joint} hardness {hardness.shown} mg/L gives a heavier body"
    return f"Taste: {said}."


def taste_ranges() -> str:
    """Return where the middle ground lies."""
    ends = (ALKALINITY_SHARP_BELOW, ALKALINITY_FLAT_ABOVE, HARDNESS_THIN_BELOW, HARDNESS_HEAVY_ABOVE)
    low, high, thin, heavy = map(plain, ends)
    return f"Common practice: alkalinity {low} to {high}, hardness {thin} to {heavy} {CACO3}."


def shown_items(found: Findings) -> list[tuple[Comparison, Figure | None]]:
    """Return the items of the published table with the water's figure for each."""
    source = found.source
    figures = (
        source.figure(lambda water: water.chlorine_mg_l),
        found.solids,
        found.calcium,
        found.alkalinity,
        source.figure(lambda water: water.ph),
        source.figure(lambda water: water.sodium_mg_l),
    )
    return list(zip(found.report.comparison, figures, strict=True))


def table_lines(found: Findings) -> Iterator[str]:
    """Yield a line for each item of the published table that is known, and one for the rest."""
    unknown = []
    for entry, figure in shown_items(found):
        item = entry.item
        if figure is None:
            unknown.append(item.name)
            continue
        name = item.name if item.name == "pH" else item.name.capitalize()
        target = f"target {plain(item.target)}"
        if item.low < item.high:
            near = "" if item.stated else ", read as near the target"
            target += f", range {plain(item.low)} to {plain(item.high)}{near}"
        yield f"{name} {figure.shown} {item.unit}".rstrip() + f": {entry.standing} ({target})."
    if unknown:
        yield f"Not known: {', '.join(unknown)}."


def cautions(found: Findings) -> list[str]:
    """Return what to beware of: always the maker, the probe and the glass; scale and softeners where they show."""
    said = [MAKER, PROBE]
    hardness, alkalinity = found.hardness, found.alkalinity
    if hardness is not None and alkalinity is not None:
        softened = hardness.value < SOFTENED_HARDNESS_BELOW and alkalinity.value >= SOFTENED_ALKALINITY_FROM
        said += [SOFTENED] if softened else []
    if found.judgement.boiler in {"scaling", "slightly scaling"}:
        said.append(DESCALING)
    return [*said, DRINKING]
