"""Whether an imperfect test pays, and in which order tests are made, against published problems with their sources."""

from __future__ import annotations

from fractions import Fraction

import pytest
from enumerated_models import NO, YES, binary, enumerated

from troubleshoot.reasoning.belief import Evidence, believe
from troubleshoot.reasoning.position import Action, branches, start
from troubleshoot.reasoning.problem import Cause, Check, Problem


def value_with_and_without(problem, check, payoffs):
    """Expected payoff of the best decision without and with the check, and with perfect knowledge."""

    def best(belief):
        return max(sum(belief.probability(s) * v for s, v in row.items()) for row in payoffs.values())

    begin = start(problem)
    ways = branches(begin, Action("check", check))
    informed = sum(way.probability * best(way.position.belief()) for way in ways)
    belief = begin.belief()
    perfect = sum(belief.probability(s.id) * max(row[s.id] for row in payoffs.values()) for s in problem.causes)
    return best(belief), informed, perfect


def test_oil_wildcatter():
    """H. Raiffa, Decision Analysis (1968), as in P. P. Shenoy, Operations Research 40 (1992) 463-484.

    Published: test, drill on open or closed structure, value 22.5; priors and table from memory.
    """
    states = {"dry": Fraction(5, 10), "wet": Fraction(3, 10), "soaking": Fraction(2, 10)}
    seismic = {"dry": (0.6, 0.3, 0.1), "wet": (0.3, 0.4, 0.3), "soaking": (0.1, 0.4, 0.5)}
    problem = enumerated(states, {"seismic": (("none", "open", "closed"), seismic)})
    payoffs = {"drill": {"dry": -70, "wet": 50, "soaking": 200}, "leave": dict.fromkeys(states, 0)}
    without, informed, perfect = value_with_and_without(problem, "seismic", payoffs)
    assert without == pytest.approx(20.0)
    assert informed - 10 == pytest.approx(22.5)
    assert perfect - without == pytest.approx(35.0)
    ways = branches(start(problem), Action("check", "seismic"))
    assert [way.probability for way in ways] == pytest.approx([0.41, 0.35, 0.24])
    drilled = [sum(way.position.belief().probability(s) * v for s, v in payoffs["drill"].items()) for way in ways]
    assert drilled == pytest.approx([-30.488, 32.857, 87.5], abs=5e-4)


def test_umbrella():
    """R. Shachter's example in D. Poole, A. Mackworth, Artificial Intelligence: 70, 77, 91; published.

    The forecast's table is from memory; it gives the published 77 exactly.
    """
    states = {"dry": Fraction(7, 10), "rain": Fraction(3, 10)}
    forecast = {"dry": (0.7, 0.2, 0.1), "rain": (0.15, 0.25, 0.6)}
    problem = enumerated(states, {"forecast": (("sunny", "cloudy", "rainy"), forecast)})
    payoffs = {"take": {"dry": 20, "rain": 70}, "leave": {"dry": 100, "rain": 0}}
    assert value_with_and_without(problem, "forecast", payoffs) == pytest.approx((70.0, 77.0, 91.0))


def test_infected_milk():
    """F. V. Jensen's example (2009 seminar): a test that only just pays, by 0.0065328; recomputed."""
    states = {"infected": Fraction(7, 10000), "clean": Fraction(9993, 10000)}
    problem = enumerated(
        states, {"test": (("positive", "negative"), {"infected": binary(0.999), "clean": binary(0.001)})}
    )
    payoffs = {"pour": {"infected": 0, "clean": 100}, "discard": {"infected": 98, "clean": 98}}
    without, informed, _ = value_with_and_without(problem, "test", payoffs)
    assert without == pytest.approx(99.93)
    assert informed == pytest.approx(99.9965328)
    assert informed - without - 0.06 == pytest.approx(0.0065328)
    assert believe(problem, [Evidence("test", YES)]).probability("infected") == pytest.approx(0.411692, abs=5e-7)


@pytest.mark.parametrize(
    ("order", "cost"),
    [((("R", 6.5, 0.15), ("Q", 8.0, 0.10)), 13.30), ((("Q", 8.0, 0.10), ("R", 6.5, 0.15)), 13.85)],
)
def test_pass_or_fail_order_of_two(order, cost):
    """Test until one fails, independent components; ratio rule of Mitten 1960; instance recomputed."""
    assert cost_until_one_fails(order) == pytest.approx(cost)


def test_pass_or_fail_order_of_three():
    """Three tests, ascending cost over P(fail): X, Z, Y at 5.355; recomputed, costs read from a poor scan."""
    tests = (("X", 1.75, 0.125), ("Z", 2.40, 0.14), ("Y", 2.00, 0.075))
    assert sorted(tests, key=lambda t: t[1] / t[2]) == list(tests)
    assert cost_until_one_fails(tests) == pytest.approx(5.355)


def cost_until_one_fails(order):
    """Each test is paid when every component before it is sound; the engine supplies those chances."""
    problem = Problem(
        tuple(Cause(name, p) for name, _, p in order),
        tuple(Check(name, ("fail", "pass"), "pass", NO, {name: YES}, cost) for name, cost, _ in order),
        most_at_once=min(3, len(order)),
    )
    total, reached, passed = 0.0, 1.0, []
    for name, cost, _ in order:
        total += reached * cost
        reached *= 1.0 - believe(problem, passed).probability(name)
        passed.append(Evidence(name, NO))
    return total
