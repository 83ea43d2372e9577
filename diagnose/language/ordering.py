"""Names for numbers that no word names: by their company, the usual order, their size, or the open question."""

from collections import Counter
from collections.abc import Mapping, Sequence

from diagnose.language.amounts import Amount
from diagnose.language.doubts import DOSE_OR_DRINK, DRINK_OR_TIME, MILK_OR_WATER, WATER_WHICH, WHICH_UNIT
from diagnose.language.naming import Named
from diagnose.language.scene import Scene
from diagnose.language.units import CANONICAL, UNITS
from diagnose.rulebase.vocabulary import SAID

LARGEST_DOSE = 23.0  # without other words, up to here a mass is the dose (common practice, no source)
SMALLEST_DRINK = 28.0  # and from here on the drink
_PLAIN_DRINK = (34.0, 80.0)  # a bare number aimed for in this range can only be grams out
_USUAL_RATIO = (1.2, 5.0)  # yield over dose of a list such as "18 36 27"
_OPEN = frozenset({WHICH_UNIT, DOSE_OR_DRINK, DRINK_OR_TIME, MILK_OR_WATER, WATER_WHICH})
_USUAL_SPELLING = {"degC": "c", "mg/L": "ppm", "mL": "ml", "g/s": "gps"}
_IN_A_ROW = 3  # words between the numbers of "18 in, 36, then 27"


def name_the_rest(scene: Scene, named: list[Named], asked: str = "") -> None:
    """Name what is still without a name, in place; what stays open gets a doubt. `asked`: measure in question."""
    _all_by_order(scene, named)
    _all_by_size(scene, named)
    unclear = [index for index, one in enumerate(named) if one.doubt in {WHICH_UNIT, DRINK_OR_TIME}]
    for index in unclear:
        _as_before(scene, named, index)
    for index in reversed(unclear):
        if named[index].doubt:
            _as_after(scene, named, index)
    for one in named:
        if one.doubt in _OPEN and asked:
            _as_asked(one, asked)
        if one.doubt == WHICH_UNIT:
            _as_aim(scene, one)


def _all_by_order(scene: Scene, named: list[Named]) -> None:
    earlier: set[tuple[int, str]] = set()  # (sentence, name) of the amounts passed
    for index, one in enumerate(named):
        if not one.name and not one.doubt and one.amount.dimension in {"", "mass"}:
            _by_order(scene, named, index, (_sentence(scene, one), "dose") in earlier)
        earlier.add((_sentence(scene, one), one.name))


def _all_by_size(scene: Scene, named: list[Named]) -> None:
    counts = Counter((_sentence(scene, one), one.name) for one in named)
    for index, one in enumerate(named):
        if not one.name and not one.doubt:
            _by_size(scene, named, index, counts)
            counts[(_sentence(scene, one), one.name)] += 1


def _sentence(scene: Scene, one: Named) -> int:
    return scene.reading.sentence[one.amount.core]


def _near(scene: Scene, one: Named, other: Named) -> bool:
    return _sentence(scene, one) == _sentence(scene, other)


def _at(named: Sequence[Named], index: int) -> Named | None:
    return named[index] if 0 <= index < len(named) else None


def _by_order(scene: Scene, named: list[Named], index: int, dose_said: bool) -> None:
    """Read "18 36 27" as dose, yield and time; a bare number after dose and yield as the time."""
    one, before = named[index], _at(named, index - 1)
    three = named[index : index + 3]
    if _is_triple(scene, three):
        for part, name in zip(three, ("dose", "yield", "time"), strict=True):
            part.name = name
        return
    if one.amount.dimension or before is None or not _near(scene, before, one):
        return
    follows_in = scene.reading.word(one.amount.first - 1) == "in"
    if before.name == "ratio" or (before.name in {"yield", "yield_volume"} and (follows_in or dose_said)):
        one.name = "time"
    elif before.name == "dose":
        drink = _is_drink(scene, named, index)
        one.name, one.doubt = ("yield", "") if drink else ("", DRINK_OR_TIME)


def _is_triple(scene: Scene, three: list[Named]) -> bool:
    """Tell whether three numbers in a row are dose, yield and time in the usual order."""
    if len(three) < 3 or any(one.doubt for one in three) or not _near(scene, three[0], three[2]):
        return False
    dose, drink, time = (one.amount for one in three)
    if any(one.name not in {"", name} for one, name in zip(three, ("dose", "yield", "time"), strict=True)):
        return False
    if {dose.dimension, drink.dimension} > {"", "mass"} or time.dimension not in {"", "time"}:
        return False
    if scene.is_one_of(time.first - 1, "list_words"):
        return False  # "25, 27 and 31 s" lists times
    close = max(drink.first - dose.last, time.first - drink.last) <= _IN_A_ROW
    sizes = SAID["dose"].low <= dose.low <= dose.high <= SAID["dose"].high and 5 <= time.low <= time.high <= 120
    return close and sizes and _ratio_fits(dose, drink)


