"""Random two-level noisy-OR networks against pyAgrum, an independent exact inference library.

The engine keeps sets of at most two (or three) causes, so pyAgrum is asked for the joint posterior
of all causes, the larger sets are taken out of it, and the rest is scaled to 1. Findings are
concerns (with leaks) and checks (without: in a two-outcome check the usual distribution counts only
where no cause of the state moves it). Soft evidence is likelihood evidence in both.
"""

from __future__ import annotations

from itertools import combinations

import numpy as np
import pytest

from troubleshoot.reasoning.belief import Evidence, believe
from troubleshoot.reasoning.problem import Cause, Check, Problem

gum = pytest.importorskip("pyagrum", reason="pyAgrum is not installed")

INSTANCES = 120


def random_instance(seed):
    """A two-level problem and readings of its checks, some of them soft."""
    rng = np.random.default_rng(seed)
    n, concerns, checks = int(rng.integers(3, 8)), int(rng.integers(1, 3)), int(rng.integers(1, 5))
    causes = tuple(
        Cause(f"d{i}", float(rng.uniform(0.01, 0.4)), tuple(float(x) for x in rng.uniform(0.05, 0.95, concerns)))
        for i in range(n)
    )
    listed = []
    for k in range(checks):
        movers = rng.choice(n, int(rng.integers(1, n + 1)), replace=False)
        links = {f"d{i}": float(rng.uniform(0.05, 0.99)) for i in sorted(movers)}
        moved = {cause: (link, 1.0 - link) for cause, link in links.items()}
        listed.append(Check(f"k{k}", ("bad", "good"), "good", (0.0, 1.0), moved))
    problem = Problem(
        causes,
        tuple(listed),
        (),
        tuple(f"f{j}" for j in range(concerns)),
        tuple(float(x) for x in rng.uniform(0.005, 0.2, concerns)),
        most_at_once=int(rng.integers(2, 4)),
    )
    readings = []
    for check in listed:
        share = float(rng.choice([0.0, 1.0, rng.uniform(0.01, 0.99)]))
        readings.append(Evidence(check.id, (share, 1.0 - share)))
    return problem, readings


def network(problem):
    """The same problem as a network of pyAgrum."""
    net = gum.BayesNet()
    for cause in problem.causes:
        net.add(gum.LabelizedVariable(cause.id, cause.id, 2))
        net.cpt(cause.id).fillWith([1.0 - cause.prior, cause.prior])
    for j, concern in enumerate(problem.concerns):
        net.addNoisyORNet(gum.LabelizedVariable(concern, concern, 2), problem.leak[j])
        for cause in problem.causes:
            net.addWeightedArc(cause.id, concern, cause.shows[j])
    for check in problem.checks:
        net.addNoisyORNet(gum.LabelizedVariable(check.id, check.id, 2), 0.0)
        for cause, (link, _) in check.moved_by.items():
            net.addWeightedArc(cause, check.id, link)
    return net


def joint_posterior(problem, readings):
    """Set of causes -> posterior, by pyAgrum."""
    ids = [cause.id for cause in problem.causes]
    inference = gum.LazyPropagation(network(problem))
    inference.setEvidence(
        {**dict.fromkeys(problem.concerns, 1), **{r.check: [r.shares[1], r.shares[0]] for r in readings}}
    )
    inference.addJointTarget(set(ids))
    inference.makeInference()
    joint = inference.jointPosterior(set(ids))
    found = {}
    for size in range(problem.most_at_once + 1):
        for group in combinations(ids, size):
            found[frozenset(group)] = joint[{name: int(name in group) for name in ids}]
    total = sum(found.values())
    return {group: weight / total for group, weight in found.items()}


@pytest.mark.parametrize("start", range(0, INSTANCES, 20))
def test_every_set_of_causes_agrees_to_nine_digits(start):
    for seed in range(start, start + 20):
        problem, readings = random_instance(seed)
        belief = believe(problem, readings)
        assert not belief.nothing_fits
        for group, weight in joint_posterior(problem, readings).items():
            assert belief.state(*group) == pytest.approx(weight, abs=1e-9), (seed, group)


def test_asked_for_pairs_of_posteriors():
    """Pairs as the engine ranks them are the pairs pyAgrum puts highest."""
    problem, readings = random_instance(7)
    expected = {group: w for group, w in joint_posterior(problem, readings).items() if len(group) == 2}
    best = max(expected, key=expected.__getitem__)
    first, second, weight = believe(problem, readings).pairs(1)[0]
    assert {first, second} == best
    assert weight == pytest.approx(expected[best], abs=1e-9)
