"""From one text to statements: everything that was said, and what could not be used with the reason why."""

from collections.abc import Iterable, Sequence
from dataclasses import dataclass, replace
from datetime import date

from diagnose.language.alarms import PRESENT, dangers_beyond
from diagnose.language.amounts import Amount, find_amounts
from diagnose.language.answering import VERDICT, Question, answer, question_of, said_after_numbers, said_alone
from diagnose.language.clauses import Doubt, doubts
from diagnose.language.commanding import command
from diagnose.language.context import context_of
from diagnose.language.correcting import Correction, correction
from diagnose.language.dates import find_days
from diagnose.language.doubts import DENIED
from diagnose.language.leftovers import refuse_leftovers
from diagnose.language.lexicon import Lexicon, Meaning
from diagnose.language.measuring import measure, nameless
from diagnose.language.naming import name_amounts
from diagnose.language.observing import choose, merge, observe
from diagnose.language.ordering import name_the_rest
from diagnose.language.phrases import Match
from diagnose.language.recipes import recipe_amounts
from diagnose.language.scene import Draft, Scene
from diagnose.language.shots import number_shots, numbered_shots
from diagnose.language.tokens import LIMIT, clean, cut
from diagnose.language.trying import done_as_advised, proposed, settle_outcomes, tried
from diagnose.model import NextStep, Refused, Statement

_CORRECTING = frozenset({"measurement", "observation", "tried"})  # what a correction may put in place of the old
_DOING = frozenset({"adjust", "fix", "repeat"})  # steps after which "less sour" compares with the shot before
_QUOTED = 40  # characters of a text quoted where nothing or not all of it was read


@dataclass(frozen=True, slots=True)
class Understanding:
    """What a text says. `shots` counts the shots it tells of (0: none), in whose time order statements are numbered.

    With `correction` the statements replace earlier ones. A corrected number whose unit was not said has the name "";
    `levels` of a corrected number holds the number it replaces, if that was said ("no, 27 not 17").
    """

    statements: tuple[Statement, ...]
    refused: tuple[Refused, ...]
    shots: int
    correction: bool = False


def understand(
    text: str,
    lexicon: Lexicon,
    *,
    pending: NextStep | None = None,
    today: date | None = None,
    earlier: Sequence[Statement] = (),
) -> Understanding:
    """Return what `text` says, given the step or question that is open and the day it is said on.

    `earlier` are the statements of the talk so far, oldest first: with them a bare number may be plain.

    Reads any text without raising; what cannot be used is in `refused` with the reason, or with "" where it was just
    not understood. An answer belongs to no shot of the text: it speaks of the shot under discussion.
    """
    kept, left_out = cut(text)
    scene = Scene.of(clean(kept), lexicon, context=context_of(earlier, lexicon.findings))
    result = _Work(scene, question_of(pending, lexicon.answers_by), pending, today).run()
    if not result.statements and not result.refused:
        result = replace(result, refused=(Refused(text.strip()[:_QUOTED]),))
    if left_out:
        result = _with_dangers_beyond(result, text, len(kept), lexicon)
        reason = f"only the first {LIMIT} characters are read; {left_out} were left out"
        rest = clean(text[len(kept) : len(kept) + _QUOTED]).strip()
        result = replace(result, refused=(*result.refused, Refused(f"{rest}...", reason)))
    return result


def _with_dangers_beyond(result: Understanding, text: str, start: int, lexicon: Lexicon) -> Understanding:
    """Return the result with the dangers that stand beyond the part of the text that was read."""
    known = {(one.name, one.levels) for one in result.statements if one.kind == "observation"}
    found: dict[str, Statement] = {}
    for scene, dangers in dangers_beyond(text, start, lexicon):
        for draft in observe(scene, dangers, {}):
            if draft.levels == (PRESENT,) and (draft.name, draft.levels) not in known:
                found.setdefault(draft.name, _statement(scene, draft))
    kept = [one for one in result.statements if one.name not in found]  # "no smell of gas" before, gas after: gas
    return replace(result, statements=(*kept, *found.values()))


