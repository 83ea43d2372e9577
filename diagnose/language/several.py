"""Bare numbers that tell of several shots: a list ("last three 22 23 21"), or now and before ("17 now 27 before").

A list says how many shots it tells of, or has its unit at the end; a comparison stands beside words of shots or times.
Everything else stays without a unit, and is asked for.
"""

from collections.abc import Callable
from dataclasses import replace
from itertools import pairwise

from diagnose.language.amounts import Amount
from diagnose.language.context import SHOT
from diagnose.language.scene import Scene
from diagnose.language.units import SECOND

_SHOT_S = (5.0, 90.0)  # between these a bare number may be the seconds of an espresso (common practice, no source)
_MOST_SHOTS = 20.0
_RECIPE_RATIO = 1.6  # "last three shots 18 36 27": from here on rather a dose, a drink and a time
_AROUND = 3  # words around a number in which "now", "was", "before" stand
_OTHERS = frozenset(
    {"dose", "dial", "brew", "milk", "pressure", "tds", "hardness", "alkalinity", "water", "basket", "cup"}
)


def with_shared_unit(scene: Scene, amounts: list[Amount]) -> list[Amount]:
    """Return the amounts, those that tell of the times of several shots with the unit nobody wrote.

    A count of shots that stands alone ("last 3: ...") is left out.
    """
    found, counts = list(amounts), []
    for start, many in _lists(scene, amounts):
        listed = found[start : start + many]
        if len(listed) > 1 and _is_list(scene, listed) and _are_times(scene, listed):
            found[start : start + many] = [_in_seconds(one) for one in listed]
            counts += [one for one in found[start - 1 : start] if _is_lone_count(scene, one)]
    scene.claim(place for one in counts for place in range(one.first, one.last + 1))
    found = [one for one in found if one not in counts]
    for at, (one, other) in enumerate(pairwise(found)):
        if _are_compared(scene, one, other):
            found[at : at + 2] = [_in_seconds(one), _in_seconds(other)]
    return found


def _in_seconds(amount: Amount) -> Amount:
    return amount if amount.unit is not None else replace(amount, unit=SECOND, implied=True)


def _lists(scene: Scene, amounts: list[Amount]) -> list[tuple[int, int]]:
    """Return (position of the first amount, number of shots) of each list: counted, or headed "shots"."""
    found = [(index + 1, int(one.low)) for index, one in enumerate(amounts) if _counts_shots(scene, one)]
    for place, item in enumerate(scene.reading.items):
        start = sum(one.first <= place for one in amounts)
        many = scene.lexicon.numbers.get(item.word, 0.0)
        of_last = scene.is_one_of(place - 1, "last_words") and _opens(scene, place, amounts[start:])
        if 2 <= many < 10 and (scene.is_one_of(place + 1, "shot_nouns") or of_last):
            found.append((start, int(many)))
        elif scene.is_one_of(place, "shot_plurals") and _opens(scene, place, amounts[start:]):
            found.append((start, _run(scene, amounts[start:])))
    return found


def _counts_shots(scene: Scene, amount: Amount) -> bool:
    """Tell whether an amount counts shots: "4 shots", "the last 3"."""
    counted = scene.is_one_of(amount.last + 1, "shot_nouns") or scene.is_one_of(amount.first - 1, "last_words")
    whole = amount.unit is None and amount.low == amount.high and amount.low.is_integer()
    return counted and whole and 2.0 <= amount.low <= _MOST_SHOTS


def _is_lone_count(scene: Scene, amount: Amount) -> bool:
    """Tell whether an amount counts shots without naming them: "last 3"."""
    return _counts_shots(scene, amount) and not scene.is_one_of(amount.last + 1, "shot_nouns")


def _opens(scene: Scene, place: int, following: list[Amount]) -> bool:
    """Tell whether a list begins right after the word at `place`, or after words such as "ran" and "were"."""
    if not following or not scene.reading.same_sentence(place, following[0].core):
        return False
    between = range(place + 1, following[0].first)
    return len(between) <= _AROUND and scene.are_all(between, "bridge_words", "copula", "clock_words")


def _run(scene: Scene, amounts: list[Amount]) -> int:
    """Return how many amounts from the first on stand in one list."""
    many = 1
    while many < len(amounts) and _is_list(scene, amounts[many - 1 : many + 1]):
        many += 1
    return many


