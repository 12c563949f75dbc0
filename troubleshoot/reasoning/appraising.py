"""What each check is worth in minutes at one moment.

The worth of a check is the fall of the expected repair cost over its outcomes, less what the check
takes: its minutes and parts, and the minutes of its set-up unless that is in place.
"""

from __future__ import annotations

import math
from collections.abc import Collection, Sequence
from dataclasses import dataclass
from functools import cached_property

import numpy as np

from troubleshoot.reasoning.belief import Belief
from troubleshoot.reasoning.bounding import most_saved
from troubleshoot.reasoning.problem import Check, Problem
from troubleshoot.reasoning.repair_plan import RepairPlan, repair_plan
from troubleshoot.reasoning.savings import Savings
from troubleshoot.reasoning.states import Indices

FEW = 4
"""So many checks are worked out at first to find the best; twice as many each time that was not enough."""

ROUNDING = 1e-2
"""Minutes; how far rounding may take a check above the most it can save."""


@dataclass(frozen=True)
class CheckWorth:
    """A check: minutes it is expected to save, minutes it takes, and the difference."""

    check: str
    saves: float
    costs: float
    worth: float


def check_minutes(problem: Problem) -> tuple[tuple[float, float], ...]:
    """Return for each check what it takes with its set-up in place, and without; money as minutes; kept."""
    return problem.once(_check_minutes)


def _check_minutes(problem: Problem) -> tuple[tuple[float, float], ...]:
    return tuple(
        (check_cost(problem, check, (check.setup or "",)), check_cost(problem, check, ())) for check in problem.checks
    )


def check_cost(problem: Problem, check: Check, in_place: Collection[str]) -> float:
    """Minutes a check takes now: its own, its parts, and its set-up unless that is in place."""
    cost = problem.cost(check.minutes, check.parts)
    if check.setup is not None and check.setup not in in_place:
        cost += problem.setup_named[check.setup].minutes
    return cost


def set_ups_after(problem: Problem, check: Check, in_place: Collection[str]) -> frozenset[str]:
    """The set-ups in place once a check has been made: its own is there, those it undoes are gone."""
    new = check.setup
    if new is None or new in in_place:
        return frozenset(in_place)
    return frozenset(old for old in in_place if new not in problem.setup_named[old].undone_by) | {new}


