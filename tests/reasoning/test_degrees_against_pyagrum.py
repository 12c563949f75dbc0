"""Causes with a degree node and a way node against pyAgrum, an independent exact inference library.

Every cause has a node for whether it is there, one for its degree and one for its way; checks and concerns are tables
over all of them. Sets of more than two causes are taken out of the joint posterior, and the rest is scaled to 1.
"""

from __future__ import annotations

from itertools import combinations, product

import numpy as np
import pytest

from troubleshoot.reasoning.belief import Evidence, believe
from troubleshoot.reasoning.problem import Cause, Check, Problem, Variant

gum = pytest.importorskip("pyagrum", reason="pyAgrum is not installed")

DEGREES, WAYS = ("mild", "gross"), ("rich", "lean")
INSTANCES = 60


def instance(seed):
    """Three causes of two degrees and two ways, two checks of three outcomes, one concern, soft readings."""
    rng = np.random.default_rng(seed)
    degree, way = rng.dirichlet((1, 1), 3), rng.dirichlet((1, 1), 3)
    causes = []
    for i in range(3):
        variants = tuple(
            Variant(d, w, float(degree[i][a] * way[i][b]), (float(rng.uniform(0.05, 0.95)),))
            for a, d in enumerate(DEGREES)
            for b, w in enumerate(WAYS)
        )
        causes.append(Cause(f"c{i}", float(rng.uniform(0.02, 0.4)), (0.5,), None, variants))
    checks = []
    for k in range(2):
        movers = sorted(rng.choice(3, 2, replace=False).tolist())
        moved = {f"c{i}": tuple(tuple(rng.dirichlet((1, 1, 1)).tolist()) for _ in range(4)) for i in movers}
        checks.append(Check(f"k{k}", ("low", "good", "high"), "good", tuple(rng.dirichlet((1, 1, 1)).tolist()), moved))
    problem = Problem(tuple(causes), tuple(checks), (), ("concern",), (float(rng.uniform(0.01, 0.2)),), mistakes=0.05)
    readings = [Evidence(check.id, tuple(rng.dirichlet((1, 1, 1)).tolist())) for check in checks]
    return problem, readings, degree, way


def chance(problem, check, present):
    """The distribution of a check for the variants present, by cause (None: absent): draws, one winner, mistakes."""
    said = [check.moved_by[c][v] for c, v in present.items() if v is not None and c in check.moved_by]
    if not said:
        right = np.array(check.usual)
    else:
        right = np.zeros(3)
        for draws in product(range(3), repeat=len(said)):
            pushed = [one for one in draws if one != 1] or [1]
            weight = np.prod([one[d] for one, d in zip(said, draws, strict=True)])
            for one in pushed:
                right[one] += weight / len(pushed)
    return (1.0 - problem.mistakes) * right + problem.mistakes / 3


def posterior(problem, readings, degree, way):
    net = gum.BayesNet()
    parents = []
    for i, cause in enumerate(problem.causes):
        for name, share in (("there", [1 - cause.prior, cause.prior]), ("degree", degree[i]), ("way", way[i])):
            parents.append(f"{name}{i}")
            net.add(gum.LabelizedVariable(parents[-1], parents[-1], 2))
            net.cpt(parents[-1]).fillWith([float(one) for one in share])
    sizes = {"concern": 2, **dict.fromkeys((check.id for check in problem.checks), 3)}
    for name, size in sizes.items():
        net.add(gum.LabelizedVariable(name, name, size))
        for parent in parents:
            net.addArc(parent, name)
    for states in product((0, 1), repeat=9):
        there = dict(zip(parents, states, strict=True))
        present = {
            f"c{i}": 2 * there[f"degree{i}"] + there[f"way{i}"] if there[f"there{i}"] else None for i in range(3)
        }
        spared = 1.0 - problem.leak[0]
        for cause in problem.causes:
            if present[cause.id] is not None:
                spared *= 1.0 - cause.variants[present[cause.id]].shows[0]
        net.cpt("concern")[there] = [spared, 1.0 - spared]
        for check in problem.checks:
            net.cpt(check.id)[there] = chance(problem, check, present).tolist()
    inference = gum.LazyPropagation(net)
    inference.setEvidence({"concern": 1, **{one.check: list(one.shares) for one in readings}})
    wanted = {f"there{i}" for i in range(3)}
    inference.addJointTarget(wanted)
    inference.makeInference()
    joint = inference.jointPosterior(wanted)
    found = {
        frozenset(group): joint[{f"there{i}": int(f"c{i}" in group) for i in range(3)}]
        for size in range(3)
        for group in combinations(("c0", "c1", "c2"), size)
    }
    total = sum(found.values())
    return {group: weight / total for group, weight in found.items()}


@pytest.mark.parametrize("start", range(0, INSTANCES, 20))
def test_degree_and_way_nodes_agree(start):
    for seed in range(start, start + 20):
        problem, readings, degree, way = instance(seed)
        belief = believe(problem, readings)
        for group, weight in posterior(problem, readings, degree, way).items():
            assert belief.state(*group) == pytest.approx(weight, abs=1e-12), (seed, group)
