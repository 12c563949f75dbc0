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
from dataclasses import dataclass
from functools import cached_property

import numpy as np

from troubleshoot.reasoning.belief import Belief
from troubleshoot.reasoning.repair_cost import Order, ordered_costs, planned_cost, stops
from troubleshoot.reasoning.repair_plan import RepairPlan
from troubleshoot.reasoning.states import Floats, Indices

NEGLIGIBLE = 1e-6
"""Variants that together weigh less than this are left out; the error is below this times the cost of everything."""

AT_A_TIME = 4
"""Checks worked out side by side, so that their matrices stay in the processor's cache."""


@dataclass(frozen=True)
class _Pushes:
    """P(outcome) of a check, a row an outcome, with some variants: `alone`, and in parts that multiply for two.

    With v and w both present it is left_v right_w + right_v left_w + rest z_v z_w + wrong.
    """

    alone: Floats
    left: Floats
    right: Floats
    rest: Floats
    z: Floats
    wrong: Floats

    def beside(self, weights: Floats) -> Floats:
        """Return for each outcome and variant the sum over a row of weights times P(outcome | both)."""
        found: Floats = self.left * (self.right @ weights.T) + self.right * (self.left @ weights.T)
        found += self.rest[:, None] * (self.z * (weights @ self.z)) + self.wrong[:, None] * weights.sum(axis=1)
        return found

    def together(self, weights: Floats, member: Floats) -> Floats:
        """Return for each outcome symmetric weights times P(outcome | both), summed over the variants of each cause."""
        half = (self.left[:, :, None] * member).transpose(0, 2, 1) @ (weights @ (self.right[:, :, None] * member))
        unmoved = self.z[:, None] * member
        found: Floats = half + half.transpose(0, 2, 1) + self.wrong[:, None, None] * (member.T @ weights @ member)
        found += self.rest[:, None, None] * (unmoved.T @ weights @ unmoved)
        return found


