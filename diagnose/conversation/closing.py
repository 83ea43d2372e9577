"""When a talk needs no more advice: the last step helped and nothing is wrong any more, or nothing was told yet."""

from dataclasses import replace

from diagnose.conversation.assess import Assessment
from diagnose.conversation.outcome import Outcome
from diagnose.inference.likelihood import VERDICT
from diagnose.inference.next_step import ACCEPT, Choice
from diagnose.rulebase.base import RuleBase
from diagnose.sizing import Sized


def abnormal(base: RuleBase, assessment: Assessment) -> bool:
    """Return whether any symptom is known to be out of the ordinary."""
    specs = base.findings
    return any(specs[n].symptom and specs[n].normal not in f.levels for n, f in assessment.known.findings.items())


def complained(base: RuleBase, assessment: Assessment) -> bool:
    """Return whether the current shot is out of the ordinary, or its taste is not liked."""
    taste = assessment.known.findings.get(VERDICT)
    return abnormal(base, assessment) or (taste is not None and taste.levels == ("complaint",))


def nothing_told(base: RuleBase, assessment: Assessment) -> bool:
    """Return whether only recipe, kit and readings as they should be are known, and nothing of a cup."""
    told = (
        name
        for name, finding in assessment.known.findings.items()
        if not base.findings[name].context
        and (finding.source != "measured" or finding.levels != (base.findings[name].normal,))
    )
    return next(told, None) is None and assessment.case.shot is None and not assessment.case.dont_know


def closed(base: RuleBase, assessment: Assessment, outcome: Outcome) -> Assessment:
    """Return the assessment, with the choice to end or to ask for the taste where the last step has helped."""
    verdict = outcome.verdict
    if verdict is None or verdict.helped < 0.5 or complained(base, assessment):
        return assessment
    taste = assessment.known.findings.get(VERDICT)
    asked = VERDICT in assessment.case.dont_know or assessment.case.setting == "service"  # a queue waits
    tasted = taste is not None or asked or outcome.proven
    choice = Choice("do", ACCEPT, 0.0, 0.0) if tasted else Choice("ask", VERDICT, 0.0, 0.0)
    return replace(assessment, choice=choice, sized=Sized(), repeat_first=False, holds=True, proven=outcome.proven)
