"""Expected cost of repair and of asking, against worked examples and against an exhaustive optimum."""

import random
from collections.abc import Sequence
from itertools import permutations

import pytest

from diagnose.inference.expected_cost import Action, Ends, Query, cost_of_asking, plan

NEVER = 1e9


def single_cures(costs: Sequence[float]) -> list[Action]:
    """Return one action a fault, each curing its own for certain."""
    return [Action(cost, tuple(1.0 if j == i else 0.0 for j in range(len(costs)))) for i, cost in enumerate(costs)]


def no_end(count: int) -> Ends:
    """Return ends nobody would choose."""
    return Ends(NEVER, NEVER, (1.0,) * count)


def cost_of_order(p: Sequence[float], actions: Sequence[Action], order: Sequence[int]) -> float:
    """Return the expected cost of a fixed order, by its definition: each action is paid while the trouble lasts."""
    left, total = list(p), 0.0
    for index in order:
        total += sum(left) * actions[index].cost
        left = [q * (1 - cure) for q, cure in zip(left, actions[index].cures, strict=True)]
    return total


def test_one_fault_one_action_each_is_ordered_by_chance_over_cost() -> None:
    """Worked by hand: p = (.4 .3 .2 .1), c = (10 3 1 5): order 3, 2, 1, 4 costs 1 + .8*3 + .5*10 + .1*5 = 8.9."""
    p, actions = (0.4, 0.3, 0.2, 0.1), single_cures((10, 3, 1, 5))
    found = plan(p, actions, no_end(4))
    assert found.actions == (2, 1, 0, 3)
    assert found.cost == pytest.approx(8.9, abs=1e-6)
    assert cost_of_order(p, actions, (0, 1, 2, 3)) == pytest.approx(12.6)
    assert cost_of_order(p, actions, (2, 1, 3, 0)) == pytest.approx(9.9)
    assert found.cost + sum(x * y for x, y in zip(p, (50, 20, 8, 40), strict=True)) == pytest.approx(40.5, abs=1e-6)


def test_greedy_is_not_optimal_when_actions_cure_several_faults() -> None:
    """Worked by hand: greedy takes A1, A3, A2 at 1.55 where A2, A3 would cost 1.45."""
    p = (0.2, 0.25, 0.4, 0.15)
    actions = [Action(1, (1, 0, 1, 0)), Action(1, (0, 0, 1, 1)), Action(1, (1, 1, 0, 0))]
    found = plan(p, actions, no_end(4))
    assert found.actions == (0, 2, 1)
    assert found.cost == pytest.approx(1.55, abs=1e-6)
    pairs = list(permutations(range(3), 2))
    whole = [cost_of_order(p, actions, order) + _end_cost(p, actions, order, no_end(4)) for order in pairs]
    assert min(whole) == pytest.approx(1.45, abs=1e-6)


def test_published_teaching_exercise_on_a_computer_that_does_not_start() -> None:
    """A university exercise on decision-theoretic troubleshooting (from memory): 27.875, without reinstalling 30.15."""
    p = (0.8, 0.15, 0.05)
    reboot, scan = Action(1, (1, 0, 0)), Action(2, (0, 0.95, 0))
    reinstall, replace = Action(25, (0.99, 0.99, 0)), Action(500, (1, 1, 1))
    found = plan(p, [reboot, scan, reinstall, replace], no_end(3))
    assert found.actions == (0, 1, 2, 3)
    assert found.cost == pytest.approx(27.875, abs=1e-4)
    assert plan(p, [reboot, scan, replace], no_end(3)).cost == pytest.approx(30.15, abs=1e-4)


def asking(question_cost: float) -> tuple[float, float]:
    """Return (cost of asking, cost of not asking) for three faults and one question with two answers."""
    p, actions = (0.5, 0.3, 0.2), single_cures((8, 6, 5))
    now = plan(p, actions, no_end(3))
    query = Query(question_cost, 0.0, ((0.9, 0.1, 0.1), (0.1, 0.9, 0.9)))
    return cost_of_asking(query, p, actions, no_end(3), now.cost), now.cost


