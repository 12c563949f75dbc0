"""Compare the minutes that checks are said to save with those they save, on whole trees, by each tree's own model.

    nice .venv/bin/python scripts/minutes_said.py [--steps 6] [--tops 3] [CONCERN ...]

A check is said to save what repairs alone cost now less what they cost after it. Here the repairs are made: one by one,
with the belief brought up to date after each and the order chosen anew, until the car is cured or sent on, in every way
it can turn out. A case of each tree goes along its likeliest answers; at each step the best checks are compared.
"""

from __future__ import annotations

import argparse
import sys
from collections.abc import Iterator
from dataclasses import dataclass

from troubleshoot.knowledge.catalogue import Catalogue, load_catalogue
from troubleshoot.knowledge.compiling import compile_problem
from troubleshoot.reasoning.belief import Belief, believe
from troubleshoot.reasoning.charting import chart
from troubleshoot.reasoning.problem import Problem
from troubleshoot.reasoning.worth import outcomes_of, worth_of_checks

DEEPEST = 60
"""Repairs in a row that are followed; what is left after them is reckoned."""

LEAST_REACH = 1e-5
"""Ways met less often than this are reckoned and not followed."""


@dataclass(frozen=True)
class Compared:
    """One check at one step: the minutes it is said to save, and those it saves."""

    concern: str
    step: int
    check: str
    said: float
    saved: float


def cost_of_repairs(belief: Belief) -> float:
    """Return what repairs cost from here on when they are made, in minutes, for the weight of what shows."""
    weight = float(belief.showing[1:].sum())
    if weight <= 0.0:
        return 0.0
    made = chart(belief.problem, "probability-over-cost", belief, depth=DEEPEST, least_reach=LEAST_REACH)
    return weight * made.expected_cost


def compared(concern: str, problem: Problem, steps: int, tops: int) -> Iterator[Compared]:
    """Go along the likeliest answers of a tree and compare the best checks of every step."""
    belief, taken = believe(problem, []), set[str]()
    for step in range(steps):
        best = [
            one for one in worth_of_checks(problem, belief, problem.check_named, (), taken)[:tops] if one.worth > 0.0
        ]
        if not best:
            return
        now = cost_of_repairs(belief)
        for one in best:
            after = sum(share * cost_of_repairs(then) for share, then in outcomes_of(belief, one.check))
            yield Compared(concern, step, one.check, one.saves, now - after)
        _, belief = max(outcomes_of(belief, best[0].check), key=lambda way: way[0])
        taken.add(best[0].check)


def problem_of(catalogue: Catalogue, concern: str, car: str) -> Problem:
    """Return the problem that a concern of a car poses."""
    return compile_problem(catalogue, catalogue.cars[car], (concern,))


def main() -> int:
    """Print a line a check, and the sums of each tree."""
    parser = argparse.ArgumentParser(description=__doc__.split("\n")[0])
    parser.add_argument("--steps", type=int, default=6, help="steps along the likeliest answers (default: 6)")
    parser.add_argument("--tops", type=int, default=3, help="the best checks of each step (default: 3)")
    parser.add_argument("--car", default="harrow-240", help="an example car (default: harrow-240)")
    parser.add_argument("concerns", nargs="*", help="concerns by id (default: all that are no inspection)")
    asked = parser.parse_args()
    catalogue = load_catalogue()
    trees = asked.concerns or [name for name, tree in catalogue.concerns.items() if tree.kind != "inspection"]
    for concern in trees:
        found = list(compared(concern, problem_of(catalogue, concern, asked.car), asked.steps, asked.tops))
        for one in found:
            sys.stdout.write(f"{one.concern:20} {one.step:2} {one.check:32} {one.said:7.1f} {one.saved:7.1f}\n")
        said, saved = sum(one.said for one in found), sum(one.saved for one in found)
        share = f"{said / saved:.3f}" if saved > 0.0 else "nothing saved"
        sys.stdout.write(f"{concern:20} {len(found)} checks: said {said:.1f}, saved {saved:.1f}: {share}\n")
        sys.stdout.flush()
    return 0


if __name__ == "__main__":
    sys.exit(main())
