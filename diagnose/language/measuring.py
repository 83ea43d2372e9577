"""From named amounts to measurements in canonical units, refusing what lies outside the plausible range."""

from math import inf

from diagnose.language.amounts import Amount
from diagnose.language.brewing import believable
from diagnose.language.naming import Named
from diagnose.language.scene import Draft, Scene
from diagnose.language.units import CELSIUS, Unit
from diagnose.model import Quantity
from diagnose.rulebase.vocabulary import Measure

IN_RECIPE = frozenset({"dose", "yield", "time", "ratio"})


def measure(scene: Scene, named: Named, in_recipe: bool) -> Draft | None:
    """Return the draft of a measurement, or refuse the amount with the reason and return None."""
    amount, name = named.amount, named.name
    scene.claim(range(amount.first, amount.last + 1))
    if not name:
        scene.refuse(amount.first, amount.last, named.doubt)
        return None
    if in_recipe and name not in IN_RECIPE:
        in_recipe = False
    name = f"recipe_{name}" if in_recipe else name
    wanted = believable(scene, name)
    quantity = _quantity(scene, named, wanted)
    if quantity is None:
        scene.refuse(amount.first, amount.last, _range_reason(named, wanted))
        return None
    return Draft("measurement", name, *named.span(), quantity=quantity)


def nameless(scene: Scene, amount: Amount) -> Draft:
    """Return the draft of a corrected number whose measure only the talk before it can tell."""
    scene.claim(range(amount.first, amount.last + 1))
    quantity = Quantity(amount.value, "", amount.value, amount.value, _shown(scene, amount))
    return Draft("measurement", "", amount.first, amount.last, quantity=quantity)


def _quantity(scene: Scene, named: Named, wanted: Measure) -> Quantity | None:
    """Return the amount in the canonical unit, or None where it is not plausible."""
    amount = named.amount
    low, high, value = (_canonical(named, number) for number in (amount.low, amount.high, amount.value))
    if not (wanted.low <= value <= wanted.high):
        return None
    # A bound leaves one end open; the plausible range closes it. "About" may reach a little beyond the range.
    low, high = max(low, wanted.low), min(high, wanted.high)
    return Quantity(_rounded(value), wanted.unit, _rounded(low), _rounded(high), _shown(scene, amount, _implied(named)))


def _canonical(named: Named, number: float) -> float:
    unit = _unit(named)
    return number if abs(number) == inf or unit is None else unit.canonical(number) * named.factor


def _unit(named: Named) -> Unit | None:
    """Return the unit the number is in; bare degrees were settled when the number was named."""
    unit = named.unit or named.amount.unit
    return CELSIUS if unit is not None and unit.dimension == "degree" else unit


def _rounded(value: float) -> float:
    """Return the value without the dust of unit conversion."""
    return round(value, 6)


def _implied(named: Named) -> str:
    """Return the unit to be said back with a number that was written without, "" where people leave it out."""
    unit = _unit(named)
    said_back = unit is not None and unit.dimension in {"temperature", "hardness"}
    taken = named.amount.implied or (named.amount.unit is None and said_back)
    return unit.name if taken and unit is not None else ""


def _shown(scene: Scene, amount: Amount, unit: str = "") -> str:
    return f"{scene.reading.quote(amount.first, amount.last)} {unit}".rstrip()


def _range_reason(named: Named, wanted: Measure) -> str:
    """Say the plausible range in the person's own unit."""
    unit = _unit(named)
    name = unit.name if unit is not None and unit.name else wanted.unit.replace("ratio", "").replace("degC", "°C")
    low, high = ((number if unit is None else unit.own(number / named.factor)) for number in (wanted.low, wanted.high))
    return f"{wanted.what}: believable from {_plain(low)} to {_plain(high)} {name}".rstrip()


def _plain(value: float) -> str:
    """Return a bound with three significant figures and no exponent."""
    shown = f"{value:.3g}"
    return f"{float(shown):.0f}" if "e" in shown and abs(value) >= 1 else shown
