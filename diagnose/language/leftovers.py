"""What of a text was not used: clauses in which nothing was recognised, and theories that name no known cause."""

from collections.abc import Mapping

from diagnose.language.clauses import Doubt
from diagnose.language.doubts import WHICH_UNIT
from diagnose.language.scene import Draft, Scene

_LEAST_WORDS = 2  # words of weight a clause must hold to be worth mentioning
_LIGHT = ("idle", "fillers", "reach", "subjects", "clause_words", "question_words", "turns", "copula", "articles")


def refuse_leftovers(scene: Scene, doubted: Mapping[int, Doubt], drafts: list[Draft]) -> None:
    """Add a belief without a name for each unnamed theory, and refuse the clauses nothing was made of."""
    _unnamed_theories(scene, doubted, drafts)
    for place, item in enumerate(scene.reading.items):
        if item.kind in {"number", "pair", "date"} and place not in scene.claimed:
            scene.refuse(place, place, WHICH_UNIT)
    start = 0
    for place in range(1, scene.size + 1):
        if place < scene.size and scene.reading.same_clause(place - 1, place):
            continue
        clause = range(start, place)
        weighty = [at for at in clause if not any(scene.is_one_of(at, words) for words in _LIGHT)]
        if scene.claimed.isdisjoint(clause) and len(weighty) >= _LEAST_WORDS:
            scene.refuse(clause[0], clause[-1], "")
        start = place


def _unnamed_theories(scene: Scene, doubted: Mapping[int, Doubt], drafts: list[Draft]) -> None:
    """Keep "because I used the wrong cup" as a belief whose cause is not known."""
    for mark in scene.marked("sentence", "cause"):
        if mark.first in scene.claimed:
            continue
        theory: list[int] = []
        for place in range(mark.last + 1, scene.size):
            if doubted.get(place) != "theory" or not scene.reading.same_clause(mark.last, place):
                break
            theory.append(place)
        if theory and scene.claimed.isdisjoint(theory):
            drafts.append(Draft("belief", "", mark.first, theory[-1]))
            scene.claim(range(mark.first, theory[-1] + 1))
