"""Readings of one car held against each other: which two, and the sum as a line of the trail."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import replace

from troubleshoot.calculations.units import Measured, convert, show_number, show_worked_out, with_unit
from troubleshoot.case.events import LeakRepaired, ReadingTaken, RepairMade
from troubleshoot.case.folding import CaseState
from troubleshoot.case.view import TrailLine
from troubleshoot.knowledge.against import against_checks, against_id, held_against
from troubleshoot.knowledge.answers import InterpretedReading, ReadingContext, understood_value
from troubleshoot.knowledge.car import Car
from troubleshoot.knowledge.catalogue import Catalogue
from troubleshoot.knowledge.evidence import compared
from troubleshoot.reasoning.events import Evidence


def held_together(
    state: CaseState, understood: Mapping[int, InterpretedReading], catalogue: Catalogue
) -> dict[int, int]:
    """Return for each number that is held against another the place of that other one in the event list.

    Both were read since the same repair; of a check that was read twice since, the last reading counts.
    """
    found: dict[int, int] = {}
    latest: dict[str, int] = {}
    for one in [*state.done, None]:
        if one is None or isinstance(one.event, RepairMade | LeakRepaired):
            for name, at in latest.items():
                against = catalogue.checks[name].against
                if against is not None and against.check in latest:
                    found[at] = latest[against.check]
            latest = {}
        elif isinstance(one.event, ReadingTaken) and one.index in understood:
            latest[one.event.check] = one.index
    return found


def with_comparisons(
    evidence: Mapping[int, Evidence],
    state: CaseState,
    understood: Mapping[int, InterpretedReading],
    catalogue: Catalogue,
    car: Car,
) -> dict[int, Evidence]:
    """Return the evidence with each reading held against the one it is to be held against, where that counts too."""
    made = {at: one if one.compared is None else replace(one, compared=None) for at, one in evidence.items()}
    for at, other in held_together(state, understood, catalogue).items():
        if at in made and other in made:
            name = made[at].check
            said = compared(name, catalogue.checks[name], understood[at], understood[other], catalogue.causes, car)
            made[at] = replace(made[at], compared=said)
    return made


def sum_line(
    index: int,
    read: InterpretedReading,
    other: InterpretedReading,
    check: str,
    catalogue: Catalogue,
    car: Car,
    at: float,
) -> TrailLine | None:
    """Return the line of the trail that works out what two readings say together; None where they are no numbers."""
    known = catalogue.checks[check]
    against = known.against
    if against is None or read.value is None or other.value is None:
        return None
    held = held_against(
        against, read.unit, (read.value, read.uncertainty or 0.0), other.unit, (other.value, other.uncertainty or 0.0)
    )
    if held is None:
        return None
    made = against_checks({check: known})[against_id(check)]
    value, spread, _ = held
    said = understood_value(made, value, spread, ReadingContext(car, {}, catalogue.checks, None))
    first, second = (show_number(one) for one in (read.value, convert(other.value, other.unit, read.unit)))
    shown = show_worked_out(Measured(value, spread, against.reading.unit, ""))
    if against.as_ == "difference":
        second = f"({second})" if other.value < 0 else second
        sum_ = f"{with_unit(f'{first} − {second}', read.unit)} = {shown}"
    else:
        sum_ = f"{with_unit(f'{first} / {second}', read.unit)} = {shown}"
    return TrailLine(index, 0, "sum", "", against.ask, sum_, said.words, said.normal, 0.0, at)
