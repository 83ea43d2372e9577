"""Dangers that a phrase does not show: cries of alarm ("fire!", "gas!"), and what stands beyond the part that is read.

A text is read up to a limit. Of the rest only the dangers are looked for, sentence by sentence, and only in sentences
that hold a word some danger begins with.
"""

from collections.abc import Iterator

from diagnose.language.lexicon import Lexicon, Meaning
from diagnose.language.phrases import Match
from diagnose.language.scene import Scene
from diagnose.language.tokens import LIMIT, clean

PRESENT = "present"  # the level of a danger that is there
_FARTHEST = 50 * LIMIT  # characters beyond the limit in which dangers are still looked for
_OVERLAP = 400  # characters two pieces share, so that no sentence of usual length is cut in both


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


def pieces(rest: str, lexicon: Lexicon) -> Iterator[Scene]:
    """Yield scenes of the parts of `rest` that may hold a danger; the same line is looked at once."""
    seen: set[str] = set()
    for start in range(0, min(len(rest), _FARTHEST), LIMIT):
        lines = []
        for line in rest[start : start + LIMIT + _OVERLAP].lower().splitlines():
            if line not in seen:
                seen.add(line)
                lines.append(line)
        piece = clean("\n".join(lines))
        if piece.strip():
            yield Scene.of(piece, lexicon, dangers_only=True)
