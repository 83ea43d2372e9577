"""One word for what a water does to a machine, with the reasons; and which way it pushes the cup."""

from dataclasses import dataclass
from typing import Literal

from diagnose.science.water.composition import Water
from diagnose.science.water.corrosion import Corrosion, corrosion
from diagnose.science.water.saturation import Saturation

Level = Literal["corrosive", "slightly corrosive", "balanced", "slightly scaling", "scaling", "not known"]
Overall = Literal[
    "corrosive",
    "slightly corrosive",
    "balanced",
    "slightly scaling",
    "scaling",
    "scaling and corrosive",
    "not known",
]
Cup = Literal["sharp", "even", "flat", "not known"]

ALKALINITY_SHARP_BELOW = 40.0
ALKALINITY_FLAT_ABOVE = 70.0
"""mg/L as CaCO3: between these espresso is neither sharp nor flat (common practice, no source)."""

HARDNESS_THIN_BELOW = 50.0
HARDNESS_HEAVY_ABOVE = 100.0
"""mg/L as CaCO3: between these is the usual compromise of body against scale (common practice, no source)."""


@dataclass(frozen=True, slots=True)
class Judgement:
    """`overall` joins the boiler's level, where scale is worst, with corrosion. `cup` is the lean of the taste."""

    overall: Overall
    brew: Level
    boiler: Level
    corrosion: Corrosion
    cup: Cup
    reasons: tuple[str, ...]


def level_of(langelier: float) -> Level:
    """Return the word for an index: within half a unit of zero a water counts as balanced (common practice)."""
    if langelier < -1.0:
        return "corrosive"
    if langelier < -0.5:
        return "slightly corrosive"
    if langelier <= 0.5:
        return "balanced"
    if langelier <= 1.0:
        return "slightly scaling"
    return "scaling"


def _overall(boiler: Level, eats: Corrosion) -> Overall:
    """Return the one word for scale and corrosion together."""
    if boiler in ("scaling", "slightly scaling"):
        return "scaling and corrosive" if eats == "high" else boiler
    if eats == "high" or boiler == "corrosive":
        return "corrosive"
    if eats == "raised":
        return "slightly corrosive"
    return boiler


def _saturation_reasons(at: Saturation | None, where: str) -> list[str]:
    """Return the sentence that gives both indices at one place, if they could be reckoned."""
    if at is None:
        return []
    langelier = f"the Langelier index is {at.langelier:+.1f} ({level_of(at.langelier)})"
    return [f"At {at.temperature_degc:g} degC ({where}) {langelier}, the Ryznar index {at.ryznar:.1f}."]


def _cup(alkalinity: float | None) -> tuple[Cup, list[str]]:
    """Return the lean that alkalinity gives the taste, with the reason."""
    if alkalinity is None:
        return "not known", []
    said = f"Alkalinity {alkalinity:.0f} mg/L as CaCO3"
    if alkalinity < ALKALINITY_SHARP_BELOW:
        return "sharp", [f"{said} leaves acids as they are: the cup may taste sharp."]
    if alkalinity > ALKALINITY_FLAT_ABOVE:
        return "flat", [f"{said} neutralises acids: the cup may taste flat or chalky."]
    return "even", [f"{said} suits espresso."]


def _body(hardness: float | None) -> list[str]:
    """Return what hardness does to the body, where it stands out."""
    if hardness is None:
        return []
    if hardness < HARDNESS_THIN_BELOW:
        return [f"Hardness {hardness:.0f} mg/L as CaCO3 is low: thinner body."]
    if hardness > HARDNESS_HEAVY_ABOVE:
        return [f"Hardness {hardness:.0f} mg/L as CaCO3 is high: more body, and scale where alkalinity goes with it."]
    return []


def judge(water: Water, brew: Saturation | None, boiler: Saturation | None) -> Judgement:
    """Return the judgement of a water, given its saturation at brew and at boiler temperature where known."""
    eats, eating = corrosion(water)
    cup, tasting = _cup(water.total_alkalinity())
    brew_level: Level = "not known" if brew is None else level_of(brew.langelier)
    boiler_level: Level = "not known" if boiler is None else level_of(boiler.langelier)
    reasons = [
        *_saturation_reasons(brew, "brewing"),
        *_saturation_reasons(boiler, "steam boiler"),
        *eating,
        *_body(water.total_hardness()),
        *tasting,
    ]
    return Judgement(_overall(boiler_level, eats), brew_level, boiler_level, eats, cup, tuple(reasons))
