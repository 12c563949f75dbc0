"""One case of the proof: a policy asks, the virtual engine answers, repairs are tried and the car is retested."""

from __future__ import annotations

from collections import Counter
from collections.abc import Callable
from dataclasses import dataclass, field, replace

import msgspec

from troubleshoot.bench.answering import answer, can_answer
from troubleshoot.bench.fault_causes import CAUSE_FAULTS, FAULT_CAUSES, same_cause
from troubleshoot.bench.patients import FaultsPresent, Patient, left_after
from troubleshoot.bench.virtual_bench import as_typed
from troubleshoot.case.assessing import Assessment
from troubleshoot.case.cache import reading_context
from troubleshoot.case.case import Case, case_in_memory
from troubleshoot.case.doubting import doubt
from troubleshoot.case.proposing import Proposal
from troubleshoot.case.settings import CaseSettings
from troubleshoot.knowledge.answers import read_text
from troubleshoot.knowledge.car import Car
from troubleshoot.knowledge.catalogue import Catalogue
from troubleshoot.knowledge.compiling import compile_problem, work_of
from troubleshoot.proof.mistakes import with_mistake
from troubleshoot.reasoning.problem import Problem
from troubleshoot.virtual_engine.population import Day

Policy = Callable[[Assessment, Catalogue], Proposal]
"""Chooses the next step from everything known."""

POPULATION_RATE = 0.03
"""Base rate of each fault of the engine where the rates are to fit the proof's own cases."""

ABSENT_RATE = 1e-6
"""Base rate there of causes that the engine cannot have."""

MOST_STEPS = 120
"""A walk longer than this is given up and counted as a referral."""


@dataclass
class WalkResult:
    """What a walk came to; `ranking` and `stated` are as they were when the first repair was made.

    `in_turn` are the true causes that stood among the first four, of those not yet repaired, when some repair was made
    or the walk ended. `gone`: what was reported is gone, though a fault that shows nothing of it may be left.
    `each_heard`: every fault by itself shows some of what was reported, so that none hides behind another. Before the
    first repair `misread` are the checks that were written down with another outcome than was found, and `doubted`
    those that the tool named to be measured again.
    """

    number: int
    engine: str
    reported: tuple[str, ...]
    truth: tuple[str, ...]
    minutes: float = 0.0
    parts: float = 0.0
    checks: int = 0
    repairs: int = 0
    cured: bool = False
    gone: bool = False
    each_heard: bool = True
    in_turn: tuple[str, ...] = ()
    first_cured: bool = False
    ranking: tuple[str, ...] = ()
    stated: float = 0.0
    trail: list[str] = field(default_factory=list)
    misread: set[str] = field(default_factory=set)
    doubted: set[str] = field(default_factory=set)


@dataclass(frozen=True)
class Conduct:
    """How the technician of the proof works.

    `without` are checks that are not to be had. With `mistakes` readings may be grossly wrong. Who `obeys` takes a
    reading again when the tool asks for it before a repair; who does not keeps what is written.
    """

    without: frozenset[str] = frozenset()
    mistakes: bool = False
    obeys: bool = True


@dataclass
class _Walk:
    """One walk: the case that is driven, the car as it is now, and what has come of it so far."""

    patient: Patient
    catalogue: Catalogue
    conduct: Conduct
    case: Case
    result: WalkResult
    faults: FaultsPresent
    times: Counter[str] = field(default_factory=Counter)


