"""From the options of ``diagnose water`` to the same request a text makes."""

from argparse import Namespace
from dataclasses import replace

from diagnose.errors import DiagnoseError
from diagnose.language.tokens import clean
from diagnose.report.amounts import read
from diagnose.report.said import Asked
from diagnose.report.units import MG_L, WATER_UNITS
from diagnose.report.water_reading import Request, Target, litres_of, read_request, target_of
from diagnose.report.water_said import Item
from diagnose.science.ranges import within
from diagnose.science.water.dosing import Recipe

_BLEND_TARGETS = {"to_alkalinity": "alkalinity", "to_hardness": "hardness", "to_tds": "solids"}
_DOSE_TARGETS = {"hardness": "hardness", "alkalinity": "alkalinity"}


def request_of(options: Namespace) -> Request:
    """Return the request of a text and its options.

    Raises Asked when a unit is missing, DiagnoseError when text and options tell the same thing, or an option lacks
    the one it belongs to, and OutOfRange for numbers that cannot be.
    """
    request = read_request(" ".join(options.text))
    blend_targets = [_target(options, name, key) for name, key in _BLEND_TARGETS.items() if getattr(options, name)]
    if options.blend:
        request = _with_blend(request, options.blend)
    if blend_targets:
        if request.second is None:
            raise DiagnoseError(
                "Which water shall it be blended with? Add for example --blend 'Ca 5 mg/L, HCO3 8 mg/L'."
            )
        if len(blend_targets) > 1 or request.blend_target is not None:
            raise DiagnoseError("A blend of two waters can be aimed at one number only. Give one target.")
        request = replace(request, blend_target=blend_targets[0])
    return _with_dose(request, options)


def _with_blend(request: Request, text: str) -> Request:
    """Add the second water of --blend."""
    if request.second is not None:
        raise DiagnoseError("The second water is told twice, in the text and with --blend. Tell it once.")
    told = read_request(f"blend with {text}")
    if told.dose_litres is not None:
        raise DiagnoseError("--blend takes one water, and perhaps its target. Dosing goes with the first water.")
    if told.second is None:
        example = "--blend 'Ca 5 mg/L, HCO3 8 mg/L'"
        raise Asked(f"I found no number in --blend “{clean(text)}”. Write for example {example}.")
    request.first.places = {**told.first.places, **request.first.places}
    return replace(request, second=told.second, blend_target=told.blend_target or request.blend_target)


def _with_dose(request: Request, options: Namespace) -> Request:
    """Add the volume of --dose and its targets."""
    targets = [_target(options, name, key) for name, key in _DOSE_TARGETS.items() if getattr(options, name)]
    if options.dose:
        if request.dose_litres is not None:
            raise DiagnoseError("The volume to dose is told twice, in the text and with --dose. Tell it once.")
        request = replace(request, dose_litres=litres_of(_item(options.dose, "--dose", "volume")))
    if targets and request.dose_litres is None:
        raise DiagnoseError("--hardness and --alkalinity are what --dose builds a water up to: add --dose 5L.")
    return replace(request, dose_targets=(*request.dose_targets, *targets))


def _item(text: str, option: str, key: str) -> Item:
    """Return the one amount an option holds."""
    amounts = read(text, WATER_UNITS).amounts
    if len(amounts) != 1:
        raise Asked(f"{option} takes one number with its unit, not “{clean(text)}”.")
    return Item(amounts[0], key, text if key == "volume" else f"{key} {text}")


def _target(options: Namespace, name: str, key: str) -> Target:
    """Return the target of an option; without a unit it is in mg/L, as the option's help says."""
    item = _item(getattr(options, name), f"--{name.replace('_', '-')}", key)
    if item.amount.unit is None:
        item = replace(item, amount=replace(item.amount, unit=MG_L))
    return target_of(item)


def recipe_of(options: Namespace) -> Recipe:
    """Return the salts and concentrates to dose with.

    Raises DiagnoseError for a strength that is no number, OutOfRange for one outside 0.1 to 250 g/L.
    """
    usual = Recipe()
    strength = usual.hardness_concentrate_g_l
    if options.concentrate:
        amounts = read(options.concentrate, WATER_UNITS).amounts
        if len(amounts) != 1 or amounts[0].dimension not in {"", "content"}:
            given = clean(options.concentrate)
            raise DiagnoseError(f"--concentrate takes grams in a litre, such as 50, not “{given}”.")
        unit = amounts[0].unit
        strength = amounts[0].value * (1.0 if unit is None else unit.factor / 1000.0)
        within(strength, 0.1, 250.0, "strength of the concentrate", "g/L")
    return Recipe(
        hardness_salt=options.hardness_salt or usual.hardness_salt,
        alkalinity_salt=options.alkalinity_salt or usual.alkalinity_salt,
        hardness_concentrate_g_l=strength,
        alkalinity_concentrate_g_l=strength,
    )
