"""From a case to an assessment: rules fire, causes are ranked, one next thing is chosen and sized."""

from collections import Counter
from collections.abc import Mapping, Sequence
from dataclasses import dataclass, replace

from diagnose.case.fold import Case, Observation
from diagnose.case.history import NO_HISTORY, History
from diagnose.case.measures import Measures, basis_of, measures_of, variants
from diagnose.explanation import best_explanation
from diagnose.inference.forward import ForwardChainer, Known
from diagnose.inference.hypotheses import Belief, Weigher, marginals, root_shares
from diagnose.inference.likelihood import Tables
from diagnose.inference.next_step import ACCEPT, HAND_OVER, REPEAT, Choice, Chooser
from diagnose.model import NOTHING_WRONG, UNKNOWN, Explanation, Finding, RankedCause, RootShare, Setting, Shot
from diagnose.rulebase.base import RuleBase
from diagnose.sizing import SIZES, Request, Sized
from diagnose.sizing.grind import grind_decision

NOT_ESPRESSO = {"shot": "brew", "machine": "brew"}
SHOT = "shot"
BREWER, ESPRESSO = "brewer", "espresso_machine"
EXPLAINED = 3  # causes a reply explains in numbers
# What circumstances count for the complaint they are filed under, and what being told of first does (judgement).
ALSO_SAID, TOLD_FIRST = 0.5, 1.75


@dataclass(frozen=True, slots=True)
class Assessment:
    """Everything one turn concluded, before it is put into words.

    `repeat_first` says that the chosen adjustment waits for one repeat, since one shot may be chance; `holds` that the
    last step did what it should and the talk is at its end; `proven` how many shots show that it does, 0 while few.
    """

    case: Case
    complaint: str
    other_complaints: tuple[str, ...]
    measures: Measures
    known: Known
    findings: Mapping[str, Finding]
    beliefs: tuple[Belief, ...]
    causes: tuple[RankedCause, ...]
    explanations: tuple[Explanation, ...]
    choice: Choice
    sized: Sized
    repeat_first: bool = False
    holds: bool = False
    proven: int = 0