def walk(
    patient: Patient, catalogue: Catalogue, problem: Problem, policy: Policy, conduct: Conduct | None = None
) -> WalkResult:
    """Walk one case to its cure or its end; a check for a tool the case lacks is not to be had."""
    conduct, missing = conduct or Conduct(), patient.case.missing_tools
    left_out = {
        check: "not to be had"
        for check in problem.check_named
        if check in conduct.without or not can_answer(check) or not missing.isdisjoint(catalogue.checks[check].tools)
    }
    case = case_in_memory(
        catalogue, car_of(patient, catalogue), patient.reported, CaseSettings(learn=False),
        compile_for=lambda _car, _concerns: problem, left_out=left_out,
    )  # fmt: skip
    faults = patient.case.faults
    truth = tuple(FAULT_CAUSES[name] for name, _ in faults)
    result = WalkResult(patient.case.number, patient.case.engine, patient.reported, truth)
    result.each_heard = all(remaining(patient, (one,)) > 0.0 for one in faults)
    if patient.day is not None:
        case.take(BAROMETER, as_typed(catalogue.checks[BAROMETER], patient.day.barometer_kpa), sure=True)
    now = _Walk(patient, catalogue, conduct, case, result, faults)
    for _ in range(MOST_STEPS):
        if not result.repairs:
            result.doubted.update(filter(None, [doubt(case.assessment, catalogue)[1]]))
        proposal = policy(case.assessment, catalogue)
        if proposal.kind == "check" and not conduct.obeys and _again(case.assessment, proposal):
            case.skip(proposal.id, "kept as it is written")
            result.trail.append(f"{proposal.id}: kept as it is written")
        elif proposal.kind == "check":
            _take(now, proposal.id)
        elif proposal.kind == "repair":
            if _repair(now, proposal.id):
                result.minutes = case.assessment.minutes
                return result
        else:
            result.trail.append(proposal.kind)
            break
    _note_ranking(now)
    result.minutes = case.assessment.minutes + problem.referral_minutes
    return result


def car_of(patient: Patient, catalogue: Catalogue) -> Car:
    """Return the example car of the trees that stands for the case's engine and ignition."""
    name = patient.case.engine if patient.case.ignition == "points" else f"{patient.case.engine}-electronic"
    return on_the_day(catalogue.cars[name], patient.day)


BAROMETER = "barometer-here"
NOT_MEASURED = "cannot be measured"
"""What a trail says of a check that gave no reading."""


def on_the_day(car: Car, day: Day | None) -> Car:
    """Return the car file with what a driver knows without testing: the pump as fitted, today's air and fuel.

    All else stays as the file has it, the height too: the barometer is read first in a walk.
    """
    if day is None:
        return car
    return msgspec.structs.replace(
        car,
        pump_flow=round(day.pump_rating_lph),
        air_temperature=round(1.8 * day.air_c + 32.0),
        vapour_pressure=min(max(round(day.reid_psi, 1), 4.0), 16.0),
    )


KEPT_PROBLEMS = 16
"""Each car of a population is a problem of its own, of 10 to 60 MB with what has been worked out on it."""


class Problems:
    """The compiled problems of one catalogue, each for its car and concerns, as if every tool were at hand.

    The last ones made are kept.

    With `population` the base rates are those of the proof's own cases: every fault of the engine as often as every
    other, nothing that the engine cannot have, and one at a time unless `pairs`. With `unlisted` the trees know nothing
    of what is wrong with the car: its rate is next to nothing.
    """

    def __init__(
        self, catalogue: Catalogue, population: bool = False, pairs: bool = False, unlisted: bool = False
    ) -> None:
        self._unlisted = unlisted
        self._catalogue = catalogue
        self._rates = population_rates(catalogue) if population else None
        self._one_at_a_time = population and not pairs
        self._made: dict[object, Problem] = {}

    def of(self, patient: Patient) -> Problem:
        """Return the problem that a case poses."""
        causes = (
            frozenset(FAULT_CAUSES[name] for name, _ in patient.case.faults) if self._unlisted else frozenset[str]()
        )
        key = (patient.case.engine, patient.case.ignition, patient.reported, patient.day, causes)
        if key not in self._made:
            car = car_of(patient, self._catalogue)
            rates = self._rates if not causes else dict.fromkeys(causes, ABSENT_RATE)
            problem = compile_problem(self._catalogue, car, patient.reported, None, rates)
            if len(self._made) >= KEPT_PROBLEMS:
                del self._made[next(iter(self._made))]
            self._made[key] = replace(problem, most_at_once=1) if self._one_at_a_time else problem
        return self._made[key]


