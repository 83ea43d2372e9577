"""Posteriors on the shipped rules, against brute force, and the promises the model makes."""

import random
from collections.abc import Iterator
from itertools import combinations

import pytest

from diagnose.case.fold import Case, Observation
from diagnose.inference.forward import ForwardChainer, Known
from diagnose.inference.hypotheses import (
    NOTHING_SHARE,
    PAIRS_SHARE,
    UNKNOWN_SHARE,
    Belief,
    Weigher,
    marginals,
    root_shares,
)
from diagnose.inference.likelihood import Tables, decibans, row_from_grades, share
from diagnose.inference.weights import explain
from diagnose.model import NOTHING_WRONG, SETTINGS, UNKNOWN, Setting
from diagnose.rulebase.base import RuleBase
from diagnose.rulebase.vocabulary import GRADES

CASES = 300


@pytest.fixture(scope="module")
def chainer(rules: RuleBase) -> ForwardChainer:
    """Return the compiled rules."""
    return ForwardChainer(rules)


def random_observations(rules: RuleBase, rng: random.Random) -> dict[str, Observation]:
    """Return a few findings with one or more levels left open."""
    usable = [name for name, spec in rules.findings.items() if "shot" in spec.complaints or spec.context]
    found = {}
    for name in rng.sample(usable, rng.randint(1, 6)):
        levels = list(rules.findings[name].levels)
        count = rng.choice((1, 1, 1, rng.randint(1, len(levels) - 1)))
        found[name] = Observation(tuple(rng.sample(levels, count)), "said", "")
    return found


def cases(rules: RuleBase, chainer: ForwardChainer, count: int) -> Iterator[tuple[Weigher, Known]]:
    """Yield weighers for random observations in every setting."""
    rng = random.Random(11)
    tables: dict[Setting, Tables] = {name: Tables(rules, name) for name in ("home", "service", "training")}
    for _ in range(count):
        setting = rng.choice(SETTINGS)
        observations = random_observations(rules, rng)
        known = chainer.run([{}], observations)
        case = Case(setting, observations=observations)
        yield Weigher(rules, tables[setting], case, known, "shot"), known


def brute_force(weigher: Weigher) -> list[tuple[object, float]]:
    """Return the posterior by multiplying out prior and likelihood of every hypothesis the weigher lists."""
    weights = []
    for belief in weigher.beliefs():
        weight = belief.hypothesis.prior
        for finding, levels in weigher.findings.items():
            row = weigher.row(belief.hypothesis, finding)
            weight *= sum(row[level] for level in levels) ** weigher.factor[finding]
        weights.append((belief.hypothesis, weight))
    total = sum(weight for _, weight in weights)
    return [(hypothesis, weight / total) for hypothesis, weight in weights]


def test_posterior_equals_brute_force(rules: RuleBase, chainer: ForwardChainer) -> None:
    """Multiplying raw likelihoods gives the same posterior, with clusters and without."""
    for number, (weigher, _) in enumerate(cases(rules, chainer, CASES)):
        if number % 2:
            weigher.factor = dict.fromkeys(weigher.factor, 1.0)
        found = {belief.hypothesis: belief.probability for belief in weigher.beliefs()}
        for hypothesis, probability in brute_force(weigher):
            assert found[hypothesis] == pytest.approx(probability, abs=1e-9)  # type: ignore[index]


def test_the_engine_hands_on_exactly_the_evidence_of_the_tables(rules: RuleBase, chainer: ForwardChainer) -> None:
    """Every `shows` entry whose finding is known and whose condition holds speaks, and no other."""
    for weigher, known in cases(rules, chainer, 60):
        expected = set()
        for cause, spec in rules.causes.items():
            for index, show in enumerate(spec.shows):
                holds = all(
                    c.finding is not None
                    and c.finding in known.findings
                    and set(known.findings[c.finding].levels) <= set(c.levels)
                    for c in show.applies_when
                )
                if show.finding in known.findings and holds:
                    expected.add((cause, index))
        assert known.active == expected
        for cause, index in known.active:
            show = rules.causes[cause].shows[index]
            base = weigher.tables.bases[show.finding]
            if weigher.tables.trust(rules.findings[show.finding]) < 1:
                continue
            row = row_from_grades(base, {level: GRADES[grade] for level, grade in show.levels.items()})
            levels = known.findings[show.finding].levels
            got = weigher.tables.shown(cause, show.finding, known.active)
            assert got is not None
            assert decibans(got, base, levels) == pytest.approx(decibans(row, base, levels), abs=1e-9)


