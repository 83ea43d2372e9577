"""What can be done to a water: blending it with another, and building it up with salts; each with what results."""

from collections.abc import Callable, Mapping
from dataclasses import dataclass

from diagnose.errors import DiagnoseError
from diagnose.report.digits import Figure, Values, figure
from diagnose.report.water_figures import Findings, Source, findings
from diagnose.report.water_reading import NEARLY_PURE, PURE, Request, Target
from diagnose.report.water_said import WaterSaid
from diagnose.science.water.blending import Blend, blend_to
from diagnose.science.water.composition import Water
from diagnose.science.water.dosing import PURE_WATER, Dosing, Recipe, dose_salts


@dataclass(frozen=True, slots=True)
class Blended:
    """A blend: its target, the first water's share (0 to 1) and the water that results."""

    target: Target
    share: Figure
    result: Findings


@dataclass(frozen=True, slots=True)
class Dosed:
    """A dosing: litres, the targets taken, the salts, the ions they add, and the water that results."""

    litres: float
    targets: Mapping[str, float]
    dosing: Dosing
    added: Mapping[str, Figure]
    result: Findings


def blended(request: Request) -> Blended | None:
    """Return the blend asked for, if one is.

    Raises DiagnoseError when only half of it is told, and OutOfRange as `blend_to`.
    """
    target, second = request.blend_target, request.second
    if second is None:
        return None
    if target is None:
        raise DiagnoseError(
            "What shall the blend reach? Give one target: --to-alkalinity 50, --to-hardness 70 or --to-tds 120 "
            "(mg/L; hardness and alkalinity as CaCO3)."
        )
    first = _told_or_pure(request)
    values, halves = _together(first, Source.told(second))
    axis, aim = target.axis, target.figure.value

    def made(values: Values) -> Blend:
        one, other = (_part(values, side) for side in ("first", "second"))
        return blend_to(first.make(one), Water(**other), axis, aim)

    share = figure(lambda values: made(values).first_share, values, halves) or Figure(0.0, 0.0)
    return Blended(target, share, findings(Source(lambda values: made(values).water, values, halves)))


def dosed(request: Request, recipe: Recipe) -> Dosed | None:
    """Return the dosing asked for, if one is; what has no target stays as it is.

    Raises DiagnoseError without any target, and OutOfRange as `dose_salts`.
    """
    if request.dose_litres is None:
        return None
    targets: dict[str, Figure] = {target.axis: target.figure for target in request.dose_targets}
    if not targets or "dissolved solids" in targets or len(targets) < len(request.dose_targets):
        raise DiagnoseError(
            "Salts are dosed to a hardness and an alkalinity: give each once, for example --hardness 68 "
            "--alkalinity 40 (mg/L as CaCO3)."
        )
    base, litres = _told_or_pure(request), request.dose_litres.value
    for axis, held in (("hardness", base.figure(Water.total_hardness)), ("alkalinity", base.figure(Water.total_alkalinity))):
        if axis not in targets and held is not None:
            targets[axis] = held
    wanted = {f"aim {axis}": one for axis, one in targets.items()}
    values = {**base.values, **{name: one.value for name, one in wanted.items()}}
    halves = {**base.halves, **{name: one.half for name, one in wanted.items()}}

    def dosing(values: Values) -> Dosing:
        own = {name: value for name, value in values.items() if not name.startswith("aim ")}
        water = base.make(own)
        hardness = values.get("aim hardness", water.total_hardness() or 0.0)
        return dose_salts(hardness, values.get("aim alkalinity", water.total_alkalinity() or 0.0), litres, recipe, water)

    middle = dosing(values)
    added = {
        ion: figure(lambda values, ion=ion: dict(dosing(values).adds_mg_l)[ion], values, halves)  # type: ignore[misc]
        for ion, _ in middle.adds_mg_l
    }
    return Dosed(
        litres,
        {axis: one.value for axis, one in targets.items()},
        middle,
        {ion: one for ion, one in added.items() if one is not None},
        findings(Source(lambda values: dosing(values).water, values, halves)),
    )
