"""What a state of the case comes to: its readings among their bands, what is believed, what is in place."""

from __future__ import annotations

from collections.abc import Callable, Mapping
from dataclasses import dataclass, field
from functools import cached_property
from typing import Any, assert_never

import msgspec

from troubleshoot.calculations.units import Measured as Quantity
from troubleshoot.case.comparing import with_comparisons
from troubleshoot.case.events import (
    Answer,
    Aside,
    CautionAcknowledged,
    CheckChosen,
    CheckSkipped,
    Closed,
    FuelSmelt,
    LeakRepaired,
    Measured,
    Opened,
    ReadingCorrected,
    ReadingTaken,
    RepairMade,
    Retested,
    Seen,
    Setting,
    Undone,
)
from troubleshoot.case.folding import CaseState
from troubleshoot.case.happened import LEAK_CAUSE, happened_of
from troubleshoot.knowledge.answers import (
    InterpretedReading,
    ReadingContext,
    ReadingRefused,
    System,
    understood_outcome,
    understood_value,
)
from troubleshoot.knowledge.car import CAR_FIELDS, Car, car_from
from troubleshoot.knowledge.catalogue import Catalogue
from troubleshoot.knowledge.evidence import evidence_of, evidence_rests_on
from troubleshoot.knowledge.hazards import runs_before
from troubleshoot.knowledge.limits import limits_rest_on
from troubleshoot.knowledge.model import Check
from troubleshoot.problems import TroubleshootError
from troubleshoot.reasoning import belief as beliefs
from troubleshoot.reasoning.belief import Belief
from troubleshoot.reasoning.doubting import Doubted, doubted
from troubleshoot.reasoning.events import Evidence, Happening
from troubleshoot.reasoning.problem import Problem

Compile = Callable[[Car, tuple[str, ...]], Problem]


@dataclass(frozen=True)
class Assessment:
    """Everything known about a case at one moment; made once after each event.

    What is believed is worked out when it is first asked for, and taken over from a moment at which the same was known.
    """

    state: CaseState
    car: Car
    understood: Mapping[int, InterpretedReading]
    latest: Mapping[str, InterpretedReading]
    taken: frozenset[str]
    skipped: Mapping[str, str]
    in_place: frozenset[str]
    repaired: tuple[str, ...]
    minutes: float
    pressure_down: bool
    """The fuel pressure was let down, and the pump has not run since."""
    notices: tuple[str, ...]
    problem: Problem | None
    happened: tuple[Happening, ...]
    evidence: Mapping[int, Evidence]
    """By the place of its reading in the event list."""
    same_as: Assessment | None = field(default=None, repr=False, compare=False)

    @cached_property
    def belief(self) -> Belief | None:
        """What is believed; None while there is no concern."""
        if self.same_as is not None:
            return self.same_as.belief
        return beliefs.believe(self.problem, self.happened) if self.problem is not None else None

    @cached_property
    def repairs_made(self) -> frozenset[str]:
        """The repairs of this problem that have been made."""
        causes = self.problem.causes if self.problem is not None else ()
        return frozenset(cause.repair for cause in causes if cause.repair and cause.id in self.repaired)

    @cached_property
    def doubted(self) -> Doubted | None:
        """The reading since the last repair that is best taken again, if any is doubtful; one alone never is."""
        readings = beliefs.last_readings(self.happened)
        if self.belief is None or self.belief.nothing_fits or len(readings) < 2:
            return None
        return doubted(self.belief, readings, self.in_place, self.repairs_made)


def assess(
    state: CaseState,
    catalogue: Catalogue,
    compile_for: Compile,
    system: System,
    before: Assessment | None = None,
    left_out: Mapping[str, str] | None = None,
) -> Assessment:
    """Return what a state comes to under these trees; what the trees no longer know becomes a notice.

    What the moment `before` came to is taken over where nothing that bears on it has happened since.
    `left_out` are checks that cannot be had in this case at all, and why.
    """
    notices: list[str] = list(_trees_notices(state, catalogue))
    car = _car(state.car, notices)
    known = tuple(one for one in state.concerns if one in catalogue.concerns)
    for gone in [one for one in state.concerns if one not in known]:
        notices.append(f"The concern “{gone}” is no longer in the trees and is not counted.")
    problem = compile_for(car, known) if known else None
    understood = _understand_all(state, catalogue, car, system, notices, before)
    evidence = _evidence(state, understood, problem, catalogue, car, before)
    happened = happened_of(state, evidence, problem)
    same = before if before is not None and before.problem is problem and before.happened == happened else None
    progress = _gone_through(state, catalogue, problem, left_out or {})
    latest = {
        one.event.check: understood[one.index]
        for one in state.done
        if isinstance(one.event, ReadingTaken) and one.index in understood
    }
    return Assessment(
        state, car, understood, latest, frozenset(progress.taken), progress.skipped, frozenset(progress.in_place),
        tuple(progress.repaired), progress.minutes, progress.pressure_down, tuple(notices), problem, happened, evidence,
        (same.same_as or same) if same is not None else None,
    )  # fmt: skip


