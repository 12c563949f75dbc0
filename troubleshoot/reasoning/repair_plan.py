"""Which repairs are still to be had, which causes each is for, and what each costs."""

from __future__ import annotations

from collections.abc import Collection, Mapping
from dataclasses import dataclass, field
from functools import cached_property

import numpy as np

from troubleshoot.reasoning.problem import Cause, Ending, Problem, Repair
from troubleshoot.reasoning.states import Floats, Indices
from troubleshoot.reasoning.tables import Scope

LEAST_COST = 1e-9
"""Stands in for a cost of zero, so that a free repair comes first and nothing divides by zero."""


@dataclass(frozen=True)
class RepairPlan:
    """Which entry of the list of repairs cures each cause, and what each entry costs.

    The last entry is always the referral. `cost` is paid when an entry's turn comes; `found` is
    paid besides when it is looked at first and found bad. `takes[i]` is the probability that the
    entry of cause i cures it. Where costs depend on what is there (`by_state`), `endings` are the minutes of each way
    to end without a repair with what each cause adds, and `adds` says what each cause adds to an entry, by its number.
    """

    repairs: tuple[str | None, ...]
    cost: Floats
    found: Floats
    entry: Indices
    takes: Floats
    by_state: bool = False
    endings: tuple[tuple[float, Floats], ...] = ()
    adds: Mapping[int, Floats] = field(default_factory=dict)

    @property
    def referral(self) -> float:
        """The cost of the referral; 0 means that it has none and is no choice while a repair is left."""
        return float(self.cost[-1])

    @property
    def ends(self) -> bool:
        """Whether there is a way to end without a repair that has a price."""
        return bool(self.endings) or self.referral > 0.0

    def among(self, causes: Indices) -> RepairPlan:
        """Return the plan for some causes only, in their order; the entries of the others are left out."""
        used, entry = np.unique(np.append(self.entry[causes], len(self.cost) - 1), return_inverse=True)
        repairs = tuple(self.repairs[at] for at in used)
        return RepairPlan(repairs, self.cost[used], self.found[used], entry[:-1], self.takes[causes])

    @cached_property
    def only_cause(self) -> Indices | None:
        """The one cause of each entry before the referral; None when some entry cures several."""
        with_repair = np.flatnonzero(self.entry < len(self.cost) - 1)
        if len(with_repair) != len(self.cost) - 1:
            return None
        by_entry: Indices = with_repair[np.argsort(self.entry[with_repair])]
        return by_entry

    def by_entry(self, per_cause: Floats) -> Floats:
        """Sums of a number per cause over the causes of each entry before the referral; works on leading axes."""
        if self.only_cause is not None:
            return per_cause[..., self.only_cause]
        sums: Floats = per_cause @ self._cures
        return sums

    @cached_property
    def _cures(self) -> Floats:
        """1 where a cause (row) is cured by an entry before the referral (column)."""
        cures: Floats = (self.entry[:, None] == np.arange(len(self.cost) - 1)).astype(np.float64)
        return cures


def repair_plan(problem: Problem, repaired: Collection[str] = ()) -> RepairPlan:
    """The repairs still to be had, one for each cause; a cause that has none left is referred."""
    return _make_plan(problem, repaired) if repaired else problem.once(_first_plan)


def _first_plan(problem: Problem) -> RepairPlan:
    return _make_plan(problem, ())


def _make_plan(problem: Problem, repaired: Collection[str]) -> RepairPlan:
    left = [repair for repair in problem.repairs if repair.id not in repaired]
    by_id = {repair.id: repair for repair in left}
    chosen = [_repair_for(problem, cause, by_id) for cause in problem.causes]
    needed = {choice.id for choice in chosen if choice is not None}
    used = [repair for repair in left if repair.id in needed]
    number = {repair.id: at for at, repair in enumerate(used)}
    last = len(used)
    entry = [last if choice is None else number[choice.id] for choice in chosen]
    takes = [
        1.0 if choice is None else choice.cures[cause.id] for cause, choice in zip(problem.causes, chosen, strict=True)
    ]
    return RepairPlan(
        (*(repair.id for repair in used), None),
        np.array([*(turn_cost(problem, repair) for repair in used), problem.referral_cost]),
        np.array([*(found_cost(problem, repair) for repair in used), 0.0]),
        np.array(entry, dtype=np.intp),
        np.array(takes),
        problem.costs_by_state,
        tuple((one.minutes, added(problem, one.adds)) for one in problem.endings) if problem.costs_by_state else (),
        {number[repair.id]: added(problem, repair.adds) for repair in used if repair.adds},
    )


def added(problem: Problem, adds: Mapping[str, float]) -> Floats:
    """What each cause adds to a cost, in the order of the problem's causes."""
    return np.array([adds.get(cause.id, 0.0) for cause in problem.causes])


def ending_cost(problem: Problem, scope: Scope, weights: Floats, ending: Ending) -> float:
    """What it costs to end in this way, for weights over the states of a scope."""
    cost = ending.minutes * float(weights[1:].sum())
    return cost + float(weights @ added_by_state(problem, scope, ending.adds)) if ending.adds else cost


def added_by_state(problem: Problem, scope: Scope, adds: Mapping[str, float]) -> Floats:
    """What the causes that are there add to a cost, in every state."""
    return scope.space.fold_sum(added(problem, adds)[scope.space.cause_of])


def turn_cost(problem: Problem, repair: Repair) -> float:
    """What it costs when a repair's turn comes, whatever is found."""
    return repair.look_minutes if repair.looks_first else problem.cost(repair.minutes, repair.parts)


def found_cost(problem: Problem, repair: Repair) -> float:
    """What a repair that looks first costs besides when it finds one of its causes."""
    return problem.cost(repair.minutes, repair.parts) if repair.looks_first else 0.0


def _repair_for(problem: Problem, cause: Cause, left: Mapping[str, Repair]) -> Repair | None:
    """The cause's own repair, or the one that cures it for the least cost over probability, or none."""
    if cause.id == problem.something_else:
        return None
    if cause.repair is not None and cause.repair in left:
        return left[cause.repair]
    able = [repair for repair in left.values() if repair.cures.get(cause.id, 0.0) > 0.0]
    return min(
        able,
        key=lambda repair: problem.cost(repair.minutes, repair.parts) / repair.cures[cause.id],
        default=None,
    )