def _is_list(scene: Scene, listed: list[Amount]) -> bool:
    """Tell whether amounts follow each other with at most an "and" between, only the last with a unit."""
    gaps = (range(one.last + 1, other.first) for one, other in pairwise(listed))
    plain = all(one.unit is None and not one.bare_pair for one in listed[:-1])
    near = scene.reading.same_sentence(listed[0].core, listed[-1].core)
    return plain and near and all(len(gap) < 2 and scene.are_all(gap, "list_words") for gap in gaps)


def _are_times(scene: Scene, listed: list[Amount]) -> bool:
    """Tell whether a list of numbers can only be the seconds of shots."""
    if listed[-1].unit is not None:
        return listed[-1].dimension == "time" and not _is_recipe(listed)
    if listed[-1].bare_pair or not all(map(_is_shot_time, listed)) or _is_recipe(listed):
        return False
    return not _speaks_of_others(scene, listed[0], listed[-1])


def _is_shot_time(amount: Amount) -> bool:
    return _SHOT_S[0] <= amount.low <= amount.high <= _SHOT_S[1]


def _is_recipe(listed: list[Amount]) -> bool:
    """Tell whether three numbers are rather dose, drink and time: "18 36 27"."""
    return len(listed) == 3 and listed[1].low >= _RECIPE_RATIO * listed[0].low


def _are_compared(scene: Scene, one: Amount, other: Amount) -> bool:
    """Tell whether one number is the time now and the other the time before."""
    units = {one.dimension, other.dimension}
    if units not in ({""}, {"", "time"}) or not (_is_shot_time(one) and _is_shot_time(other)):
        return False
    if one.bare_pair or other.bare_pair or not scene.reading.same_sentence(one.core, other.core):
        return False
    around = [at for amount in (one, other) for at in (*_before(amount), *_after(amount))]
    near = [at for at in around if scene.reading.same_sentence(at, one.core)]
    between = range(one.last + 1, other.first)
    light = scene.are_all(between, "compare_words", "past_words", "clause_words", "bridge_words", "used_words")
    present = any(scene.is_one_of(at, "present_words") for at in near)
    past = any(scene.is_one_of(at, "earlier_words") for at in near)
    timed = "time" in units or _speaks_of_shots(scene, one)
    return light and present and past and timed and not _speaks_of_others(scene, one, other)


def _before(amount: Amount) -> range:
    return range(max(amount.first - _AROUND, 0), amount.first)


def _after(amount: Amount) -> range:
    return range(amount.last + 1, amount.last + 1 + _AROUND)


def _speaks_of_shots(scene: Scene, amount: Amount) -> bool:
    """Tell whether the talk so far, a phrase (such as "gushing") or a word of the sentence is about shots' times."""
    phrased = any(scene.lexicon.answers_by.get(match.payload.name) == "time" for match in scene.phrases)
    return phrased or scene.context.topic == SHOT or _any_cue(scene, amount, amount, lambda cues: "time" in cues)


def _speaks_of_others(scene: Scene, first: Amount, last: Amount) -> bool:
    """Tell whether a word of the sentence names something else: a dose, a setting, a temperature, grams out."""

    def other(cues: tuple[str, ...]) -> bool:
        return "time" not in cues and not {
            *_OTHERS,
            "ratio",
            "grinding",
            "first_drops",
            "roasted",
            "yield",
            "unused",
        }.isdisjoint(cues)

    return _any_cue(scene, first, last, other)


def _any_cue(scene: Scene, first: Amount, last: Amount, wanted: Callable[[tuple[str, ...]], bool]) -> bool:
    """Tell whether a word in the sentence of the amounts, and not a comparing one, can name an amount as wanted."""
    sentence = scene.sentences[scene.reading.sentence[first.core]]
    words = (at for at in sentence if not first.first <= at <= last.last or scene.reading.items[at].kind == "word")
    free = (at for at in words if not scene.is_one_of(at, "compare_words"))
    return any(wanted(scene.lexicon.cues.get(scene.reading.items[at].stem, ())) for at in free)


def moved_to(scene: Scene, first: int) -> str:
    """Return what a bare number after "to" or "at" is: "dial" ("finer to 9"), "kept" ("went to 7") or "" (unsaid).

    "kept" is asked about: it may be a number of anything.
    """
    before = range(first - 3, first - 1)
    if any(scene.is_one_of(place, "setting_words") for place in before):
        return "dial"
    return "kept" if any(scene.is_one_of(place, "going_words") for place in before) else ""
