"""A step of brew temperature: how little the thinner water alone moves the time."""

from collections.abc import Sequence

import pytest
from iapws import IAPWS97

from diagnose.case.fold import Case
from diagnose.case.measures import measures_of
from diagnose.model import Quantity, Shot
from diagnose.rulebase.base import RuleBase
from diagnose.sizing import SIZES, Request, Sized

RECIPE = {"time": Quantity.exact(27, "s"), "yield": Quantity.exact(36, "g")}


def sized(rules: RuleBase, step: str, time: float | None, degc: float | None = None) -> Sized:
    """Size a step after one shot of this time and brew temperature."""
    told: Sequence[tuple[str, float | None, str]] = (("time", time, "s"), ("brew_temperature", degc, "degC"))
    shot = Shot(1, {name: Quantity.exact(value, unit) for name, value, unit in told if value is not None})
    case = Case("home", (shot,), RECIPE, current=1)
    return SIZES["temperature_step"](Request(rules.steps[step], case, measures_of(case)))


@pytest.mark.parametrize(("step", "sign"), [("brew_hotter", 1), ("brew_cooler", -1)])
@pytest.mark.parametrize(("time", "degc"), [(27.0, 93.0), (27.0, 86.0), (60.0, 90.0)])
def test_the_range_is_that_of_the_viscosity(rules: RuleBase, step: str, sign: int, time: float, degc: float) -> None:
    """Two and three degrees by IAPWS-IF97 with IAPWS viscosity, in whole seconds."""
    here = IAPWS97(T=degc + 273.15, P=1.0).mu
    ends = [round(time * abs(IAPWS97(T=degc + sign * step_c + 273.15, P=1.0).mu / here - 1)) for step_c in (2, 3)]
    wanted = f"{ends[0]} s" if ends[0] == ends[1] else f"{ends[0]} to {ends[1]} s"
    assert sized(rules, step, time, degc).fields["seconds"] == wanted


def test_so_small_a_change_takes_many_shots_to_see(rules: RuleBase) -> None:
    """0.75 s in a scatter of 2.5 s: 2 (1.96 + 0.84)^2 (2.5 / 0.75)^2 is 174 shots at each setting, in tens."""
    assert int(sized(rules, "brew_hotter", 27.0).fields["shots"]) == pytest.approx(174, abs=20)
    assert int(sized(rules, "brew_hotter", 5.0).fields["shots"]) == 490
    assert int(sized(rules, "brew_hotter", 150.0).fields["shots"]) < 10


def test_no_time_no_seconds(rules: RuleBase) -> None:
    """Nothing is said of a time nobody told, and none is promised for the next shot."""
    assert "seconds" not in sized(rules, "brew_hotter", None).fields
    assert sized(rules, "brew_hotter", 27.0).expect == ()
