"""Minutes said to be saved against minutes saved in closed loop, on parts of real trees, by enumeration.

Every outcome of every check and repair is followed, each as often as it comes, so no chance is left in it. Said is the
worth of each check as it is made; saved is what repairs alone would cost at the start, less what the walk costs.
"""

from __future__ import annotations

from dataclasses import replace

import pytest

from troubleshoot.knowledge.catalogue import Catalogue, load_catalogue
from troubleshoot.knowledge.compiling import compile_problem
from troubleshoot.reasoning.belief import first_belief
from troubleshoot.reasoning.policies import one_step
from troubleshoot.reasoning.position import Position, branches, cost_now, start
from troubleshoot.reasoning.problem import Problem
from troubleshoot.reasoning.repair_cost import expected_repair_cost
from troubleshoot.reasoning.worth import worth_of_checks

CONCERNS = ("no-start", "lean-top", "idle-surge", "pump-noise")
CAUSES, CHECKS = 5, 4


@pytest.fixture(scope="module")
def shipped() -> Catalogue:
    return load_catalogue()


def part(catalogue: Catalogue, concern: str) -> Problem:
    """Return a problem of the likeliest causes of a tree, two at once too, and the checks that save most with them."""
    whole = compile_problem(catalogue, catalogue.cars["harrow-240"], [concern], listed_only=True)
    causes = sorted(whole.causes, key=lambda one: -one.prior * one.shows[0])[:CAUSES]
    known, works = {one.id for one in causes}, {one.repair for one in causes}
    checks = (
        replace(one, moved_by={cause: shares for cause, shares in one.moved_by.items() if cause in known})
        for one in whole.checks
    )
    made = replace(
        whole,
        causes=tuple(causes),
        checks=tuple(one for one in checks if one.moved_by),
        repairs=tuple(
            replace(one, cures={cause: takes for cause, takes in one.cures.items() if cause in known})
            for one in whole.repairs
            if one.id in works
        ),
        something_else=None,
        comparisons=(),
    )
    best = [one.check for one in worth_of_checks(made, first_belief(made), [one.id for one in made.checks])[:CHECKS]]
    return replace(made, checks=tuple(one for one in made.checks if one.id in best))


def walked(position: Position) -> tuple[float, float]:
    """Return the minutes expected to be said to be saved from here on, and the minutes it costs from here on."""
    action = one_step(position)
    said, cost = 0.0, cost_now(position, action)
    if action.kind == "check":
        at = (position.in_place, position.taken, position.repaired)
        [worth] = worth_of_checks(position.problem, position.belief(), [action.id], *at)
        said = worth.worth
    for way in branches(position, action):
        cost += way.probability * way.extra
        if way.position is not None:
            more, rest = walked(way.position)
            said, cost = said + way.probability * more, cost + way.probability * rest
    return said, cost


def test_minutes_said_to_be_saved_are_saved(shipped: Catalogue) -> None:
    """Each within 10 % in its tree, and worth saying: over ten minutes."""
    for concern in CONCERNS:
        problem = part(shipped, concern)
        begin = start(problem, None)
        assert begin is not None
        said, cost = walked(begin)
        gain = expected_repair_cost(problem, begin.belief(), begin.repaired) - cost
        assert gain > 10.0
        assert said == pytest.approx(gain, rel=0.10)
