"""Expected cost of repair, and of asking first: decision-theoretic troubleshooting on plain numbers.

Actions are tried one after the other until the trouble ends; each is paid for whether it helps or not. The order is
greedy by chance of solving per cost, recomputed after each action, and may end early by accepting the cup as it is
or by handing over. The measure is that of Heckerman, Breese & Rommelse, Decision-theoretic troubleshooting, CACM
38(3):49-57 (1995); from memory. Greedy order is optimal only for one fault, one action a fault and costs without
history; the tests compare it with the exact optimum.
"""

from collections.abc import Sequence
from dataclasses import dataclass, field
from operator import mul

MAX_ACTIONS = 6  # a plan looks this many actions ahead


@dataclass(frozen=True, slots=True)
class Action:
    """Something to do: its cost in seconds and the chance that it ends the trouble under each hypothesis.

    `hits` are the hypotheses it can cure at all, with the chance: few of many, which makes plans quick to weigh.
    """

    cost: float
    cures: tuple[float, ...]
    hits: tuple[tuple[int, float], ...] = field(init=False, repr=False, compare=False)

    def __post_init__(self) -> None:
        """Note which hypotheses the action can cure."""
        object.__setattr__(self, "hits", tuple((i, cure) for i, cure in enumerate(self.cures) if cure))


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
    spent, whole, order = 0.0, sum(left), []
    best = _ended(0.0, left, ends, ())
    remaining = set(range(len(actions)))
    for _ in range(min(MAX_ACTIONS, len(actions))):
        chosen, solves = _best_per_cost(left, actions, remaining)
        if chosen < 0:
            break
        remaining.discard(chosen)
        order.append(chosen)
        spent += whole * actions[chosen].cost
        for index, cure in actions[chosen].hits:
            left[index] *= 1.0 - cure
        whole -= solves
        ended = _ended(spent, left, ends, tuple(order))
        if ended.cost < best.cost:
            best = ended
        if spent >= best.cost:
            break
    return best


def _best_per_cost(left: Sequence[float], actions: Sequence[Action], remaining: set[int]) -> tuple[int, float]:
    """Return the action that solves most for its cost, and how much; (-1, 0) if none solves anything."""
    chosen, most, gain = -1, 0.0, 0.0
    for index in sorted(remaining):
        action = actions[index]
        solves = 0.0
        for hypothesis, cure in action.hits:
            solves += left[hypothesis] * cure
        if solves > gain * action.cost:
            chosen, most, gain = index, solves, solves / action.cost
    return chosen, most


def _ended(spent: float, left: Sequence[float], ends: Ends, order: tuple[int, ...]) -> Plan:
    """Return the plan that stops here in the cheaper way."""
    accept = ends.bad_cup * sum(map(mul, left, ends.wrong))
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
        joint = list(map(mul, probabilities, answer))
        chance = sum(joint)
        if chance > 1e-9:
            total += chance * plan([p / chance for p in joint], actions, ends).cost
    return query.cost + (1.0 - query.unanswered) * total + query.unanswered * now
