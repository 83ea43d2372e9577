"""One reply: what was heard, what it means, the one next thing; as values, as JSON and as text.

The JSON has a format number. Within a format, fields may be added and none changes its meaning.
"""

from collections.abc import Mapping
from dataclasses import dataclass
from typing import Literal

from diagnose.model import (
    Evidence,
    Explanation,
    Finding,
    Firing,
    NextStep,
    Notice,
    RankedCause,
    Refused,
    Setting,
    Statement,
    Verdict,
)

FORMAT = 1
PartKind = Literal["stop", "heard", "note", "causes", "why", "verdict", "step", "expect", "ask", "care", "later"]


def first_sentence(text: str) -> str:
    """Return the first sentence of a text, with its full stop."""
    return text.split(". ", maxsplit=1)[0].removesuffix(".") + "."


@dataclass(frozen=True, slots=True)
class Part:
    """One piece of a reply's text; the kind tells a narrow screen what may be left out."""

    kind: PartKind
    text: str


@dataclass(frozen=True, slots=True)
class Reply:
    """The answer to one line of input."""

    setting: Setting
    complaint: str | None
    other_complaints: tuple[str, ...]
    heard: tuple[Statement, ...]
    refused: tuple[Refused, ...]
    findings: tuple[Finding, ...]
    causes: tuple[RankedCause, ...]
    explanations: tuple[Explanation, ...]
    step: NextStep | None
    notices: tuple[Notice, ...]
    verdict: Verdict | None
    trace: tuple[Firing, ...]
    parts: tuple[Part, ...]
    ended: bool = False

    @property
    def text(self) -> str:
        """Return the whole reply as lines of text."""
        return "\n".join(part.text for part in self.parts)

    def to_dict(self) -> dict[str, object]:
        """Return the reply as plain values for JSON: lists are [] when empty, scalars None."""
        return {
            "format": FORMAT,
            "setting": self.setting,
            "complaint": self.complaint,
            "other_complaints": list(self.other_complaints),
            "heard": [_statement(said) for said in self.heard],
            "not_understood": [refused.text for refused in self.refused],
            "refused": [{"text": refused.text, "reason": refused.reason} for refused in self.refused],
            "findings": [_finding(finding) for finding in self.findings],
            "causes": [_cause(cause) for cause in self.causes],
            "explanations": [_explanation(explanation) for explanation in self.explanations],
            "step": None if self.step is None else _step(self.step),
            "notices": [{"id": n.id, "severity": n.severity, "text": n.text} for n in self.notices],
            "verdict": None
            if self.verdict is None
            else {"step": self.verdict.step, "helped": self.verdict.helped, "fixed": self.verdict.fixed},
            "trace": [
                {"rule": f.rule, "file": f.file, "line": f.line, "facts": list(f.facts), "result": f.result}
                for f in self.trace
            ],
            "text": self.text,
        }


def _statement(said: Statement) -> Mapping[str, object]:
    """Return one heard statement; a measurement carries value and unit, anything else levels."""
    entry: dict[str, object] = {"kind": said.kind, "name": said.name}
    if said.quantity is not None:
        entry |= {"value": said.quantity.value, "unit": said.quantity.unit}
        entry |= {"low": said.quantity.low, "high": said.quantity.high}
    else:
        entry |= {"levels": list(said.levels), "negated": said.negated}
    if said.kind == "tried":
        entry["outcome"] = said.outcome
    return entry | {"shot": said.shot, "source": said.source, "text": said.text}


def _finding(finding: Finding) -> Mapping[str, object]:
    return {
        "id": finding.id,
        "levels": list(finding.levels),
        "source": finding.source,
        "value": finding.value,
        "unit": finding.unit,
    }


def _cause(cause: RankedCause) -> Mapping[str, object]:
    return {
        "id": cause.id,
        "name": cause.name,
        "area": cause.area,
        "probability": cause.probability,
        "roots": [{"id": root.id, "probability": root.probability} for root in cause.roots],
    }


def _explanation(explanation: Explanation) -> Mapping[str, object]:
    return {
        "cause": explanation.cause,
        "root": explanation.root,
        "prior_db": explanation.prior_db,
        "evidence": [_evidence(evidence) for evidence in explanation.evidence],
        "tried_db": explanation.tried_db,
        "posterior_db": explanation.posterior_db,
    }


def _evidence(evidence: Evidence) -> Mapping[str, object]:
    return {
        "cause": evidence.cause,
        "finding": evidence.finding,
        "levels": list(evidence.levels),
        "decibans": evidence.decibans,
        "grade": evidence.grade,
        "because": evidence.because,
        "file": evidence.file,
        "line": evidence.line,
    }


def _step(step: NextStep) -> Mapping[str, object]:
    return {
        "kind": step.kind,
        "id": step.id,
        "text": step.text,
        "variable": step.variable,
        "direction": step.direction,
        "amount": None
        if step.amount is None
        else {"low": step.amount.low, "high": step.amount.high, "unit": step.amount.unit},
        "hold": list(step.hold),
        "expect": [{"name": r.name, "low": r.low, "high": r.high, "unit": r.unit} for r in step.expect],
        "answers": [{"number": a.number, "text": a.text, "levels": list(a.levels)} for a in step.answers],
        "finding": step.finding,
        "cost": None if step.cost is None else {"seconds": step.cost.seconds, "grams": step.cost.grams},
    }