def population_rates(catalogue: Catalogue) -> dict[str, float]:
    """Return base rates that fit the cases of the proof: even over what it can have, hardly any else."""
    return {cause: POPULATION_RATE if cause in CAUSE_FAULTS else ABSENT_RATE for cause in catalogue.causes}


def _again(seen: Assessment, proposal: Proposal) -> bool:
    """Return whether a reading that counts now is to be taken again."""
    return proposal.id in seen.taken and proposal.id in seen.latest


def _take(now: _Walk, name: str) -> None:
    case, result, check = now.case, now.result, now.catalogue.checks[name]
    found = answer(name, check, now.patient.readings[now.faults])
    if found is None:
        case.skip(name, NOT_MEASURED)
        result.trail.append(f"{name}: {NOT_MEASURED}")
        return
    written = found
    if now.conduct.mistakes:
        key = (now.patient.case.number, sum(ord(letter) * (place + 1) for place, letter in enumerate(name)))
        written = with_mistake(check, found, key, now.times[name])
    now.times[name] += 1
    case.take(name, as_typed(check, written), sure=True)
    read = case.assessment.latest[name]
    if written != found and not result.repairs:
        context = reading_context(case.assessment, now.catalogue, "us")
        if read.outcome != read_text(check, as_typed(check, found), context, sure=True).outcome:
            result.misread.add(name)
    result.checks += 1
    result.parts += check.parts
    result.trail.append(f"{name}: {read.shown} ({read.outcome})")


def _note_ranking(now: _Walk) -> None:
    """Note the order at the first repair, and which true causes stand in the first four at this one."""
    result, seen = now.result, now.case.assessment
    assert seen.belief is not None
    ranked = seen.belief.ranked()
    if not result.ranking:
        result.ranking = tuple(one.cause for one in ranked[:6])
        result.stated = ranked[0].probability
    leading = [one.cause for one in ranked if one.cause not in seen.repaired][:4]
    for name, _ in now.faults:
        truth = FAULT_CAUSES[name]
        if truth not in result.in_turn and any(same_cause(result.engine, truth, cause) for cause in leading):
            result.in_turn += (truth,)


def _repair(now: _Walk, cause: str) -> bool:
    """Make a repair and retest; return whether the walk is over with everything cured."""
    _note_ranking(now)
    case, result = now.case, now.result
    case.repair(cause)
    result.repairs += 1
    result.parts += now.catalogue.causes[cause].repair.parts
    gone = frozenset(name for name, _ in now.faults if _puts_right(now, cause, FAULT_CAUSES[name]))
    now.faults = left_after(now.faults, gone)
    remains = remaining(now.patient, now.faults)
    said = "gone" if remains == 0.0 else "partly" if remains < 1.0 else "still"
    case.retest(said)
    result.trail.append(f"repair {cause}: {'still there' if said == 'still' else said}")
    if said == "gone":
        result.cured, result.gone = not now.faults, True
        result.first_cured = result.cured and result.repairs == 1
    return said == "gone"


def _puts_right(now: _Walk, repaired: str, cause: str) -> bool:
    """Return whether repairing one cause puts another right: it is the same to find, or the same work."""
    same_work = work_of(now.catalogue, repaired) == work_of(now.catalogue, cause)
    return same_work or same_cause(now.result.engine, cause, repaired)


def remaining(patient: Patient, faults: FaultsPresent) -> float:
    """Return how much of what was reported remains: 1 all of it, 0 none, a half some of it."""
    left = set(patient.reported) & patient.concerns[faults]
    if not left:
        return 0.0
    return 1.0 if len(left) == len(patient.reported) else 0.5
