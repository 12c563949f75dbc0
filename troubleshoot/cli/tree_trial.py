"""Walk a tree without a case, for the one who writes it: each answer, and what is believed after it."""

from __future__ import annotations

from troubleshoot.cli import output
from troubleshoot.cli.car_choice import car_named
from troubleshoot.cli.case_setup import concern_named
from troubleshoot.cli.plain_lines import wrapped
from troubleshoot.knowledge.authored_cost import steps_of
from troubleshoot.knowledge.car import Car
from troubleshoot.knowledge.catalogue import Catalogue
from troubleshoot.knowledge.compiling import compile_problem
from troubleshoot.knowledge.lint_steps import first_step
from troubleshoot.knowledge.model import Check
from troubleshoot.knowledge.taken import SKIPPED, Taken, taken_readings
from troubleshoot.knowledge.worked_cases import belief_of
from troubleshoot.problems import TroubleshootError
from troubleshoot.reasoning.belief import Belief, believe
from troubleshoot.reasoning.problem import Problem
from troubleshoot.reasoning.worth import next_step

_SHOWN = 5


def try_tree(catalogue: Catalogue, identifier: str, car_id: str | None) -> None:
    """Ask along the steps, then by worth, until a repair is due or the person stops (an empty line)."""
    concern = catalogue.concerns[concern_named(catalogue, identifier)]
    car = car_named(catalogue, car_id) or next(iter(catalogue.cars.values()), Car())
    how = "Answer with a reading, an outcome or its number; skipped passes it; an empty line ends the trial."
    output.say("\n".join(wrapped(f"{concern.title}, on {car.title}. {how}")))
    trial = _Trial(catalogue, car, identifier)
    for line in _belief_lines(catalogue, trial.belief):
        output.data(line)
    while trial.ask_next():
        for line in _belief_lines(catalogue, trial.belief):
            output.data(line)


def _belief_lines(catalogue: Catalogue, belief: Belief) -> list[str]:
    """Return the likeliest causes as lines, the likeliest first."""
    lines = []
    for one in belief.ranked()[:_SHOWN]:
        known = catalogue.causes.get(one.cause)
        bar = "█" * round(20 * one.probability)
        lines.append(f"    {one.probability:4.0%} {bar:<20} {known.title if known else one.cause}")
    if belief.nothing_fits:
        lines.append(f"    Nothing listed fits; measure {belief.doubtful} again.")
    return lines


class _Trial:
    """The readings of a trial so far, and where in the steps it stands."""

    def __init__(self, catalogue: Catalogue, car: Car, identifier: str) -> None:
        self.catalogue, self.car, self.identifier = catalogue, car, identifier
        self.concern = catalogue.concerns[identifier]
        self.steps = steps_of(self.concern)
        self.step: str | None = first_step(self.concern)
        self.items = list(self.concern.items)
        self.written: dict[str, str | float] = {}
        self.problem: Problem = compile_problem(catalogue, car, [identifier])

    @property
    def taken(self) -> tuple[Taken, ...]:
        """The readings so far as evidence."""
        return taken_readings(self.catalogue.checks, self.car, self.written)

    @property
    def belief(self) -> Belief:
        """What is believed after the readings so far."""
        if not self.taken:
            return believe(self.problem, [])
        return belief_of(self.catalogue, self.car, [self.identifier], self.taken)

    def ask_next(self) -> bool:
        """Ask the next check and take its answer; False when the trial has come to its end."""
        check_id = self._next_check()
        if check_id is None:
            return False
        check = self.catalogue.checks[check_id]
        while True:
            answer = output.question(_asked(check_id, check, self.step))
            if answer is None or not answer.strip():
                return False
            try:
                self._take(check_id, check, answer.strip())
            except TroubleshootError as problem:
                output.say(str(problem))
                continue
            return True

    def _take(self, check_id: str, check: Check, answer: str) -> None:
        number = int(answer) if answer.isdecimal() and check.reading is None else 0
        text = check.outcomes[number - 1] if 0 < number <= len(check.outcomes) else answer
        (*_, last) = taken_readings(self.catalogue.checks, self.car, {**self.written, check_id: text}) or (None,)
        self.written[check_id] = text
        if self.step is not None:
            after = dict(self.steps[self.step].after)
            shares = last.shares if last is not None and text != SKIPPED else ()
            outcome = check.outcomes[max(range(len(shares)), key=shares.__getitem__)] if shares else ""
            self.step = after.get(outcome)

    def _next_check(self) -> str | None:
        while self.items:
            item = self.items.pop(0)
            if item in self.problem.check_named:
                return item
        step = self.steps.get(self.step or "")
        if step is not None and step.repair is not None:
            self._say_repair(step.repair, "the tree says")
            return None
        if step is not None and step.check in self.problem.check_named and step.check not in self.written:
            return step.check
        self.step = None
        available = [check.id for check in self.problem.checks]
        found = next_step(self.problem, self._whole_belief(), available, taken=list(self.written))
        if found.kind == "check" and self.concern.kind == "tree":
            return found.id
        if found.kind == "repair":
            self._say_repair(found.id, "by worth")
        else:
            output.say("Nothing more is worth measuring.")
        return None

    def _whole_belief(self) -> Belief:
        return belief_of(self.catalogue, self.car, [self.identifier], self.taken, all_checks=True)

    def _say_repair(self, cause: str, why: str) -> None:
        known = self.catalogue.causes.get(cause)
        output.data(f"Repair ({why}): {known.title if known else cause}, now {self.belief.probability(cause):.0%}.")


def _asked(check_id: str, check: Check, step: str | None) -> str:
    place = f"{step}: " if step else "by worth: "
    if check.reading is not None:
        return f"{place}{check.ask} ({check_id}, {check.reading.unit})?"
    choices = ", ".join(f"{number} {outcome}" for number, outcome in enumerate(check.outcomes, 1))
    return f"{place}{check.ask} ({check_id}: {choices})?"
