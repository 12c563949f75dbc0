"""The example: one case of an invented car, in which the virtual engine answers whenever it is asked."""

from __future__ import annotations

import threading
from collections.abc import Callable, Collection
from typing import TYPE_CHECKING

from troubleshoot.bench.answering import can_answer
from troubleshoot.case.case import Case, Clock, open_case, resume_case
from troubleshoot.case.settings import CaseSettings
from troubleshoot.casebook.store import Casebook
from troubleshoot.classroom.sat_cases import EXAMPLE
from troubleshoot.knowledge.catalogue import Catalogue

if TYPE_CHECKING:
    from troubleshoot.bench.virtual_bench import Result, VirtualBench

CAR, CONCERN, CAUSE = "harrow-240", "wont-rev", "points-floating"
DEGREE, SEED = 1.0, 7
"""How bad the fault is, and the seed that makes the one car."""
NOT_ON_THE_BENCH = "the example's engine has no answer to it"


class ExampleBench:
    """The engine of the example; computed once, in whatever thread first asks for it."""

    def __init__(self, catalogue: Catalogue, repaired: Callable[[], Collection[str]] = tuple) -> None:
        self._catalogue, self._repaired = catalogue, repaired
        self._lock = threading.Lock()
        self._bench: VirtualBench | None = None

    @property
    def ready(self) -> bool:
        """Return whether an answer comes at once."""
        return self._bench is not None

    def computed(self) -> VirtualBench:
        """Return the engine; takes seconds the first time."""
        from troubleshoot.bench.fault_causes import CAUSE_FAULTS
        from troubleshoot.bench.virtual_bench import CarJob, VirtualBench, compute_cars
        from troubleshoot.classroom.drill_maker import engine_of

        with self._lock:
            if self._bench is None:
                job = CarJob(*engine_of(CAR, self._catalogue), ((CAUSE_FAULTS[CAUSE], DEGREE),), SEED)
                self._bench = VirtualBench(compute_cars([job])[0], self._catalogue, (CONCERN,), self._repaired)
            return self._bench

    def read(self, check_id: str) -> str | None:
        """Return what would be typed for a check; None when it cannot be measured."""
        return self.computed().read(check_id)

    def retest(self) -> Result:
        """Return whether the concern is gone, partly gone or still there."""
        return self.computed().retest()


def has_example(catalogue: Catalogue) -> bool:
    """Return whether these trees have what the example is about."""
    return CAR in catalogue.cars and CONCERN in catalogue.concerns and CAUSE in catalogue.causes


def begin_example(casebook: Casebook, catalogue: Catalogue, clock: Clock, settings: CaseSettings) -> Case:
    """Begin the example as a case of the casebook; checks that the engine has no answer to are left out."""
    with casebook.all_or_nothing():
        case = open_case(casebook, catalogue, clock, settings, None, EXAMPLE, {}, left_out=_left_out(catalogue))
        case.start_with(catalogue.cars[CAR], [CONCERN])
    return _on_the_bench(case)


def resume_example(
    casebook: Casebook, catalogue: Catalogue, case_id: str, clock: Clock, settings: CaseSettings
) -> Case:
    """Go on with the example."""
    left_out = _left_out(catalogue)
    return _on_the_bench(resume_case(casebook, catalogue, case_id, clock, settings, proved={}, left_out=left_out))


def _left_out(catalogue: Catalogue) -> dict[str, str]:
    return {name: NOT_ON_THE_BENCH for name in catalogue.checks if not can_answer(name)}


def _on_the_bench(case: Case) -> Case:
    case.bench = ExampleBench(case.catalogue, lambda: case.assessment.repaired)
    return case