class Appraisal:
    """The checks that can be made at one moment; what one is worth is worked out when it is first asked for.

    `available` less `taken` are the checks, `in_place` set-ups that need not be paid again, `repaired` repairs
    not to be made again. `asked` is a check whose worth will be asked for, worked out along with the first.
    """

    def __init__(
        self,
        problem: Problem,
        belief: Belief,
        available: Collection[str],
        in_place: Collection[str] = (),
        taken: Collection[str] = (),
        repaired: Collection[str] = (),
        asked: str | None = None,
    ) -> None:
        self.problem, self.belief = problem, belief
        self.in_place, self.taken, self.repaired = frozenset(in_place), frozenset(taken), frozenset(repaired)
        self.available = frozenset(available) - self.taken
        at = [number for number, check in enumerate(problem.checks) if check.id in self.available]
        self._at: Indices = np.array(at, dtype=np.intp)
        self._checks = [problem.checks[number] for number in at]
        self._costs = [
            check_minutes(problem)[number][problem.checks[number].setup not in self.in_place] for number in at
        ]
        self._known: dict[int, CheckWorth] = {}
        self._asked = self._place(asked)

    def all(self, least: float = 0.0) -> tuple[CheckWorth, ...]:
        """Every check with its worth, the best first; equal ones in the problem's order.

        Those that cannot save as many minutes as `least` are not worked out: they count as saving nothing.
        """
        if least <= 0.0:
            return self._ordered(range(len(self._checks)))
        limits = self._most if math.isfinite(least) else [-math.inf] * len(self._checks)
        for place, (limit, cost) in enumerate(zip(limits, self._costs, strict=True)):
            if limit + cost < least:
                self._known.setdefault(place, CheckWorth(self._checks[place].id, 0.0, cost, -cost))
        return self._ordered(range(len(self._checks)))

    def best(self, count: int = 1) -> tuple[CheckWorth, ...]:
        """The first `count` of `all`; the worth of those that cannot be among them is not worked out."""
        order = np.argsort(-np.array(self._most), kind="stable").tolist()
        tried = FEW
        self._work_out([*order[:tried], *self._asked])
        while tried < len(order):
            found = self._ordered(order[:tried])[:count]
            if len(found) == count and self._most[order[tried]] + ROUNDING < found[-1].worth:
                return found
            tried *= 2
        return self.all()[:count]

    def of(self, check: str) -> CheckWorth | None:
        """The worth of one check; None when it cannot be made now."""
        return next(iter(self._ordered(self._place(check))), None)

    def _place(self, check: str | None) -> list[int]:
        """The place of a check among those that can be made; empty when it is not one of them."""
        return [place for place, one in enumerate(self._checks) if one.id == check]

    @property
    def at_most(self) -> float:
        """Minutes that no check is worth more than; minus infinity when there is no check."""
        return max(self._most, default=-math.inf) + ROUNDING

    @cached_property
    def plan(self) -> RepairPlan:
        """The repairs still to be had."""
        return repair_plan(self.problem, self.repaired)

    @cached_property
    def savings(self) -> Savings:
        """The belief, laid out for working out what checks save."""
        return Savings(self.belief, self.plan)

    @cached_property
    def _most(self) -> list[float]:
        """The most that each check can be worth; with three causes at once, what it is worth."""
        if not self._checks:
            return []
        if self.savings.general:
            self._work_out(range(len(self._checks)))
            return [self._known[place].worth for place in range(len(self._checks))]
        together = self._together(self._at.tolist())
        made = np.array([number for _, number in together], dtype=np.intp)
        saved = most_saved(self.savings, np.concatenate([self._at, made]))
        for (place, _), more in zip(together, saved[len(self._at) :], strict=True):
            saved[place] = max(saved[place], more)
        return [float(most) - cost for most, cost in zip(saved[: len(self._at)], self._costs, strict=True)]

    def _together(self, numbers: Sequence[int]) -> list[tuple[int, int]]:
        """The places among some checks whose reading can be held against one taken, with what the two make."""
        with_, checks = self.problem.compared_with, self.problem.checks
        if not with_ or self.savings.general:
            return []
        return [
            (place, made)
            for place, number in enumerate(numbers)
            for other, made in with_.get(checks[number].id, ())
            if other in self.taken
        ]

    def _saved(self, numbers: list[int]) -> list[float]:
        """Return what each check saves: by its own outcomes, or by those it makes with a reading that is there."""
        together = self._together(numbers)
        saved = self.savings.saved([*numbers, *(made for _, made in together)])
        for (place, _), more in zip(together, saved[len(numbers) :], strict=True):
            saved[place] = max(saved[place], more)
        return saved[: len(numbers)]

    def _ordered(self, places: Collection[int]) -> tuple[CheckWorth, ...]:
        self._work_out(places)
        return tuple(self._known[place] for place in sorted(places, key=lambda one: (-self._known[one].worth, one)))

    def _work_out(self, places: Collection[int]) -> None:
        new = [place for place in dict.fromkeys(places) if place not in self._known]
        for place, saved in zip(new, self._saved(self._at[new].tolist()), strict=True):
            cost = self._costs[place]
            self._known[place] = CheckWorth(self._checks[place].id, saved, cost, saved - cost)


def worth_of_checks(
    problem: Problem,
    belief: Belief,
    available: Collection[str],
    in_place: Collection[str] = (),
    taken: Collection[str] = (),
    repaired: Collection[str] = (),
) -> tuple[CheckWorth, ...]:
    """Worth of every available check that has not been taken, the best first (see `Appraisal`)."""
    return Appraisal(problem, belief, available, in_place, taken, repaired).all()
