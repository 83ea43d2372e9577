"""Hypotheses and their posterior: nothing wrong, single causes with their roots, pairs, and something unlisted.

Fixed shares of the prior go to *nothing wrong*, *unknown* and *pairs*; single causes divide the rest by their named
priors. Adding a cause therefore never dilutes *nothing wrong*. Rules hold the knowledge; here it is only weighed.
"""

from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass
from itertools import combinations
from math import exp, log

from diagnose.case.fold import Case
from diagnose.inference.forward import Known
from diagnose.inference.likelihood import VERDICT, Row, Tables, pair_row, share
from diagnose.model import NOTHING_WRONG, UNKNOWN, Finding, Setting
from diagnose.rulebase.base import RuleBase
from diagnose.rulebase.schema import Condition, Root
from diagnose.rulebase.vocabulary import PRIORS

NOTHING_SHARE: Mapping[Setting, float] = {"home": 0.20, "service": 0.20, "training": 0.10}
UNKNOWN_SHARE = 0.05
PAIRS_SHARE = 0.10
PAIRED = 12  # pairs are formed among this many of the likeliest single causes
# What was tried and did not help speaks half: the change may have been small, or judged on the first shot.
REPORTED_WEIGHT = 0.5


@dataclass(frozen=True, slots=True)
class Hypothesis:
    """What might be the case: no cause (nothing wrong), one cause with a root or without, or two causes."""

    causes: tuple[str, ...]
    root: str | None
    prior: float


@dataclass(frozen=True, slots=True)
class Belief:
    """A hypothesis with its posterior probability."""

    hypothesis: Hypothesis
    probability: float


def cluster_factor(observed: int) -> float:
    """Return the share each weight counts when `observed` findings of one cluster are known: 1/(1 + (k-1)/2).

    Findings moved by one mechanism are not independent; counted in full they make a model overconfident (Pathfinder
    and Iliad, two medical expert systems, met this; from memory).
    """
    return 1.0 / (1.0 + 0.5 * (max(observed, 1) - 1))


def contradicted(conditions: Iterable[Condition], findings: Mapping[str, Finding]) -> bool:
    """Return whether what is known rules out one of `conditions`; what is unknown rules out nothing."""
    return any(
        condition.finding in findings and not set(condition.levels) & set(findings[condition.finding].levels)
        for condition in conditions
        if condition.finding is not None
    )


def holds(conditions: Iterable[Condition], findings: Mapping[str, Finding]) -> bool:
    """Return whether all of `conditions` are known to be true."""
    return all(
        condition.finding in findings and set(findings[condition.finding].levels) <= set(condition.levels)
        for condition in conditions
        if condition.finding is not None
    )


