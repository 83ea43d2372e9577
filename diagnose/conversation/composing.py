"""Builds the next step and the reply from an assessment; the words themselves come from the rule files."""

from collections.abc import Sequence
from dataclasses import dataclass

from diagnose.conversation.assess import Assessment
from diagnose.conversation.outcome import NO_OUTCOME, Outcome
from diagnose.conversation.placing import DOING
from diagnose.conversation.reply import Part, Reply, first_sentence
from diagnose.conversation.wording import Wording
from diagnose.inference.next_step import REPEAT, REPEATS
from diagnose.model import (
    Answer,
    NextStep,
    Notice,
    Refused,
    Setting,
    Statement,
    StepCost,
    Verdict,
)
from diagnose.rulebase.base import RuleBase
from diagnose.rulebase.schema import Costs

State = tuple[Assessment, NextStep]


@dataclass(frozen=True, slots=True)
class Said:
    """What one line gave: statements, and the parts of it that could not be used."""

    statements: tuple[Statement, ...] = ()
    refused: tuple[Refused, ...] = ()


ONCE = frozenset({"causes", "verdict"})  # not said again while unchanged
CAUTIONED_FROM = 0.4  # a cause this likely brings its own cautions


@dataclass(frozen=True, slots=True)
class Spoken:
    """What earlier replies of the talk said: all their parts, those of the last one, and complaints just ended.

    `asked` looks back on the last step, `beside` are notes beside the one thing to do.
    """

    all: frozenset[str] = frozenset()
    last: tuple[Part, ...] = ()
    ended: tuple[Part, ...] = ()
    asked: tuple[Part, ...] = ()
    beside: tuple[Part, ...] = ()

    def shorter(self, parts: Sequence[Part]) -> list[Part]:
        """Leave out notes said before and an unchanged ranking; of a caution said before keep the first sentence."""
        kept: list[Part] = []
        for part in parts:
            if (part.kind == "note" and part.text in self.all) or (part.kind in ONCE and part in self.last):
                continue
            again = part.kind == "care" and part.text in self.all
            kept.append(Part("care", first_sentence(part.text)) if again else part)
        return kept


def _cost(costs: Costs, setting: Setting) -> StepCost | None:
    """Return what something takes in a setting, None where nothing is said of it."""
    cost = costs.of(setting)
    return None if cost is None else StepCost(cost.seconds, cost.grams)


NOTHING_SPOKEN = Spoken()


