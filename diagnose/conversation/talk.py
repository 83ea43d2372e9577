"""One talk: lines of text in, replies out. All state is the list of turns, so undo drops one and nothing lingers."""

import re
from collections.abc import Callable, Sequence
from dataclasses import dataclass, replace
from datetime import UTC, datetime
from itertools import pairwise
from pathlib import Path

from diagnose.case.fold import Case, fold
from diagnose.case.history import History, history_of
from diagnose.conversation.assess import Assessment, Assessor
from diagnose.conversation.closing import closed, complained, nothing_told
from diagnose.conversation.composing import Composer, Said, Spoken, State
from diagnose.conversation.explaining import Explainer
from diagnose.conversation.memory import Memory
from diagnose.conversation.outcome import NO_OUTCOME, Outcome, Told, Trial, judge, unexpected
from diagnose.conversation.placing import DOING, named, place
from diagnose.conversation.remarks import remarks
from diagnose.conversation.reply import Part, Reply
from diagnose.errors import DiagnoseError
from diagnose.inference.likelihood import VERDICT
from diagnose.inference.next_step import ACCEPT, HAND_OVER
from diagnose.language import Lexicon, understand
from diagnose.model import SETTINGS, NextStep, Refused, Setting, Statement
from diagnose.rulebase.base import RuleBase
from diagnose.rulebase.loader import load

FEW_WORDS = 4
ASKED_FROM = 2  # lines in vain before the first question is put all the same
ASKING = frozenset({"question", "check"})
CHANGES = frozenset({"adjust", "fix"})
ANEW = frozenset({"new_bag", "new_kit", "after_grinder_change"})  # an onset after which a setting means another time
Clock = Callable[[], datetime]


@dataclass(frozen=True, slots=True)
class Turn:
    """One line of input with what it meant and what was advised after it."""

    text: str
    statements: tuple[Statement, ...]
    assessment: Assessment
    step: NextStep | None
    outcome: Outcome = NO_OUTCOME
    corrects: bool = False
    parts: tuple[Part, ...] = ()
    declined: str | None = None


def _anew(said: Sequence[Statement]) -> bool:
    """Return whether a new bag, new kit or an opened grinder was just told of."""
    return any(one.name == "onset" and len(one.levels) == 1 and one.levels[0] in ANEW for one in said)


def _without(earlier: Sequence[Statement], correcting: Sequence[Statement]) -> list[Statement]:
    """Return the earlier statements but for those a correction says anew."""
    names = {(said.name, said.shot) for said in correcting}
    return [said for said in earlier if (said.name, said.shot) not in names]


