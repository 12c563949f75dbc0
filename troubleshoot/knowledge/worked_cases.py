"""Run worked cases: readings in, the ranking out, and whether it is what was expected."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass

from troubleshoot.knowledge.answers import InterpretedReading, written_readings
from troubleshoot.knowledge.car import Car
from troubleshoot.knowledge.catalogue import Catalogue, car_with
from troubleshoot.knowledge.compiling import causes_for, checks_for, compile_problem
from troubleshoot.knowledge.evidence import evidence_from
from troubleshoot.knowledge.model import WorkedCase
from troubleshoot.reasoning.belief import Belief, believe
from troubleshoot.reasoning.problem import Problem


@dataclass(frozen=True)
class CaseResult:
    """What a case came to: the belief, the readings, and each way it differs from what was expected."""

    belief: Belief
    taken: Mapping[str, InterpretedReading]
    complaints: tuple[str, ...]

    @property
    def right(self) -> bool:
        """Return whether everything expected holds."""
        return not self.complaints


def belief_of(
    catalogue: Catalogue,
    car: Car,
    concerns: Sequence[str],
    taken: Mapping[str, InterpretedReading],
    all_checks: bool = False,
) -> Belief:
    """Return the belief after readings; with `all_checks` its problem also holds repairs and the checks not made."""
    read = list(taken)
    only = None if all_checks else read
    problem = compile_problem(catalogue, car, concerns, only=only, repairs=all_checks, taken=read)
    return believe(problem, evidence_from(catalogue, car, taken, problem.check_named))


class WorkedCases:
    """Runs worked cases of one catalogue; a problem is built once for all the cars and readings it serves."""

    def __init__(self, catalogue: Catalogue) -> None:
        self.catalogue = catalogue
        self._problems: dict[tuple[tuple[str, ...], ...], Problem] = {}
        self._read: dict[tuple[str, ...], set[str]] = {}
        for concern, cases in catalogue.cases.items():
            for case in cases:
                self._read.setdefault(tuple(case.concerns or [concern]), set()).update(case.readings)

    def run(self, case: WorkedCase, concern: str | None = None) -> CaseResult:
        """Run a case, under the concern of its file when it names none; TroubleshootError if it cannot be."""
        car = car_with(self.catalogue, case.car, case.differs)
        concerns = tuple(case.concerns) or tuple(one for one in (concern,) if one is not None)
        taken = written_readings(self.catalogue.checks, car, case.readings)
        problem = self.problem(car, concerns, set(taken))
        made = evidence_from(self.catalogue, car, taken, problem.check_named)
        belief = believe(problem, made)
        return CaseResult(belief, taken, tuple(_complaints(case, belief)))

    def problem(self, car: Car, concerns: tuple[str, ...], wanted: set[str]) -> Problem:
        """Return the problem of concerns with all checks wanted so far; cars that can have the same share one."""
        only = self._read.setdefault(concerns, set())
        only |= wanted
        causes = causes_for(self.catalogue, car, ())  # those that no concern lists are in the problem too
        checks = tuple(checks_for(self.catalogue, car, concerns, only=only, taken=only))
        key = (concerns, causes, checks)
        if key not in self._problems:
            self._problems[key] = compile_problem(self.catalogue, car, concerns, only=only, repairs=False, taken=only)
        return self._problems[key]


def _complaints(case: WorkedCase, belief: Belief) -> list[str]:
    ranked = belief.ranked(max(3, len(case.both)))
    first = ranked[0]
    order = ", ".join(f"{one.cause} {one.probability * 100:.0f} %" for one in ranked[:3])
    found = []
    if case.leads and first.cause not in case.leads:
        found.append(f"{' or '.join(case.leads)} should lead; the order is {order}")
    if case.both and {one.cause for one in ranked[: len(case.both)]} != set(case.both):
        found.append(f"{' and '.join(case.both)} should lead together; the order is {order}")
    if first.cause in case.must_not_lead:
        found.append(f"{first.cause} must not lead; the order is {order}")
    expected = ranked[len(case.both) - 1 if case.both else 0]
    if not found and expected.probability < case.at_least:
        found.append(
            f"{expected.cause} comes to {expected.probability * 100:.0f} %, less than {case.at_least * 100:.0f} %"
        )
    return found