class Weigher:
    """Computes posteriors for one complaint in one setting from one set of known findings."""

    def __init__(self, base: RuleBase, tables: Tables, case: Case, known: Known, complaint: str) -> None:
        """Prepare the findings that count and how much each counts."""
        self.base, self.tables, self.case, self.known, self.complaint = base, tables, case, known, complaint
        self._mixtures: dict[tuple[str, str], Row | None] = {}
        self._possible_roots: dict[str, tuple[Root, ...]] = {}
        self.causes = [
            cause
            for cause, spec in base.causes.items()
            if spec.prior is not None
            and complaint in spec.complaints
            and self._weight(cause) > 0
            and not contradicted(spec.needs, known.findings)
        ]
        relevant = self._relevant()
        self.findings = {
            name: finding.levels
            for name, finding in sorted(known.findings.items())  # the same sums whatever was said first
            if name in relevant and 0 < len(finding.levels) < len(base.findings[name].levels)
        }
        clusters = [base.findings[name].cluster for name in self.findings]
        self.factor = {
            name: cluster_factor(clusters.count(base.findings[name].cluster)) if base.findings[name].cluster else 1.0
            for name in self.findings
        }

    def _relevant(self) -> set[str]:
        """Return the findings some cause of the complaint, or a root of it, speaks of; the rest belongs elsewhere.

        What no cause here can explain would otherwise speak for something unlisted.
        """
        speaking = [*self.causes, *(root.cause for cause in self.causes for root in self._roots(cause))]
        return {VERDICT, *(show.finding for cause in speaking for show in self.base.causes[cause].shows)}

    def _weight(self, cause: str) -> float:
        prior = self.base.causes[cause].prior
        return PRIORS[getattr(prior, self.tables.setting)] if prior is not None else 0.0

    def row(self, hypothesis: Hypothesis, finding: str) -> Row:
        """Return P(level | hypothesis) for one finding, untempered by clusters."""
        base_row = self.tables.bases[finding]
        if hypothesis.causes in {(NOTHING_WRONG,), ()}:
            return base_row
        if len(hypothesis.causes) == 1:
            return self._single(hypothesis.causes[0], hypothesis.root, finding) or base_row
        first, second = (self._mixed(cause, finding) for cause in hypothesis.causes)
        if first is None or second is None:
            return first or second or base_row
        return pair_row(first, second, base_row, self.base.findings[finding].normal)

    def _single(self, cause: str, root: str | None, finding: str) -> Row | None:
        """Return the row of a cause with one root: the root speaks where it has something to say."""
        if root is not None:
            of_root = self.tables.shown(root, finding, self.known.active)
            if of_root is not None:
                return of_root
        return self.tables.row(cause, finding, self.known.active)

    def _mixed(self, cause: str, finding: str) -> Row | None:
        """Return the row of a cause averaged over its roots, for its part in a pair; kept, since many pairs want it."""
        key = cause, finding
        if key not in self._mixtures:
            self._mixtures[key] = self._mixture(cause, finding)
        return self._mixtures[key]

    def _mixture(self, cause: str, finding: str) -> Row | None:
        own = self.tables.row(cause, finding, self.known.active)
        roots = [(root.share, self.tables.shown(root.cause, finding, self.known.active)) for root in self._roots(cause)]
        spoken = [(weight, row) for weight, row in roots if row is not None]
        if not spoken:
            return own
        rest = 1.0 - sum(weight for weight, _ in spoken)
        base_row = own or self.tables.bases[finding]
        return {level: rest * p + sum(w * row[level] for w, row in spoken) for level, p in base_row.items()}

    def _roots(self, cause: str) -> tuple[Root, ...]:
        """Return the roots of a cause that what is known does not rule out."""
        if cause not in self._possible_roots:
            causes, findings = self.base.causes, self.known.findings
            possible = (root for root in causes[cause].roots if not contradicted(causes[root.cause].needs, findings))
            self._possible_roots[cause] = tuple(possible)
        return self._possible_roots[cause]

    def log_likelihood(self, hypothesis: Hypothesis) -> float:
        """Return the natural log of P(findings | hypothesis) / P(findings | nothing wrong), clusters discounted."""
        total = 0.0
        for finding, levels in self.findings.items():
            base_row = self.tables.bases[finding]
            ratio = share(self.row(hypothesis, finding), levels) / share(base_row, levels)
            total += self.factor[finding] * log(ratio)
        return total + log(self.not_cured(hypothesis))

    def cure_chance(self, step: str, hypothesis: Hypothesis, *, today: bool = True) -> float:
        """Return the chance that `step` ends the trouble; two causes need it to cure both."""
        if hypothesis.causes and hypothesis.causes[0] in {NOTHING_WRONG, UNKNOWN}:
            return 0.0
        cures, chance = self.tables.cures[today].get(step, {}), 1.0
        for cause in hypothesis.causes:
            chance *= cures.get(cause, 0.0)
        return chance

    def not_cured(self, hypothesis: Hypothesis) -> float:
        """Return the chance that all that was done or reported so far would have failed under this hypothesis."""
        left = 1.0
        for step in self.case.failed:
            left *= 1.0 - self.cure_chance(step, hypothesis)
        for step, outcome in self.case.tried:
            if outcome in {"no_change", "worse"} and step not in self.case.failed:
                left *= 1.0 - REPORTED_WEIGHT * self.cure_chance(step, hypothesis)
        return max(left, 1e-6)

    def beliefs(self) -> list[Belief]:
        """Return every hypothesis with its posterior, likeliest first; they sum to 1."""
        singles = self._single_hypotheses()
        scored = [(hypothesis, log(hypothesis.prior) + self.log_likelihood(hypothesis)) for hypothesis in singles]
        scored += [(pair, log(pair.prior) + self.log_likelihood(pair)) for pair in self._pairs(scored)]
        top = max(score for _, score in scored)
        weights = [(hypothesis, exp(score - top)) for hypothesis, score in scored]
        total = sum(weight for _, weight in weights)
        beliefs = [Belief(hypothesis, weight / total) for hypothesis, weight in weights]
        return sorted(beliefs, key=lambda b: (-b.probability, b.hypothesis.causes, b.hypothesis.root or ""))

    def _single_hypotheses(self) -> list[Hypothesis]:
        nothing = NOTHING_SHARE[self.tables.setting]
        left = 1.0 - nothing - UNKNOWN_SHARE - PAIRS_SHARE
        total = sum(self._weight(cause) for cause in self.causes)
        found = [Hypothesis((NOTHING_WRONG,), None, nothing), Hypothesis((UNKNOWN,), None, UNKNOWN_SHARE)]
        for cause in self.causes:
            prior = left * self._weight(cause) / total
            roots = self._roots(cause)
            found += [Hypothesis((cause,), root.cause, prior * root.share) for root in roots]
            found.append(Hypothesis((cause,), None, prior * (1.0 - sum(root.share for root in roots))))
        return found

    def _pairs(self, scored: Sequence[tuple[Hypothesis, float]]) -> list[Hypothesis]:
        """Return the pairs among the likeliest causes.

        Shares go by the product of the two priors over *all* pairs that can occur together; pairs of unlikely causes
        are left out because they could not matter, and their share is not given to the others.
        """
        best: dict[str, float] = {}
        for hypothesis, score in scored:
            cause = hypothesis.causes[0]
            if cause not in {NOTHING_WRONG, UNKNOWN}:
                best[cause] = best.get(cause, 0.0) + exp(score)
        likely = sorted(best, key=lambda cause: (-best[cause], cause))[:PAIRED]
        total = self._pair_total()
        return [
            Hypothesis(tuple(sorted((i, j))), None, PAIRS_SHARE * self._weight(i) * self._weight(j) / total)
            for i, j in combinations(sorted(likely), 2)
            if not self._exclude(i, j)
        ]

    def _pair_total(self) -> float:
        """Return the sum of the products of priors over all pairs that can occur together.

        It depends on which causes are possible and on nothing seen, so the tables keep it from weighing to weighing.
        """
        totals, possible = self.tables.pair_totals, tuple(self.causes)
        if possible not in totals:
            pairs = combinations(possible, 2)
            totals[possible] = sum(self._weight(i) * self._weight(j) for i, j in pairs if not self._exclude(i, j))
        return totals[possible]

    def _exclude(self, first: str, second: str) -> bool:
        a, b = self.base.causes[first], self.base.causes[second]
        if first in b.excludes or second in a.excludes:
            return True
        return a.variable is not None and a.variable == b.variable and a.direction != b.direction


def marginals(beliefs: Iterable[Belief]) -> dict[str, float]:
    """Return each cause's probability, alone or in a pair, likeliest first; with pairs they may sum above 1."""
    found: dict[str, float] = {}
    for belief in beliefs:
        for cause in belief.hypothesis.causes:
            found[cause] = found.get(cause, 0.0) + belief.probability
    return dict(sorted(found.items(), key=lambda item: (-item[1], item[0])))


def root_shares(beliefs: Iterable[Belief], cause: str) -> dict[str, float]:
    """Return the probability of `cause` together with each of its roots, likeliest first."""
    found: dict[str, float] = {}
    for belief in beliefs:
        if belief.hypothesis.causes == (cause,) and belief.hypothesis.root is not None:
            found[belief.hypothesis.root] = found.get(belief.hypothesis.root, 0.0) + belief.probability
    return dict(sorted(found.items(), key=lambda item: (-item[1], item[0])))