class Composer:
    """Puts assessments into replies, in the language of one rule base."""

    def __init__(self, base: RuleBase) -> None:
        """Keep the rule base and its wording."""
        self.base = base
        self.wording = Wording(base)

    # -- the step

    def step(self, assessment: Assessment) -> NextStep:
        """Return the chosen question or step, in words and numbers."""
        choice = assessment.choice
        if choice.kind == "ask" and choice.id != REPEATS:
            return self._question(choice.id, assessment.case.setting)
        return self._doing(REPEAT if choice.kind == "ask" else choice.id, assessment)

    def _answers(self, finding: str) -> tuple[Answer, ...]:
        ask = self.base.findings[finding].ask
        if ask is None:
            return ()
        return tuple(
            Answer(index, self.base.text(answer.text), answer.levels) for index, answer in enumerate(ask.answers, 1)
        )

    def _question(self, finding: str, setting: Setting) -> NextStep:
        ask = self.base.findings[finding].ask
        assert ask is not None  # noqa: S101 - only findings with an ask are chosen
        text, cost = self.base.text(ask.text), _cost(ask.cost, setting)
        return NextStep(ask.kind, finding, text, answers=self._answers(finding), finding=finding, cost=cost)

    def _doing(self, name: str, assessment: Assessment) -> NextStep:
        spec, sized = self.base.steps[name], assessment.sized
        fields = {"amount": "a little", "from": "", "to": "", "expect": "", "effect": ""} | dict(sized.fields)
        text = self.base.text(spec.text).format(**fields)
        if assessment.known.stops:
            text = self.wording.say("safety_first")
        elif assessment.holds and spec.kind == "accept":
            text = self.wording.say("proven" if assessment.proven else "holds", count=str(assessment.proven))
        elif spec.kind == "hand_over":
            text = self.wording.handed_over(assessment, text)
        cost = _cost(spec.cost, assessment.case.setting)
        if cost is not None and spec.kind in DOING and assessment.case.setting != "service":  # a queue reads little
            text = f"{text} {self.wording.cost(cost)}"
        answers = self._answers(REPEATS) if name == REPEAT and REPEATS in self.base.findings else ()
        return NextStep(
            spec.kind,
            name,
            " ".join(text.split()),
            variable=spec.variable,
            direction=spec.direction,
            amount=sized.amount,
            hold=spec.hold if spec.kind == "adjust" else (),
            expect=sized.expect,
            answers=answers,
            finding=REPEATS if answers else None,
            cost=cost,
        )

    def notices(self, assessment: Assessment, step: NextStep | None) -> tuple[Notice, ...]:
        """Return the notices due: stops that fired, then the cautions of the step."""
        ids = list(assessment.known.stops)
        if step is not None and not assessment.known.stops:
            ids += [*self._cautions(step), *self._of_cause(assessment)]
        return tuple(self._notice(name) for name in dict.fromkeys(ids))

    def _notice(self, name: str) -> Notice:
        spec = self.base.notices[name]
        return Notice(name, spec.severity, " ".join(self.base.text(spec.text).split()))

    def _of_cause(self, assessment: Assessment) -> Sequence[str]:
        """Return the cautions of the leading cause, once it is likely: they hold whatever the step is."""
        first = assessment.causes[0]
        likely = first.id in self.base.causes and first.probability >= CAUTIONED_FROM
        return self.base.causes[first.id].cautions if likely else ()

    def _cautions(self, step: NextStep) -> Sequence[str]:
        if step.kind in {"question", "check"} and step.finding is not None:
            ask = self.base.findings[step.finding].ask
            return ask.cautions if ask else ()
        return self.base.steps[step.id].cautions

    # -- replies

    def ended(self, assessment: Assessment) -> list[Part]:
        """Return the parts that end one complaint before the next is taken up."""
        step = self.step(assessment)
        name = self.wording.entry("complaint", assessment.complaint)
        text = self.wording.say("ended", name=name, text=step.text)
        return [self.wording.causes(assessment), Part("note", text)]

    def reply(
        self,
        assessment: Assessment,
        step: NextStep,
        said: Said,
        outcome: Outcome = NO_OUTCOME,
        talk: Spoken = NOTHING_SPOKEN,
    ) -> Reply:
        """Return the whole reply to one line; what the talk has said before is said shorter or not again."""
        stops, cautions = self.wording.notices(self.notices(assessment, step))
        parts: list[Part] = []
        if not stops:
            parts += self.wording.outcome(outcome)
            parts += [*talk.ended, *self.wording.others(assessment, said.statements)]
            parts += [*self.wording.notes(assessment), *self.wording.beliefs(assessment)]
            parts += [] if assessment.holds else [self.wording.causes(assessment)]
            why = self.wording.why(assessment, step) if step.kind in {"adjust", "fix"} else None
            parts += [*([why] if why else []), *talk.asked]
        told = self.wording.step(step, assessment)
        if not stops:
            told = [*talk.beside, *told] if step.answers else [*told, *talk.beside]  # a question stands last
        parts = talk.shorter([*parts, *told, *cautions])
        parts = [*stops, *self.said(said), *parts]
        return self._build(assessment.case.setting, (assessment, step), said, parts, verdict=outcome.verdict)

    def said(self, said: Said) -> list[Part]:
        """Return the lines that say back what was heard and what could not be used."""
        line, unused = self.wording.heard(said.statements), self.wording.refused(said.refused)
        return ([Part("heard", line)] if line else []) + ([Part("note", unused)] if unused else [])

    def aside(self, setting: Setting, parts: list[Part], said: Said, last: State | None = None) -> Reply:
        """Return a reply that leaves the talk where it was: `parts`, then the step or question still open."""
        if last is None:
            return self._build(setting, None, said, parts)
        assessment, step = last
        stops, cautions = self.wording.notices(self.notices(assessment, step))
        open_step = self.wording.step(step, assessment)
        return self._build(setting, last, said, [*stops, *parts, *open_step, *cautions])

    def explained(self, setting: Setting, parts: list[Part], said: Said, last: State | None) -> Reply:
        """Return an explanation in full; only an open question is put again, and a stop notice still comes first."""
        if last is None:
            return self._build(setting, None, said, parts)
        assessment, step = last
        stops, _ = self.wording.notices(self.notices(assessment, step))
        question = self.wording.step(step, assessment) if step.kind in {"question", "check"} else []
        return self._build(setting, last, said, [*stops, *parts, *question])

    def _build(
        self, setting: Setting, state: State | None, said: Said, parts: list[Part], *, verdict: Verdict | None = None
    ) -> Reply:
        assessment, step = state or (None, None)
        return Reply(
            setting=setting,
            complaint=assessment.complaint if assessment else None,
            other_complaints=assessment.other_complaints if assessment else (),
            heard=said.statements,
            refused=said.refused,
            findings=tuple(assessment.findings.values()) if assessment else (),
            causes=assessment.causes if assessment else (),
            explanations=assessment.explanations if assessment else (),
            step=step,
            notices=self.notices(assessment, step) if assessment else (),
            verdict=verdict,
            trace=assessment.known.trace if assessment else (),
            parts=tuple(parts),
            ended=any(command.kind == "command" and command.name == "quit" for command in said.statements),
        )

    def note(self, key: str, **fields: str) -> Part:
        """Return a note from the wording file."""
        return Part("note", self.wording.say(key, **fields))
