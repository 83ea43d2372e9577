"""From phrases to observations and beliefs: which phrases count, what they say, what they add up to."""

from collections.abc import Iterable, Mapping

from diagnose.language.alarms import alarms
from diagnose.language.clauses import Doubt, denial, is_denied, softening, weakly_denied
from diagnose.language.context import BREWER, ESPRESSO, MILK
from diagnose.language.lexicon import Meaning
from diagnose.language.phrases import Match
from diagnose.language.scene import Draft, Scene
from diagnose.language.shots import counting_words
from diagnose.rulebase.vocabulary import BREW_TIME

STEP_RESULT = "step_result"  # the built-in finding that says what the last step changed
# Where phrases of one length compete for the same words; one guessed at or asked about is a theory before all else.
_RANK = {"observation": 0, "belief": 1, "tried": 2, "cause": 3}


def choose(scene: Scene, doubted: Mapping[int, Doubt]) -> list[Match[Meaning]]:
    """Return the phrases that count: every danger, and of the others the longest at each place.

    What is stated plainly is an observation, what stands in a theory or an opinion rather a belief. The word a phrase
    in several parts is about ("milk + burnt") may serve several phrases.
    """
    dangers = [match for match in scene.phrases if match.payload.kind == "danger"]
    dangers += alarms(scene)
    counting = counting_words(scene)
    taken = {place for match in dangers for place in match.places} | counting
    chosen: dict[frozenset[int], list[Match[Meaning]]] = {}
    others = [match for match in scene.phrases if match.payload.kind != "danger" and _holds(scene, match, counting)]
    others = [match for match in others if not _out_of_place(scene, match)]
    for match in sorted(others, key=lambda one: _precedence(one, doubted)):
        same = chosen.get(match.places, [])
        own = match.places - _topics(scene, match)
        if same:
            # Exactly the same words may speak of two findings, and are then heard as both.
            if match.payload.kind == same[0].payload.kind and match.payload not in {one.payload for one in same}:
                same.append(match)
                chosen[match.places] = _in_their_place(scene, same)
        elif own and taken.isdisjoint(own):
            chosen[match.places] = [match]
            taken |= own
    return sorted([*dangers, *(one for same in chosen.values() for one in same)], key=lambda one: (one.first, one.last))


def _precedence(match: Match[Meaning], doubted: Mapping[int, Doubt]) -> tuple[bool, bool, int, int, int]:
    """Return the key phrases are chosen in the order of: theories among the doubted, what a step changed last."""
    kind, places = match.payload.kind, len(match.places)
    guessed = kind == "belief" and match.first in doubted
    return not guessed, match.payload.name == STEP_RESULT, -places, _RANK[kind], match.first


def _topics(scene: Scene, match: Match[Meaning]) -> frozenset[int]:
    """Return the places of a phrase that only say what it is about: a part that is one word such as "milk"."""
    if len(match.parts) == 1:
        return frozenset()
    single = (part[0] for part in match.parts if len(part) == 1)
    return frozenset(place for place in single if scene.is_one_of(place, "topic_words"))


def _out_of_place(scene: Scene, match: Match[Meaning]) -> bool:
    """Tell whether a phrase is about milk foam, though only a shot is spoken of: "bubbly foam" on espresso."""
    if match.payload.kind != "observation" or _area(scene, match) != MILK or scene.context.topic == MILK:
        return False
    of_foam = any(scene.is_one_of(place, "foam_words") for place in match.places)
    return of_foam and scene.has("coffee_words") and not scene.has("milk_words")


def _in_their_place(scene: Scene, same: list[Match[Meaning]]) -> list[Match[Meaning]]:
    """Keep of "bubbly" and the like what fits: the milk where milk is spoken of, else the shot."""
    of_milk = [match for match in same if _area(scene, match) == MILK]
    others = [match for match in same if _area(scene, match) != MILK]
    return same if not of_milk or not others else of_milk if scene.speaks_of(MILK) else others


def _area(scene: Scene, match: Match[Meaning]) -> str:
    words = scene.lexicon.findings.get(match.payload.name)
    return words.area if words else ""


def _holds(scene: Scene, match: Match[Meaning], counting: frozenset[int]) -> bool:
    """Tell whether a phrase may count.

    What a step changed must not be asked for ("would it help"). A phrase in parts must not reach over from one shot to
    the next; and where its parts say something by themselves, none may be denied ("sour, not bitter" is not both).
    """
    if match.payload.name == STEP_RESULT:
        asked = scene.places("sentence", "ask") | scene.places("sentence", "planned")
        return asked.isdisjoint(match.places)
    if len(match.parts) == 1:
        return True
    inside = range(match.first, match.last)
    numbers = sum(scene.reading.items[at].kind in {"number", "pair"} for at in inside)
    if (match.payload.kind == "observation" and numbers > 1) or not counting.isdisjoint(inside):
        return False  # two numbers between, such as a weight and a time, tell of the next shot
    within = (other for place in match.places for other in scene.phrases_from.get(place, ()))
    speaking = any(other.payload[:2] == match.payload[:2] and other.places < match.places for other in within)
    return not (speaking and is_denied(scene, match, match.places))


