"""Corrections: "no, 27 not 17", "I meant 27", "sorry 18.5 g in", "not 17, 27"."""

from dataclasses import dataclass, field

from diagnose.language.amounts import Amount
from diagnose.language.scene import Scene

_MOST_ITEMS = 14  # a correction is short; a longer text that says "not 17" tells a story
_REACH = 3


@dataclass(frozen=True, slots=True)
class Correction:
    """What a correcting text says: `replaced` maps the position of an amount to that of the one that replaces it."""

    replaced: dict[int, int] = field(default_factory=dict)


def correction(scene: Scene, amounts: list[Amount], no_is_answer: bool) -> Correction | None:
    """Return the correction a text is, or None. With `no_is_answer` a leading "no" answers an open question."""
    if not 0 < scene.size <= _MOST_ITEMS:
        return None
    replaced = _contrasts(scene, amounts)
    if replaced:
        return Correction(replaced)
    strong = [mark for mark in scene.marked("correction", "strong") if mark.first <= 2]
    stated = bool(amounts) or any(match.payload.kind == "observation" for match in scene.phrases)
    if scene.reading.text.lstrip().startswith("*") and amounts:
        return Correction()
    if strong and stated:
        scene.claim(place for mark in strong for place in mark.places)
        return Correction()
    for mark in scene.marked("correction", "weak"):
        answers = no_is_answer and scene.reading.word(mark.first) == "no"
        leads = mark.first == 0 and bool(amounts) and amounts[0].first > 0
        if leads and not answers and _only_values(scene, mark.last, amounts):
            scene.claim(mark.places)
            return Correction()
    return None


def _contrasts(scene: Scene, amounts: list[Amount]) -> dict[int, int]:
    """Return the amounts that are set right by another: "27 not 17", "not 17 but 27"."""
    denied = [index for index, amount in enumerate(amounts) if _is_denied(scene, amount)]
    found: dict[int, int] = {}
    for index in denied:
        for other in (index - 1, index + 1):
            free = 0 <= other < len(amounts) and other not in denied and other not in found.values()
            if free and _beside(amounts[index], amounts[other]):
                found[index] = other
                break
    return found


def _is_denied(scene: Scene, amount: Amount) -> bool:
    before = scene.reading.word(amount.first - 1)
    if before in scene.lexicon.words("negators"):
        return before != "no"
    marks = [mark for mark in scene.marked("correction", "instead") if mark.last == amount.first - 1]
    return bool(marks) and not _is_told(scene)


def _is_told(scene: Scene) -> bool:
    """Tell whether the text opens with what is measured: "dose 16.2 instead of 18" corrects nothing said before."""
    return any(scene.lexicon.cues.get(scene.reading.items[place].stem) for place in range(min(2, scene.size)))


def _beside(one: Amount, other: Amount) -> bool:
    """Tell whether two amounts stand close and could measure the same."""
    gap = max(one.first - other.last, other.first - one.last)
    return gap <= _REACH + 1 and (not one.dimension or not other.dimension or one.dimension == other.dimension)


def _only_values(scene: Scene, start: int, amounts: list[Amount]) -> bool:
    """Tell whether nothing but values and the words that name them follows."""
    covered = {place for amount in amounts for place in range(amount.first, amount.last + 1)}
    return all(
        place in covered
        or scene.reading.items[place].stem in scene.lexicon.cues
        or any(scene.is_one_of(place, words) for words in ("reach", "subjects", "idle", "copula", "fillers"))
        for place in range(start + 1, scene.size)
    )