class _Work:
    """The steps of reading one text; each takes the places it accounts for out of the reach of the next."""

    def __init__(self, scene: Scene, question: Question | None, pending: NextStep | None, today: date | None) -> None:
        self.scene = scene
        self.question = question
        self.pending = pending
        self.today = today
        self.drafts: list[Draft] = []

    def run(self) -> Understanding:
        """Return the understanding of the text: dangers always, then a command alone, or everything else."""
        doubted = doubts(self.scene)
        chosen = choose(self.scene, doubted)
        ordered = command(self.scene, self.question is not None)
        if ordered is not None:
            dangers = [match for match in chosen if match.payload.kind == "danger"]
            return self._finished([*merge(self.scene, observe(self.scene, dangers, {})), ordered], 0)
        reply = answer(self.scene, self.question) if self.question else None
        if not self.question:
            self.drafts += said_alone(self.scene)
        corrected = self._read(chosen, doubted, reply)
        said = {draft.name for draft in self.drafts}
        if reply is None and VERDICT not in said and not said.isdisjoint({"time", "yield"}):
            self.drafts += said_after_numbers(self.scene)
        answers = self._answers(self.question, reply) if self.question else []
        shots = number_shots(self.scene, self.drafts)
        drafts = [*answers, *merge(self.scene, self.drafts)]
        return self._finished(drafts, shots, corrected is not None)

    def _read(self, chosen: list[Match[Meaning]], doubted: dict[int, Doubt], reply: Draft | None) -> Correction | None:
        """Fill the drafts with numbers, trials, observations and theories; return the correction, if it is one."""
        scene = self.scene
        self.drafts += find_days(scene, self.today)
        scene.claim(numbered_shots(scene))
        amounts = [one for one in find_amounts(scene) if scene.claimed.isdisjoint(range(one.core, one.last + 1))]
        corrected = correction(scene, amounts, bool(self.question and self.question.has_yes_or_no))
        trials = tried(scene, chosen, doubted, amounts)
        self.drafts += [*trials, *self._measurements(amounts, corrected)]
        spoken = _covered([*trials, reply] if reply else trials)
        left = [match for match in chosen if match.payload.kind == "danger" or not match.places <= spoken]
        advised = self.pending is not None and self.pending.kind in _DOING
        observed = observe(scene, left, doubted, advised or bool(trials))
        self.drafts += [*settle_outcomes(trials, observed), *proposed(scene, chosen, doubted)]
        if self.pending is not None and not trials:
            self.drafts += done_as_advised(scene, self.pending)
        if corrected is not None:
            self.drafts = [one for one in self.drafts if one.kind in _CORRECTING and not one.negated]
        refuse_leftovers(scene, doubted, self.drafts)
        return corrected

    def _measurements(self, amounts: list[Amount], corrected: Correction | None) -> list[Draft]:
        """Name the amounts and turn them into drafts; amounts a correction replaces fall away."""
        scene = self.scene
        contrasts = corrected.replaced if corrected else {}
        replaced = {gone: new for gone, new in contrasts.items() if amounts[new].core not in scene.claimed}
        old = {amounts[new].core: amounts[gone] for gone, new in replaced.items()}
        for gone in replaced:
            scene.claim(range(amounts[gone].first - 1, amounts[gone].last + 1))
        named = name_amounts(scene, [one for one in amounts if one.core not in scene.claimed])
        name_the_rest(scene, named, self.question.measure if self.question else "")
        recipe = recipe_amounts(scene, named)
        drafts = []
        for index, one in enumerate(named):
            before = old.get(one.amount.core)
            unnamed = corrected is not None and not one.name
            draft = nameless(scene, one.amount) if unnamed else measure(scene, one, index in recipe)
            if draft is not None:
                drafts.append(draft)
            if draft is not None and before is not None:
                draft.levels = (f"{before.value:g}",)
                draft.first, draft.last = min(draft.first, before.first), max(draft.last, before.last)
            elif before is not None:
                scene.refuse(before.first, before.last, DENIED)
        return drafts

    def _answers(self, question: Question, reply: Draft | None) -> list[Draft]:
        """Take what was said of the finding in question out of the drafts, as the answer; mark its number answered."""
        spoken = [one for one in self.drafts if one.kind == "observation" and one.name == question.finding]
        self.drafts = [one for one in self.drafts if one not in spoken]
        for one in self.drafts:
            if one.kind == "measurement" and one.name and one.name == question.measure:
                one.source = "answered"
        if reply is not None:
            return [reply]
        answers = merge(self.scene, spoken)
        for one in answers:
            one.kind, one.source = "answer", "answered"
            one.levels = one.levels if one.negated or one.hedged else question.levels_with(one.levels)
        return answers

    def _finished(self, drafts: list[Draft], shots: int, corrected: bool = False) -> Understanding:
        statements = tuple(_statement(self.scene, one) for one in drafts)
        refused = tuple(refusal for _, refusal in sorted(self.scene.refused, key=lambda pair: pair[0]))
        return Understanding(statements, refused, shots, corrected)


def _covered(drafts: Iterable[Draft]) -> set[int]:
    """Return all places from the first to the last of each draft."""
    return {place for one in drafts for place in range(one.first, one.last + 1)}


def _statement(scene: Scene, draft: Draft) -> Statement:
    """Return the statement a draft has become, quoting the text it stands on."""
    stands = draft.first <= draft.last
    quoted = draft.text or (scene.reading.quote(draft.first, draft.last) if stands else scene.reading.text.strip())
    return Statement(
        draft.kind, draft.name, quoted, draft.shot, draft.levels, draft.quantity, draft.negated, draft.hedged,
        draft.source, draft.outcome,
    )  # fmt: skip
