"""What was already tried, and what came of it: "ground finer, no change", "descaled, still the same"."""

from bisect import bisect_left

from diagnose.language.amounts import Amount
from diagnose.language.clauses import Doubt, denial
from diagnose.language.lexicon import Meaning
from diagnose.language.observing import STEP_RESULT
from diagnose.language.phrases import Match
from diagnose.language.scene import Draft, Scene
from diagnose.language.units import NOTCH
from diagnose.model import NextStep, Quantity

OUTCOMES = frozenset({"no_change", "better", "worse"})
_REACH = 14  # words after a trial in which its outcome may be said
_BEFORE = 6  # and before it: "no change after descaling"


def tried(scene: Scene, chosen: list[Match[Meaning]], doubted: dict[int, Doubt], amounts: list[Amount]) -> list[Draft]:
    """Return one draft for each step the person says was done. What was only planned or asked is left out."""
    steps = [match for match in chosen if match.payload.kind == "tried" and _was_done(scene, match, doubted)]
    drafts = [Draft("tried", match.payload.name, match.first, match.last) for match in steps]
    for match, draft in zip(steps, drafts, strict=True):
        scene.claim(match.places)
        _add_amount(scene, draft, amounts)
    for index, draft in enumerate(drafts):
        following = drafts[index + 1].first if index + 1 < len(drafts) else scene.size
        _add_outcome(scene, draft, following)
        if not draft.outcome and _is_conditional(scene, draft):
            _add_consequence(scene, draft, chosen)
    for index in range(len(drafts) - 2, -1, -1):
        # "descaled, ground finer, no change": the outcome stands for the whole list.
        if not drafts[index].outcome and scene.reading.same_sentence(drafts[index].first, drafts[index + 1].first):
            drafts[index].outcome = drafts[index + 1].outcome
    kept = _once_each(drafts)
    for match, draft in zip(steps, drafts, strict=True):
        if any(draft is one for one in kept):
            # A count within the phrase ("tried 3 different beans") stands in the text of the statement.
            scene.claim(range(match.first, match.last + 1))
    return kept


def proposed(scene: Scene, chosen: list[Match[Meaning]], doubted: dict[int, Doubt]) -> list[Draft]:
    """Return one belief for each step the person asks about: "should I grind coarser?" supposes too fine a grind."""
    found = []
    for match in chosen:
        if match.payload.kind != "tried" or doubted.get(match.first) != "theory":
            continue
        cause = scene.lexicon.remedies.get(match.payload.name, "") if _is_planned(scene, match) else ""
        scene.claim(match.places)
        found.append(Draft("belief", cause, match.first, match.last))
    return found


def settle_outcomes(trials: list[Draft], observed: list[Draft]) -> list[Draft]:
    """Take a comparison after a trial ("ground finer, less sour") as its outcome; return what else was observed."""
    left = []
    for one in observed:
        before = [trial for trial in trials if trial.last < one.first and not trial.outcome]
        if one.name == STEP_RESULT and len(one.levels) == 1 and before and one.levels[0] in OUTCOMES:
            trial = max(before, key=lambda draft: draft.last)
            trial.outcome, trial.last = one.levels[0], one.last
        else:
            left.append(one)
    return left


def done_as_advised(scene: Scene, advice: NextStep) -> list[Draft]:
    """Take "done, no change", "did that" or a bare "worse" as the outcome of the step that was advised."""
    if advice.kind not in {"adjust", "fix"}:
        return []
    done = [mark for mark in scene.between("reply", 0, 2) if mark.payload.value == "done"]
    outcomes = scene.marked("outcome") if done else scene.between("outcome", 0, 3)
    said = [*done[:1], *outcomes[:1]]
    if not said:
        return []
    scene.claim(place for mark in said for place in mark.places)
    outcome = outcomes[0].payload.value if outcomes else ""
    return [Draft("tried", advice.id, said[0].first, said[-1].last, outcome=outcome)]


def _once_each(drafts: list[Draft]) -> list[Draft]:
    """Return the drafts with each step once for each outcome and amount."""
    seen: dict[tuple[str, str, Quantity | None], Draft] = {}
    for draft in drafts:
        seen.setdefault((draft.name, draft.outcome, draft.quantity), draft)
    return list(seen.values())


