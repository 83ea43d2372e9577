"""Which numbers are the person's recipe rather than the shot just pulled: "my usual is ...", "aiming for 36 out"."""

from diagnose.language.measuring import IN_RECIPE
from diagnose.language.naming import Named
from diagnose.language.scene import Scene


def recipe_amounts(scene: Scene, named: list[Named]) -> set[int]:
    """Return the positions in `named` that belong to a recipe, claiming the words that say so."""
    found: set[int] = set()
    for mark in scene.marked("sentence", "recipe"):
        scene.claim(mark.places)
        after = _forward(scene, mark.last, named)
        if not after and _closes(scene, mark.first):
            after = [
                index
                for index, one in enumerate(named)
                if one.amount.last < mark.first and scene.reading.same_sentence(one.amount.core, mark.first)
            ]
        if not after and _ends_clause(scene, mark.first, mark.last):
            after = [index for index, one in enumerate(named) if scene.reading.same_clause(one.amount.core, mark.first)]
        found.update(after)
    for mark in scene.marked("correction", "instead"):
        if scene.reading.word(mark.last) not in scene.lexicon.words("negators"):
            # "dose 16.2 instead of 18": what stands after it is how it should be
            found.update(index for index, one in enumerate(named) if one.amount.first == mark.last + 1 and one.name)
    return found


def _closes(scene: Scene, place: int) -> bool:
    """Tell whether the mark ends its sentence: "18 in, 36 out is my recipe"."""
    return any(scene.is_one_of(at, "copula") for at in range(max(place - 3, 0), place))


def _ends_clause(scene: Scene, first: int, last: int) -> bool:
    """Tell whether the mark stands right behind numbers and ends their clause: "25-30 s normally, today 18"."""
    behind = scene.reading.same_clause(first - 1, first) and not scene.is_one_of(first - 1, "articles")
    return behind and not scene.reading.same_clause(last, last + 1)


def _forward(scene: Scene, start: int, named: list[Named]) -> list[int]:
    """Return the numbers after the mark, up to a turn such as "but", a sentence end, or a measure said again."""
    ends = [mark.first for mark in scene.marked("sentence", "recipe_end") if mark.first > start]
    stop = min(ends, default=scene.size)
    seen: set[str] = set()
    taken: list[int] = []
    for index, one in enumerate(named):
        amount = one.amount
        if amount.core <= start:
            continue
        # A heading line ("Recipe:") speaks for the lines below it.
        same = scene.reading.same_sentence(start, amount.core) or (not taken and _is_heading(scene, start, amount.core))
        if taken:
            same = scene.reading.sentence[amount.core] <= scene.reading.sentence[named[taken[-1]].amount.core] + (
                0 if scene.reading.same_sentence(start, named[taken[0]].amount.core) else 1
            )
        repeated = one.name in seen or seen >= {"dose", "yield", "time"}
        if amount.first > stop or not same or (one.name in IN_RECIPE and repeated):
            break
        if one.name in IN_RECIPE:
            seen.add(one.name)
            taken.append(index)
    return taken


def _is_heading(scene: Scene, start: int, place: int) -> bool:
    """Tell whether the mark ends its line and the number stands on the next."""
    ends_line = not scene.reading.same_sentence(start, start + 1)
    return ends_line and scene.reading.sentence[place] == scene.reading.sentence[start] + 1
