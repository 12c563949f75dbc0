"""Run a healthy car under many concerns: what would each tree accuse on these readings?"""

from __future__ import annotations

from collections.abc import Sequence

from troubleshoot.knowledge.answers import written_readings
from troubleshoot.knowledge.catalogue import Catalogue, car_with
from troubleshoot.knowledge.compiling import SOMETHING_ELSE
from troubleshoot.knowledge.evidence import evidence_from
from troubleshoot.knowledge.model import HealthyCar
from troubleshoot.knowledge.worked_cases import WorkedCases
from troubleshoot.reasoning.belief import believe

DOUBT_LIMIT = 0.5
"""A cause more probable than this is accused; on a healthy car none may be."""


def believed_of(
    catalogue: Catalogue, healthy: HealthyCar, concerns: Sequence[str], bench: WorkedCases | None = None
) -> dict[str, dict[str, float]]:
    """Return, for each concern, how probable its causes are on a healthy car; TroubleshootError if it cannot be run."""
    bench = bench or WorkedCases(catalogue)
    car = car_with(catalogue, healthy.car, healthy.differs)
    taken = written_readings(catalogue.checks, car, healthy.readings)
    read = set(taken)
    every = evidence_from(catalogue, car, taken, catalogue.checks)
    found: dict[str, dict[str, float]] = {}
    for concern in concerns:
        problem = bench.problem(car, (concern,), read)
        evidence = [one for one in every if one.check in problem.check_named]
        found[concern] = {one.cause: one.probability for one in believe(problem, evidence).ranked()}
    return found


def accusations(
    catalogue: Catalogue, healthy: HealthyCar, concerns: Sequence[str], bench: WorkedCases | None = None
) -> dict[str, str]:
    """Return, for each concern under which the healthy car is accused, the words for it."""
    words: dict[str, str] = {}
    for concern, believed in believed_of(catalogue, healthy, concerns, bench).items():
        for cause, probability in believed.items():
            if cause != SOMETHING_ELSE and probability > DOUBT_LIMIT:
                words[concern] = f"{cause} is accused at {probability * 100:.0f} %"
    return words
