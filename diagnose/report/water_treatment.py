"""What can be done to a water: blending it with another, and building it up with salts; each with what results."""

from collections.abc import Callable, Mapping
from dataclasses import dataclass

from diagnose.errors import DiagnoseError
from diagnose.report.digits import Figure, Values, figure
from diagnose.report.water_figures import Findings, Source, findings
from diagnose.report.water_reading import Axis, Request, Target, pure_said
from diagnose.science.ranges import within
from diagnose.science.water.blending import Blend, blend_to
from diagnose.science.water.composition import Water
from diagnose.science.water.dosing import Dosing, Recipe, dose_salts
from diagnose.science.water.units import Ion

NO_BLEND_TARGET = (
    "What shall the blend reach? Give one target: --to-alkalinity 50, --to-hardness 70 or --to-tds 120 "
    "(mg/L; hardness and alkalinity as CaCO3)."
)
NO_DOSE_TARGET = (
    "Salts are dosed to a hardness and an alkalinity: give at least one, each once, for example --hardness 68 "
    "--alkalinity 40 (mg/L as CaCO3)."
)
_FINEST_G = 0.005  # half of the 0.01 g a fine scale shows
_FINEST_ML = 0.05
_AIM = "aim "


@dataclass(frozen=True, slots=True)
class Blended:
    """A blend: its target, the first water's share (0 to 1) and the water that results."""

    target: Target
    share: Figure
    result: Findings


@dataclass(frozen=True, slots=True)
class SaltDose:
    """One salt: formula, and how much of it or of its concentrate; `concentrate_g_l` is the latter's strength."""

    salt: str
    grams: Figure
    concentrate_ml: Figure
    concentrate_g_l: float


@dataclass(frozen=True, slots=True)
class Dosed:
    """A dosing: litres, targets told, the salts for hardness and alkalinity, ions added in mg/L, what results."""

    litres: float
    targets: tuple[Target, ...]
    salts: tuple[SaltDose, ...]
    added: Mapping[Ion, Figure]
    result: Findings


def base_of(request: Request) -> Source:
    """Return the source of the water to treat: as told, or pure water where nothing is told of it."""
    return Source.told(request.first if request.first.values else pure_said("pure water"))


def blended(request: Request) -> Blended | None:
    """Return the blend asked for, if one is.

    Raises DiagnoseError when its target is missing, and OutOfRange as `blend_to`.
    """
    target = request.blend_target
    if request.second is None:
        return None
    if target is None:
        raise DiagnoseError(NO_BLEND_TARGET)
    axis, sides = target.axis, (base_of(request), Source.told(request.second))
    held = [side.figure(lambda water: _along(water, axis)) for side in sides]
    ends = [one.rounded for one in held if one is not None]
    if len(ends) == len(sides):
        unit = "mg/L" if axis == "dissolved solids" else "mg/L as CaCO3"
        within(target.figure.value, min(ends), max(ends), f"{axis} of a blend of the two", unit)

    def made(values: Values) -> Blend:
        first, second = (_side(values, number) for number in range(2))
        return blend_to(Water(**first), Water(**second), axis, values[_AIM])

    values = {f"{number} {name}": one for number, side in enumerate(sides) for name, one in side.values.items()}
    values[_AIM] = target.figure.value
    halves = {f"{number} {name}": one for number, side in enumerate(sides) for name, one in side.halves.items()}
    share = figure(lambda values: made(values).first_share, values, halves) or Figure(0.0, 0.0)
    result = Source(lambda values: made(values).water, values, {**halves, _AIM: target.figure.half})
    return Blended(target, share, findings(result, _machine(request)))


def _along(water: Water, axis: Axis) -> float | None:
    """Return what a water holds of the quantity aimed at."""
    if axis == "dissolved solids":
        return water.dissolved_solids()
    return water.total_hardness() if axis == "hardness" else water.total_alkalinity()


def _machine(request: Request) -> dict[str, Figure]:
    """Return the temperatures that belong to the machine rather than to a water."""
    return {place: one for place, one in request.first.places.items() if place != "water"}


def _side(values: Values, number: int) -> dict[str, float]:
    """Return the values of one of the two waters."""
    start = f"{number} "
    return {name.removeprefix(start): one for name, one in values.items() if name.startswith(start)}


def dosed(request: Request, recipe: Recipe) -> Dosed | None:
    """Return the dosing asked for, if one is; what has no target stays as it is.

    Raises DiagnoseError without a target, and OutOfRange as `dose_salts`.
    """
    if request.dose_litres is None:
        return None
    doser = _Doser(request, request.dose_litres.value, recipe)
    middle = doser.run(doser.values)
    strengths = (recipe.hardness_concentrate_g_l, recipe.alkalinity_concentrate_g_l)
    return Dosed(
        litres=doser.litres,
        targets=request.dose_targets,
        salts=tuple(doser.salt(place, one.salt, strengths[place]) for place, one in enumerate(middle.doses)),
        added={ion: doser.figure(_Added(place), doser.halves) for place, (ion, _) in enumerate(middle.adds_mg_l)},
        result=findings(Source(lambda values: doser.run(values).water, doser.values, doser.halves), _machine(request)),
    )


class _Doser:
    """Doses with the targets as they are and the base water give or take its half widths."""

    def __init__(self, request: Request, litres: float, recipe: Recipe) -> None:
        targets = {f"{_AIM}{target.axis}": target.figure for target in request.dose_targets}
        if not targets or f"{_AIM}dissolved solids" in targets or len(targets) < len(request.dose_targets):
            raise DiagnoseError(NO_DOSE_TARGET)
        self.base, self.litres, self.recipe = base_of(request), litres, recipe
        self.values = {**self.base.values, **{name: one.value for name, one in targets.items()}}
        self.halves = {**self.base.halves, **{name: one.half for name, one in targets.items()}}

    def run(self, values: Values) -> Dosing:
        """Return the dosing for one set of values."""
        water = self.base.make({name: one for name, one in values.items() if not name.startswith(_AIM)})
        hardness = values.get(f"{_AIM}hardness", water.total_hardness() or 0.0)
        alkalinity = values.get(f"{_AIM}alkalinity", water.total_alkalinity() or 0.0)
        return dose_salts(hardness, alkalinity, self.litres, self.recipe, water)

    def figure(self, get: Callable[[Dosing], float], halves: Values) -> Figure:
        """Return a number of the dosing with the half width that `halves` give it."""
        found = figure(lambda values: get(self.run(values)), self.values, halves)
        return found or Figure(0.0, 0.0)

    def salt(self, place: int, formula: str, strength: float) -> SaltDose:
        """Return one salt's dose, no finer than scales and syringes; a target is taken as exact."""
        grams = self.figure(lambda dosing: dosing.doses[place].grams, self.base.halves)
        millilitres = self.figure(lambda dosing: dosing.doses[place].concentrate_ml, self.base.halves)
        grams = Figure(grams.value, max(grams.half, _FINEST_G))
        return SaltDose(formula, grams, Figure(millilitres.value, max(millilitres.half, _FINEST_ML)), strength)


@dataclass(frozen=True, slots=True)
class _Added:
    """Takes what one ion gains from a dosing."""

    place: int

    def __call__(self, dosing: Dosing) -> float:
        """Return mg/L."""
        return dosing.adds_mg_l[self.place][1]
