"""Commands: a line that is nothing but "why", "why not the pump", "what if ...", "undo", "start over", "help", "quit".

A line that merely begins like one ("help, my shot is sour", "why is it sour?") is none.
"""

from diagnose.language.lexicon import Mark
from diagnose.language.phrases import Match
from diagnose.language.scene import Draft, Scene

WITH_ARGUMENTS = frozenset({"why_not", "what_if"})
CANNOT = "cannot"  # the person cannot or will not do what was advised


def command(scene: Scene, asked: bool = False) -> Draft | None:
    """Return the command the text is, or None. Arguments stand in `levels`: a cause's id, or the words as typed.

    With a question open (`asked`), "no" and "skip" answer it and are no command.
    """
    found = [mark for mark in scene.marked("command") if _opens(scene, mark)]
    for mark in sorted(found, key=lambda one: -len(one.places)):
        rest = [place for place in range(mark.last + 1, scene.size) if not scene.is_one_of(place, "idle")]
        name = mark.payload.value
        if asked and name == CANNOT:
            continue
        if name in WITH_ARGUMENTS or not rest:
            if name == "what_if" and not rest:
                continue
            return Draft("command", name, 0, scene.size - 1, _arguments(scene, rest) if rest else ())
    return None


def _opens(scene: Scene, mark: Match[Mark]) -> bool:
    """Tell whether only idle words stand before the mark."""
    return all(scene.is_one_of(place, "idle") for place in range(mark.first))


def _arguments(scene: Scene, rest: list[int]) -> tuple[str, ...]:
    """Return the causes named in the rest of the line, or else the rest as typed."""
    named = [
        match
        for match in scene.phrases
        if match.payload.kind in {"belief", "cause"} and match.first >= rest[0] and match.payload.name
    ]
    if named:
        longest = max(len(match.places) for match in named)
        return tuple(dict.fromkeys(match.payload.name for match in named if len(match.places) == longest))
    return (scene.reading.quote(rest[0], rest[-1]).lower(),)
