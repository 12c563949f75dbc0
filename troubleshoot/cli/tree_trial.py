"""Try a tree in a case that nobody keeps, for the one who writes it: each answer, and what is believed after it."""

from __future__ import annotations

from troubleshoot.case.case import case_in_memory
from troubleshoot.case.proposing import propose
from troubleshoot.case.settings import CaseSettings
from troubleshoot.case.shares import percent
from troubleshoot.cli import output
from troubleshoot.cli.car_choice import car_named
from troubleshoot.cli.case_setup import concern_named
from troubleshoot.cli.plain_lines import wrapped
from troubleshoot.knowledge.answers import SKIPPED
from troubleshoot.knowledge.authored_cost import steps_of
from troubleshoot.knowledge.car import Car
from troubleshoot.knowledge.catalogue import Catalogue
from troubleshoot.knowledge.lint_steps import first_step
from troubleshoot.knowledge.model import Check
from troubleshoot.problems import TroubleshootError
from troubleshoot.reasoning.belief import Belief

_SHOWN = 5


def try_tree(catalogue: Catalogue, identifier: str, car_id: str | None) -> None:
    """Ask along the steps, then by worth, until a repair is due or the person stops (an empty line)."""
    concern = catalogue.concerns[concern_named(catalogue, identifier)]
    car = car_named(catalogue, car_id) or next(iter(catalogue.cars.values()), Car())
    how = "Answer with a reading, an outcome or its number; skipped passes it; an empty line ends the trial."
    both = "Two causes can be present at once, so each has a percentage of its own."
    output.say("\n".join(wrapped(f"{concern.title}, on {car.title}. {how} {both}")))
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
        lines.append(f"    {percent(one.probability):>5} {bar:<20} {known.title if known else one.cause}")
    if belief.nothing_fits:
        lines.append(f"    Nothing listed fits; measure {belief.doubtful} again.")
    return lines


class _Trial:
    """A case that nobody keeps, and where in the steps it stands."""

    def __init__(self, catalogue: Catalogue, car: Car, identifier: str) -> None:
        self.catalogue, self.concern = catalogue, catalogue.concerns[identifier]
        self.case = case_in_memory(catalogue, car, [identifier], CaseSettings(learn=False))
        self.steps = steps_of(self.concern)
        self.step: str | None = first_step(self.concern)
        self.items = list(self.concern.items)

    @property
    def belief(self) -> Belief:
        """What is believed after the readings so far."""
        belief = self.case.assessment.belief
        assert belief is not None
        return belief

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
                self._take(check_id, answer.strip())
            except TroubleshootError as problem:
                output.say(str(problem))
                continue
            return True

    def _take(self, check_id: str, answer: str) -> None:
        outcome = ""
        if answer.casefold() == SKIPPED:
            self.case.skip(check_id)
        else:
            self.case.take(check_id, answer)
            outcome = self.case.assessment.latest[check_id].outcome
        if self.step is not None:
            self.step = dict(self.steps[self.step].after).get(outcome)

    def _next_check(self) -> str | None:
        seen = self.case.assessment
        can = seen.problem.check_named if seen.problem is not None else {}
        while self.items:
            item = self.items.pop(0)
            if item in can:
                return item
        step = self.steps.get(self.step or "")
        if step is not None and step.repair is not None:
            self._say_repair(step.repair, "the tree says")
            return None
        if step is not None and step.check in can and step.check not in {*seen.latest, *seen.skipped}:
            return step.check
        self.step = None
        found = propose(seen, self.catalogue)
        if found.kind == "check" and self.concern.kind == "tree":
            return found.id
        if found.kind == "repair":
            self._say_repair(found.id, "by worth")
        else:
            output.say("Nothing more is worth measuring.")
        return None

    def _say_repair(self, cause: str, why: str) -> None:
        known = self.catalogue.causes.get(cause)
        output.data(
            f"Repair ({why}): {known.title if known else cause}, now {percent(self.belief.probability(cause))}."
        )


def _asked(check_id: str, check: Check, step: str | None) -> str:
    place = f"{step}: " if step else "by worth: "
    if check.kind.measured:
        return f"{place}{check.ask} ({check_id}, {check.unit})?"
    choices = ", ".join(f"{number} {outcome}" for number, outcome in enumerate(check.outcomes, 1))
    return f"{place}{check.ask} ({check_id}: {choices})?"
