"""Numbers of a shot against the person's own recipe and spread."""

import pytest

from diagnose.case.fold import Case
from diagnose.case.history import History
from diagnose.case.measures import basis_of, measures_of, target_of, variants
from diagnose.model import Quantity, Shot


def grams(value: float) -> Quantity:
    """Return an exact mass."""
    return Quantity.exact(value, "g")


def seconds(value: float, low: float | None = None, high: float | None = None) -> Quantity:
    """Return a time, exact or with a range."""
    return Quantity(value, "s", value if low is None else low, value if high is None else high)


RECIPE = {"dose": grams(18), "yield": grams(36), "time": seconds(27)}


def shot(number: int = 1, **measures: Quantity) -> Shot:
    """Return a shot; `yield_` stands for yield."""
    return Shot(number, {name.rstrip("_"): value for name, value in measures.items()})


def test_a_gusher_is_projected_to_the_recipes_yield() -> None:
    """Worked by hand: 16 s at 44 g with first drops at 7 s is 7 + 9 x 36/44 = 14.36 s at 36 g, 0.53 of 27 s."""
    case = Case("service", (shot(dose=grams(18), yield_=grams(44), time=seconds(16)),), RECIPE)
    found = measures_of(case)
    assert found.projected_s == pytest.approx(14.36, abs=0.01)
    assert found.values["time_ratio"] == pytest.approx(14.36 / 27, abs=1e-3)
    assert found.values["time_z"] < -3
    assert found.values["yield_ratio"] == pytest.approx(44 / 36)
    assert found.values["dose_off"] == pytest.approx(0)
    value, unit = basis_of("time_ratio", found)
    assert value == pytest.approx(14.36, abs=0.01)
    assert unit == "s"
    assert basis_of("yield_ratio", found) == (44, "g")
    assert basis_of("pressure", found) == (None, None)


def test_without_a_recipe_common_practice_is_assumed_and_said() -> None:
    """1:2 in 27 s, and a wide spread, since the recipe is a guess."""
    case = Case("home", (shot(dose=grams(20), yield_=grams(40), time=seconds(29)),))
    found = measures_of(case)
    assert found.target.assumed == ("yield", "time")
    assert found.target.yield_g == 40
    assert found.values["time_z"] == pytest.approx(2 / 3.5)
    assert "dose_off" not in found.values


def test_a_ratio_gives_the_recipes_yield() -> None:
    """1:2.5 of 18 g is 45 g, and nothing is assumed about it."""
    case = Case("home", (), {"dose": grams(18), "ratio": Quantity.exact(2.5, "ratio"), "time": seconds(27)})
    assert target_of(case).yield_g == pytest.approx(45)
    assert target_of(case).assumed == ()


def test_the_persons_own_spread_replaces_the_assumed_one_from_five_shots_on() -> None:
    """Worked from the individuals chart: mean moving range / 1.128; below ten shots never under 2 s."""
    case = Case("home", (), RECIPE)
    assert target_of(case, History(times=(25, 29, 24, 30))).sigma_s == 2.5
    wide = (25, 31, 25, 31, 25)
    assert target_of(case, History(times=wide)).sigma_s == pytest.approx(6 / 1.128)
    steady = (27, 27.5, 27, 27.5, 27)
    assert target_of(case, History(times=steady)).sigma_s == 2.0
    assert target_of(case, History(times=steady * 3)).sigma_s < 1


def test_numbers_that_do_not_fit_each_other_are_doubted() -> None:
    """A ratio outside 0.8 to 5 or an extraction outside 10 to 28 % is not used."""
    case = Case("home", (shot(dose=grams(9), yield_=grams(90), time=seconds(25)),), RECIPE)
    found = measures_of(case)
    assert found.doubts == ("ratio",)
    assert "brew_ratio" not in found.values
    too_strong = shot(dose=grams(18), yield_=grams(40), tds=Quantity.exact(20, "%"))
    assert measures_of(Case("home", (too_strong,))).doubts == ("extraction",)


def test_extraction_yield_follows_from_dissolved_solids() -> None:
    """Quoted worked example: 10 % of 40 g from 20 g is 20 %."""
    case = Case("home", (shot(dose=grams(20), yield_=grams(40), tds=Quantity.exact(10, "%")),))
    assert measures_of(case).values["extraction"] == pytest.approx(20.0)


def test_a_range_is_read_at_both_ends() -> None:
    """25-30 s gives three readings; an exact number one."""
    case = Case("home", (shot(time=seconds(27.5, 25, 30)),), RECIPE)
    found = variants(case, measures_of(case))
    assert [round(reading.values["time"], 1) for reading in found] == [27.5, 25, 30]
    exact = Case("home", (shot(time=seconds(27)),), RECIPE)
    assert len(variants(exact, measures_of(exact))) == 1


def test_the_change_since_the_shot_before_is_in_the_persons_own_spread() -> None:
    """27 s then 32 s at a spread of 2.5 s is a change of two sigma."""
    case = Case("home", (shot(1, time=seconds(27)), shot(2, time=seconds(32))), RECIPE)
    assert measures_of(case).values["time_change_z"] == pytest.approx(2.0)
    assert measures_of(case).values["shots_told"] == 2


def test_first_drops_are_judged_against_the_persons_own_shots_alone() -> None:
    """Machines differ too much for any common figure: without an earlier shot there is no ratio."""
    late = shot(2, first_drops=seconds(14))
    assert "first_drops_ratio" not in measures_of(Case("home", (late,), RECIPE)).values
    two = Case("home", (shot(1, first_drops=seconds(7)), late), RECIPE)
    assert measures_of(two).values["first_drops_ratio"] == pytest.approx(2.0)
