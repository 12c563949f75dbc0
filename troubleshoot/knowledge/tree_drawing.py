"""Draw a tree as lines of plain text: its steps, the odds of every branch, and what each costs."""

from __future__ import annotations

import textwrap
from collections.abc import Iterator

from troubleshoot.knowledge.authored_cost import authored_cost, best_cost, problem_of, steps_of
from troubleshoot.knowledge.car import Car
from troubleshoot.knowledge.catalogue import Catalogue
from troubleshoot.knowledge.lint_steps import first_step
from troubleshoot.knowledge.model import Check, Concern
from troubleshoot.reasoning.position import Action, Position, branches, start
from troubleshoot.reasoning.problem import Problem

LEAST_SHOWN = 0.005
"""A branch reached less often than this is drawn without what follows it."""
DEEPEST = 12
_LIKELIEST = 8
HELD = "\u00a0"


def tree_lines(catalogue: Catalogue, identifier: str, car: Car | None = None, width: int = 78) -> list[str]:
    """Return the drawing of a concern; KeyError when there is none of that id."""
    concern = catalogue.concerns[identifier]
    lines = [f"{concern.title}  ({identifier})", f'"{concern.says}"']
    lines += textwrap.wrap(concern.meaning, width)
    if concern.kind == "inspection":
        return [*lines, "", *_items(catalogue, concern, width)]
    problem = problem_of(catalogue, identifier, car)
    at = start(problem)
    lines += ["", "Before any check:", *_likeliest(catalogue, at)]
    name = first_step(concern)
    if name is not None and at is not None:
        lines += ["", "Steps (share of cars that come by each branch):"]
        walk = _Walk(catalogue, concern, problem, width)
        lines += walk.step(name, at, 1.0, "", "", 0)
        written, best = authored_cost(catalogue, identifier, car), best_cost(catalogue, identifier, car)
        lines += ["", f"On average {written:.0f} minutes to a repaired car as written; by worth, {best:.0f}."]
    return lines


def _items(catalogue: Catalogue, concern: Concern, width: int) -> Iterator[str]:
    for number, item in enumerate(concern.items, 1):
        check = catalogue.checks.get(item)
        text = f"{check.ask if check else item}  ({item}{_minutes(check)})"
        yield from textwrap.wrap(text, width, initial_indent=f"{number:3}  ", subsequent_indent=" " * 5)


def _likeliest(catalogue: Catalogue, position: Position | None) -> Iterator[str]:
    for share, cause in _ranked(position)[:_LIKELIEST]:
        known = catalogue.causes.get(cause)
        yield f"{share * 100:4.0f} %  {known.title if known else cause}  ({cause})"


def _ranked(position: Position | None) -> list[tuple[float, str]]:
    if position is None:
        return []
    ranked = position.belief().ranked()
    return [(one.probability, one.cause) for one in ranked]


def _minutes(check: Check | None) -> str:
    return f", {check.minutes:g} min" if check else ""


class _Walk:
    """Follows the steps with the belief at each place."""

    def __init__(self, catalogue: Catalogue, concern: Concern, problem: Problem, width: int) -> None:
        self.catalogue, self.concern, self.problem, self.width = catalogue, concern, problem, width
        self.steps = steps_of(concern)

    def step(self, name: str, position: Position, reach: float, head: str, before: str, depth: int) -> list[str]:
        """Return the lines of one step, the first after `head`, and all that follows it, each after `before`."""
        step = self.steps.get(name)
        if step is None:
            return self._wrapped(head, before, f"{name}: no such step")
        if step.repair is not None:
            return self._wrapped(head, before, f"{name}: {self._repair(step.repair, position)}")
        known = dict(position.history)
        if step.check in known:
            target = step.after.get(known[step.check])
            if target is not None and depth < DEEPEST:
                return self.step(target, position, reach, f"{head}{name}, read before, ", before, depth + 1)
            return self._wrapped(head, before, f"{name}, read before: by worth  {self._leader(position)}")
        check = self.catalogue.checks.get(step.check or "")
        lines = self._wrapped(head, before, f"{name}: {check.ask if check else step.check}  [{self._cost(check)}]")
        if check is None or step.check not in self.problem.check_named:
            return [*lines, *self._wrapped(before, before, "not on this car: the check of greatest worth follows")]
        ways = branches(position, Action("check", step.check or ""))
        for number, way in enumerate(ways):
            last = number == len(ways) - 1
            share = reach * way.probability
            branch = f"{before}{'└─' if last else '├─'} {way.label} {share * 100:.0f} %: "
            after = before + ("   " if last else "│  ")
            target = step.after.get(way.label)
            if target is None:
                lines += self._wrapped(branch, after, f"by worth  {self._leader(way.position)}")
            elif way.position is None or share < LEAST_SHOWN or depth >= DEEPEST:
                lines += self._wrapped(branch, after, target)
            else:
                lines += self.step(target, way.position, share, branch, after, depth + 1)
        return lines

    def _repair(self, cause: str, position: Position) -> str:
        known = self.catalogue.causes.get(cause)
        shares = {one: share for share, one in _ranked(position)}
        cost = f"{known.repair.minutes:g} min" if known else "unknown"
        money = f", parts {known.repair.parts:g}" if known and known.repair.parts else ""
        title = known.title if known else cause
        return f"REPAIR {title}  [{cost}{money}, {shares.get(cause, 0.0) * 100:.0f} % sure]"

    def _cost(self, check: Check | None) -> str:
        if check is None:
            return ""
        setup = self.catalogue.setups.get(check.setup or "")
        more = f" + {setup.minutes:g} {check.setup}" if setup else ""
        return f"{check.minutes:g}{more} min"

    def _leader(self, position: Position | None) -> str:
        share, cause = next(iter(_ranked(position)), (0.0, ""))
        return f"[leads: {cause} {share * 100:.0f} %]" if cause else ""

    def _wrapped(self, head: str, before: str, text: str) -> list[str]:
        """Wrap a line, keeping what stands in brackets together."""
        whole, bracket, note = text.partition("  [")
        held = f"{whole}{bracket}{note.replace(' ', HELD)}"
        width = max(self.width, len(before) + 30)
        lines = textwrap.wrap(
            held, width, initial_indent=head, subsequent_indent=f"{before}    ", break_on_hyphens=False
        )
        return [line.replace(HELD, " ") for line in lines]
