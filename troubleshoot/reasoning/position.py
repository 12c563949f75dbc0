"""Where a plan stands: what is believed, what has been done, and where each action can lead.

A plan is made on the supposition that something listed is wrong: the state "none" has no weight at
the start, and a repair that leaves nothing wrong ends the plan (the retest is taken as certain
here). So does one that leaves only what shows nothing of what was complained of.
"""

from __future__ import annotations

from dataclasses import dataclass, field, replace
from typing import Literal

import numpy as np

from troubleshoot.reasoning.belief import Belief, first_belief
from troubleshoot.reasoning.problem import Problem, Repair
from troubleshoot.reasoning.repair_plan import added_by_state, ending_cost, found_cost, turn_cost
from troubleshoot.reasoning.tables import Floats, Scope, tables_of
from troubleshoot.reasoning.worth import check_cost, set_ups_after

IMPOSSIBLE = 1e-12
"""Branches less probable than this are left out."""

LEAST_CHANCE = 1e-9
"""A repair less likely than this to cure anything is not tried."""

REPAIRED = "repaired"
REFERRED = "referred"
STOPPED = "stopped"
STILL_THERE = "still there"
FOUND_GOOD = "found good"

ActionKind = Literal["check", "repair", "refer", "stop"]


@dataclass(frozen=True)
class Action:
    """Something to do: make a check, make a repair, refer the car (no `id`), or stop in one of the problem's ways."""

    kind: ActionKind
    id: str = ""


REFER = Action("refer")


@dataclass(frozen=True, eq=False)
class Position:
    """One place in a plan; `weights` are over the states of a scope and sum to 1, none excluded.

    `history` has the outcome of each check and the result of each repair, in order.
    """

    problem: Problem
    scope: Scope
    weights: Floats
    taken: frozenset[str] = frozenset()
    repaired: frozenset[str] = frozenset()
    in_place: frozenset[str] = frozenset()
    history: tuple[tuple[str, str], ...] = field(default=())

    def belief(self) -> Belief:
        """The same weights as a belief, for worth."""
        return Belief(self.problem, self.scope, self.weights, np.zeros_like(self.weights))


@dataclass(frozen=True, eq=False)
class Branch:
    """One way an action can turn out; `position` is None when the car is repaired, `extra` is paid only here."""

    label: str
    probability: float
    position: Position | None
    extra: float = 0.0


def start(problem: Problem, belief: Belief | None = None, in_place: frozenset[str] = frozenset()) -> Position | None:
    """Where a plan begins, or None when nothing listed can be wrong."""
    known = belief or first_belief(problem)
    weights = known.showing.copy()
    weights[0] = 0.0
    total = float(weights.sum())
    return Position(problem, known.scope, weights / total, in_place=in_place) if total > IMPOSSIBLE else None


def cost_now(position: Position, action: Action) -> float:
    """Minutes paid as soon as the action is begun."""
    problem = position.problem
    if action.kind == "check":
        return check_cost(problem, problem.check_named[action.id], position.in_place)
    if action.kind == "repair":
        repair = problem.repair_named[action.id]
        return turn_cost(problem, repair) + float(position.weights @ dearer(position, repair))
    ending = next((one for one in problem.endings if one.id == action.id), None)
    return 0.0 if ending is None else ending_cost(problem, position.scope, position.weights, ending)


def dearer(position: Position, repair: Repair) -> Floats:
    """By how much what is there makes a repair dearer in every state; one that looks first only where it finds it."""
    if not repair.adds:
        return np.zeros(position.scope.space.size)
    found = holds_any(position.problem, position.scope, repair) if repair.looks_first else 1.0
    return added_by_state(position.problem, position.scope, repair.adds) * found


def branches(position: Position, action: Action) -> tuple[Branch, ...]:
    """Every way the action can turn out, with probabilities that sum to 1."""
    if action.kind == "check":
        return _check_branches(position, action.id)
    if action.kind == "repair":
        return _repair_branches(position, position.problem.repair_named[action.id])
    return (Branch(REFERRED if action.kind == "refer" else STOPPED, 1.0, None),)