@dataclass
class _Progress:
    """What has been done so far, gathered while the events are gone through."""

    taken: set[str]
    skipped: dict[str, str]
    in_place: set[str]
    repaired: list[str]
    minutes: float = 0.0
    pressure_down: bool = False
    """Whether the fuel pressure was let down and the pump has not run since."""
    asked_down: bool = False
    """Whether the procedure was read for a check that is not made yet: that it was followed, only the reading says."""


def _gone_through(
    state: CaseState, catalogue: Catalogue, problem: Problem | None, left_out: Mapping[str, str]
) -> _Progress:
    progress = _Progress(set(), dict(left_out), set(), [])
    for one in state.done:
        match one.event:
            case ReadingTaken(check=check, minutes=minutes):
                progress.taken.add(check)
                progress.skipped.pop(check, None)
                progress.minutes += minutes
                put_in_place(catalogue, check, progress.in_place)
                progress.pressure_down = progress.pressure_down and leaves_pressure_down(catalogue, check)
                progress.asked_down = False
            case CheckSkipped(check=check, why=why):
                _not_followed(progress)
                progress.taken.discard(check)
                progress.skipped[check] = why
            case RepairMade(cause=cause, minutes=minutes):
                progress.minutes += minutes
                _repaired(progress, catalogue, cause)
            case LeakRepaired():
                progress.pressure_down = False
                if leak_may_be_it(problem):
                    _repaired(progress, catalogue, LEAK_CAUSE)
            case FuelSmelt():
                progress.pressure_down = False
            case CautionAcknowledged(caution=caution):
                if lasts(catalogue, caution):
                    progress.pressure_down = progress.asked_down = True
            case CheckChosen():
                _not_followed(progress)
            case Opened() | Setting() | Retested() | Closed() | Aside():
                pass
            case ReadingCorrected() | Undone():
                raise AssertionError("these never stand")
            case never:
                assert_never(never)
    return progress


def _not_followed(progress: _Progress) -> None:
    """Forget a procedure that was read for a check which is then left out or put off."""
    if progress.asked_down:
        progress.pressure_down = progress.asked_down = False


def leaves_pressure_down(catalogue: Catalogue, check: str) -> bool:
    """Return whether a line that holds no pressure holds none after this check: the pump never ran for it."""
    known = catalogue.checks.get(check)
    if known is None:
        return True
    setup = catalogue.setups.get(known.setup or "")
    return known.state == "key off" and (setup is None or setup.state == "key off") and not runs_before(known.do)


def lasts(catalogue: Catalogue, caution: str) -> bool:
    """Return whether a caution is the procedure that lasts until the pump runs."""
    return caution in catalogue.cautions and catalogue.cautions[caution].until == "pump runs"


def _repaired(progress: _Progress, catalogue: Catalogue, cause: str) -> None:
    """Note a repair: what it moved may be read again, and the set-ups it takes away are gone."""
    progress.pressure_down = False
    progress.repaired.append(cause)
    moved = {name for name in progress.taken if name in catalogue.checks and cause in catalogue.checks[name].moved_by}
    progress.taken -= moved
    if cause in catalogue.causes:
        progress.in_place -= set(catalogue.causes[cause].repair.undoes)


def leak_may_be_it(problem: Problem | None) -> bool:
    """Return whether what is complained of can come from a fuel leak."""
    leak = problem.cause_named.get(LEAK_CAUSE) if problem is not None else None
    return leak is not None and not leak.incidental


def put_in_place(catalogue: Catalogue, check: str, in_place: set[str]) -> None:
    """Add a check's set-up to those in place and take away those it undoes."""
    known = catalogue.checks.get(check)
    new = known.setup if known else None
    if new is None or new in in_place:
        return
    in_place -= {old for old in in_place if old in catalogue.setups and new in catalogue.setups[old].undone_by}
    in_place.add(new)


def _understand_all(
    state: CaseState, catalogue: Catalogue, car: Car, system: System, notices: list[str], before: Assessment | None
) -> dict[int, InterpretedReading]:
    """Return where every standing reading falls, with limits worked out from all the readings there are.

    What was understood the moment `before` is taken over where no number that the limits rest on has changed.
    """
    values = numbers_read(state, catalogue)
    kept = before.understood if before is not None and before.car == car else {}
    earlier = numbers_read(before.state, catalogue) if before is not None and kept else {}
    events = {one.index: one.event for one in before.state.done} if before is not None and kept else {}
    made: dict[int, InterpretedReading] = {}
    changed = state.opened is not None and state.opened.trees != catalogue.version
    for one in state.done:
        event = one.event
        if not isinstance(event, ReadingTaken):
            continue
        check = catalogue.checks.get(event.check)
        if check is None:
            words = f"The check “{event.check}” is no longer in the trees; its reading is kept and not counted."
            notices += [] if words in notices else [words]
            continue
        same = one.index in kept and events.get(one.index) == event
        if same and all(values.get(name) == earlier.get(name) for name in limits_rest_on(check)):
            found = kept[one.index]
        else:
            others = {name: value for name, value in values.items() if name != event.check}
            try:
                found = _found(check, event.answer, ReadingContext(car, others, catalogue.checks, system))
            except TroubleshootError as problem:
                notices.append(f"“{check.ask}” ({event.typed}) is not counted: {problem.sentence}")
                continue
        if changed and event.answer.outcome and found.outcome != event.answer.outcome:
            then = f"was {event.answer.outcome} with the old trees, now {found.outcome}"
            notices.append(f"“{check.ask}” ({event.typed}) {then}.")
        made[one.index] = found
    return made


