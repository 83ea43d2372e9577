"""Complaints as people put them, against what somebody who knows the trade would look at first.

The expectations in `cases.yaml` are common practice of the trade, no source; the sentences were written from how
people talk, not from the phrases of the rules. For scale, in medicine: online symptom checkers had the right diagnosis
first in 34 % and among the first three in 51 % of standard patients (Semigran, Linder, Gidengil, Mehrotra, BMJ
351:h3480, 2015; from memory).
"""

from dataclasses import dataclass
from functools import cache
from pathlib import Path
from typing import Any, get_args

import pytest
import yaml

from diagnose import Conversation
from diagnose.conversation.examples import ExampleRunner
from diagnose.conversation.reply import Reply
from diagnose.inference.hypotheses import marginals
from diagnose.model import NOTHING_WRONG, SETTINGS, UNKNOWN, Setting, StepKind
from diagnose.rulebase.base import RuleBase
from diagnose.rulebase.loader import load

TOP_ONE, TOP_THREE = 0.72, 0.93  # shares of all cases
REPLYING = frozenset({"root", "step", "never", "caution", "stop"})  # what only a whole reply shows
PARTICULAR = REPLYING | {"within", "both", "not_first"}
KEYS = PARTICULAR | {"say", "setting", "expect"}


@dataclass(frozen=True)
class Case:
    """One complaint and what it must lead to."""

    says: tuple[str, ...]
    setting: Setting
    expect: tuple[str, ...]
    wants: dict[str, Any]

    def found(self, names: list[str], within: int) -> bool:
        """Return whether the expected causes are among the first `within`: all of them with `both`, else any."""
        hits = [name in names[:within] for name in self.expect]
        return all(hits) if self.wants.get("both") else any(hits)


def _cases() -> list[Case]:
    entries = yaml.safe_load((Path(__file__).parent / "cases.yaml").read_text(encoding="utf-8"))
    found = []
    for entry in entries:
        assert set(entry) <= KEYS, f"unknown key in {entry}"
        says = entry["say"] if isinstance(entry["say"], list) else [entry["say"]]
        found.append(Case(tuple(says), entry.get("setting", "home"), tuple(entry["expect"]), entry))
    return found


CASES = _cases()


@cache
def rules() -> RuleBase:
    """Return the installed rule base, loaded once."""
    return load(None)


@cache
def runner() -> ExampleRunner:
    """Return what ranks the causes for a single text, compiled once."""
    return ExampleRunner(rules())


@cache
def answered(says: tuple[str, ...], setting: Setting) -> Reply:
    """Return the reply to the last of several texts."""
    talk = Conversation(rules=rules(), setting=setting)
    return [talk.say(text) for text in says][-1]


def ranked(case: Case) -> list[str]:
    """Return the causes of a case in order, without the one that stands for everything unlisted."""
    if len(case.says) == 1:
        order = list(marginals(runner().beliefs(case.says[0], case.setting)))
    else:
        order = [cause.id for cause in answered(case.says, case.setting).causes]
    return [cause for cause in order if cause != UNKNOWN]


def test_cases_name_what_exists() -> None:
    """Every cause, root, notice and kind of step a case names exists, so that no expectation is empty."""
    base = rules()
    asked = {name for name, finding in base.findings.items() if finding.ask}
    for case in CASES:
        wants = case.wants
        assert set(case.expect) - {NOTHING_WRONG} <= set(base.causes), case
        assert {*wants.get("not_first", ()), *filter(None, [wants.get("root")])} <= set(base.causes), case
        assert {*wants.get("caution", ()), *filter(None, [wants.get("stop")])} <= set(base.notices), case
        assert set(wants.get("step", ())) <= set(get_args(StepKind)), case
        assert set(wants.get("never", ())) <= asked | set(base.steps), case
        assert case.setting in SETTINGS, case


def test_the_right_cause_leads_most_cases_and_is_near_the_top_in_nearly_all() -> None:
    """The expected cause comes first in most cases, and among the first three in nearly all."""
    first = [case for case in CASES if case.found(ranked(case), 2 if case.wants.get("both") else 1)]
    missed = [case.says[-1] for case in CASES if not case.found(ranked(case), 3)]
    assert len(first) >= TOP_ONE * len(CASES), f"first in {len(first)} of {len(CASES)}"
    assert len(missed) <= (1 - TOP_THREE) * len(CASES), f"not among the first three: {missed}"


@pytest.mark.parametrize(
    "case", [case for case in CASES if PARTICULAR & set(case.wants)], ids=lambda case: case.says[-1][:60]
)
def test_particulars_of_a_case(case: Case) -> None:
    """Where a case says how far up, from which root, with which step or notice, it is so."""
    names, wants = ranked(case), case.wants
    if "within" in wants or "both" in wants:
        assert case.found(names, wants.get("within", 3)), names[:5]
    assert names[0] not in wants.get("not_first", ()), names[:5]
    if not REPLYING & set(wants):
        return
    reply = answered(case.says, case.setting)
    if "root" in wants:
        assert [root.id for root in reply.causes[0].roots][:1] == [wants["root"]]
    assert reply.step is not None
    assert "step" not in wants or reply.step.kind in wants["step"], reply.step
    assert reply.step.id not in wants.get("never", ()), reply.step
    notices = {notice.id: notice.severity for notice in reply.notices}
    assert set(wants.get("caution", ())) <= set(notices), notices
    assert "stop" not in wants or notices.get(wants["stop"]) == "stop", notices
