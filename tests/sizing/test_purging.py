"""How much to run through the grinder, and what then is still old: (r / (r + P)) (r / (r + D))^n, a mass balance."""

from dataclasses import replace

import pytest

from diagnose.case.fold import Case, Observation
from diagnose.case.measures import measures_of
from diagnose.model import Quantity, Setting, Shot
from diagnose.rulebase.base import RuleBase
from diagnose.sizing import SIZES, Request, Sized

SHOT = Shot(1, {"dose": Quantity.exact(18, "g"), "yield": Quantity.exact(36, "g"), "time": Quantity.exact(16, "s")})


def sized(
    rules: RuleBase,
    step: str,
    kept: float | None = None,
    setting: Setting = "home",
    *,
    failed: tuple[str, ...] = (),
    other: str = "",
) -> Sized:
    """Size a step after one shot of 18 g, with what the grinder keeps and a taste of another coffee where told."""
    stated = {} if kept is None else {"retained": Quantity.exact(kept, "g")}
    seen = {"mixed_taste": Observation((other,), "said", "")} if other else {}
    case = replace(Case(setting, (SHOT,), {}, stated, seen, current=1), failed=failed)
    spec = rules.steps[step]
    assert spec.size is not None
    return SIZES[spec.size](Request(spec, case, measures_of(case)))


def test_three_grams_kept_are_run_through_once(rules: RuleBase) -> None:
    """3 g through leaves half; of that the next 18 g hold 3/21 and 9/441: 7.1 % and 1.0 %."""
    found = sized(rules, "purge_and_repeat", 3.0)
    assert found.amount is not None
    assert (found.amount.low, found.amount.high, found.amount.unit) == (3.0, 3.0, "g")
    assert (found.fields["amount"], found.fields["first"], found.fields["second"]) == ("3 g", "7 %", "1 %")
    assert found.fields["kept"] == "3"
    assert "guess" not in found.fields


@pytest.mark.parametrize(("setting", "guess"), [("home", "3"), ("service", "8"), ("training", "8")])
def test_what_nobody_weighed_is_a_stated_guess(rules: RuleBase, setting: Setting, guess: str) -> None:
    """A few grams at home, more in a café grinder (common practice, no source)."""
    fields = sized(rules, "purge_and_repeat", None, setting).fields
    assert fields["guess"] == guess
    assert fields["amount"] == f"{guess} g"
    assert "kept" not in fields


def test_another_coffee_takes_a_dose_at_least(rules: RuleBase) -> None:
    """20 to 60 g of it stand in throat and chamber (common practice, no source), whatever grounds the grinder keeps."""
    fields = sized(rules, "purge_and_repeat", 3.0, other="present").fields
    assert (fields["guess"], fields["amount"], fields["first"]) == ("20", "20 g", "26 %")
    assert sized(rules, "purge_and_repeat", 30.0, other="present").fields["kept"] == "30"
    assert sized(rules, "purge_and_repeat", 3.0, other="absent").fields["kept"] == "3"


def test_a_purge_that_did_not_help_is_made_larger(rules: RuleBase) -> None:
    """A quarter is left after three times what the grinder keeps: 9 g for 3 g, then 3.6 % and 0.5 % in the cups."""
    found = sized(rules, "purge_and_repeat", 3.0, failed=("purge_and_repeat",))
    assert (found.fields["amount"], found.fields["first"], found.fields["second"]) == ("9 g", "4 %", "under 1 %")
    assert sized(rules, "purge_and_repeat", 3.0, failed=("grind_finer",)).fields["amount"] == "3 g"


def test_a_grinder_that_keeps_next_to_nothing_still_gets_a_gram(rules: RuleBase) -> None:
    """Less cannot be poured; nothing old is left to speak of."""
    for kept in (0.0, 0.3):
        fields = sized(rules, "purge_and_repeat", kept).fields
        assert (fields["amount"], fields["second"]) == ("1 g", "under 1 %")


@pytest.mark.parametrize("step", ["grind_finer", "grind_coarser"])
def test_a_grind_step_says_what_to_throw_out(rules: RuleBase, step: str) -> None:
    """The text has room for it; the size of the step itself is what it is without."""
    found = sized(rules, step, 5.0)
    assert found.fields["purge"] == "5 g"
    assert "notch" in found.fields["amount"]
    assert found.amount is not None
    assert found.amount.unit == "notch"
    assert rules.text(rules.steps[step].text).count("{purge}") == 1
