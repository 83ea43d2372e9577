"""Dangers that a phrase does not show: cries of alarm ("fire!", "gas!"), and what stands beyond the part that is read.

A text is read up to a limit. Of the rest only the dangers are looked for, so that a long paste hides none.
"""

import re
from collections.abc import Iterator

from diagnose.language.lexicon import Lexicon, Meaning
from diagnose.language.phrases import Match
from diagnose.language.scene import Scene
from diagnose.language.tokens import LIMIT, clean

PRESENT = "present"  # the level of a danger that is there
_FARTHEST = 150_000  # of what is left out, the beginning and the end searched: characters, repetitions not counted
_OVERLAP = 400  # characters two pieces of one endless sentence share
_ENDS = re.compile(r"(?<=[.!?\n])\s+")


def alarms(scene: Scene) -> list[Match[Meaning]]:
    """Return a danger for each sentence that is nothing but a cry of alarm."""
    found = []
    for mark in scene.marked("alarm"):
        sentence = scene.sentences[scene.reading.sentence[mark.first]]
        rest = [place for place in sentence if place not in mark.places]
        alone = all(scene.is_one_of(place, "alarm_company") or scene.is_one_of(place, "idle") for place in rest)
        if alone and mark.payload.value in scene.lexicon.findings:
            found.append(Match.of(Meaning("danger", mark.payload.value, PRESENT), (tuple(sorted(mark.places)),)))
    return found


def dangers_beyond(text: str, start: int, lexicon: Lexicon) -> Iterator[tuple[Scene, list[Match[Meaning]]]]:
    """Yield scenes of the text from about `start` on with the dangers in them; a sentence said again counts once."""
    for piece in _pieces(text[max(start - _OVERLAP, 0) :]):
        scene = Scene.of(clean(piece), lexicon, lexicon.dangers)
        yield scene, [*scene.phrases, *alarms(scene)]


def _pieces(rest: str) -> Iterator[str]:
    """Yield the sentences of `rest`, each once, as texts of readable length."""
    told = "\n".join(dict.fromkeys(_ENDS.split(rest)))
    if len(told) > 2 * _FARTHEST:
        told = f"{told[:_FARTHEST]}\n{told[-_FARTHEST:]}"
    start = 0
    while start < len(told):
        end = start + LIMIT
        line_end = told.rfind("\n", start + _OVERLAP, end) if end < len(told) else len(told)
        yield told[start : line_end if line_end > 0 else end]
        start = line_end + 1 if line_end > 0 else end - _OVERLAP