def test_prior_shares_are_fixed_whatever_is_in_the_rule_base(rules: RuleBase, chainer: ForwardChainer) -> None:
    """Nothing wrong, unknown and single causes get their shares; pairs share at most theirs."""
    for setting in ("home", "service", "training"):
        known = chainer.run([{}], {})
        weigher = Weigher(rules, Tables(rules, setting), Case(setting), known, "shot")
        priors: dict[str, float] = {}
        for belief in weigher.beliefs():
            kind = "pair" if len(belief.hypothesis.causes) == 2 else belief.hypothesis.causes[0]
            kind = kind if kind in {"pair", NOTHING_WRONG, UNKNOWN} else "single"
            priors[kind] = priors.get(kind, 0.0) + belief.hypothesis.prior
        assert priors[NOTHING_WRONG] == pytest.approx(NOTHING_SHARE[setting])
        assert priors[UNKNOWN] == pytest.approx(UNKNOWN_SHARE)
        assert priors["single"] == pytest.approx(1 - NOTHING_SHARE[setting] - UNKNOWN_SHARE - PAIRS_SHARE)
        assert 0 < priors["pair"] <= PAIRS_SHARE


def test_beliefs_sum_to_one_and_pairs_never_oppose_each_other(rules: RuleBase, chainer: ForwardChainer) -> None:
    """Too coarse and too fine at once is no hypothesis."""
    for weigher, _ in cases(rules, chainer, 40):
        beliefs = weigher.beliefs()
        assert sum(belief.probability for belief in beliefs) == pytest.approx(1.0)
        pairs = {belief.hypothesis.causes for belief in beliefs if len(belief.hypothesis.causes) == 2}
        assert ("grind_too_coarse", "grind_too_fine") not in pairs
        assert ("dose_high", "dose_low") not in pairs


def test_shown_weights_add_up_exactly(rules: RuleBase, chainer: ForwardChainer) -> None:
    """Prior dB plus the evidence shown plus what was tried is the posterior dB of every single hypothesis."""
    for weigher, _ in cases(rules, chainer, 60):
        beliefs = weigher.beliefs()
        nothing = next(b for b in beliefs if b.hypothesis.causes == (NOTHING_WRONG,))
        singles = [b for b in beliefs if len(b.hypothesis.causes) == 1 and b.hypothesis.causes[0] in rules.causes]
        for belief in singles[:8]:
            found = explain(weigher, belief, nothing)
            total = found.prior_db + sum(entry.decibans for entry in found.evidence) + found.tried_db
            assert total == pytest.approx(found.posterior_db, abs=1e-9)


def test_what_failed_lowers_its_cause_and_raises_the_unknown(rules: RuleBase, chainer: ForwardChainer) -> None:
    """A finer grind that did not help speaks against a coarse grind and for something unlisted."""
    seen = {"flow": Observation(("gushing",), "said", ""), "taste_lean": Observation(("sour",), "said", "")}
    known, tables = chainer.run([{}], seen), Tables(rules, "service")

    def chances(case: Case) -> dict[str, float]:
        return marginals(Weigher(rules, tables, case, known, "shot").beliefs())

    before = chances(Case("service", observations=seen))
    reported = chances(Case("service", observations=seen, tried=(("grind_finer", "no_change"),)))
    failed = chances(Case("service", observations=seen, failed=("grind_finer",)))
    assert before["grind_too_coarse"] > reported["grind_too_coarse"] > failed["grind_too_coarse"]
    assert before[UNKNOWN] < reported[UNKNOWN] < failed[UNKNOWN]
    better = chances(Case("service", observations=seen, tried=(("grind_finer", "better"),)))
    assert better == before


