"""Two-level noisy-OR against published tables and the quickscore identity, each with its source."""

from __future__ import annotations

from fractions import Fraction
from itertools import combinations
from math import prod

import pytest
from enumerated_models import NO, binary, enumerated

from troubleshoot.reasoning.belief import Evidence, believe
from troubleshoot.reasoning.problem import Cause, Check, Problem
from troubleshoot.reasoning.tables import tables_of


def noisy_or(priors, links, leaks, most):
    """Two-level noisy-OR: the findings are concerns, so that a leak is exact for every set of causes."""
    return Problem(
        causes=tuple(Cause(f"d{i}", p, tuple(links[f][i] for f in range(len(leaks)))) for i, p in enumerate(priors)),
        concerns=tuple(f"f{f}" for f in range(len(leaks))),
        leak=tuple(leaks),
        most_at_once=most,
    )


def fever(present):
    problem = noisy_or((0.5, 0.5, 0.5), ((0.4, 0.8, 0.9),), (0.0,), 3)
    state = tuple(i for i in range(3) if present[i])
    where = next(
        s for s in range(tables_of(problem).whole.space.size) if tables_of(problem).whole.space.members(s) == state
    )
    return tables_of(problem).whole.shows[0][where]


@pytest.mark.parametrize(
    ("cold_flu_malaria", "chance"),
    [
        ((0, 0, 0), 0.0),
        ((0, 0, 1), 0.9),
        ((0, 1, 0), 0.8),
        ((0, 1, 1), 0.98),
        ((1, 0, 0), 0.4),
        ((1, 0, 1), 0.94),
        ((1, 1, 0), 0.88),
        ((1, 1, 1), 0.988),
    ],
)
def test_fever_noisy_or(cold_flu_malaria, chance):
    """S. Russell, P. Norvig, Artificial Intelligence: A Modern Approach, noisy-OR table; published."""
    assert fever(cold_flu_malaria) == pytest.approx(chance, abs=1e-12)


def test_three_parents_in_fractions():
    """Graduate course exercise with solution (cognitivescience.vercel.app); published.

    Given P(1|010) = 1/3, P(1|011) = 4/5, P(1|111) = 5/6 the inhibitions are 5/6, 2/3, 3/10.
    """
    q = (Fraction(5, 6), Fraction(2, 3), Fraction(3, 10))
    problem = noisy_or((0.5,) * 3, (tuple(float(1 - x) for x in q),), (0.0,), 3)
    expected = {
        (0,): Fraction(1, 6),
        (1,): Fraction(1, 3),
        (2,): Fraction(7, 10),
        (0, 1): Fraction(4, 9),
        (0, 2): Fraction(3, 4),
        (1, 2): Fraction(4, 5),
        (0, 1, 2): Fraction(5, 6),
    }
    for state in range(1, tables_of(problem).whole.space.size):
        assert tables_of(problem).whole.shows[0][state] == pytest.approx(
            float(expected[tables_of(problem).whole.space.members(state)])
        )


QUICKSCORE = {
    "priors": (Fraction(1, 10), Fraction(5, 100), Fraction(2, 100), Fraction(2, 10)),
    "leaks": (Fraction(1, 100), Fraction(2, 100), Fraction(5, 100)),
    "links": (
        (Fraction(8, 10), Fraction(3, 10), Fraction(0), Fraction(1, 10)),
        (Fraction(0), Fraction(6, 10), Fraction(9, 10), Fraction(2, 10)),
        (Fraction(4, 10), Fraction(0), Fraction(5, 10), Fraction(7, 10)),
    ),
}


def quickscore_joint(most=4):
    """Joint weight of every set of diseases with f0, f1 present and f2 absent, in fractions."""
    joint = {}
    for size in range(most + 1):
        for group in combinations(range(4), size):
            weight = prod(p if i in group else 1 - p for i, p in enumerate(QUICKSCORE["priors"]))
            for f, seen in enumerate((True, True, False)):
                absent = (1 - QUICKSCORE["leaks"][f]) * prod(1 - QUICKSCORE["links"][f][i] for i in group)
                weight *= 1 - absent if seen else absent
            joint[group] = weight
    return joint


def quickscore_problem(most):
    """Two findings as concerns; the absent one as a check without a leak, its leak multiplies every state."""
    links = [[float(x) for x in row] for row in QUICKSCORE["links"]]
    base = noisy_or([float(p) for p in QUICKSCORE["priors"]], links[:2], [0.01, 0.02], most)
    absent = Check(
        "f2", ("seen", "absent"), "absent", NO, {f"d{i}": binary(links[2][i]) for i in range(4) if links[2][i]}
    )
    return Problem(base.causes, (absent,), (), base.concerns, base.leak, (), most)


def test_two_level_noisy_or_kept_to_pairs():
    """D. Heckerman, A tractable inference algorithm for diagnosing multiple diseases, UAI 1989.

    The identity is his; the instance is our own, recomputed by enumeration, by his inclusion and
    exclusion, and by pyAgrum. The engine keeps sets of one and two causes (and none).
    """
    belief = believe(quickscore_problem(2), [Evidence("f2", NO)])
    joint = quickscore_joint(2)
    total = sum(joint.values())
    for i in range(4):
        exact = sum(w for group, w in joint.items() if i in group) / total
        assert belief.probability(f"d{i}") == pytest.approx(float(exact), abs=1e-12)
    given_something = [belief.probability(f"d{i}") / (1 - belief.none) for i in range(4)]
    nothing_left_out = [w for group, w in joint.items() if group]
    assert given_something == pytest.approx(
        [float(sum(w for g, w in joint.items() if i in g) / sum(nothing_left_out)) for i in range(4)]
    )


def test_two_level_noisy_or_published_figures():
    """The same instance: P(evidence), the full posteriors, and those of sets of one and two causes only."""
    joint = quickscore_joint()
    assert sum(joint.values()) == Fraction(43946146109619, 3906250000000000)
    states = {str(group): weight for group, weight in joint.items()}
    full = believe(enumerated(states, {}), [])
    expected = (0.255582365, 0.738357797, 0.051208045, 0.224348680)
    for i in range(4):
        held = sum(full.probability(str(group)) for group in joint if i in group)
        assert held == pytest.approx(expected[i], abs=5e-10)
    small = sum(w for group, w in joint.items() if len(group) <= 2) / sum(joint.values())
    assert float(small) == pytest.approx(0.986226516, abs=5e-10)
    cut = believe(quickscore_problem(2), [Evidence("f2", NO)])
    for i, value in enumerate((0.248885514, 0.745478774, 0.047577509, 0.217715914)):
        assert cut.probability(f"d{i}") / (1 - cut.none) == pytest.approx(value, abs=5e-10)


def test_triples_come_closer_than_pairs():
    """Sets of three leave out only the set of all four; posteriors are then those of 15 of 16 sets."""
    belief = believe(quickscore_problem(3), [Evidence("f2", NO)])
    joint = quickscore_joint(3)
    for i in range(4):
        exact = sum(w for group, w in joint.items() if i in group) / sum(joint.values())
        assert belief.probability(f"d{i}") == pytest.approx(float(exact), abs=1e-12)