class Savings:
    """One belief, laid out for working out what many checks save."""

    def __init__(self, belief: Belief, plan: RepairPlan) -> None:
        self.belief, self.whole_plan = belief, plan
        self.tables, self.scope = belief.tables, belief.scope
        space = belief.scope.space
        self.general = len(space.triple_first) > 0 or plan.by_state
        # What shows nothing and what no reading speaks for is not among the paired. It draws no checks: it counts as
        # something that no repair ends, so that what is spent in vain on the others is not forgotten (`beyond`).
        single, square = belief.showing[space.singles][space.paired], belief.square
        self.among = _live(single + square.sum(axis=1))
        """The places of the live variants among the paired ones."""
        self.live = space.paired[self.among]
        only, needed, self.member, self.causes = (
            self.scope.only, self.scope.both_needed, space.paired_member, space.paired_causes
        )  # fmt: skip
        if len(self.live) < len(space.paired):
            at = self.among
            single = single[at]
            square, only, needed = (one.take(at, axis=0).take(at, axis=1) for one in (square, only, needed))
            kept = np.flatnonzero(self.member[self.among].any(axis=0))
            self.member, self.causes = self.member[self.among][:, kept], self.causes[kept]
        self.cause_at: Indices = self.member.argmax(axis=1)
        self.plan = plan.among(self.causes)
        self.takes = self.plan.takes
        self.single, self.only, self.both = single, square * only, square * needed

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
    def only_of(self) -> Floats:
        """For every live variant and cause the weight in which that cause alone is needed beside that variant."""
        only: Floats = self.only.T @ self.member
        return only

    @cached_property
    def kept(self) -> Floats:
        """For every two live variants the weight in which both are needed and both repairs take."""
        takes = self.takes[self.cause_at]
        kept: Floats = self.both * takes[:, None] * takes
        return kept

    @cached_property
    def kept_of(self) -> Floats:
        """The same for every live variant and cause."""
        return self.by_cause(self.kept)

    @cached_property
    def kept_causes(self) -> Floats:
        """The same for every two live causes, before any further check."""
        kept: Floats = self.member.T @ self.kept_of
        return kept

    @cached_property
    def held(self) -> Floats:
        """For every live variant the weight of all that it is part of and that is not over."""
        held: Floats = self.single + (self.only + self.only.T + self.both).sum(axis=1)
        return held

    @cached_property
    def whole(self) -> float:
        """The weight of everything among the live that is wrong and shows."""
        return float(self.single.sum() + self.only.sum() + 0.5 * self.both.sum())

    @cached_property
    def _beyond_now(self) -> Floats:
        """The weights of the variants that are not among the paired, 0 for the others."""
        space = self.scope.space
        single = self.belief.showing[space.singles].copy()
        single[space.paired] = 0.0
        return single

    @cached_property
    def beyond(self) -> Floats:
        """The weight of what is not among the paired with each outcome of every check, by the rows of `tables`."""
        tables, g, weights = self.tables, self.tables.problem.mistakes, self._beyond_now
        if not weights.any():
            return np.zeros(len(tables.u))
        unmoved = tables.z @ weights
        said = tables.x @ weights + tables.u * np.repeat(unmoved, np.diff(tables.first))
        has = np.flatnonzero(tables.normal >= 0)
        said[tables.normal[has]] += (tables.y @ weights - unmoved)[has]
        found: Floats = (1.0 - g) * said + tables.wrong * weights.sum()
        return found

    def by_cause(self, per_variant: Floats) -> Floats:
        """Return sums over the live variants of each live cause; works on leading axes."""
        total: Floats = per_variant @ self.member
        return total

    @cached_property
    def place_now(self) -> Indices:
        """The place of the repair of each live cause in the order, as things stand."""
        place: Indices = self._now[0].place[0]
        return place

    @cached_property
    def now(self) -> float:
        """The expected cost with no further check."""
        if self.general:
            return planned_cost(self.whole_plan, self.scope, self.belief.showing)
        costs = self._now[1]
        return float(costs[0, stops(self.plan, costs)[0]])

    @cached_property
    def _now(self) -> tuple[Order, Floats]:
        total = np.array([self.whole + self._beyond_now.sum()])
        return ordered_costs(self.plan, self.alone[None, :], self.kept_causes[None, :, :], total)

    def saved(self, checks: Sequence[int]) -> list[float]:
        """Return the minutes that each check, by its number, is expected to save."""
        found: list[float] = []
        for begin in range(0, len(checks), AT_A_TIME):
            some = checks[begin : begin + AT_A_TIME]
            if self.general:
                found += [max(0.0, self.now - self._general(check)) for check in some]
                continue
            begins = np.cumsum([0, *np.diff(self.tables.first)[some]])
            side = len(self.causes)
            total, alone, kept = (np.empty((begins[-1], *shape)) for shape in ((), (side,), (side, side)))
            for check, first, last in zip(some, begins[:-1], begins[1:], strict=True):
                self._after(check, total[first:last], alone[first:last], kept[first:last])
            stop_costs = ordered_costs(self.plan, alone, kept, total)[1]
            costs = stop_costs[np.arange(len(stop_costs)), stops(self.plan, stop_costs)]
            found += np.maximum(self.now - np.add.reduceat(costs, begins[:-1]), 0.0).tolist()
        return found

    def _after(self, check: int, total: Floats, alone: Floats, kept: Floats) -> None:
        """Fill in the weight of everything, `alone` and `kept_causes` for each outcome of a check, mistakes counted."""
        tables, g = self.tables, self.tables.problem.mistakes
        rows = slice(int(tables.first[check]), int(tables.first[check + 1]))
        u = (1.0 - g) * tables.u[rows] + tables.wrong[rows]
        np.add(u * self.whole, self.beyond[rows], out=total)
        np.multiply(u[:, None], self.alone, out=alone)
        np.multiply(u[:, None, None], self.kept_causes, out=kept)
        hit = np.zeros(len(self.causes), dtype=np.bool_)
        hit[self.cause_at[tables.z[check, self.live] == 0.0]] = True
        moved, at = np.flatnonzero(hit), np.flatnonzero(hit[self.cause_at])
        if not len(moved):
            return
        square = at[:, None], at
        pushes = self._pushes(check, self.live[at])
        member, only = self.member[at[:, None], moved], self.only[square]
        both = only + only.T + self.both[square]
        excess = pushes.alone - u[:, None]
        # Where both are moved, each of them has counted the other as not moved.
        total += excess @ (self.held[at] - both.sum(axis=1)) + 0.5 * (pushes.beside(both).sum(axis=1) - u * both.sum())
        alone += excess @ self.only_of[at]
        here = pushes.alone * (self.single_only[at] - only.sum(axis=1)) + pushes.beside(only)
        alone[:, moved] = here @ member
        anew = (pushes.alone[:, None, :] * member.T) @ self.kept_of[at]
        anew[:, :, moved] = pushes.together(self.kept[square], member)
        kept[:, moved, :] = anew
        kept[:, :, moved] = anew.transpose(0, 2, 1)

    def _pushes(self, check: int, variants: Indices) -> _Pushes:
        """Return what a check says of some variants, mistakes counted."""
        tables, g = self.tables, self.tables.problem.mistakes
        rows = slice(int(tables.first[check]), int(tables.first[check + 1]))
        u, normal, wrong = tables.u[rows], int(tables.normal[check]) - rows.start, tables.wrong[rows]
        x, y, z = tables.x[rows, variants], tables.y[check, variants], tables.z[check, variants]
        alone, rest = x + u[:, None] * z, u.copy()
        left, right = x.copy(), np.tile(0.5 * (1.0 + y), (len(u), 1))
        if normal >= 0:
            alone[normal] = y - z * (1.0 - u[normal])
            left[normal], right[normal] = y, 0.5 * y
            rest[normal] -= 1.0
        return _Pushes((1.0 - g) * alone + wrong[:, None], (1.0 - g) * left, right, (1.0 - g) * rest, z, wrong)

    def _general(self, check: int) -> float:
        """Return the cost after a check by going through every state; used when three causes may be present."""
        table, g = self.tables.checks[self.tables.problem.checks[check].id], self.tables.problem.mistakes
        shares = (1.0 - g) * np.eye(len(table.u)) + table.wrong[:, None]
        weights = [self.belief.showing * table.likelihood(self.scope.space, one) for one in shares]
        return sum(planned_cost(self.whole_plan, self.scope, one) for one in weights)


def _live(per_variant: Floats) -> Indices:
    """Return the variants that are left when those of negligible weight go, in their order; at least one."""
    order = np.argsort(per_variant, kind="stable")
    gone = int(np.searchsorted(np.cumsum(per_variant[order]), NEGLIGIBLE, side="right"))
    return np.sort(order[min(gone, len(order) - 1) :])
