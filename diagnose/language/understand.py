"""From one text to statements: everything that was said, and everything that could not be used with the reason why."""

from dataclasses import dataclass
from datetime import date

from diagnose.language.amounts import Amount, find_amounts
from diagnose.language.answering import Question, answer, question_of
from diagnose.language.clauses import doubts
from diagnose.language.commanding import command
from diagnose.language.correcting import Correction, correction
from diagnose.language.dates import find_days
from diagnose.language.leftovers import refuse_leftovers
from diagnose.language.lexicon import Lexicon
from diagnose.language.measuring import measure
from diagnose.language.naming import Named, name_amounts
from diagnose.language.observing import choose, merge, observe
from diagnose.language.ordering import name_the_rest
from diagnose.language.recipes import recipe_amounts
from diagnose.language.scene import Draft, Scene
from diagnose.language.shots import number_shots, numbered_shots
from diagnose.language.tokens import LIMIT, clean, cut
from diagnose.language.trying import tried
from diagnose.model import NextStep, Quantity, Refused, Statement


@dataclass(frozen=True, slots=True)
class Understanding:
    """What a text says. `shots` counts the shots it tells of (0: none), in whose time order statements are numbered.

    With `correction` the statements replace earlier ones. A corrected number whose unit was not said has the name "";
    `levels` then holds the number it replaces, if that was said ("no, 27 not 17").
    """

    statements: tuple[Statement, ...]
    refused: tuple[Refused, ...]
    shots: int
    correction: bool = False


def understand(
    text: str, lexicon: Lexicon, *, pending: NextStep | None = None, today: date | None = None
) -> Understanding:
    """Return what `text` says, given the step or question that is open and the day it is said on.

    Reads any text without raising; what cannot be used is in `refused` with the reason, or with "" where it was just
    not understood.
    """
    kept, left_out = cut(text)
    scene = Scene.of(clean(kept), lexicon)
    result = _Work(scene, question_of(pending, dict(lexicon.answers_by)), pending, today).run()
    if left_out:
        reason = f"only the first {LIMIT} characters are read; {left_out} were left out"
        rest = clean(text[len(kept) : len(kept) + 40]).strip()
        result = Understanding(
            result.statements, (*result.refused, Refused(f"{rest}...", reason)), result.shots, result.correction
        )
    return result