class Conversation:
    """A talk about one machine and its cups.

    `rules` is a folder of rule files or a loaded RuleBase (None: the installed one); `log` a path (None: nothing is
    kept on disk); `setting` is home, service or training; `clock` returns the present time; `coffee` names the coffee,
    with its grinder, that the shots are of, so that the log keeps them and their recipe apart.
    The same input gives the same output, whatever the process.
    """

    def __init__(
        self,
        rules: str | Path | RuleBase | None = None,
        log: str | Path | None = None,
        setting: Setting = "home",
        clock: Clock | None = None,
        coffee: str | None = None,
    ) -> None:
        """Load and compile the rules. Raises RuleBaseError or EngineUnavailable."""
        if setting not in SETTINGS:
            raise DiagnoseError(f"There is no setting {setting!r}; it is one of {', '.join(SETTINGS)}.")
        self.setting: Setting = setting
        self._base = rules if isinstance(rules, RuleBase) else load(rules)
        self._clock: Clock = clock or (lambda: datetime.now(UTC).astimezone())
        self._lexicon = Lexicon.from_rules(self._base)
        self._assessor = Assessor(self._base, self.setting)
        self._composer = Composer(self._base)
        self._explainer = Explainer(self._base, self._assessor, self._composer.wording)
        self._memory = Memory(self._base, Path(log) if log is not None else None, self._clock, coffee)
        self._known = self._memory.statements(self.setting)
        self._turns: list[Turn] = []
        self._lost = 0  # lines at the beginning that nothing could be used of

    @property
    def log_fault(self) -> str | None:
        """Return why the log cannot be used, or None; the talk goes on without it."""
        return self._memory.fault

    @property
    def rules(self) -> RuleBase:
        """Return the rule base of this talk."""
        return self._base

    @property
    def shots_told(self) -> int:
        """Return how many shots this talk has told of."""
        return len(self._turns[-1].assessment.case.shots) if self._turns else 0

    def close(self) -> None:
        """Let go of the log."""
        self._memory.close()

    @property
    def pending(self) -> NextStep | None:
        """Return the step or question the last reply ended with."""
        return self._turns[-1].step if self._turns else None

    def say(self, text: str) -> Reply:
        """Take one line of input and return the reply to it."""
        today, earlier = self._clock().date(), self._statements()
        heard = understand(text, self._lexicon, pending=self.pending, earlier=earlier, today=today)
        command = next((said for said in heard.statements if said.kind == "command"), None)
        if command is not None:
            return self._command(command)
        placed = place(self._base, earlier, heard, self.pending)
        refused = list(heard.refused)
        if heard.correction:
            placed = named(earlier, placed)
            reason = self._composer.wording.say("which_number")
            refused += [Refused(said.text, reason) for said in placed if not said.name]
            placed = tuple(said for said in placed if said.name)
        said = Said(placed, tuple(refused))
        if not placed:
            return self._declined(text, said) if self._declines(text) else self._nothing_heard(text, said)
        return self._advance(text, said, corrects=heard.correction)

    def _declines(self, text: str) -> bool:
        """Return whether a few words that say nothing else turn down the step that is open."""
        words = [re.sub(r"\W", "", word) for word in text.lower().split()]
        few = self.pending is not None and self.pending.kind in DOING and len(words) <= FEW_WORDS
        return few and not self._lexicon.words("declining_words").isdisjoint(words)

    def _declined(self, text: str, said: Said) -> Reply:
        """Leave the open step aside and go on with the next best thing."""
        step = self.pending
        note = self._composer.note("declined")
        reply = self._advance(text, Said(said.statements), corrects=False, declined=step.id if step else None)
        parts = (note, *reply.parts)
        self._turns[-1] = replace(self._turns[-1], parts=parts)
        return replace(reply, heard=said.statements, refused=(), parts=parts)

    def _statements(self) -> list[Statement]:
        """Return what was said so far in this talk and kept from earlier ones, without what was corrected."""
        said = list(self._known)
        for turn in self._turns:
            said = _without(said, turn.statements) if turn.corrects else said
            said += turn.statements
        return said

    def _last(self) -> State | None:
        last = self._turns[-1] if self._turns else None
        return (last.assessment, last.step) if last is not None and last.step is not None else None

    def _advance(self, text: str, said: Said, *, corrects: bool, declined: str | None = None) -> Reply:
        """Add a turn with its statements placed among the shots told so far: assess, and answer."""
        placed = said.statements
        earlier = _without(self._statements(), placed) if corrects else self._statements()
        failed = [turn.outcome.failed for turn in self._turns if turn.outcome.failed]
        case = fold(self._base, self.setting, [*earlier, *placed], failed)
        history = self._history(case, placed)
        outcome = self._judge(case, history)
        if outcome.failed:
            case = replace(case, failed=(*case.failed, outcome.failed))
        case = self._continued(case, declined)
        assessment, before = self._settled(self._assessed(case, history, outcome), history)
        step = None if nothing_told(self._base, assessment) else self._composer.step(assessment)
        trying = self.pending.id if self.pending is not None and self.pending.kind in DOING else None
        self._memory.keep(assessment, placed, text, trying)
        self._memory.judged(outcome.verdict)
        if step is not None:
            self._memory.advise(step, case.measured("dial"))
        if step is None:
            parts = [*self._composer.said(said), self._composer.note("noted")]
            reply = self._composer.aside(self.setting, parts, said)
        else:
            spoken = frozenset(part.text for turn in self._turns for part in turn.parts)
            said_last = self._turns[-1].parts if self._turns else ()
            asked = (self._composer.note("anything_else_changed"),) if self._surprised(assessment) else ()
            last = self._turns[-1].assessment if self._turns else None
            beside = remarks(self._composer.wording, assessment, last)
            talk = Spoken(spoken, said_last, before, asked, beside)
            reply = self._composer.reply(assessment, step, said, outcome, talk)
        self._turns.append(Turn(text, placed, assessment, step, outcome, corrects, reply.parts, declined))
        return reply

    def _continued(self, case: Case, declined: str | None) -> Case:
        """Return the case with what the talk carries along: topic, what is settled, complaints kept for later."""
        steps = [turn.declined for turn in self._turns if turn.declined] + ([declined] if declined else [])
        case = replace(case, declined=tuple(steps))
        if not self._turns:
            return case
        last = self._turns[-1].assessment
        kept = {name: seen for name, seen in last.case.observations.items() if self._waits(name, last)}
        observations = {**kept, **case.observations}
        return replace(case, settled=last.case.settled, topic=last.complaint, observations=observations)

    def _waits(self, finding: str, last: Assessment) -> bool:
        """Return whether a finding is a symptom of a complaint that is kept for later."""
        spec = self._base.findings[finding]
        return spec.symptom and not set(spec.complaints[:1]).isdisjoint(last.other_complaints)

    def _surprised(self, assessment: Assessment) -> bool:
        """Return whether the last step's result lies outside what was promised, and is no happy end either."""
        last, now = self._last(), (assessment.case.current, assessment.measures)
        return last is not None and not assessment.holds and unexpected(*last, now)

    def _assessed(self, case: Case, history: History, outcome: Outcome) -> Assessment:
        questions = [turn for turn in self._turns if turn.step is not None and turn.step.kind in ASKING]
        asked = sum(1 for turn in questions if turn.assessment.case.settled == case.settled)
        return closed(self._base, self._assessor.assess(case, asked, history), outcome)

    def _settled(self, assessment: Assessment, history: History) -> tuple[Assessment, tuple[Part, ...]]:
        """Go on with the next complaint where one is at its end; return the parts that end the earlier ones."""
        before: tuple[Part, ...] = ()
        while assessment.choice.id in {ACCEPT, HAND_OVER} and assessment.other_complaints:
            before += tuple(self._composer.ended(assessment))
            case = replace(assessment.case, settled=(*assessment.case.settled, assessment.complaint))
            assessment = self._assessed(case, history, NO_OUTCOME)
        return assessment, before

    def _history(self, case: Case, placed: Sequence[Statement]) -> History:
        """Return the earlier shots that bear on the current one: from the log, or from this talk where none is kept."""
        anew, earlier = _anew(placed), case.shots[:-1]
        starts = [turn.assessment.case.current for turn in self._turns if _anew(turn.statements)]
        starts += [case.current] if anew else []
        stretches = self._memory.earlier_shots(case.current, anew=anew)
        if stretches is None:
            marks = [0, *starts, case.current + 1]
            stretches = [[s.measures for s in earlier if low <= s.number < high] for low, high in pairwise(marks)]
        moved = (turn.assessment.case.current + 1 for turn in self._turns if turn.step and turn.step.kind in CHANGES)
        since = max((*starts, *moved), default=0)
        return history_of(case, *stretches, untouched=[s.measures for s in earlier if s.number >= since])

    def _judge(self, case: Case, history: History) -> Outcome:
        """Judge the step under trial, once a later shot was told."""
        trial = self._trial()
        if trial is None:
            return NO_OUTCOME
        told = Told(case, history, *self._assessor.know(case, history))
        return judge(self._base, self._assessor.tables(self.setting), trial, told)

    def _trial(self) -> Trial | None:
        """Return the step whose result is awaited: the last change advised, until it failed or is proven.

        Without one it is what was advised last, which may be a repeat.
        """
        last = self._turns[-1] if self._turns else None
        changes = [turn for turn in self._turns if turn.step is not None and turn.step.kind in CHANGES]
        if last is None or last.step is None:
            return None
        if not changes or self._over(changes[-1]):
            return Trial(last.assessment, last.step)
        latest, step = changes[-1], changes[-1].step
        assert step is not None  # noqa: S101 - only turns with a step were kept
        now = latest.assessment.case.current
        shots = (turn.assessment.case.current for turn in changes)
        since = max((shot for shot in shots if shot < now), default=0)
        bad = (turn.assessment.case.current for turn in self._turns if complained(self._base, turn.assessment))
        return Trial(latest.assessment, step, since, max(bad, default=0) + 1)

    def _over(self, change: Turn) -> bool:
        """Return whether the trial of a change is at its end: turned down, failed, proven, or of another complaint."""
        after = self._turns[self._turns.index(change) + 1 :]
        declined = any(turn.declined or turn.outcome.failed or turn.outcome.proven for turn in after)
        return declined or self._turns[-1].assessment.complaint != change.assessment.complaint

    def _nothing_heard(self, text: str, said: Said) -> Reply:
        """Answer a line nothing could be used of: say so, and put the open question again.

        Who twice finds no words at the beginning is taken to have a cup that is wrong, and is asked.
        """
        self._lost += 1
        if not self._turns and self._lost >= ASKED_FROM and VERDICT in self._base.findings:
            wrong = Statement("observation", VERDICT, text, levels=("complaint",), shot=1)
            return self._advance(text, Said((wrong,)), corrects=False)
        if self.pending is not None and self.pending.kind in DOING and len(text.split()) <= FEW_WORDS:
            return self._composer.explained(self.setting, [self._composer.note("tell_next")], said, self._last())
        unused = self._composer.wording.refused(said.refused)
        parts = [Part("note", unused)] if unused else [self._composer.note("not_understood")]
        parts += [] if self._turns else [self._composer.note("begin")]
        return self._composer.aside(self.setting, parts, said, self._last())

    def _command(self, command: Statement) -> Reply:
        """Carry out a command word; only undo and start over change the talk."""
        said = Said((command,))
        if command.name == "undo" and self._turns:
            taken = self._turns.pop()
            left = {said.shot for said in self._statements()}
            self._memory.withdraw([said.shot for said in taken.statements if said.shot and said.shot not in left])
            parts = [self._composer.note("undone", text=taken.text)]
            parts += [] if self._turns else [self._composer.note("what_is_wrong")]
            return self._composer.aside(self.setting, parts, said, self._last())
        if command.name == "start_over":
            self._turns.clear()
            self._lost = 0
            self._known = self._memory.statements(self.setting)
            self._memory.forget_talk()
            return self._composer.aside(self.setting, [self._composer.note("fresh")], said)
        if command.name == "cannot" and self.pending is not None and self.pending.kind in DOING:
            return self._declined(command.text, said)
        if command.name == "thanks":
            return self._composer.explained(self.setting, [self._composer.note("thanks")], said, self._last())
        if command.name in {"why", "why_not", "what_if"}:
            return self._composer.explained(self.setting, self._explained(command), said, self._last())
        key = {"undo": "nothing_to_undo", "quit": "quit"}.get(command.name, "help")
        last = None if command.name == "quit" else self._last()
        return self._composer.aside(self.setting, [self._composer.note(key)], said, last)

    def _explained(self, command: Statement) -> list[Part]:
        """Return the answer to why, why not and what if."""
        if not self._turns:
            return [self._composer.note("begin")]
        assessment = self._turns[-1].assessment
        if command.name == "why":
            return self._explainer.why(assessment)
        argument = command.levels[0] if command.levels else ""
        if command.name == "why_not":
            return self._explainer.why_not(assessment, argument)
        supposed = understand(argument, self._lexicon, today=self._clock().date())
        if not supposed.statements:
            return [self._composer.note("what_if_how")]
        shot = assessment.case.current or 1
        placed = [replace(said, shot=shot) if said.shot else said for said in supposed.statements]
        case = fold(self._base, self.setting, [*self._statements(), *placed], assessment.case.failed)
        return self._explainer.what_if(assessment.causes, self._assessor.assess(case))