def _ratio_fits(dose: Amount, drink: Amount) -> bool:
    return _USUAL_RATIO[0] * dose.value <= drink.value <= _USUAL_RATIO[1] * dose.value


def _is_drink(scene: Scene, named: list[Named], index: int) -> bool:
    """Tell whether the bare number after a dose is the drink: "18 -> 36", or "18 in, 36, 27 s"."""
    dose, one, following = named[index - 1].amount, named[index].amount, _at(named, index + 1)
    joined = scene.reading.word(one.first - 1) in {"->", "to", "/", "-"}
    timed = following is not None and following.name == "time" and _near(scene, following, named[index])
    return dose.value > 0 and _ratio_fits(dose, one) and (joined or timed)


def _by_size(scene: Scene, named: list[Named], index: int, counts: Mapping[tuple[int, str], int]) -> None:
    """Name a mass by its size, and the bare numbers of "36 in 27" and "36/27"; doubt the rest."""
    one, following = named[index], _at(named, index + 1)
    in_time = (
        following is not None
        and scene.reading.word(one.amount.last + 1) in {"in", "/"}
        and following.amount.first == one.amount.last + 2
        and following.name in {"", "time"}
    )
    if one.amount.dimension == "mass":
        sentence = _sentence(scene, one)
        said = frozenset(name for name in ("dose", "yield") if counts.get((sentence, name)))
        before = _at(named, index - 1)
        poured = (
            before is not None and before.name == "time" and scene.reading.word(one.amount.first - 1) in {"for", "to"}
        )
        one.name = "yield" if poured else _mass_by_size(one.amount, said, in_time)
        one.doubt = "" if one.name else DOSE_OR_DRINK
    elif in_time and following is not None and one.amount.low >= SMALLEST_DRINK:
        one.name = "yield"
        following.name, following.doubt = "time", ""
    else:
        one.doubt = WHICH_UNIT


def _mass_by_size(amount: Amount, said: frozenset[str], in_time: bool) -> str:
    """Return "dose", "yield" or "" for a mass with no word beside it. `said`: what else the sentence gives."""
    if amount.low >= SMALLEST_DRINK or ("dose" in said and in_time):
        return "yield"
    if amount.high <= LARGEST_DOSE:
        return "dose"
    return "yield" if "dose" in said or in_time else "dose" if "yield" in said else ""


def _as_before(scene: Scene, named: list[Named], index: int) -> None:
    """Let "27 s before, now 16" take the unit said first."""
    one, before = named[index], _at(named, index - 1)
    if before is None or before.name not in {"time", "yield", "dose", "dial"} or not _near(scene, before, one):
        return
    between = range(before.amount.last + 1, one.amount.first)
    if any(scene.is_one_of(place, "compare_words") for place in between):
        one.name, one.doubt, one.unit = before.name, "", before.unit or before.amount.unit


def _as_after(scene: Scene, named: list[Named], index: int) -> None:
    """Let "25, 27 and 31 s" share the unit said last."""
    one, after = named[index], _at(named, index + 1)
    if after is None or after.name != "time" or not _near(scene, after, one):
        return
    between = range(one.amount.last + 1, after.amount.first)
    if len(between) <= 1 and all(scene.is_one_of(place, "list_words") for place in between):
        one.name, one.doubt, one.unit = after.name, "", after.unit or after.amount.unit


def _as_asked(one: Named, asked: str) -> None:
    """Let an open question about a number settle what an unclear number means."""
    wanted = SAID[asked]
    unit = one.amount.unit or UNITS.get(_USUAL_SPELLING.get(wanted.unit, wanted.unit))
    fits = one.amount.unit is None or CANONICAL.get(one.amount.dimension) == wanted.unit
    value = unit.canonical(one.amount.value) if unit is not None else one.amount.value
    if fits and wanted.low <= value <= wanted.high:
        one.name, one.doubt, one.unit = asked, "", one.unit or unit


def _as_aim(scene: Scene, one: Named) -> None:
    """Read the bare number of "aiming for 36" as grams out, where it can be nothing else."""
    aimed = any(one.amount.first - mark.last == 1 for mark in scene.marked("sentence", "recipe"))
    if aimed and _PLAIN_DRINK[0] <= one.amount.low <= one.amount.high <= _PLAIN_DRINK[1]:
        one.name, one.doubt = "yield", ""