def test_a_root_explains_its_cause_and_does_not_compete_with_it(rules: RuleBase, chainer: ForwardChainer) -> None:
    """A new bag raises the coarse grind it stands behind; it never appears as a cause of its own."""
    seen = {"flow": Observation(("gushing",), "said", "")}
    with_bag = seen | {"onset": Observation(("new_bag",), "said", "")}
    tables = Tables(rules, "service")
    plain = Weigher(rules, tables, Case("service"), chainer.run([{}], seen), "shot").beliefs()
    bag = Weigher(rules, tables, Case("service"), chainer.run([{}], with_bag), "shot").beliefs()
    assert "new_bag" not in marginals(bag)
    assert marginals(bag)["grind_too_coarse"] > 0.9 * marginals(plain)["grind_too_coarse"]
    assert next(iter(root_shares(bag, "grind_too_coarse"))) == "new_bag"
    whole = marginals([b for b in bag if len(b.hypothesis.causes) == 1])["grind_too_coarse"]
    assert sum(root_shares(bag, "grind_too_coarse").values()) <= whole + 1e-9


def test_unknown_context_rules_nothing_out(rules: RuleBase, chainer: ForwardChainer) -> None:
    """A cause is struck only when what it needs is contradicted."""
    tables = Tables(rules, "home")
    open_case = Weigher(rules, tables, Case("home"), chainer.run([{}], {}), "shot")
    assert "grind_too_coarse" in open_case.causes
    bought = {"ground_by": Observation(("shop_filter",), "said", "")}
    if "shop_filter" not in rules.findings["ground_by"].levels:
        level = next(name for name in rules.findings["ground_by"].levels if name != "own_grinder")
        bought = {"ground_by": Observation((level,), "said", "")}
    struck = Weigher(rules, tables, Case("home", observations=bought), chainer.run([{}], bought), "shot")
    assert "grind_too_coarse" not in struck.causes


def test_pairs_share_by_the_product_of_their_priors(rules: RuleBase, chainer: ForwardChainer) -> None:
    """Two pairs' priors stand in the ratio of the products of their causes' priors."""
    weigher = Weigher(rules, Tables(rules, "service"), Case("service"), chainer.run([{}], {}), "shot")
    pairs = [b.hypothesis for b in weigher.beliefs() if len(b.hypothesis.causes) == 2]
    singles: dict[str, float] = {}
    for belief in weigher.beliefs():
        if len(belief.hypothesis.causes) == 1:
            cause = belief.hypothesis.causes[0]
            singles[cause] = singles.get(cause, 0.0) + belief.hypothesis.prior
    for one, other in combinations(pairs[:6], 2):
        products = [singles[p.causes[0]] * singles[p.causes[1]] for p in (one, other)]
        assert one.prior / other.prior == pytest.approx(products[0] / products[1])


def test_likelihood_ratio_of_a_set_is_of_the_sum(rules: RuleBase) -> None:
    """The weight of "fast or gushing" is that of the summed probabilities, not the sum of weights."""
    tables = Tables(rules, "service")
    row, base = tables.row("not_tamped", "flow"), tables.bases["flow"]
    assert row is not None
    both = ("fast", "gushing")
    assert share(row, both) == pytest.approx(row["fast"] + row["gushing"])
    assert decibans(row, base, both) < decibans(row, base, ["gushing"])


def test_order_of_observations_changes_nothing(rules: RuleBase, chainer: ForwardChainer) -> None:
    """The same facts in another order give the same beliefs, to the last bit."""
    rng = random.Random(5)
    for _ in range(20):
        seen = random_observations(rules, rng)
        turned = dict(reversed(list(seen.items())))
        results: list[list[Belief]] = []
        for observations in (seen, turned):
            known = chainer.run([{}], observations)
            tables = Tables(rules, "home")
            results.append(Weigher(rules, tables, Case("home", observations=observations), known, "shot").beliefs())
        assert [b.hypothesis for b in results[0]] == [b.hypothesis for b in results[1]]
        assert [b.probability for b in results[0]] == pytest.approx([b.probability for b in results[1]], abs=1e-12)
