"""Expected cost of repair, and of asking first: decision-theoretic troubleshooting on plain numbers.

Actions are tried one after the other until the trouble ends; each is paid for whether it helps or not. The order is
greedy by chance of solving per cost, recomputed after each action, and may end early by accepting the cup as it is
or by handing over. The measure is that of Heckerman, Breese & Rommelse, Decision-theoretic troubleshooting, CACM
38(3):49-57 (1995); from memory. Greedy order is optimal only for one fault, one action a fault and costs without
history; the tests compare it with the exact optimum.
"""

from collections.abc import Sequence
from dataclasses import dataclass

MAX_ACTIONS = 6  # a plan looks this many actions ahead


@dataclass(frozen=True, slots=True)
class Action:
    """Something to do: its cost in seconds and the chance that it ends the trouble under each hypothesis."""

    cost: float
    cures: tuple[float, ...]


@dataclass(frozen=True, slots=True)
class Ends:
    """How to stop: accept costs `bad_cup` where something is wrong (`wrong` 1 or 0 a hypothesis), or hand over."""

    bad_cup: float
    hand_over: float
    wrong: tuple[float, ...]


@dataclass(frozen=True, slots=True)
class Plan:
    """The cheapest plan: its expected cost, the actions in order, and how it ends ("accept" or "hand_over")."""

    cost: float
    actions: tuple[int, ...]
    end: str


@dataclass(frozen=True, slots=True)
class Query:
    """A question: its cost, the chance of "don't know", and P(answer | hypothesis) for each answer."""

    cost: float
    unanswered: float
    answers: tuple[tuple[float, ...], ...]


def plan(probabilities: Sequence[float], actions: Sequence[Action], ends: Ends) -> Plan:
    """Return the cheapest of stopping after 0, 1, 2 ... actions of the greedy order, with either end.

    `probabilities` of the hypotheses sum to 1.
    """
    left = list(probabilities)
    spent, order = 0.0, []
    best = _ended(0.0, left, ends, ())
    remaining = list(range(len(actions)))
    for _ in range(min(MAX_ACTIONS, len(actions))):
        chosen, gain = -1, 0.0
        for index in remaining:
            action = actions[index]
            solves = sum(p * cure for p, cure in zip(left, action.cures, strict=True) if cure)
            if solves > gain * action.cost:
                chosen, gain = index, solves / action.cost
        if chosen < 0:
            break
        remaining.remove(chosen)
        order.append(chosen)
        spent += sum(left) * actions[chosen].cost
        left = [p * (1.0 - cure) for p, cure in zip(left, actions[chosen].cures, strict=True)]
        ended = _ended(spent, left, ends, tuple(order))
        if ended.cost < best.cost:
            best = ended
    return best


def _ended(spent: float, left: Sequence[float], ends: Ends, order: tuple[int, ...]) -> Plan:
    """Return the plan that stops here in the cheaper way."""
    accept = ends.bad_cup * sum(p * wrong for p, wrong in zip(left, ends.wrong, strict=True))
    hand_over = ends.hand_over * sum(left)
    if hand_over < accept:
        return Plan(spent + hand_over, order, "hand_over")
    return Plan(spent + accept, order, "accept")


def cost_of_asking(
    query: Query, probabilities: Sequence[float], actions: Sequence[Action], ends: Ends, now: float
) -> float:
    """Return the expected cost of asking `query` first and then following the cheapest plan; `now` is that without."""
    total = 0.0
    for answer in query.answers:
        joint = [p * likelihood for p, likelihood in zip(probabilities, answer, strict=True)]
        chance = sum(joint)
        if chance > 1e-9:
            total += chance * plan([p / chance for p in joint], actions, ends).cost
    return query.cost + (1.0 - query.unanswered) * total + query.unanswered * now
