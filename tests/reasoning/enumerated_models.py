"""Networks that are not two-level, written as enumerated models.

Every joint state of the hidden variables is one exclusive cause, with the state's own prior and its own outcome
distributions.
"""

from __future__ import annotations

from troubleshoot.reasoning.belief import Evidence
from troubleshoot.reasoning.problem import Cause, Check, Problem

YES, NO = (1.0, 0.0), (0.0, 1.0)


def enumerated(states, checks):
    """A problem of exclusive joint states: name -> prior, and check -> (outcomes, name -> distribution)."""
    total = sum(states.values())
    return Problem(
        causes=tuple(Cause(name, float(weight / total), ()) for name, weight in states.items()),
        checks=tuple(
            Check(name, outcomes, None, (1.0 / len(outcomes),) * len(outcomes), moved)
            for name, (outcomes, moved) in checks.items()
        ),
        exactly_one=True,
    )


def sure(check, outcome, problem):
    """A reading that lies wholly in one outcome."""
    outcomes = problem.check_named[check].outcomes
    return Evidence(check, tuple(float(o == outcome) for o in outcomes))


def binary(p):
    """Probability of yes and of no."""
    return (p, 1.0 - p)
