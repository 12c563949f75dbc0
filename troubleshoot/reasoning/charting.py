"""A policy written out as a tree: what to do, and after each way it can turn out, what to do then."""

from __future__ import annotations

from collections.abc import Callable, Mapping
from dataclasses import dataclass

from troubleshoot.reasoning.belief import Belief
from troubleshoot.reasoning.exact import MOST_POSITIONS, ExactPlan, exact, known_costs
from troubleshoot.reasoning.policies import (
    POLICIES,
    AuthoredStep,
    Policy,
    authored,
    information_gain,
    look_ahead,
    one_step,
    probability_over_cost,
)
from troubleshoot.reasoning.position import Position, branches, cost_now, start
from troubleshoot.reasoning.problem import Problem
from troubleshoot.reasoning.refusing import ProblemRefused
from troubleshoot.reasoning.repair_cost import expected_repair_cost

MOST_NODES = 20_000
"""A tree is cut rather than grow beyond this."""

DEEPEST = 500
"""Actions in one branch, unless the caller says otherwise."""

LEAST_REACH = 1e-9
"""Branches reached less often than this are cut."""


@dataclass(frozen=True)
class Ending:
    """How a branch ends: the car is repaired, or the tree is cut here and repairs alone are reckoned with.

    `leader` is the likeliest cause where it is cut.
    """

    label: str
    probability: float
    repaired: bool
    expected_cost: float = 0.0
    extra: float = 0.0
    leader: str = ""


@dataclass(frozen=True)
class Node:
    """One action in the tree.

    `label` is the outcome that leads here and `probability` how likely it is after the action
    above; `cost` is paid here, `extra` was paid on the way; `expected_cost` is what everything from
    here on is expected to take. `leader` is the likeliest cause here and `belief` its probability.
    """

    label: str
    probability: float
    kind: str
    id: str
    cost: float
    expected_cost: float
    leader: str
    belief: float
    after: tuple[Node | Ending, ...]
    extra: float = 0.0


@dataclass(frozen=True)
class Chart:
    """A policy as a tree, its name, and its expected cost in minutes given that something is wrong.

    `whole` says that no branch was cut, so that the expected cost is exact. `known_cost` is what the
    repairs would cost if the fault were known; the difference is what finding it costs. `optimal` says that nothing
    can cost less: it is the exact policy, and the search was not ended by what was allowed.
    """

    policy: str
    root: Node | Ending
    expected_cost: float
    known_cost: float
    nodes: int
    whole: bool
    optimal: bool = False


class _Writer:
    """Walks a policy and counts the nodes."""

    def __init__(self, policy: Policy, depth: int, most_nodes: int, least_reach: float) -> None:
        self.policy = policy
        self.depth = depth
        self.most_nodes = most_nodes
        self.least_reach = least_reach
        self.nodes = 0
        self.whole = True

    def write(self, position: Position, label: str, probability: float, reach: float, extra: float) -> Node | Ending:
        """The tree from one position on."""
        deep = len(position.history) >= self.depth
        if deep or self.nodes >= self.most_nodes or reach < self.least_reach:
            self.whole = False
            rest = expected_repair_cost(position.problem, position.belief(), position.repaired)
            return Ending(label, probability, False, rest, extra, position.belief().ranked()[0].cause)
        self.nodes += 1
        action = self.policy(position)
        cost = cost_now(position, action)
        after: list[Node | Ending] = []
        expected = cost
        for way in branches(position, action):
            if way.position is None:
                then: Node | Ending = Ending(way.label, way.probability, True, 0.0, way.extra)
            else:
                then = self.write(way.position, way.label, way.probability, reach * way.probability, way.extra)
            expected += way.probability * (way.extra + then.expected_cost)
            after.append(then)
        leader = position.belief().ranked()[0]
        return Node(
            label,
            probability,
            action.kind,
            action.id,
            cost,
            expected,
            leader.cause,
            leader.probability,
            tuple(after),
            extra,
        )


def chart(
    problem: Problem,
    policy: Policy | str,
    belief: Belief | None = None,
    steps: Mapping[str, AuthoredStep] | None = None,
    depth: int = DEEPEST,
    most_nodes: int = MOST_NODES,
    least_reach: float = LEAST_REACH,
    progress: Callable[[int], None] | None = None,
    most_positions: int = MOST_POSITIONS,
    late: Callable[[], bool] = lambda: False,
) -> Chart:
    """Write a policy out as a tree, from what is believed now (the concerns alone, unless given).

    The exact policy searches until `most_positions` or until it is `late`, then looks ahead. Raises `ProblemRefused`
    for an unknown policy or when nothing listed can be wrong.
    """
    name = policy if isinstance(policy, str) else "custom"
    plan = ExactPlan(problem, most_positions, progress, late) if policy == "exact" else None
    if plan is not None:
        chosen: Policy = exact(plan)
    else:
        chosen = policy_named(problem, policy, steps) if isinstance(policy, str) else policy
    begin = start(problem, belief)
    if begin is None:
        raise ProblemRefused("Nothing listed can be wrong.", "Start from a belief that leaves something possible.")
    writer = _Writer(chosen, depth, most_nodes, least_reach)
    root = writer.write(begin, "", 1.0, 1.0, 0.0)
    known = float(begin.weights @ known_costs(problem, scope=begin.scope))
    optimal = plan is not None and not plan.gave_up and writer.whole
    return Chart(name, root, root.expected_cost, known, writer.nodes, writer.whole, optimal)


def policy_named(
    problem: Problem,
    name: str,
    steps: Mapping[str, AuthoredStep] | None = None,
) -> Policy:
    """The policy of a name; `authored` needs steps."""
    if name == "authored":
        if not steps:
            raise ProblemRefused("The problem has no authored steps.", "Add steps, or choose another policy.")
        return authored(steps)
    if name == "exact":
        return exact(ExactPlan(problem))
    plain: dict[str, Policy] = {
        "probability-over-cost": probability_over_cost,
        "one-step": one_step,
        "information-gain": information_gain,
        "look-ahead": look_ahead(),
    }
    if name not in plain:
        raise ProblemRefused(f"There is no policy {name!r}.", f"Use one of {', '.join(POLICIES)}.")
    return plain[name]