def observe(
    scene: Scene, chosen: list[Match[Meaning]], doubted: Mapping[int, Doubt], after_step: bool = False
) -> list[Draft]:
    """Return one draft for each phrase that states a danger, an observation or a belief.

    With `after_step` a comparison ("less sour") says what the step changed, and nothing else.
    """
    taken = frozenset(place for match in chosen for place in match.places)
    drafts = []
    for match in chosen:
        if match.payload.kind == "tried":
            continue
        scene.claim(match.places)
        doubt = doubted.get(match.first)
        if match.payload.kind in {"belief", "cause"} or (match.payload.kind == "observation" and doubt == "theory"):
            if not is_denied(scene, match, taken):
                drafts.append(_belief(match))
        else:
            compared = _comparison(scene, match) if after_step else None
            drafts.append(compared or _observation(scene, match, taken, doubt))
    return drafts


def _comparison(scene: Scene, match: Match[Meaning]) -> Draft | None:
    """Return "less sour" as better and "more bitter" as worse; None where nothing is compared."""
    words = scene.lexicon.findings[match.payload.name]
    if not words.per_shot or STEP_RESULT not in scene.lexicon.findings:
        return None
    beside = [scene.compared[part[0]] for part in match.parts if part[0] in scene.compared]
    wanted = match.payload.level == words.normal
    changed = {"better" if (mark.payload.value == "more") == wanted else "worse" for mark in beside}
    if not changed:
        return None
    levels = tuple(level for level in scene.lexicon.findings[STEP_RESULT].levels if level in changed)
    return Draft("observation", STEP_RESULT, min(mark.first for mark in beside), match.last, levels)


def _belief(match: Match[Meaning]) -> Draft:
    levels = (match.payload.level,) if match.payload.level else ()
    return Draft("belief", match.payload.name, match.first, match.last, levels)


def _observation(scene: Scene, match: Match[Meaning], taken: frozenset[int], doubt: Doubt | None) -> Draft:
    """Return what a phrase says of its finding, with denial and hedges."""
    words = scene.lexicon.findings[match.payload.name]
    level = match.payload.level
    negated = is_denied(scene, match, taken)
    softener = None if match.payload.kind == "danger" else softening(scene, match, taken)
    soft = softener is not None
    hedged = soft or doubt == "opinion" or (negated and weakly_denied(scene, match))
    milder = words.hedged.get(level, level)
    if negated:
        out = {level, milder} if soft else {level}
        levels = tuple(one for one in words.levels if one not in out)
    else:
        levels = (milder,) if soft else (level,)
    if match.payload.name == BREWER and level in BREW_TIME and _speaks_of_espresso(scene):
        levels = tuple(one for one in words.levels if one in {level, ESPRESSO})  # both are spoken of
    starts = (match.first, softener, denial(scene, match.first, taken - match.places) if negated else None)
    first = min(start for start in starts if start is not None)
    return Draft("observation", match.payload.name, first, match.last, levels, negated=negated, hedged=hedged)


def _speaks_of_espresso(scene: Scene) -> bool:
    """Tell whether espresso is drunk or made here, which "espresso grind in the moka pot" is not."""
    places = (place for place in range(scene.size) if scene.is_one_of(place, "espresso_words"))
    return any(not scene.is_one_of(place + 1, "for_espresso_words") for place in places)


def merge(scene: Scene, drafts: Iterable[Draft]) -> list[Draft]:
    """Join the observations of one finding in one shot: the levels said, less those denied; a danger is never lost."""
    found: dict[tuple[str, int | None], list[Draft]] = {}
    merged: list[Draft] = []
    for draft in drafts:
        if draft.kind == "observation":
            found.setdefault((draft.name, draft.shot), []).append(draft)
        else:
            merged.append(draft)
    for (name, _), same in found.items():
        merged.append(_joined(scene, scene.lexicon.findings[name].levels, same))
    return sorted(merged, key=lambda draft: (draft.first, draft.last))


def _joined(scene: Scene, levels: tuple[str, ...], same: list[Draft]) -> Draft:
    said = [draft for draft in same if not draft.negated]
    if len(same) == 1:
        return same[0]
    left = {level for draft in said for level in draft.levels} if said else set(same[0].levels)
    for draft in same:
        if draft.negated and left & set(draft.levels):
            left &= set(draft.levels)
    result = said[0] if said else same[0]
    result.levels = tuple(level for level in levels if level in left)
    result.hedged = any(draft.hedged for draft in said or same)
    result.text = " ... ".join(scene.reading.quote(draft.first, draft.last) for draft in same)
    return result
