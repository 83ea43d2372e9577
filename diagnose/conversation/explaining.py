"""Answers to `why`, `why not ...` and `what if ...`: the numbers of the ranking, in words."""

from collections.abc import Sequence
from functools import partial

from diagnose.conversation.assess import Assessment, Assessor
from diagnose.conversation.causes import NAMED_AT_ONCE, causes_called
from diagnose.conversation.reply import Part
from diagnose.conversation.wording import Wording, percent
from diagnose.explanation import WhyNot, best_explanation, for_nothing_wrong, why_not
from diagnose.model import NOTHING_WRONG, Evidence, Explanation, RankedCause, Setting
from diagnose.rulebase.base import RuleBase

MOST_CHANGES = 2
MOST_AGAINST = 3
MOST_MOVED = 3
# Pieces of evidence shown: in service as many as can be read in a hurry, the strongest first.
MOST_LINES: dict[Setting, int] = {"home": 8, "service": 3, "training": 20}
WORTH_SAYING_DB = 0.5


class Explainer:
    """Puts explanations of one rule base into words."""

    def __init__(self, base: RuleBase, assessor: Assessor, wording: Wording) -> None:
        """Keep what is needed to weigh a case again."""
        self.base, self.assessor, self.wording = base, assessor, wording

    def why(self, assessment: Assessment) -> list[Part]:
        """Return the chain for the top cause: said or measured, finding, evidence with weight and reason, share."""
        if assessment.causes[0].id == NOTHING_WRONG:
            return self._why_nothing(assessment)
        first = next((cause for cause in assessment.causes if cause.id in self.base.causes), None)
        if first is None:
            return [self._note("why_nothing_known")]
        explanation = best_explanation(self.assessor.weigher(assessment), assessment.beliefs, first.id)
        if explanation is None:
            return [self._note("why_nothing_known")]
        parts = [self._note("why_title", name=self._name(explanation), chance=percent(first.probability))]
        if assessment.causes[0].id != first.id:
            top = assessment.causes[0]
            parts.insert(0, self._note("why_top", name=top.name.lower(), chance=percent(top.probability)))
        spoken = [entry for entry in explanation.evidence if abs(entry.decibans) >= WORTH_SAYING_DB]
        most = MOST_LINES[assessment.case.setting]
        lines = [self._line(assessment, entry) for entry in spoken[:most]]
        if len(spoken) > most:
            lines.append(self.wording.say("why_more", count=str(len(spoken) - most)))
        if explanation.tried_db < -WORTH_SAYING_DB:
            lines.append(self.wording.say("why_tried", weight=_db(explanation.tried_db)))
        lines.append(self._sum(explanation))
        lines.append(self.wording.say("because", text=self.base.text(self.base.causes[first.id].because)))
        return [*parts, Part("why", "\n".join(lines))]

    def _why_nothing(self, assessment: Assessment) -> list[Part]:
        """Return what speaks for nothing being wrong."""
        top = assessment.causes[0]
        lines = []
        for name, weight in for_nothing_wrong(self.assessor.weigher(assessment), assessment.beliefs):
            finding = assessment.findings[name]
            value = "" if finding.value is None else f" ({finding.value:.3g} {finding.unit})"
            words = self.wording.levels(name, finding.levels) + value
            source = self.wording.entry("source", finding.source)
            lines.append(self.wording.say("why_nothing_line", weight=_db(weight), finding=words, source=source))
        title = self._note("why_title", name=top.name.lower(), chance=percent(top.probability))
        return [title, Part("why", "\n".join(lines or [self.wording.say("why_not_prior")]))]

    def _name(self, explanation: Explanation) -> str:
        name = self.base.cause_name(explanation.cause).lower()
        if explanation.root is None:
            return name
        return self.wording.say("why_root", name=name, root=self.base.cause_name(explanation.root).lower())

    def _line(self, assessment: Assessment, entry: Evidence) -> str:
        finding = assessment.findings[entry.finding]
        value = "" if finding.value is None else f" ({finding.value:.3g} {finding.unit})"
        fields = {
            "finding": self.wording.levels(entry.finding, entry.levels) + value,
            "source": self.wording.entry("source", finding.source),
            "weight": _db(entry.decibans),
            "grade": f" {entry.grade}" if entry.grade else "",
            "because": f" {entry.because}" if entry.because else "",
            "file": f"{entry.file}:{entry.line}",
        }
        return self.wording.say("why_line", **fields)

    def _sum(self, explanation: Explanation) -> str:
        evidence = sum(entry.decibans for entry in explanation.evidence) + explanation.tried_db
        return self.wording.say(
            "why_sum",
            prior=_db(explanation.prior_db),
            evidence=_db(evidence),
            posterior=_db(explanation.posterior_db),
        )

    def why_not(self, assessment: Assessment, words: str) -> list[Part]:
        """Return the strongest evidence against the cause that words name, and what would change it."""
        called = causes_called(self.base, words, [cause.id for cause in assessment.causes])
        if len(called) != 1:
            names = "; ".join(self.base.cause_name(name).lower() for name in called[:NAMED_AT_ONCE])
            return [self._note("why_not_which", names=names) if called else self._note("why_not_unknown", name=words)]
        cause = called[0]
        if cause == assessment.causes[0].id:
            return self.why(assessment)  # it is first
        if self.base.causes[cause].prior is None:
            return [self._note("why_not_root", name=self.base.cause_name(cause).lower())]
        supposing = partial(self.assessor.supposing, assessment)
        found = why_not(self.assessor.weigher(assessment), assessment.beliefs, cause, supposing)
        name = self.base.cause_name(cause).lower()
        if found.ruled_out_by is not None:
            levels = self.wording.levels(found.ruled_out_by, assessment.findings[found.ruled_out_by].levels)
            return [self._note("why_not_ruled_out", name=name, finding=levels)]
        if found.explanation is None:
            return [self._note("why_not_elsewhere", name=name)]
        parts = [self._note("why_not_title", name=name, chance=percent(found.probability))]
        lines = [self._line(assessment, entry) for entry in found.against[:MOST_AGAINST]]
        if not lines and found.better:
            others = (one.name for one in assessment.causes if one.id in self.base.causes and one.id != cause)
            lines = [self.wording.say("why_not_better", first=next(others).lower())]
            lines += [self._line(assessment, entry) for entry in found.better[:MOST_AGAINST]]
        lines = lines or [self.wording.say("why_not_prior")]
        return [*parts, Part("why", "\n".join(lines)), *self._changes(found)]

    def _changes(self, found: WhyNot) -> list[Part]:
        items = [
            self.wording.say(
                "change_item",
                finding=self.base.text(self.base.findings[change.finding].name),
                level=self.wording.levels(change.finding, [change.level]),
                chance=percent(change.probability),
            )
            for change in found.changes[:MOST_CHANGES]
        ]
        if not items:
            return [self._note("nothing_would_change")]
        return [self._note("would_change", items="; ".join(items))]

    def what_if(self, before: Sequence[RankedCause], supposed: Assessment) -> list[Part]:
        """Return how the ranking would move with what was supposed, and what the step would then be."""
        was = {cause.id: cause.probability for cause in before}
        items = [
            self.wording.say(
                "moved_item", name=c.name.lower(), before=percent(was.get(c.id, 0.0)), after=percent(c.probability)
            )
            for c in supposed.causes[:MOST_MOVED]
        ]
        step = supposed.choice
        name = self.base.findings[step.id].name if step.kind == "ask" else self.base.steps[step.id].name
        return [
            self._note("what_if", items="; ".join(items)),
            self._note("then_ask" if step.kind == "ask" else "then_do", text=self.base.text(name).lower()),
        ]

    def _note(self, key: str, **fields: str) -> Part:
        return Part("note", self.wording.say(key, **fields))


def _db(value: float) -> str:
    """Return decibans in whole numbers with their sign."""
    return f"{round(value):+d} dB"
