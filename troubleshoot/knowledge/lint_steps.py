"""The steps of a tree: each reached, none in a circle, every branch with an outcome and a place to go."""

from __future__ import annotations

from collections.abc import Iterator

from troubleshoot.knowledge.findings import Finding, nearest
from troubleshoot.knowledge.hazards import opens_running
from troubleshoot.knowledge.lint_references import Record
from troubleshoot.knowledge.load_trees import SourcedTrees
from troubleshoot.knowledge.model import Concern, Step

_MOST_WAYS = 5000
"""So many ways through a tree are looked at for a check that is made twice."""


def steps(trees: SourcedTrees) -> Iterator[Finding]:
    """Find steps that lead nowhere, are never reached, go in a circle, or branch on an outcome there is not."""
    for identifier, concern in trees.catalogue.concerns.items():
        record = ("concerns", identifier)
        yield from _kind(trees, record, concern)
        for name, step in concern.steps.items():
            yield from _step(trees, record, concern, name, step)
        yield from _unreached(trees, record, concern)
        yield from _circles(trees, record, concern)
        yield from _asked_twice(trees, record, concern)


def first_step(concern: Concern) -> str | None:
    """Return the name of the step a tree begins with: `first`, else the one written first."""
    return "first" if "first" in concern.steps else next(iter(concern.steps), None)


def _kind(trees: SourcedTrees, record: Record, concern: Concern) -> Iterator[Finding]:
    if concern.kind == "inspection":
        if not concern.items:
            yield trees.at(record, (), "an inspection lists no items", "add items: with check ids", "no-items")
        if concern.steps:
            advice = "list the checks under items: instead"
            yield trees.at(record, ("steps",), "an inspection goes through items, not steps", advice, "steps-and-items")
        return
    if not concern.steps:
        yield trees.at(record, (), "the tree has no steps", "add steps: with a first one", "no-steps")
    if concern.items:
        advice = "use steps:, or say kind: inspection"
        yield trees.at(record, ("items",), "only an inspection has items", advice, "steps-and-items")
    if not concern.shows:
        yield trees.at(record, (), "no cause shows this concern", "add shows: with causes", "no-causes")


def _step(trees: SourcedTrees, record: Record, concern: Concern, name: str, step: Step) -> Iterator[Finding]:
    yaml_path = ("steps", name)
    if (step.check is None) == (step.repair is None):
        advice = "give it check: with next:, or repair: alone"
        yield trees.at(record, yaml_path, f"step {name} must be a check or a repair", advice, "step-of-no-kind")
        return
    if step.repair is not None:
        if step.next:
            advice = "remove next:, the retest follows by itself"
            yield trees.at(record, (*yaml_path, "next"), "a repair ends its branch", advice, "repair-goes-on")
        if step.repair in trees.catalogue.causes and step.repair not in concern.shows:
            what = f"{step.repair} is repaired here and not listed under shows"
            advice = "list it there with its frequency"
            yield trees.at(record, (*yaml_path, "repair"), what, advice, "not-in-shows")
        return
    check = trees.catalogue.checks.get(step.check or "")
    if check is not None and check.state in concern.rules_out:
        what = f"{step.check} needs the engine state {check.state}, which this concern rules out"
        yield trees.at(record, (*yaml_path, "check"), what, "choose another check", "ruled-out")
    setup = trees.catalogue.setups.get(check.setup or "") if check is not None else None
    if check is not None and opens_running(check, setup, concern.keeps_shut):
        what = f"{step.check} opens on a running engine what this concern keeps shut"
        yield trees.at(record, (*yaml_path, "check"), what, "choose another check", "ruled-out")
    for outcome, target in step.next.items():
        if check is not None and outcome not in check.outcomes:
            what = f"{step.check} has no outcome {outcome}{nearest(outcome, check.outcomes)}"
            advice = f"use one of: {', '.join(check.outcomes)}"
            yield trees.at(record, (*yaml_path, "next", outcome), what, advice, "unknown-outcome")
        if target not in concern.steps:
            what = f"there is no step {target}{nearest(target, concern.steps)}"
            advice = "correct the name, or write this step"
            yield trees.at(record, (*yaml_path, "next", outcome), what, advice, "unknown-step")


def _targets(concern: Concern, name: str) -> list[str]:
    return [target for target in concern.steps[name].next.values() if target in concern.steps]


def _unreached(trees: SourcedTrees, record: Record, concern: Concern) -> Iterator[Finding]:
    start = first_step(concern)
    reached: set[str] = set()
    waiting = [start] if start else []
    while waiting:
        name = waiting.pop()
        if name not in reached:
            reached.add(name)
            waiting.extend(_targets(concern, name))
    for name in concern.steps:
        if name not in reached:
            what, advice = f"no branch leads to step {name}", "lead one to it, or remove it"
            yield trees.at(record, ("steps", name), what, advice, "unreached-step")


def _circles(trees: SourcedTrees, record: Record, concern: Concern) -> Iterator[Finding]:
    """Walk depth first; a branch back to a step that is still open closes a circle."""
    done: set[str] = set()
    for start in concern.steps:
        path: list[str] = []
        walk = [(start, iter(_targets(concern, start)))] if start not in done else []
        if walk:
            path.append(start)
        while walk:
            name, rest = walk[-1]
            target = next(rest, None)
            if target is None:
                done.add(name)
                walk.pop()
                path.pop()
            elif target in path:
                way = " → ".join([*path[path.index(target) :], target])
                what, advice = f"the steps go in a circle: {way}", "end one of these branches elsewhere"
                yield trees.at(record, ("steps", name, "next"), what, advice, "circle")
            elif target not in done:
                walk.append((target, iter(_targets(concern, target))))
                path.append(target)


def _asked_twice(trees: SourcedTrees, record: Record, concern: Concern) -> Iterator[Finding]:
    """Notice a step whose check was made on every way to it, or on some; it can tell nothing new there."""
    start = first_step(concern)
    waiting: list[tuple[str, frozenset[str]]] = [(start, frozenset())] if start else []
    seen: set[tuple[str, frozenset[str]]] = set()
    twice: set[str] = set()
    while waiting and len(seen) < _MOST_WAYS:
        name, made = waiting.pop()
        if (name, made) in seen:
            continue
        seen.add((name, made))
        check = concern.steps[name].check
        if check is not None and check in made:
            twice.add(name)
        now = made | {check} if check is not None else made
        waiting.extend((target, now) for target in _targets(concern, name))
    for name in concern.steps:
        if name in twice:
            what = f"{concern.steps[name].check} may have been read before step {name}"
            advice = "branch on it where it is first read"
            yield trees.at(record, ("steps", name, "check"), what, advice, "asked-twice", "notice")
