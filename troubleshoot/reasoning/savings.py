"""The heart of worth: what repairs cost less when it is known sooner which to make.

A check saves what repairs alone cost now (`repair_cost`) less what they cost after each of its outcomes, each in its
own order and with its own stop.

Repairs belong to causes and likelihoods to variants. So for each outcome the weights are first summed over the variants
of each cause: into `alone`, the weight that needs this cause only, and `both`, a matrix of what needs two. A variant
that the check does not move has the likelihood u_o beside another that it does not move, so only the rows of the moved
ones are worked out anew for each check; the rest is u_o times what holds before.
"""

from __future__ import annotations

from collections.abc import Sequence
from functools import cached_property

import numpy as np
import numpy.typing as npt

from troubleshoot.reasoning.belief import Belief
from troubleshoot.reasoning.repair_cost import best_order, costs_of_stops, planned_cost, stops
from troubleshoot.reasoning.repair_plan import RepairPlan
from troubleshoot.reasoning.states import Floats, Indices

NEGLIGIBLE = 1e-6
"""Variants that together weigh less than this are left out; the error is below this times the cost of everything."""

AT_A_TIME = 16
"""Checks worked out side by side, so that their matrices stay in the processor's cache."""


class Savings:
    """One belief, laid out for working out what many checks save."""

    def __init__(self, belief: Belief, plan: RepairPlan) -> None:
        self.belief, self.whole_plan = belief, plan
        self.tables, self.scope = belief.tables, belief.scope
        space, weights = belief.scope.space, belief.showing
        self.general = len(space.triple_first) > 0
        per_variant = space.per_variant(weights)
        if belief.tables.incidental.any():
            # What shows nothing and what no reading speaks for draws no checks.
            per_variant *= np.isin(np.arange(space.n), space.paired)
        self.live = _live(per_variant)
        cause = space.cause_of[self.live]
        self.causes, self.begins, self.cause_at = np.unique(cause, return_index=True, return_inverse=True)
        self.member = np.zeros((len(self.live), len(self.causes)))
        self.member[np.arange(len(self.live)), self.cause_at] = 1.0
        self.plan = plan.among(self.causes)
        self.takes = self.plan.takes
        self.single = weights[space.singles][self.live]
        side = len(self.live)
        self.both, self.only = np.zeros((side, side)), np.zeros((side, side))
        if len(space.pair_first) and not self.general:
            at = np.searchsorted(space.paired, self.live)
            at = at[np.flatnonzero(space.paired[at.clip(max=len(space.paired) - 1)] == self.live)]
            inside = np.searchsorted(self.live, space.paired[at])
            into, out_of = np.ix_(inside, inside), np.ix_(at, at)
            pair = space.square(weights)[out_of]
            only = self.scope.only[out_of]
            self.only[into] = pair * only
            self.both[into] = pair * (1.0 - only - only.T)

    @cached_property
    def single_only(self) -> Floats:
        """For every live variant the weight in which its repair alone is needed."""
        alone: Floats = self.single + self.only.sum(axis=1)
        return alone

    @cached_property
    def alone(self) -> Floats:
        """The same for every live cause, before any further check."""
        return self.by_cause(self.single_only)

    @cached_property
    def both_of(self) -> Floats:
        """For every live variant and cause the weight in which both are needed."""
        return self.by_cause(self.both)

    @cached_property
    def both_causes(self) -> Floats:
        """For every two live causes the weight in which both are needed, before any further check."""
        both: Floats = self.member.T @ self.both_of
        return both

    @cached_property
    def only_of(self) -> Floats:
        """For every live variant and cause the weight in which that cause alone is needed beside that variant."""
        only: Floats = self.only.T @ self.member
        return only

    @cached_property
    def both_take(self) -> Floats:
        """The probability that the repairs of two live causes both take."""
        return np.outer(self.takes, self.takes)

    @cached_property
    def moved(self) -> npt.NDArray[np.bool_]:
        """For every check the live causes that it tells of."""
        hit: npt.NDArray[np.bool_] = self.by_cause(1.0 - self.tables.z[:, self.live]) > 0.0
        return hit

    def by_cause(self, per_variant: Floats) -> Floats:
        """Return sums over the live variants of each live cause; works on leading axes."""
        member: Floats = self.member.astype(per_variant.dtype, copy=False)
        total: Floats = per_variant @ member
        return total

    @cached_property
    def place_now(self) -> Indices:
        """The place of the repair of each live cause in the order, as things stand."""
        chances = self.alone * self.takes + (self.both_causes * self.both_take).sum(axis=1)
        place: Indices = best_order(self.plan, chances[None, :]).place[0]
        return place

    @cached_property
    def now(self) -> float:
        """The expected cost with no further check."""
        if self.general:
            return planned_cost(self.whole_plan, self.scope, self.belief.showing)
        return float(self._cost(self.alone[None, :], self.both_causes[None, :, :])[0])

    def saved(self, checks: Sequence[int]) -> list[float]:
        """Return the minutes that each check, by its number, is expected to save."""
        found: list[float] = []
        for begin in range(0, len(checks), AT_A_TIME):
            some = checks[begin : begin + AT_A_TIME]
            if self.general:
                found += [max(0.0, self.now - self._general(check)) for check in some]
                continue
            after = [self._after(check) for check in some]
            costs = self._cost(np.concatenate([one[0] for one in after]), np.concatenate([one[1] for one in after]))
            begins = np.cumsum([0, *(len(one[0]) for one in after[:-1])])
            found += np.maximum(self.now - np.add.reduceat(costs, begins), 0.0).tolist()
        return found

    def _after(self, check: int) -> tuple[Floats, Floats]:
        """Return `alone` and `both_causes` for each outcome of a check, mistakes counted."""
        tables = self.tables
        rows = slice(int(tables.first[check]), int(tables.first[check + 1]))
        u, g = tables.u[rows], tables.problem.mistakes
        moved = np.flatnonzero(self.moved[check])
        alone, both = u[:, None] * self.alone, u[:, None, None] * self.both_causes
        if len(moved):
            at = np.flatnonzero(self.moved[check][self.cause_at])
            by_itself, beside = self._likelihoods(check, self.live[at])
            member = self.member[at[:, None], moved]
            only_here = self.only[at[:, None], at]
            alone += (by_itself - u[:, None]) @ self.only_of[at]
            lone = by_itself * (self.single_only[at] - only_here.sum(axis=1)) + (beside * only_here).sum(axis=2)
            alone[:, moved] = lone @ member
            anew = (by_itself[:, None, :] * member.T) @ self.both_of[at]
            anew[:, :, moved] = member.T @ (beside * self.both[at[:, None], at]) @ member
            both[:, moved, :] = anew
            both[:, :, moved] = anew.transpose(0, 2, 1)
        if g > 0.0:
            alone *= 1.0 - g
            alone += g / len(u) * self.alone
            both *= 1.0 - g
            both += g / len(u) * self.both_causes
        return alone, both

    def _likelihoods(self, check: int, variants: Indices) -> tuple[Floats, Floats]:
        """Return P(outcome) with each of some variants alone, and with every two of them."""
        tables = self.tables
        rows = slice(int(tables.first[check]), int(tables.first[check + 1]))
        u, normal = tables.u[rows], int(tables.normal[check]) - rows.start
        x, y, z = tables.x[rows, variants], tables.y[check, variants], tables.z[check, variants]
        by_itself = x + u[:, None] * z
        half = x[:, :, None] * (0.5 * (1.0 + y))
        beside = half + half.transpose(0, 2, 1)
        rest = u
        if normal >= 0:
            by_itself[normal] = y - z * (1.0 - u[normal])
            beside[normal] = np.outer(y, y)
            rest = u - (np.arange(len(u)) == normal)
        if z.any():
            beside += rest[:, None, None] * np.outer(z, z)
        return by_itself, beside

    def _cost(self, alone: Floats, both: Floats) -> Floats:
        """Return what each row of weights costs, in the order and with the stop that it gives."""
        total = alone.sum(axis=1) + 0.5 * both.sum(axis=(1, 2))
        kept = both * self.both_take
        ends = alone * self.takes
        order = best_order(self.plan, ends + kept.sum(axis=2))
        place = order.place
        # What needs two ends with the later of them; where one repair cures both, half is counted with each.
        later = (place[:, :, None] > place[:, None, :]).astype(np.float64)
        if self.plan.only_cause is None:
            later += 0.5 * (place[:, :, None] == place[:, None, :])
        ends += (kept * later).sum(axis=2)
        costs = costs_of_stops(self.plan, order.entries, ends, total)
        found: Floats = costs[np.arange(len(costs)), stops(self.plan, costs)]
        return found

    def _general(self, check: int) -> float:
        """Return the cost after a check by going through every state; used when three causes may be present."""
        table, g = self.tables.checks[self.tables.problem.checks[check].id], self.tables.problem.mistakes
        shares = (1.0 - g) * np.eye(len(table.u)) + g / len(table.u)
        weights = [self.belief.showing * table.likelihood(self.scope.space, one) for one in shares]
        return sum(planned_cost(self.whole_plan, self.scope, one) for one in weights)


def _live(per_variant: Floats) -> Indices:
    """Return the variants that are left when those of negligible weight go, in their order; at least one."""
    order = np.argsort(per_variant, kind="stable")
    gone = int(np.searchsorted(np.cumsum(per_variant[order]), NEGLIGIBLE, side="right"))
    return np.sort(order[min(gone, len(order) - 1) :])
