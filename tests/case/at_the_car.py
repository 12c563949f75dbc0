"""The shipped trees walked through a case: what was read so far, and what is asked next."""

from __future__ import annotations

from troubleshoot.case.case import Case, open_case
from troubleshoot.casebook.store import IN_MEMORY, Casebook
from troubleshoot.knowledge.catalogue import Catalogue, car_with


def read(
    shipped: Catalogue, concern: str, readings: dict[str, str], car: str = "harrow-240", **differs: float | str | bool
) -> Case:
    case = open_case(Casebook(IN_MEMORY), shipped, lambda: 1.7e9)
    differing = {name.replace("_", "-"): value for name, value in differs.items()}
    case.start_with(car_with(shipped, car, differing), [concern])
    for check, text in readings.items():
        case.take(check, text)
    return case


def next_check(case: Case) -> str:
    """Return the check that is proposed, also where a caution stands before it."""
    step = case.view().behind or case.view().step
    assert step.check is not None, step.kind
    return step.check.id