class Assessor:
    """Holds what is prepared once for a rule base: engine rules and likelihood tables."""

    def __init__(self, base: RuleBase, *settings: Setting) -> None:
        """Compile the rules. Raises EngineUnavailable when the engine cannot be loaded.

        Tables are made for `settings` at once, for others when they are first asked for.
        """
        self.base = base
        self._chainer = ForwardChainer(base)
        self._tables: dict[Setting, Tables] = {setting: Tables(base, setting) for setting in settings}

    def tables(self, setting: Setting) -> Tables:
        """Return the likelihood tables of a setting."""
        if setting not in self._tables:
            self._tables[setting] = Tables(self.base, setting)
        return self._tables[setting]

    def know(self, case: Case, history: History = NO_HISTORY) -> tuple[Measures, Known]:
        """Return the numbers of a case and what the rules conclude from them."""
        brewer = case.observations.get(BREWER)
        if brewer is not None and ESPRESSO not in brewer.levels:
            case = replace(case, shots=tuple(_untimed(shot) for shot in case.shots))
        measures = measures_of(case, history)
        values = [found.values for found in variants(case, measures, history)]
        return measures, self._chainer.run(values, case.observations)

    def beliefs(self, case: Case) -> list[Belief]:
        """Return the hypotheses of a case with their probabilities, without choosing what to do."""
        _, known = self.know(case)
        return self._weigher(case, known).beliefs()

    def _weigher(self, case: Case, known: Known) -> Weigher:
        return Weigher(self.base, self.tables(case.setting), case, known, self._complaints(case, known)[0])

    def assess(self, case: Case, asked: int = 0, history: History = NO_HISTORY) -> Assessment:
        """Return the assessment of a case. `asked`: questions put so far; `history`: earlier shots."""
        measures, known = self.know(case, history)
        complaint, others = self._complaints(case, known)
        weigher = self._weigher(case, known)
        beliefs = weigher.beliefs()
        causes = self._ranked(beliefs)
        choice, sized, repeat_first = self._choose(weigher, beliefs, (measures, history), asked)
        explained = [cause.id for cause in causes if cause.id in self.base.causes][:EXPLAINED]
        explanations = (best_explanation(weigher, beliefs, cause) for cause in explained)
        return Assessment(
            case,
            complaint,
            others,
            measures,
            known,
            _with_values(self.base, known, measures),
            tuple(beliefs),
            causes,
            tuple(explanation for explanation in explanations if explanation is not None),
            choice,
            sized,
            repeat_first,
        )

    def weigher(self, assessment: Assessment) -> Weigher:
        """Return the weigher of a finished assessment, to explain it or to suppose something else."""
        return self._weigher(assessment.case, assessment.known)

    def supposing(self, assessment: Assessment, finding: str, level: str) -> Weigher:
        """Return the weigher of an assessment with a level in place of what is known of a finding; the rules run again.

        Numbers the finding is read from are left out, since they say otherwise.
        """
        read = {c.measure for rule in self.base.findings[finding].read for c in rule.when}
        values = {name: value for name, value in assessment.measures.values.items() if name not in read}
        seen = {**assessment.case.observations, finding: Observation((level,), "answered", "")}
        case = replace(assessment.case, observations=seen)
        return Weigher(
            self.base, self.tables(case.setting), case, self._chainer.run([values], seen), assessment.complaint
        )

    def _complaints(self, case: Case, known: Known) -> tuple[str, tuple[str, ...]]:
        """Return the complaint to take first and the others, those settled in this talk left out.

        First comes what the talk is about, then what most was said of, where what was told of first counts for more.
        Where nothing is out of the ordinary it is what was spoken of at all. With a brewer that is no espresso machine,
        what is wrong with shot or machine is wrong with that brew.
        """
        instead = NOT_ESPRESSO if other_brewer(known.findings) else {}
        abnormal: dict[str, None] = {}
        said: dict[str, float] = {}
        for name, finding in known.findings.items():
            spec = self.base.findings[name]
            for complaint in (instead.get(complaint, complaint) for complaint in spec.complaints[:1]):
                if spec.symptom and spec.normal not in finding.levels:
                    abnormal[complaint] = None
                if finding.source != "derived":
                    said[complaint] = said.get(complaint, 0.0) + (ALSO_SAID if spec.context else 1.0)
        for complaint in [*abnormal][:1]:
            said[complaint] = said.get(complaint, 0.0) + TOLD_FIRST
        topic = instead.get(case.topic, case.topic)
        order = sorted({**abnormal, **said}, key=lambda one: (one != topic, -said.get(one, 0.0)))
        open_ones = [complaint for complaint in order if complaint in abnormal and complaint not in case.settled]
        if open_ones:
            return open_ones[0], tuple(open_ones[1:])
        spoken = next((one for one in order if said.get(one, 0.0) > ALSO_SAID and one not in case.settled), None)
        return topic or spoken or instead.get(SHOT, SHOT), ()

    def _ranked(self, beliefs: Sequence[Belief]) -> tuple[RankedCause, ...]:
        wording = self.base.wording
        names = {NOTHING_WRONG: str(wording["nothing_name"]), UNKNOWN: str(wording["unknown_name"])}
        return tuple(
            RankedCause(
                cause,
                names.get(cause) or self.base.cause_name(cause),
                self.base.areas.get(cause, ""),
                probability,
                tuple(RootShare(root, share) for root, share in root_shares(beliefs, cause).items()),
            )
            for cause, probability in marginals(beliefs).items()
        )

    def _choose(
        self, weigher: Weigher, beliefs: Sequence[Belief], numbers: tuple[Measures, History], asked: int
    ) -> tuple[Choice, Sized, bool]:
        """Choose the next thing and size it; the grind is not moved inside the scatter nor after one odd shot."""
        if weigher.known.stops:
            return Choice("do", HAND_OVER, 0.0, 0.0), Sized(), False
        levels = weigher.known.findings["flow"].levels if "flow" in weigher.known.findings else ()
        flow = levels[0] if len(levels) == 1 else ""
        grinds = [name for name, step in self.base.steps.items() if step.variable == "grind"]
        decision = "adjust"
        if grinds:
            decision = grind_decision(Request(self.base.steps[grinds[0]], weigher.case, *numbers, flow))
        spent = self._spent(weigher.case)
        if decision == "repeat" and REPEAT in spent:
            decision = "adjust"  # it was repeated, and came out the same
        barred = frozenset(grinds if decision == "hold" else ()) | spent
        choice = Chooser(weigher, beliefs, barred).choose(asked)
        if choice.kind == "ask":
            return choice, Sized(), False
        if choice.id in grinds and decision == "repeat":
            return replace(choice, id=REPEAT), Sized(), True
        step = self.base.steps.get(choice.id)
        if step is None or step.size is None or choice.id in {ACCEPT, HAND_OVER}:
            return choice, Sized(), False
        return choice, SIZES[step.size](Request(step, weigher.case, *numbers, flow)), False

    def _spent(self, case: Case) -> frozenset[str]:
        """Return the steps declined, and those that failed and would be the same again; a sized one counts twice."""
        failed = Counter(case.failed)
        again = (name for name, times in failed.items() if times > 1 or self.base.steps[name].size is None)
        return frozenset((*again, *case.declined))


def _untimed(shot: Shot) -> Shot:
    """Return a brew without its time, which no espresso recipe can judge."""
    return replace(shot, measures={name: q for name, q in shot.measures.items() if name != "time"})


def other_brewer(findings: Mapping[str, Finding]) -> bool:
    """Return whether the coffee is known not to come from an espresso machine."""
    return BREWER in findings and ESPRESSO not in findings[BREWER].levels


def _with_values(base: RuleBase, known: Known, measures: Measures) -> dict[str, Finding]:
    """Return the findings with the number behind each that was measured."""
    found: dict[str, Finding] = {}
    for name, finding in known.findings.items():
        read = [c.measure for rule in base.findings[name].read for c in rule.when if c.measure]
        value, unit = basis_of(read[0], measures) if finding.source == "measured" and read else (None, None)
        found[name] = replace(finding, value=value, unit=unit)
    return found