def _found(check: Check, answer: Answer, context: ReadingContext) -> InterpretedReading:
    """Return where an answer falls with the trees as they are now; TroubleshootError where it is none any more."""
    match answer:
        case Measured(value=value, uncertainty=uncertainty, unit=unit):
            if check.reading is not None and unit in ("", check.reading.unit):
                return understood_value(check, value, uncertainty, context)
        case Seen(outcome=outcome):
            if outcome in check.outcomes:
                return understood_outcome(check, outcome)
        case never:
            assert_never(never)
    raise ReadingRefused("the check is answered differently now.")


def numbers_read(state: CaseState, catalogue: Catalogue) -> dict[str, float | Quantity]:
    """Return the latest number of every check that was measured, with its uncertainty."""
    values: dict[str, float | Quantity] = {}
    for one in state.done:
        event = one.event
        if isinstance(event, ReadingTaken) and event.check in catalogue.checks:
            values.pop(event.check, None)
            match event.answer:
                case Measured(value=value, uncertainty=uncertainty, unit=unit):
                    reading = catalogue.checks[event.check].reading
                    unit = unit or (reading.unit if reading is not None else "")
                    values[event.check] = Quantity(value, uncertainty, unit, "") if unit else value
                case Seen():
                    pass
                case never:
                    assert_never(never)
    return values


def _evidence(
    state: CaseState,
    understood: Mapping[int, InterpretedReading],
    problem: Problem | None,
    catalogue: Catalogue,
    car: Car,
    before: Assessment | None,
) -> dict[int, Evidence]:
    """Return every reading that counts as evidence; what it was the moment `before` is taken over where that holds."""
    if problem is None:
        return {}
    numbers = numbers_read(state, catalogue)
    kept = before.evidence if before is not None and before.car == car else {}
    earlier = numbers_read(before.state, catalogue) if before is not None and kept else {}
    made: dict[int, Evidence] = {}
    for one in state.done:
        if not (isinstance(one.event, ReadingTaken) and one.index in understood):
            continue
        name, read = one.event.check, understood[one.index]
        if name not in problem.check_named:
            continue
        check = catalogue.checks[name]
        same = one.index in kept and before is not None and before.understood.get(one.index) is read
        if same and all(numbers.get(other) == earlier.get(other) for other in evidence_rests_on(check)):
            made[one.index] = kept[one.index]
        else:
            others = {other: number for other, number in numbers.items() if other != name}
            made[one.index] = evidence_of(name, check, read, catalogue.causes, car, others, catalogue.checks)
    return with_comparisons(made, state, understood, catalogue, car)


def _car(values: Mapping[str, Any] | None, notices: list[str]) -> Car:
    """Return the car as entered; what no longer fits falls back to its usual value and is said."""
    if values is None:
        return Car()
    try:
        return car_from(dict(values))
    except (msgspec.ValidationError, TypeError):
        pass
    kept: dict[str, Any] = {}
    for name, value in values.items():
        try:
            car_from({name: value})
        except (msgspec.ValidationError, TypeError):
            state = "is not known here" if name not in CAR_FIELDS else f"cannot be {str(value)[:30]!r}"
            notices.append(f"The car's “{name[:40]}” {state}; its usual value is used.")
        else:
            kept[name] = value
    return car_from(kept)


def _trees_notices(state: CaseState, catalogue: Catalogue) -> list[str]:
    notices = []
    if state.opened is not None and state.opened.trees != catalogue.version:
        notices.append(
            "This case was begun with other trees; its readings are counted as these trees would. "
            f"(then {state.opened.trees[:8] or 'unknown'}, now {catalogue.version[:8] or 'unknown'})"
        )
    if catalogue.own_overrides:
        names = ", ".join(catalogue.own_overrides[:6]) + (" …" if len(catalogue.own_overrides) > 6 else "")
        notices.append(f"Your own trees stand in place of the shipped ones for: {names}.")
    errors = sum(1 for fault in catalogue.faults if fault.level == "error")
    if errors:
        notices.append(f"The trees have {errors} faults; what is faulty is left out. `troubleshoot lint` lists them.")
    return notices
