"""One next step: the question, check, adjustment, fix or end with the least expected cost.

Costs are seconds of a person's time plus coffee at a price in seconds; the prices stand in the rule base's costs.yaml.
A question is asked only while asking makes the expected cost smaller; that is the stopping rule too.
"""

from collections.abc import Sequence
from dataclasses import dataclass
from operator import mul

from diagnose.inference.expected_cost import Action, Ends, Plan, Query, cost_of_asking, plan
from diagnose.inference.hypotheses import Belief, Hypothesis, Weigher, cluster_factor, contradicted, holds, marginals
from diagnose.inference.likelihood import VERDICT, VERDICT_GRADES, share
from diagnose.model import NOTHING_WRONG, UNKNOWN, Setting
from diagnose.rulebase.schema import Ask, Costs

# Looking one question ahead overrates asking, since the question stays open after the step as well: it has to save
# at least this share of the cost, and more where it would hold up a step that is likely to help.
WORTH_ASKING, WORTH_HOLDING_UP = 0.01, 0.05
UNANSWERED = 0.15  # chance of "don't know" before this person has shown otherwise
UNANSWERED_PRIOR = 4.0  # how many answers that guess is worth
FEW_SOLVED = 0.35  # below this chance of solving, a question cheaper than a shot comes before an adjustment
GUARDED = 4  # ... while fewer questions than this were put: simulated talks gain nothing from more
SURELY_GOOD = 0.6  # below this chance that nothing is wrong, a cup is not called good before its taste was asked for
LIKELY_ANSWER, MOVES = 0.05, 0.1  # a question tells something if so likely an answer moves a cause by so much
CLEAR = 0.7  # a cause this likely, with a step this likely to end it, is acted on before anything else is asked
KEPT = 0.98  # hypotheses beyond this share of the probability are left out of the look-ahead
MOST_KEPT = 50
LEAST_SOLVES = 0.03  # a step less likely to end the trouble is not worth anybody's time
MOST_FAILED = 6  # after so many steps in vain somebody else should look
REPEAT, ACCEPT, HAND_OVER = "repeat_unchanged", "accept", "hand_over"
REPEATS = "repeats"


@dataclass(frozen=True, slots=True)
class Choice:
    """What to do next: `kind` is "ask" (id is a finding) or "do" (id is a step).

    `solves` is the chance that the step ends the trouble; `plan` the order of steps behind it.
    """

    kind: str
    id: str
    solves: float
    cost: float
    then: tuple[str, ...] = ()


