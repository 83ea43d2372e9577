"""Dose and yield steps from the recipe, with what they change."""

import pytest

from diagnose.case.fold import Case
from diagnose.case.measures import measures_of
from diagnose.model import Quantity, Setting, Shot
from diagnose.rulebase.base import RuleBase
from diagnose.sizing import SIZES, Request, Sized
from diagnose.sizing.sized import number, span

RECIPE = {"dose": Quantity.exact(18, "g"), "yield": Quantity.exact(36, "g"), "time": Quantity.exact(27, "s")}


def sized(
    rules: RuleBase, step: str, numbers: dict[str, float], setting: Setting = "service", *, recipe: bool = True
) -> Sized:
    """Size a step after one shot with these numbers."""
    units = {"time": "s"}
    measures = {name: Quantity.exact(value, units.get(name, "g")) for name, value in numbers.items()}
    case = Case(setting, (Shot(1, measures),), RECIPE if recipe else {}, current=1)
    spec = rules.steps[step]
    assert spec.size is not None
    return SIZES[spec.size](Request(spec, case, measures_of(case)))


def test_a_low_dose_goes_back_to_the_recipe_in_one_step(rules: RuleBase) -> None:
    """15.5 g becomes 18 g, and the time grows by 10 to 20 % a gram (common practice, no source)."""
    found = sized(rules, "dose_more", {"dose": 15.5, "yield": 36, "time": 18})
    assert found.amount is not None
    assert found.amount.low == found.amount.high == pytest.approx(2.5)
    assert found.fields["to"] == "18 g"
    by_name = {wanted.name: wanted for wanted in found.expect}
    assert by_name["dose"].low < 18 < by_name["dose"].high
    assert by_name["time"].low > 18


def test_a_dose_nobody_weighed_moves_by_a_gram_at_most(rules: RuleBase) -> None:
    """Without a number the step is blind and therefore small."""
    found = sized(rules, "dose_more", {"time": 18})
    assert found.amount is not None
    assert found.amount.high == 1.0
    assert found.expect == ()


def test_a_long_yield_is_stopped_at_the_recipe(rules: RuleBase) -> None:
    """54 g becomes 36 g; the effect is said in whole percent and the yield is met as closely as the setting allows."""
    found = sized(rules, "yield_shorter", {"dose": 18, "yield": 54, "time": 36})
    assert found.amount is not None
    assert found.amount.low == 18
    by_name = {wanted.name: wanted for wanted in found.expect}
    assert (by_name["yield"].low, by_name["yield"].high) == (35.5, 36.5)
    assert by_name["time"].high < 36 + 5
    assert "stronger" in found.fields["effect"]
    home = sized(rules, "yield_shorter", {"dose": 18, "yield": 54, "time": 36}, "home")
    assert home.expect[0].high - home.expect[0].low == 4


def test_a_longer_yield_is_weaker_and_more_extracted(rules: RuleBase) -> None:
    """Published fractions: extraction is front-loaded, so strength falls faster than extraction grows."""
    found = sized(rules, "yield_longer", {"dose": 18, "yield": 24, "time": 20})
    assert found.fields["to"] == "36 g"
    assert "weaker" in found.fields["effect"]
    assert "more extracted" in found.fields["effect"]


def test_a_roast_gets_another_ratio(rules: RuleBase) -> None:
    """A light roast is run to 1:2.5, a dark one to about 1:1.7 (common practice, no source)."""
    longer = sized(rules, "recipe_longer", {"dose": 18, "yield": 36, "time": 27})
    shorter = sized(rules, "recipe_shorter", {"dose": 18, "yield": 36, "time": 27})
    assert longer.fields["to"] == "45 g"
    assert shorter.fields["to"] == "31 g"


def test_without_any_weight_the_ratio_is_said_instead(rules: RuleBase) -> None:
    """Nobody weighed anything: the step speaks of grams a gram."""
    found = sized(rules, "recipe_longer", {"time": 27}, recipe=False)
    assert found.amount is None
    assert "2.5 g in the cup for each gram" in found.fields["to"]


def test_temperature_moves_by_two_degrees_at_least(rules: RuleBase) -> None:
    """One degree would not be noticed (published: none between 87 and 93 degC at fixed strength and extraction)."""
    found = sized(rules, "brew_hotter", {"time": 27})
    assert found.amount is not None
    assert (found.amount.low, found.amount.unit) == (2.0, "degC")


def test_numbers_carry_no_more_digits_than_they_support() -> None:
    """Whole seconds and grams, tenths only where a scale gives them."""
    assert number(18.0) == "18"
    assert number(18.46, 0.1) == "18.5"
    assert span(17.2, 27.8, "s") == "17 to 28 s"
    assert span(18.0, 18.01, "g") == "18 g"


def test_a_step_in_the_wrong_direction_is_a_small_one_from_the_recipe(rules: RuleBase) -> None:
    """Told to run longer though the shot is long already: a quarter more, since the recipe does not tell how far."""
    found = sized(rules, "yield_longer", {"dose": 18, "yield": 40, "time": 27})
    assert found.amount is not None
    assert found.amount.low == 10


def test_an_effect_outside_the_curve_is_not_claimed(rules: RuleBase) -> None:
    """At a ratio the published curve does not cover, nothing is said of strength."""
    assert sized(rules, "yield_shorter", {"dose": 6, "yield": 60, "time": 40}, recipe=False).fields["effect"] == ""