def _was_done(scene: Scene, match: Match[Meaning], doubted: dict[int, Doubt]) -> bool:
    """Tell whether the step was done, rather than planned, asked about, impossible or never done."""
    if doubted.get(match.first) == "theory" or denial(scene, match.first, match.places) is not None:
        return False
    return not _is_planned(scene, match)


def _is_planned(scene: Scene, match: Match[Meaning]) -> bool:
    """Tell whether a step is only planned or thought of: "will", "should I"."""
    marks = [mark for mark in scene.marked("sentence", "planned") if scene.reading.word(mark.first) != "tried"]
    planned = {place for mark in marks for place in mark.places}
    before = range(max(match.first - 4, 0), match.first)
    return any(at in planned and scene.reading.same_clause(at, match.first) for at in before)


def _add_amount(scene: Scene, draft: Draft, amounts: list[Amount]) -> None:
    """Take "2 notches finer" and "finer by 2 clicks" into the statement."""
    start = bisect_left(amounts, draft.first - _BEFORE, key=lambda amount: amount.first)
    for amount in amounts[start : start + _BEFORE]:
        near = 0 < draft.first - amount.last <= 2 or 0 < amount.first - draft.last <= 3
        meant = amount.unit is NOTCH or (amount.unit is None and scene.lexicon.steps.get(draft.name) == "grind")
        inside = draft.first < amount.first and amount.last < draft.last
        near = inside or (near and (amount.unit is NOTCH or draft.first - amount.last == 1))
        free = inside or amount.core not in scene.claimed
        if meant and free and near and scene.reading.same_clause(amount.core, draft.first):
            draft.quantity = Quantity(
                amount.value, "notch", max(amount.low, 0.0), min(amount.high, 1000.0),
                scene.reading.quote(amount.first, amount.last),
            )  # fmt: skip
            draft.first, draft.last = min(draft.first, amount.first), max(draft.last, amount.last)
            scene.claim(range(amount.first, amount.last + 1))


def _add_outcome(scene: Scene, draft: Draft, following: int) -> None:
    """Find what came of a trial: after it, or before it in the same sentence."""
    end = min(draft.last + _REACH, following)
    after = [mark for mark in scene.between("outcome", draft.last + 1, end) if _next_sentence(scene, draft, mark.first)]
    before = [
        mark
        for mark in scene.between("outcome", draft.first - _BEFORE, draft.first)
        if scene.reading.same_sentence(mark.first, draft.first)
    ]
    for mark in (*after[:1], *before[-1:]):
        if mark.places <= scene.claimed and mark in before:
            continue
        draft.outcome = mark.payload.value
        if draft.outcome == "better" and denial(scene, mark.first, mark.places) is not None:
            draft.outcome = "no_change"
        scene.claim(mark.places)
        draft.first, draft.last = min(draft.first, mark.first), max(draft.last, mark.last)
        return


def _is_conditional(scene: Scene, draft: Draft) -> bool:
    """Tell whether the trial is told as a rule: "if I grind finer it chokes"."""
    before = range(max(draft.first - 4, 0), draft.first)
    return any(scene.is_one_of(at, "if_words") and scene.reading.same_clause(at, draft.first) for at in before)


def _add_consequence(scene: Scene, draft: Draft, chosen: list[Match[Meaning]]) -> None:
    """Take what follows from a trial told as a rule as its outcome, not as something seen in the last shot."""
    for match in chosen:
        words = scene.lexicon.findings.get(match.payload.name)
        if match.payload.kind != "observation" or words is None or match.first <= draft.last:
            continue
        if scene.reading.same_sentence(match.first, draft.first) and match.payload.level != words.normal:
            draft.outcome = "worse"
            draft.last = max(draft.last, match.last)
            scene.claim(match.places)


def _next_sentence(scene: Scene, draft: Draft, place: int) -> bool:
    return scene.reading.sentence[place] - scene.reading.sentence[draft.last] <= 1
