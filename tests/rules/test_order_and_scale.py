"""More rules do not dilute what is known, and what the explanations promise is kept by the rules."""

from collections.abc import Iterator
from dataclasses import replace
from functools import partial
from random import Random

import pytest

from diagnose.case.fold import Case, Observation
from diagnose.conversation.assess import Assessor
from diagnose.explanation import why_not
from diagnose.inference.forward import ForwardChainer
from diagnose.inference.hypotheses import Belief, Weigher, marginals
from diagnose.inference.likelihood import Tables
from diagnose.model import NOTHING_WRONG, SETTINGS, UNKNOWN, Setting
from diagnose.rulebase.base import RuleBase
from diagnose.rulebase.schema import PriorPerSetting
from diagnose.rulebase.vocabulary import COMPLAINTS

CASES = 50
CANDIDATES = 10  # why-not is asked of causes among the likeliest


def some_observations(rules: RuleBase, rng: Random, complaint: str) -> dict[str, Observation]:
    """Return one to five findings of a complaint, each known to be at one level."""
    usable = [name for name, spec in rules.findings.items() if complaint in spec.complaints or spec.context]
    names = rng.sample(usable, rng.randint(1, 5))
    return {name: Observation((rng.choice(list(rules.findings[name].levels)),), "said", "") for name in names}


def prior(beliefs: list[Belief], name: str) -> float:
    """Return the prior of a hypothesis that stands alone."""
    return sum(belief.hypothesis.prior for belief in beliefs if belief.hypothesis.causes == (name,))


@pytest.mark.parametrize("setting", SETTINGS)
@pytest.mark.parametrize("complaint", COMPLAINTS)
def test_an_irrelevant_cause_takes_nothing_from_nothing_wrong(
    rules: RuleBase, complaint: str, setting: Setting
) -> None:
    """However common a cause is made that shows nothing of what is seen, *nothing wrong* keeps its share."""
    rng = Random(f"{complaint} {setting}")
    observations = some_observations(rules, rng, complaint)
    known = ForwardChainer(rules).run([{}], observations)
    away = next(name for name, spec in rules.findings.items() if name not in known.findings and spec.normal)
    named = next(level for level in rules.findings[away].levels if level != rules.findings[away].normal)
    model = next(spec for spec in rules.causes.values() if spec.prior is not None and complaint in spec.complaints)
    show = model.shows[0].model_copy(update={"finding": away, "levels": {named: "slight"}, "applies_when": ()})
    often = PriorPerSetting(home="very common", service="very common", training="very common")
    changes = {"prior": often, "shows": (show,), "roots": (), "needs": (), "excludes": (), "variable": None}
    extra = model.model_copy(update={**changes, "direction": None})
    more = replace(rules, causes={**rules.causes, **{f"irrelevant_{number}": extra for number in range(3)}})
    before, after = (
        Weigher(base, Tables(base, setting), Case(setting), known, complaint).beliefs() for base in (rules, more)
    )
    assert len(marginals(after)) == len(marginals(before)) + 3
    for name in (NOTHING_WRONG, UNKNOWN):
        assert prior(after, name) == pytest.approx(prior(before, name), abs=1e-12)
    odds = [marginals(beliefs)[NOTHING_WRONG] / marginals(beliefs)[UNKNOWN] for beliefs in (before, after)]
    assert odds[1] == pytest.approx(odds[0])


def changes_stated(rules: RuleBase, count: int) -> Iterator[tuple[float, float, float, object]]:
    """Yield, for each change stated in random cases, the cause's chance now, as stated, and once it is said."""
    rng, assessor = Random(8), Assessor(rules)
    for _ in range(count):
        setting, complaint = rng.choice(SETTINGS), rng.choice(COMPLAINTS)
        observations = some_observations(rules, rng, complaint)
        assessment = assessor.assess(Case(setting, observations=observations))
        chances = marginals(assessment.beliefs)
        behind = [name for name in chances if name in rules.causes][1:CANDIDATES]
        if not behind:
            continue
        cause = rng.choice(behind)
        found = why_not(
            assessor.weigher(assessment), assessment.beliefs, cause, partial(assessor.supposing, assessment)
        )
        for change in found.changes:
            seen = {**observations, change.finding: Observation((change.level,), "said", "")}
            case = Case(setting, observations=seen)
            known = assessor.know(case)[1]
            again = Weigher(rules, assessor.tables(setting), case, known, assessment.complaint)
            then = marginals(again.beliefs()).get(cause, 0.0)
            yield chances[cause], change.probability, then, (setting, observations, cause, change)


def test_every_change_stated_really_raises_the_cause(rules: RuleBase) -> None:
    """What "why not" says would raise a cause does so, and by as much, when it is told and all rules are run again."""
    found = list(changes_stated(rules, CASES))
    assert len(found) > 3 * CASES
    assert [about for now, stated, then, about in found if then <= now or abs(then - stated) > 1e-9] == []