@pytest.mark.parametrize(("cost", "worth_it"), [(3.04, True), (3.06, False)])
def test_a_question_is_worth_asking_below_its_value(cost: float, worth_it: bool) -> None:
    """Worked by hand: 12.0 without, 8.8 after +, 9.1 after -, so ask exactly while the question costs under 3.05."""
    ask, now = asking(cost)
    assert now == pytest.approx(12.0, abs=1e-6)
    assert (ask < now) is worth_it


def test_cost_after_each_answer_is_that_of_the_posterior() -> None:
    """Worked by hand: posteriors (.9 .06 .04) and (.1 .54 .36) cost 8.8 and 9.1."""
    actions = single_cures((8, 6, 5))
    assert plan((0.9, 0.06, 0.04), actions, no_end(3)).cost == pytest.approx(8.8, abs=1e-6)
    assert plan((0.1, 0.54, 0.36), actions, no_end(3)).cost == pytest.approx(9.1, abs=1e-6)


def test_an_unanswered_question_costs_its_price_and_changes_nothing() -> None:
    """With "don't know" certain, asking costs its own price more than not asking."""
    p, actions = (0.5, 0.3, 0.2), single_cures((8, 6, 5))
    query = Query(2.0, 1.0, ((0.9, 0.1, 0.1), (0.1, 0.9, 0.9)))
    assert cost_of_asking(query, p, actions, no_end(3), 12.0) == pytest.approx(14.0)


@pytest.mark.parametrize(("service", "at_once"), [(12.0, True), (12.1, False)])
def test_calling_for_service_at_once_pays_up_to_the_cost_of_the_plan(service: float, at_once: bool) -> None:
    """Worked by hand: the plan costs 12, so a call that costs up to 12 comes first."""
    found = plan((0.5, 0.3, 0.2), single_cures((8, 6, 5)), Ends(NEVER, service, (1.0,) * 3))
    assert (found.actions == () and found.end == "hand_over") is at_once


def test_nothing_wrong_makes_accepting_the_cheap_end() -> None:
    """Accepting costs a bad cup only where something is wrong."""
    found = plan((0.9, 0.1), [Action(60, (0, 0.8))], Ends(400, 1000, (0.0, 1.0)))
    assert (found.actions, found.end) == ((), "accept")
    assert found.cost == pytest.approx(40)


def test_the_plan_is_never_worse_than_either_end_and_close_to_the_best_order() -> None:
    """On 200 random models with up to five actions the plan costs on average at most 1.03 times the best order."""
    rng = random.Random(20)
    ratios = []
    for _ in range(200):
        count, size = rng.randint(2, 6), rng.randint(1, 5)
        raw = [rng.random() for _ in range(count)]
        p = [x / sum(raw) for x in raw]
        actions = [
            Action(rng.uniform(5, 100), tuple(rng.choice((0.0, 0.0, rng.uniform(0.3, 0.95))) for _ in p))
            for _ in range(size)
        ]
        ends = Ends(rng.uniform(100, 600), rng.uniform(200, 900), tuple(rng.choice((0.0, 1.0, 1.0)) for _ in p))
        found = plan(p, actions, ends)
        best = min(
            cost_of_order(p, actions, order) + _end_cost(p, actions, order, ends)
            for length in range(size + 1)
            for order in permutations(range(size), length)
        )
        assert found.cost >= best - 1e-9
        ratios.append(found.cost / best if best > 1e-9 else 1.0)
    assert sum(ratios) / len(ratios) <= 1.03
    assert sorted(ratios)[int(0.95 * len(ratios))] <= 1.10


def _end_cost(p: Sequence[float], actions: Sequence[Action], order: Sequence[int], ends: Ends) -> float:
    left = list(p)
    for index in order:
        left = [q * (1 - cure) for q, cure in zip(left, actions[index].cures, strict=True)]
    accept = ends.bad_cup * sum(q * wrong for q, wrong in zip(left, ends.wrong, strict=True))
    return min(accept, ends.hand_over * sum(left))
