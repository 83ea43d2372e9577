"""Numbers of steaming said without their unit: "200 g from the fridge to 65", "from 5 to 65".

Nobody steams milk to 65 degF or for 65 %, so where a text speaks of steaming and of no shot the unit is plain. It is
said back with the number, so that the person can object.
"""

from diagnose.language.context import MILK
from diagnose.language.scene import Scene
from diagnose.language.units import CELSIUS, FAHRENHEIT, Unit
from diagnose.rulebase.vocabulary import SAID

HOT_BARE = 115.0  # degrees without a letter: from here on Fahrenheit
LEAST_STOP_C = 40.0  # nobody stops steaming below (common practice, no source)
LEAST_JUG = 60.0  # g or mL; less may be coffee (common practice, no source)
_MOST_STOP_C = 85.0  # a bare number that would be hotter is read as something else
_REACH = 4  # words before a number that may say what is filled, or how long


def is_about_steaming(scene: Scene, place: int) -> bool:
    """Tell whether milk is steamed here: in the sentence, or where the text speaks of shots too, in the clause."""
    sentence = scene.sentences[scene.reading.sentence[place]]
    if scene.speaks_of_a_shot:
        clause = [at for at in sentence if scene.reading.same_clause(at, place)]
        shot = any(scene.is_one_of(at, "shot_words") for at in clause)
        return not shot and any(_is_milk(scene, at) for at in clause)
    return scene.context.topic == MILK or any(_is_milk(scene, at) for at in sentence)


def _is_milk(scene: Scene, place: int) -> bool:
    """Tell whether a word is of milk itself or of steaming it; a "latte" may be just the drink."""
    cues = scene.lexicon.cues.get(scene.reading.items[place].stem, ())
    fridge = scene.is_one_of(place, "fridge_words")
    return fridge or (MILK in cues and not scene.is_one_of(place, "milk_drinks"))


def bare_unit(value: float) -> Unit:
    """Return what degrees without a letter are in."""
    return FAHRENHEIT if value >= HOT_BARE else CELSIUS


def taken_unit(end: float, unit: Unit | None) -> Unit:
    """Return the unit of both ends of a span: the one written, or what the hotter end can only be in."""
    return unit if unit is not None and unit.dimension == "temperature" else bare_unit(end)


def is_span(scene: Scene, joint: int, ends: tuple[float, float], unit: Unit | None) -> bool:
    """Tell whether two numbers are the milk's start and its end, rather than the ends of one range.

    `joint` is the place of the word between them; `unit` None where no unit stands: then a "from" must say it, and
    nothing may say that something else was moved from the one to the other.
    """
    start, end = ends
    degrees = unit is not None and unit.dimension in {"temperature", "degree"}
    if unit is not None and not degrees:
        return False
    taken = taken_unit(end, unit)
    start, end = taken.canonical(start), taken.canonical(end)
    if not 0.0 <= start <= SAID["milk_start"].high < LEAST_STOP_C + 1.0 <= end <= SAID["milk_temperature"].high:
        return False
    return is_about_steaming(scene, joint) and (degrees or _is_bare_span(scene, joint))


def _is_bare_span(scene: Scene, joint: int) -> bool:
    """Tell whether "from" stands before the first number, and no word for a time, a filling or a move before that."""
    return scene.reading.word(joint - 2) == "from" and not _of_something_else(scene, joint - 2)


def is_stop(scene: Scene, first: int, value: float) -> bool:
    """Tell whether the bare number that begins at `first` is where steaming stops: "steam to 65", "up to 60"."""
    if not is_about_steaming(scene, first):
        return False
    aimed = any(mark.last == first - 1 for mark in scene.marked("sentence", "recipe"))
    reached = scene.reading.word(first) in {"up", "to"} or scene.is_one_of(first - 1, "reaching_words") or aimed
    fits = LEAST_STOP_C <= bare_unit(value).canonical(value) <= _MOST_STOP_C
    return reached and fits and not _of_something_else(scene, first)


def _of_something_else(scene: Scene, place: int) -> bool:
    """Tell whether words before the place, in its clause, speak of a filling, a time, a gauge or a setting."""
    for at in range(max(place - _REACH, 0), place):
        if not scene.reading.same_clause(at, place):
            continue
        cues = scene.lexicon.cues.get(scene.reading.items[at].stem, ())
        if scene.is_one_of(at, "filling_words") or scene.is_one_of(at, "moving_words"):
            return True
        if not {"time", "pressure", "dial", "grinding"}.isdisjoint(cues) and not scene.is_one_of(at, "stop_words"):
            return True
    return False


def is_jug(scene: Scene, place: int, size: float) -> bool:
    """Tell whether a mass in g or a volume in mL that no word names is the milk in the jug."""
    return size >= LEAST_JUG and is_about_steaming(scene, place)