class _Work:
    """The steps of reading one text."""

    def __init__(self, scene: Scene, question: Question | None, pending: NextStep | None, today: date | None) -> None:
        self.scene = scene
        self.question = question
        self.pending = pending
        self.today = today
        self.drafts: list[Draft] = []

    def run(self) -> Understanding:
        """Return the understanding of the text."""
        scene = self.scene
        chosen = choose(scene)
        doubted = doubts(scene)
        ordered = command(scene)
        if ordered is not None:
            dangers = [match for match in chosen if match.payload.kind == "danger"]
            return self._finished([*merge(scene, observe(scene, dangers, {})), ordered], 0)
        self.drafts += find_days(scene, self.today)
        reply = answer(scene, self.question) if self.question else None
        scene.claim(numbered_shots(scene))
        amounts = [one for one in find_amounts(scene) if scene.claimed.isdisjoint(range(one.core, one.last + 1))]
        corrected = correction(scene, amounts, bool(self.question and self.question.has_yes_or_no))
        self.drafts += tried(scene, chosen, doubted, amounts)
        self.drafts += self._measurements(amounts, corrected)
        spoken = self._spoken()
        chosen = [match for match in chosen if match.payload.kind == "danger" or not match.places <= spoken]
        self.drafts += observe(scene, chosen, doubted)
        if corrected is not None:
            self.drafts = [one for one in self.drafts if one.kind in {"measurement", "observation"} and not one.negated]
        shots = number_shots(scene, self.drafts)
        drafts = merge(scene, self.drafts)
        if self.question:
            drafts = _answered(drafts, self.question, reply)
        if reply is not None:
            drafts = [reply, *drafts]
        drafts += self._done(drafts)
        refuse_leftovers(scene, doubted, drafts)
        return self._finished(drafts, shots, corrected is not None)

    def _spoken(self) -> set[int]:
        """Return the places that went into trials and answers, which are not observations besides."""
        return {place for one in self.drafts if one.kind == "tried" for place in range(one.first, one.last + 1)}

    def _measurements(self, amounts: list[Amount], corrected: Correction | None) -> list[Draft]:
        """Name the amounts and turn them into drafts; amounts a correction replaces fall away."""
        scene = self.scene
        asked = self.question.measure if self.question else ""
        open_amounts = [one for one in amounts if one.core not in scene.claimed]
        replaced = corrected.replaced if corrected else {}
        old = {id(amounts[new]): amounts[gone] for gone, new in replaced.items()}
        for gone in replaced:
            scene.claim(range(amounts[gone].first - 1, amounts[gone].last + 1))
        named = name_amounts(scene, [one for one in open_amounts if one.core not in scene.claimed])
        name_the_rest(scene, named, asked)
        recipe = recipe_amounts(scene, named)
        drafts = []
        for index, one in enumerate(named):
            if corrected is not None and not one.name:
                drafts.append(self._unnamed(one, old.get(id(one.amount))))
                continue
            draft = measure(scene, one, index in recipe)
            if draft is not None:
                drafts.append(draft)
                if id(one.amount) in old:
                    draft.levels = (f"{old[id(one.amount)].value:g}",)
                    draft.last = max(draft.last, old[id(one.amount)].last)
        return drafts

    def _unnamed(self, named: Named, old: Amount | None) -> Draft:
        """Return a corrected number whose measure only the talk before it can tell."""
        amount = named.amount
        first, last = amount.first, max(amount.last, old.last if old else 0)
        self.scene.claim(range(amount.first, amount.last + 1))
        shown = self.scene.reading.quote(amount.first, amount.last)
        quantity = Quantity(amount.value, "", amount.value, amount.value, shown)
        return Draft("measurement", "", first, last, (f"{old.value:g}",) if old else (), quantity)

    def _done(self, drafts: list[Draft]) -> list[Draft]:
        """Take "done, no change" as the outcome of the step that was advised."""
        if self.pending is None or self.pending.kind not in {"adjust", "fix"}:
            return []
        if any(one.kind == "tried" for one in drafts):
            return []
        scene = self.scene
        done = [mark for mark in scene.marked("reply", "done") if mark.first <= 1]
        outcome = next(iter(scene.marked("outcome")), None)
        if not done and (outcome is None or outcome.first > 2):
            return []
        said = outcome or done[0]
        scene.claim(place for mark in (*done, *([outcome] if outcome else [])) for place in mark.places)
        value = outcome.payload.value if outcome else ""
        return [Draft("tried", self.pending.id, min(said.first, done[0].first if done else said.first), said.last, outcome=value)]

    def _finished(self, drafts: list[Draft], shots: int, corrected: bool = False) -> Understanding:
        reading = self.scene.reading
        statements = []
        for one in drafts:
            quoted = reading.quote(one.first, one.last) if one.first <= one.last else reading.text.strip()
            statements.append(
                Statement(
                    one.kind, one.name, one.text or quoted, one.shot, one.levels, one.quantity, one.negated,
                    one.hedged, one.source, one.outcome,
                )
            )  # fmt: skip
        refused = [refusal for _, refusal in sorted(self.scene.refused, key=lambda pair: pair[0])]
        if not statements and not refused:
            refused = [Refused(reading.text.strip())]
        return Understanding(tuple(statements), tuple(refused), shots, corrected)


def _answered(drafts: list[Draft], question: Question, reply: Draft | None) -> list[Draft]:
    """Turn what was said of the finding in question into the answer, and its number into an answered one."""
    kept = []
    for one in drafts:
        if one.kind == "observation" and one.name == question.finding:
            if reply is not None:
                continue
            one.kind, one.shot = "answer", None
        if one.kind == "answer" or (one.kind == "measurement" and one.name == question.measure):
            one.source = "answered"
        kept.append(one)
    return kept
