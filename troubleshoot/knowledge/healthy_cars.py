"""Run a healthy car under many concerns at once: what would each tree accuse on these readings?

The readings weigh the same under every concern, so they are weighed once, over all causes the car can have; each
concern then brings its own causes and how often they show it. The result is that of a problem of its own.
"""

from __future__ import annotations

from collections.abc import Sequence

import numpy as np

from troubleshoot.knowledge.answers import written_readings
from troubleshoot.knowledge.catalogue import Catalogue, car_with
from troubleshoot.knowledge.compiling import (
    SOMETHING_ELSE,
    causes_for,
    checks_for,
    how_often,
)
from troubleshoot.knowledge.frequencies import frequency
from troubleshoot.knowledge.model import HealthyCar
from troubleshoot.knowledge.worked_cases import WorkedCases
from troubleshoot.reasoning.belief import Belief, Evidence, believe

DOUBT_LIMIT = 0.5
"""A cause more probable than this is accused; on a healthy car none may be."""
_USUAL_MOST = 2
_WORTH_SHARING = 5


def believed_of(
    catalogue: Catalogue, healthy: HealthyCar, concerns: Sequence[str], bench: WorkedCases | None = None
) -> dict[str, dict[str, float]]:
    """Return, for each concern, how probable its causes are on a healthy car; TroubleshootError if it cannot be run."""
    bench = bench or WorkedCases(catalogue)
    car = car_with(catalogue, healthy.car, healthy.differs)
    taken = written_readings(catalogue.checks, car, healthy.readings)
    read = set(taken)
    alike: dict[frozenset[str], list[str]] = {}
    for concern in concerns:
        made = frozenset(checks_for(catalogue, car, [concern], only=read))
        alike.setdefault(made, []).append(concern)
    found: dict[str, dict[str, float]] = {}
    weighed: Belief | None = None
    for made, group in alike.items():
        evidence = [Evidence(name, found.shares) for name, found in taken.items() if name in made]
        together = [one for one in group if catalogue.concerns[one].most_at_once == _USUAL_MOST]
        if len(together) >= _WORTH_SHARING:
            weighed = believe(bench.problem(car, (), read), evidence, weighed)
            found |= {one: _under(catalogue, one, set(causes_for(catalogue, car, [one])), weighed) for one in together}
        for concern in group:
            if concern not in found:
                belief = believe(bench.problem(car, (concern,), set(made)), evidence)
                found[concern] = {one.cause: one.probability for one in belief.ranked()}
    return found


def accusations(
    catalogue: Catalogue, healthy: HealthyCar, concerns: Sequence[str], bench: WorkedCases | None = None
) -> dict[str, str]:
    """Return, for each concern under which the healthy car is accused, the words for it."""
    words: dict[str, str] = {}
    for concern, believed in believed_of(catalogue, healthy, concerns, bench).items():
        for cause, probability in believed.items():
            if cause != SOMETHING_ELSE and probability > DOUBT_LIMIT:
                words[concern] = f"{cause} is accused at {probability:.0%}"
    return words


def _under(catalogue: Catalogue, concern: str, listed: set[str], belief: Belief) -> dict[str, float]:
    """Return the belief of one concern: the common weights, times how often each state shows it."""
    problem, space = belief.problem, belief.problem.tables.space
    tree = catalogue.concerns[concern]
    names = [cause.id for cause in problem.causes]
    shows = [how_often(tree.shows, one) for one in names]
    shown = 1.0 - (1.0 - frequency(tree.reported_anyway)) * space.fold_product(1.0 - np.array(shows))
    inside = space.fold_product(np.array([float(one in listed) for one in names]))
    weights = belief.weights * shown * inside
    marginals = space.marginals(weights / weights.sum())
    return {one: float(share) for one, share in zip(names, marginals, strict=True) if one in listed}