def endings(position: Position) -> tuple[Action, ...]:
    """The ways to end without a repair: those that have a price, or a referral where nothing else is left to do.

    A problem that gives no cost of referral does not mean that giving up is free.
    """
    if position.problem.endings:
        return tuple(Action("stop", one.id) if one.id else REFER for one in position.problem.endings)
    return () if helpful_repairs(position) else (REFER,)


def best_ending(position: Position) -> Action | None:
    """The way to end without a repair that costs least here, or None."""
    return min(endings(position), key=lambda action: cost_now(position, action), default=None)


def helpful_repairs(position: Position) -> tuple[Repair, ...]:
    """The repairs that have not been made and could cure something, in the problem's order."""
    marginals = position.scope.space.marginals(position.weights)
    return tuple(
        repair
        for repair in position.problem.repairs
        if repair.id not in position.repaired and expected_repaired(position.problem, repair, marginals) >= LEAST_CHANCE
    )


def expected_repaired(problem: Problem, repair: Repair, marginals: Floats) -> float:
    """The expected number of causes a repair would cure."""
    index = tables_of(problem).index
    return float(sum(takes * marginals[index[cause]] for cause, takes in repair.cures.items()))


def _check_branches(position: Position, name: str) -> tuple[Branch, ...]:
    problem = position.problem
    check, table, g = problem.check_named[name], tables_of(problem).checks[name], problem.mistakes
    in_place = set_ups_after(problem, check, position.in_place)
    found = []
    sure = (1.0 - g) * np.eye(len(check.outcomes)) + table.wrong[:, None]
    for outcome, shares in zip(check.outcomes, sure, strict=True):
        weights = position.weights * table.likelihood(position.scope.space, shares)
        chance = float(weights.sum())
        if chance > IMPOSSIBLE:
            after = replace(
                position,
                weights=weights / chance,
                taken=position.taken | {name},
                in_place=in_place,
                history=(*position.history, (name, outcome)),
            )
            found.append(Branch(outcome, chance, after))
    return tuple(found)


def _repair_branches(position: Position, repair: Repair) -> tuple[Branch, ...]:
    touched = holds_any(position.problem, position.scope, repair)
    good = position.weights * (1.0 - touched)
    bad = position.weights * touched if repair.looks_first else position.weights
    paid = found_cost(position.problem, repair)
    after = repaired_weights(position.problem, position.scope, bad, repair)
    found: list[tuple[str, float, Floats | None, float]] = [(REPAIRED, float(after[0]), None, paid)]
    after[0] = 0.0
    found.append((STILL_THERE, float(after.sum()), after, paid))
    if repair.looks_first:
        found.append((FOUND_GOOD, float(good.sum()), good, 0.0))
    return tuple(
        Branch(label, chance, _after_repair(position, repair, label, weights, chance), extra)
        for label, chance, weights, extra in found
        if chance > IMPOSSIBLE
    )


def _after_repair(
    position: Position, repair: Repair, label: str, weights: Floats | None, chance: float
) -> Position | None:
    if weights is None:
        return None
    # A part that was only looked at undoes nothing.
    undone = frozenset() if label == FOUND_GOOD else repair.undoes
    return replace(
        position,
        weights=weights / chance,
        repaired=position.repaired | {repair.id},
        in_place=position.in_place - undone,
        history=(*position.history, (repair.id, label)),
    )


def holds_any(problem: Problem, scope: Scope, repair: Repair) -> Floats:
    """1 for every state with a cause that the repair can cure, 0 for the others."""
    index = tables_of(problem).index
    return scope.space.holds([index[cause] for cause, takes in repair.cures.items() if takes > 0.0])


def repaired_weights(problem: Problem, scope: Scope, weights: Floats, repair: Repair) -> Floats:
    """Weights after a repair: each cause it cures goes with its probability.

    What is left of a pair keeps the concern up only as often as it shows any of it; else nothing is left to do.
    """
    after, index = weights.copy(), tables_of(problem).index
    for cause, takes in repair.cures.items():
        source, target = scope.space.without(index[cause])
        goes_on = scope.goes_on(index[cause])
        moved = takes * after[source]
        after[source] -= moved
        after += np.bincount(target, moved * goes_on, len(after))
        after[0] += float((moved * (1.0 - goes_on)).sum())
    return after