class Chooser:
    """Weighs what could be done or asked next for one set of beliefs."""

    def __init__(self, weigher: Weigher, beliefs: Sequence[Belief], barred: frozenset[str] = frozenset()) -> None:
        """Prepare actions and ends. `barred` are steps sizing rules out now (inside the scatter, at the limit)."""
        self.weigher, self.base = weigher, weigher.base
        self.setting: Setting = weigher.tables.setting
        self.prices = self.base.costs
        self.asked = 0
        self.beliefs = _likeliest(beliefs)
        self.probabilities = [belief.probability for belief in self.beliefs]
        asks = self.askable()
        self.gates = {name: gate for name in self.base.steps if (gate := self._gate(name)) is not None}
        self.steps = [
            name
            for name in self.base.steps
            if name not in barred and self._possible(name) and self.gates.get(name, "") in {"", *asks}
        ]
        self.actions = [self._action(name) for name in self.steps]
        keep = [index for index, action in enumerate(self.actions) if self._solves(action) >= LEAST_SOLVES]
        self.steps, self.actions = [self.steps[i] for i in keep], [self.actions[i] for i in keep]
        wrong = tuple(0.0 if b.hypothesis.causes == (NOTHING_WRONG,) else 1.0 for b in self.beliefs)
        self.ends = Ends(self.prices.trouble_stays.of(self.setting), self.prices.hand_over.of(self.setting), wrong)

    def _possible(self, name: str) -> bool:
        step = self.base.steps[name]
        return (
            step.kind not in {ACCEPT, HAND_OVER}
            and self._cost(step.cost) is not None
            and not contradicted((*step.needs, *step.only_if), self.weigher.known.findings)
        )

    def _gate(self, name: str) -> str | None:
        """Return the first finding a step must not be advised without knowing, while it is unknown."""
        known = self.weigher.known.findings
        return next((c.finding for c in self.base.steps[name].only_if if not holds([c], known)), None)

    def _cost(self, costs: Costs) -> float | None:
        cost = costs.of(self.setting)
        return None if cost is None else cost.seconds + cost.grams * self.prices.gram.of(self.setting)

    def _action(self, name: str) -> Action:
        today = self.setting == "service"
        cures = tuple(self.weigher.cure_chance(name, belief.hypothesis, today=today) for belief in self.beliefs)
        return Action(self._cost(self.base.steps[name].cost) or 1.0, cures)

    def shot_cost(self) -> float:
        """Return what pulling one more shot costs here."""
        return self._cost(self.base.steps[REPEAT].cost) or 0.0 if REPEAT in self.base.steps else 60.0

    def unanswered(self) -> float:
        """Return the chance that this person does not know the answer, learned from the talk so far."""
        missed = len(self.weigher.case.dont_know)
        return (UNANSWERED * UNANSWERED_PRIOR + missed) / (UNANSWERED_PRIOR + max(self.asked, missed))

    def choose(self, asked: int = 0) -> Choice:
        """Return the best next thing. `asked` counts the questions put so far."""
        self.asked = asked
        in_vain = len(self.weigher.case.failed) + len(self.weigher.case.declined)
        if self._content() or in_vain >= MOST_FAILED:
            return Choice("do", ACCEPT if self._content() else HAND_OVER, 0.0, 0.0)
        now = plan(self.probabilities, self.actions, self.ends)
        queries = self._queries()
        costs = {
            name: cost_of_asking(query, self.probabilities, self.actions, self.ends, now.cost)
            for name, query in queries.items()
        }
        best = min(costs, key=lambda name: (costs[name], name), default=None)
        step = self._first(now)
        if self._clear(step):
            return step
        worth = WORTH_ASKING if step.solves < FEW_SOLVED else WORTH_HOLDING_UP
        if best is not None and costs[best] < (1.0 - worth) * now.cost:
            return Choice("ask", best, 0.0, costs[best])
        if step.kind == "ask":
            return step
        if self._too_unsure(step):
            cheap = [name for name, query in queries.items() if query.cost < self.shot_cost() and self._tells(query)]
            if cheap:
                best = min(cheap, key=lambda name: (costs[name], name))
                return Choice("ask", best, 0.0, costs[best])
        return step

    def _clear(self, choice: Choice) -> bool:
        """Return whether a step most likely ends what is most likely the cause: then a second fault can wait."""
        leader, chance = next(iter(marginals(self.beliefs).items()))
        if choice.kind != "do" or choice.id not in self.steps or chance < CLEAR or leader not in self.base.causes:
            return False
        return self.weigher.cure_chance(choice.id, Hypothesis((leader,), None, 1.0)) >= CLEAR

    def _content(self) -> bool:
        """Return whether a content person with nothing out of the ordinary should be left in peace."""
        known = self.weigher.known.findings
        verdict = known.get(VERDICT)
        if verdict is None or not set(verdict.levels) <= set(VERDICT_GRADES):
            return False
        specs = self.base.findings
        abnormal = any(specs[n].symptom and specs[n].normal not in finding.levels for n, finding in known.items())
        return not abnormal and self.beliefs[0].hypothesis.causes == (NOTHING_WRONG,)

    def _first(self, now: Plan) -> Choice:
        if not now.actions:
            if now.end == ACCEPT and self._unsure_of_good() and VERDICT in self.askable():
                return Choice("ask", VERDICT, 0.0, now.cost)
            # Nobody is told to enjoy a cup while some fault is likelier than none.
            end = now.end if next(iter(marginals(self.beliefs))) == NOTHING_WRONG else HAND_OVER
            return Choice("do", end, 0.0, now.cost)
        steps = [self.steps[index] for index in now.actions]
        if steps[0] in self.gates:
            return Choice("ask", self.gates[steps[0]], 0.0, now.cost)
        return Choice("do", steps[0], self.solves(steps[0]), now.cost, tuple(steps[1:]))

    def _unsure_of_good(self) -> bool:
        """Return whether it is too early to tell a person that the cup is good, without having asked for its taste."""
        return sum(p for p, wrong in zip(self.probabilities, self.ends.wrong, strict=True) if not wrong) < SURELY_GOOD

    def solves(self, step: str) -> float:
        """Return the chance that `step` ends the trouble."""
        if step not in self.steps:
            return 0.0
        return self._solves(self.actions[self.steps.index(step)])

    def _solves(self, action: Action) -> float:
        return sum(self.probabilities[index] * cure for index, cure in action.hits)

    def _too_unsure(self, choice: Choice) -> bool:
        """Return whether a guess at an adjustment should wait for a question that costs less than a shot."""
        kind = self.base.steps[choice.id].kind if choice.id in self.base.steps else ""
        return kind in {"adjust", "fix"} and choice.solves < FEW_SOLVED and self.asked < GUARDED

    def _tells(self, query: Query) -> bool:
        """Return whether an answer that is not far-fetched would move some hypothesis by a tenth."""
        for answer in query.answers:
            joint = list(map(mul, self.probabilities, answer))
            chance = sum(joint)
            moved = (abs(j / chance - p) for j, p in zip(joint, self.probabilities, strict=True) if chance > 0)
            if chance >= LIKELY_ANSWER and max(moved) >= MOVES:
                return True
        return False

    def _asking_cost(self, ask: Ask) -> float:
        once, each, again = self.prices.reading, self.prices.reading_answer, self.prices.patience
        reading = once.of(self.setting) + each.of(self.setting) * len(ask.answers)
        return (self._cost(ask.cost) or 0.0) + reading + again.of(self.setting) * self.asked

    def askable(self) -> dict[str, Ask]:
        """Return the findings that may be asked now: open, answerable here, and not already answered "don't know"."""
        known, case = self.weigher.known.findings, self.weigher.case
        found: dict[str, Ask] = {}
        for name, finding in self.base.findings.items():
            ask = finding.ask
            if ask is None or name in case.dont_know or self._cost(ask.cost) is None:
                continue
            if name in known and not (ask.kind == "check" and known[name].source == "said"):
                continue
            if not contradicted(ask.needs, known) and holds(ask.only_if, known):
                found[name] = ask
        return found

    def _queries(self) -> dict[str, Query]:
        """Return the questions that tell hypotheses apart, as numbers."""
        unanswered = self.unanswered()
        clusters = [self.base.findings[name].cluster for name in self.weigher.findings]
        queries: dict[str, Query] = {}
        for name, ask in self.askable().items():
            cluster = self.base.findings[name].cluster
            columns = self._columns(name, ask, cluster_factor(clusters.count(cluster) + 1) if cluster else 1.0)
            if columns is not None:
                queries[name] = Query(self._asking_cost(ask), unanswered, tuple(zip(*columns, strict=True)))
        return queries

    def _columns(self, name: str, ask: Ask, factor: float) -> list[tuple[float, ...]] | None:
        """Return P(answer | hypothesis) for each hypothesis, or None where no cause says anything about the finding.

        Answers within a cluster of known findings tell less, by the same factor as in the ranking.
        """
        base_row = self.weigher.tables.bases[name]
        of_base = [share(base_row, answer.levels) for answer in ask.answers]
        silent = tuple(of_base)
        known: dict[int, tuple[float, ...]] = {id(base_row): silent}
        columns, spoken = [], False
        for belief in self.beliefs:
            causes = belief.hypothesis.causes
            row = self.weigher.row(belief.hypothesis, name)
            # Rows of single causes stay where they are; those of pairs and of the unknown are made anew each time.
            lasting = len(causes) == 1 and causes != (UNKNOWN,)
            column = known.get(id(row)) if lasting or row is base_row else None
            if column is None:
                spoken = spoken or causes != (UNKNOWN,)
                ratios = (share(row, answer.levels) / base for answer, base in zip(ask.answers, of_base, strict=True))
                raw = [base * ratio**factor for base, ratio in zip(of_base, ratios, strict=True)]
                total = sum(raw)
                column = tuple(value / total for value in raw)
                if lasting:
                    known[id(row)] = column
            columns.append(column)
        return columns if spoken else None


def _likeliest(beliefs: Sequence[Belief]) -> list[Belief]:
    """Return the likeliest hypotheses that hold nearly all of the probability, made to sum to 1."""
    kept: list[Belief] = []
    total = 0.0
    for belief in beliefs:
        kept.append(belief)
        total += belief.probability
        if total >= KEPT or len(kept) >= MOST_KEPT:
            break
    if not any(belief.hypothesis.causes == (NOTHING_WRONG,) for belief in kept):
        kept += [belief for belief in beliefs if belief.hypothesis.causes == (NOTHING_WRONG,)]
        total = sum(belief.probability for belief in kept)
    return [Belief(belief.hypothesis, belief.probability / total) for belief in kept]
