"""Posteriors agree with an exact Bayesian-network library (pyAgrum) where clusters count in full."""

import random

import pyagrum
import pytest

from diagnose.case.fold import Case, Observation
from diagnose.inference.forward import ForwardChainer
from diagnose.inference.hypotheses import Weigher
from diagnose.inference.likelihood import Tables
from diagnose.rulebase.base import RuleBase

CASES = 1000


def exact(weigher: Weigher) -> list[float]:
    """Return the posterior of the weigher's hypotheses from a network: hypothesis → each known finding."""
    beliefs = weigher.beliefs()
    net = pyagrum.BayesNet()
    hypothesis = net.add(pyagrum.LabelizedVariable("hypothesis", "", len(beliefs)))
    priors = [belief.hypothesis.prior for belief in beliefs]
    net.cpt(hypothesis).fillWith([prior / sum(priors) for prior in priors])
    evidence = {}
    for finding, levels in weigher.findings.items():
        names = list(weigher.tables.bases[finding])
        node = net.add(pyagrum.LabelizedVariable(finding, "", names))
        net.addArc(hypothesis, node)
        rows = [weigher.row(belief.hypothesis, finding) for belief in beliefs]
        net.cpt(node).fillWith([row[name] for row in rows for name in names])
        evidence[finding] = [1.0 if name in levels else 0.0 for name in names]
    inference = pyagrum.LazyPropagation(net)
    inference.setEvidence(evidence)
    inference.makeInference()
    return [float(p) for p in inference.posterior(hypothesis).tolist()]


@pytest.mark.slow
def test_posteriors_agree_with_exact_inference(rules: RuleBase) -> None:
    """On 1,000 random cases the largest difference stays below 1e-9."""
    rng = random.Random(3)
    chainer, tables = ForwardChainer(rules), Tables(rules, "service")
    usable = [name for name, spec in rules.findings.items() if "shot" in spec.complaints or spec.context]
    worst = 0.0
    for _ in range(CASES):
        seen = {}
        for name in rng.sample(usable, rng.randint(1, 6)):
            levels = list(rules.findings[name].levels)
            seen[name] = Observation(tuple(rng.sample(levels, rng.randint(1, len(levels) - 1))), "said", "")
        weigher = Weigher(rules, tables, Case("service", observations=seen), chainer.run([{}], seen), "shot")
        weigher.factor = dict.fromkeys(weigher.factor, 1.0)
        found = [belief.probability for belief in weigher.beliefs()]
        worst = max(worst, *(abs(a - b) for a, b in zip(found, exact(weigher), strict=True)))
    assert worst < 1e-9
