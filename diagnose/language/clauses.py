"""What the rest of the clause does to a phrase: denies it, softens it, doubts it, or asks about it.

A denial reaches forward only through words of little weight ("not really all that sour") and through what is joined by
"or"; with dangers it reaches through fewer, so that "no power, smell of gas" is never taken for an absence.
"""

from collections.abc import Iterable
from typing import Literal

from diagnose.language.lexicon import Meaning
from diagnose.language.phrases import Match
from diagnose.language.scene import Scene

_FARTHEST = 8  # words a denial reaches at most
_JOINED = 3  # words that may stand between "not" and an "or" that carries it on
_SOFTENING = 4  # words between a hedge and what it softens

Doubt = Literal["theory", "opinion"]


def denial(scene: Scene, place: int, taken: frozenset[int], danger: bool = False) -> int | None:
    """Return the place of the word that denies the word at `place`, or None. `taken`: words that belong to phrases."""
    reach = "reach_danger" if danger else "reach"
    joined = 0
    for at in range(place - 1, max(place - 1 - _FARTHEST, -1), -1):
        if not scene.reading.same_clause(at, place):
            return None
        word = scene.reading.word(at)
        if word in scene.lexicon.words("negators") and (at not in taken or joined):
            if word == "no" and scene.is_one_of(at + 1, "subjects"):
                return None  # "no it is bitter" answers something and denies nothing
            return None if danger and _keeps_danger(scene, at) else at
        if word in {"or", "nor"}:
            joined = _JOINED
        elif scene.is_one_of(at, reach):
            continue
        elif joined and not scene.is_one_of(at, "clause_words"):
            joined -= 1
        else:
            return None
    return None


def _keeps_danger(scene: Scene, at: int) -> bool:
    """Tell whether a "not" leaves a danger standing: "no longer", and "can not get the handle off, it hisses"."""
    unable = scene.is_one_of(at - 1, "able_words") and not scene.is_one_of(at + 1, "perceive_words")
    return unable or scene.reading.word(at + 1) == "longer"


def is_denied(scene: Scene, match: Match[Meaning], taken: frozenset[int]) -> bool:
    """Tell whether a phrase is denied: before it, or after it ("the sourness is gone")."""
    danger = match.payload.kind == "danger"
    before = any(denial(scene, part[0], taken - match.places, danger) is not None for part in match.parts)
    if danger:
        past = scene.begins("sentence", "anymore", range(match.last + 1, match.last + 4))
        return before and not past
    after = match.last + 1
    gone = scene.begins("sentence", "gone", range(after, after + 1)) and scene.reading.same_clause(after, match.last)
    return before != gone


def softening(scene: Scene, match: Match[Meaning], taken: frozenset[int]) -> int | None:
    """Return the place of the "a bit", "kind of", "-ish" or the like that softens a phrase, or None."""
    hedges = scene.places("sentence", "hedge") - taken
    items = scene.reading.items
    if any(items[place].word.endswith("ish") and not items[place].stem.endswith("ish") for place in match.places):
        return match.first
    inside = set(range(match.first, match.last + 1)) - match.places
    if not hedges.isdisjoint(inside):
        return match.first
    for at in range(match.first - 1, max(match.first - 1 - _SOFTENING, -1), -1):
        if not scene.reading.same_clause(at, match.first):
            return None
        if at in hedges:
            return at if at - 1 not in hedges else at - 1
        if not (scene.is_one_of(at, "reach") or scene.is_one_of(at, "fillers")):
            return None
    return None


def weakly_denied(scene: Scene, match: Match[Meaning]) -> bool:
    """Tell whether a denial only takes the edge off: "not too sour", "not really bitter"."""
    before = range(max(match.first - 3, 0), match.first)
    return any(scene.is_one_of(at, "degree") and scene.reading.same_clause(at, match.first) for at in before)


def doubts(scene: Scene) -> dict[int, Doubt]:
    """Return the places that stand in a theory ("because ...", "is it ...?") or an opinion ("I think ...")."""
    found: dict[int, Doubt] = {}
    for mark in scene.marked("sentence", "opinion"):
        found |= dict.fromkeys(_rest_of_clause(scene, mark.last + 1), "opinion")
    for mark in scene.marked("sentence", "cause"):
        noun = scene.is_one_of(mark.first - 1, "articles")  # "the cause" is no "because"
        if found.get(mark.first) != "theory" and not noun and not _backs_a_theory(scene, mark.first):
            found |= dict.fromkeys(_rest_of_clause(scene, mark.last + 1), "theory")
    for mark in scene.marked("sentence", "ask"):
        rest = _rest_of_clause(scene, mark.last + 1)
        if _is_open_question(scene, mark.first):
            continue
        presumed = scene.places("sentence", "presume")
        if presumed.isdisjoint(rest[:5]):
            found |= dict.fromkeys(rest, "theory")
    for sentence in scene.reading.questions:
        found |= dict.fromkeys(_fragment(scene, sentence), "theory")
    return found


def _backs_a_theory(scene: Scene, place: int) -> bool:
    """Tell whether a theory stands right before "because": "over-extracted because it is bitter" says what was seen."""
    near = (match for at in range(place - 6, place) for match in scene.phrases_from.get(at, ()))
    return any(match.payload.kind == "belief" and place - 2 <= match.last < place for match in near)


def _is_open_question(scene: Scene, place: int) -> bool:
    """Tell whether "why", "how" and the like come before: "why is it sour?" takes the sourness for granted."""
    before = range(max(place - 3, 0), place)
    return any(scene.is_one_of(at, "question_words") and scene.reading.same_clause(at, place) for at in before)


def _rest_of_clause(scene: Scene, start: int) -> list[int]:
    """Return the places from `start` to the end of its clause, or to "but", or to "and it ...", "and I ..."."""
    places = []
    for place in range(start, scene.size):
        if not scene.reading.same_clause(start, place) or scene.reading.word(place) in scene.lexicon.words("turns"):
            break
        if scene.reading.word(place) == "and" and scene.is_one_of(place + 1, "subjects"):
            break
        places.append(place)
    return places


def _fragment(scene: Scene, sentence: int) -> Iterable[int]:
    """Return the last clause of a question if it is a mere fragment: "too fine?", "stale beans?"."""
    reading = scene.reading
    inside = scene.sentences.get(sentence, [])
    last = [place for place in inside if reading.clause[place] == reading.clause[inside[-1]]] if inside else []
    plain = all(reading.items[place].kind == "word" for place in last)
    asked = any(scene.is_one_of(place, "question_words") for place in inside)
    starts = bool(last) and (scene.is_one_of(last[0], "subjects") or scene.is_one_of(last[0], "reach"))
    return last if last and plain and len(last) <= 4 and not asked and not starts else ()
