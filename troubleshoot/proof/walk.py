"""One case of the proof: a policy asks, the virtual engine answers, repairs are tried and the car is retested."""

from __future__ import annotations

from collections.abc import Callable, Mapping
from dataclasses import dataclass, field, replace

import msgspec

from troubleshoot.bench.answering import answer, can_answer
from troubleshoot.bench.fault_causes import CAUSE_FAULTS, FAULT_CAUSES, same_cause
from troubleshoot.bench.patients import FaultsPresent, Patient, left_after
from troubleshoot.case.assessing import Assessment, put_in_place
from troubleshoot.case.explaining import doubt
from troubleshoot.case.folding import CaseState
from troubleshoot.case.proposing import Proposal
from troubleshoot.knowledge.answers import InterpretedReading, understood_outcome
from troubleshoot.knowledge.bands import bands_for, share_in_bands
from troubleshoot.knowledge.car import Car
from troubleshoot.knowledge.catalogue import Catalogue
from troubleshoot.knowledge.compiling import compile_problem
from troubleshoot.knowledge.evidence import evidence_of
from troubleshoot.knowledge.model import Check
from troubleshoot.knowledge.signatures import Signatures
from troubleshoot.proof.mistakes import with_mistake
from troubleshoot.reasoning.belief import Belief, believe
from troubleshoot.reasoning.events import Evidence, Happening, Repaired, Retested
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
    `each_heard`: every fault by itself shows some of what was reported, so that none hides behind another.
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


@dataclass(frozen=True)
class Conduct:
    """How the technician of the proof works: which checks are not to be had, whether readings may be grossly wrong.

    `obeys`: a reading that the tool asks to be measured again is measured again, once.
    """

    without: frozenset[str] = frozenset()
    mistakes: bool = False
    obeys: bool = False


@dataclass
class _Walk:
    """What is known and done so far in one walk."""

    patient: Patient
    car: Car
    faults: FaultsPresent
    conduct: Conduct
    again: set[str] = field(default_factory=set)
    happened: list[Happening] = field(default_factory=list)
    latest: dict[str, InterpretedReading] = field(default_factory=dict)
    numbers: dict[str, float] = field(default_factory=dict)
    taken: set[str] = field(default_factory=set)
    skipped: dict[str, str] = field(default_factory=dict)
    in_place: set[str] = field(default_factory=set)
    repaired: list[str] = field(default_factory=list)


def walk(
    patient: Patient, catalogue: Catalogue, problem: Problem, policy: Policy, conduct: Conduct | None = None
) -> WalkResult:
    """Walk one case to its cure or its end; a check for a tool the case lacks is not to be had."""
    car = car_of(patient, catalogue)
    conduct = conduct or Conduct()
    without = conduct.without
    now = _Walk(patient, car, patient.case.faults, conduct)
    missing = patient.case.missing_tools
    now.skipped.update({
        check: "not to be had"
        for check in problem.check_named
        if check in without or not can_answer(check) or not missing.isdisjoint(catalogue.checks[check].tools)
    })  # fmt: skip
    result = WalkResult(
        patient.case.number, patient.case.engine, patient.reported, tuple(FAULT_CAUSES[name] for name, _ in now.faults)
    )
    result.each_heard = all(remaining(patient, (one,)) > 0.0 for one in now.faults)
    for _ in range(MOST_STEPS):
        belief = believe(problem, now.happened)
        seen = _assessment(now, problem, belief)
        doubtful = _to_measure_again(now, seen, catalogue)
        if doubtful:
            _take(now, doubtful, catalogue, result)
            continue
        proposal = policy(seen, catalogue)
        if proposal.kind == "check":
            _take(now, proposal.id, catalogue, result)
        elif proposal.kind == "repair":
            if _mend(now, proposal.id, catalogue, belief, result):
                return result
        else:
            result.trail.append(proposal.kind)
            break
    _note_ranking(now, result, believe(problem, now.happened))
    result.minutes += problem.referral_minutes
    return result


def car_of(patient: Patient, catalogue: Catalogue) -> Car:
    """Return the example car of the trees that stands for the case's engine and ignition."""
    name = patient.case.engine if patient.case.ignition == "points" else f"{patient.case.engine}-electronic"
    return on_the_day(catalogue.cars[name], patient.day)


FEET_PER_M = 1 / 0.3048


def on_the_day(car: Car, day: Day | None) -> Car:
    """Return the car file with what a driver knows without testing: the pump as fitted, today's air and barometer.

    All else stays as the file has it. The barometer goes in as the height at which the standard atmosphere has it.
    """
    if day is None:
        return car
    height_m = (1.0 - (day.barometer_kpa / 101.325) ** (1 / 5.25588)) / 2.25577e-5
    return msgspec.structs.replace(
        car,
        pump_flow=round(day.pump_rating_lph),
        air_temperature=round(1.8 * day.air_c + 32.0),
        altitude=round(height_m * FEET_PER_M),
        vapour_pressure=min(max(round(day.reid_psi, 1), 4.0), 16.0),
    )


class Problems:
    """The compiled problems of one catalogue, each made once for its car and concerns, as if every tool were at hand.

    With `population` the base rates are those of the proof's own cases: every fault of the engine as often as every
    other, nothing that the engine cannot have, and one at a time unless `pairs`.
    """

    def __init__(self, catalogue: Catalogue, population: bool = False, pairs: bool = False) -> None:
        self._catalogue = catalogue
        self._signatures = Signatures(catalogue.checks, catalogue.causes)
        self._rates = population_rates(catalogue) if population else None
        self._one_at_a_time = population and not pairs
        self._made: dict[object, Problem] = {}

    def of(self, patient: Patient) -> Problem:
        """Return the problem that a case poses."""
        key = (patient.case.engine, patient.case.ignition, patient.reported, patient.day)
        if key not in self._made:
            car = car_of(patient, self._catalogue)
            problem = compile_problem(
                self._catalogue, car, patient.reported, None, self._rates, signatures=self._signatures
            )
            self._made[key] = replace(problem, most_at_once=1) if self._one_at_a_time else problem
        return self._made[key]


def population_rates(catalogue: Catalogue) -> dict[str, float]:
    """Return base rates that fit the cases of the proof: even over what it can have, hardly any else."""
    return {cause: POPULATION_RATE if cause in CAUSE_FAULTS else ABSENT_RATE for cause in catalogue.causes}


def _assessment(now: _Walk, problem: Problem, belief: Belief) -> Assessment:
    state = CaseState(None, None, now.patient.reported, "", None, (), {}, None, False, None)
    return Assessment(
        state, now.car, {}, now.latest, frozenset(now.taken), now.skipped, frozenset(now.in_place),
        tuple(now.repaired), 0.0, False, (), problem, belief, tuple(now.happened),
    )  # fmt: skip


def _to_measure_again(now: _Walk, seen: Assessment, catalogue: Catalogue) -> str:
    """Return the check that is to be measured again, its reading struck out; "" where there is none."""
    if not now.conduct.obeys:
        return ""
    _, check = doubt(seen, catalogue)
    if not check or check in now.again or check not in now.taken:
        return ""
    now.again.add(check)
    now.happened = [one for one in now.happened if not (isinstance(one, Evidence) and one.check == check)]
    return check


def _take(now: _Walk, name: str, catalogue: Catalogue, result: WalkResult) -> None:
    check = catalogue.checks[name]
    found = answer(name, check, now.patient.readings[now.faults])
    if found is None:
        now.skipped[name] = "cannot be measured"
        result.trail.append(f"{name}: cannot be measured")
        return
    if now.conduct.mistakes:
        key = (now.patient.case.number, sum(ord(letter) * (place + 1) for place, letter in enumerate(name)))
        found = with_mistake(check, found, key, int(name in now.again) + len(now.repaired) * 2)
    result.minutes += check.minutes
    result.parts += check.parts
    if check.setup and check.setup in catalogue.setups and check.setup not in now.in_place:
        result.minutes += catalogue.setups[check.setup].minutes
    put_in_place(catalogue, name, now.in_place)
    result.checks += 1
    read = _understood(check, found, now, catalogue.checks)
    if isinstance(found, float):
        now.numbers[name] = found
    now.latest[name] = read
    now.taken.add(name)
    others = {one: value for one, value in now.numbers.items() if one != name}
    spread = read.uncertainty or 0.0
    now.happened.append(
        evidence_of(name, check, read.shares, catalogue.causes, now.car, read.value, spread, others, catalogue.checks)
    )
    result.trail.append(f"{name}: {read.shown} ({read.outcome})")


def _understood(check: Check, found: float | str, now: _Walk, checks: Mapping[str, Check]) -> InterpretedReading:
    if isinstance(found, str) or check.reading is None:
        return understood_outcome(check, str(found))
    bands = bands_for(check, now.car, now.numbers, checks)
    shares = share_in_bands(found, check.reading.uncertainty, bands)
    outcome = bands[max(range(len(bands)), key=shares.__getitem__)].outcome
    unit = check.reading.unit
    shown = f"{found:.4g} {unit}"
    return InterpretedReading(found, check.reading.uncertainty, unit, outcome, outcome, "", shares, None, shown)


def _note_ranking(now: _Walk, result: WalkResult, belief: Belief) -> None:
    """Note the order at the first repair, and which true causes stand in the first four at this one."""
    ranked = belief.ranked()
    if not result.ranking:
        result.ranking = tuple(one.cause for one in ranked[:6])
        result.stated = ranked[0].probability
    leading = [one.cause for one in ranked if one.cause not in now.repaired][:4]
    for name, _ in now.faults:
        truth = FAULT_CAUSES[name]
        if truth not in result.in_turn and any(same_cause(result.engine, truth, cause) for cause in leading):
            result.in_turn += (truth,)


def _mend(now: _Walk, cause: str, catalogue: Catalogue, belief: Belief, result: WalkResult) -> bool:
    """Make a repair and retest; return whether the walk is over with everything cured."""
    _note_ranking(now, result, belief)
    repair = catalogue.causes[cause].repair
    result.minutes += repair.minutes
    result.parts += repair.parts
    result.repairs += 1
    now.repaired.append(cause)
    now.in_place -= set(repair.undoes)
    mended = frozenset(name for name, _ in now.faults if same_cause(now.patient.case.engine, FAULT_CAUSES[name], cause))
    now.faults = left_after(now.faults, mended)
    remains = remaining(now.patient, now.faults)
    now.happened += [Repaired(cause), Retested(remains)]
    now.taken -= {name for name in now.taken if cause in catalogue.checks[name].moved_by}
    result.trail.append(f"repair {cause}: {'gone' if remains == 0.0 else 'partly' if remains < 1.0 else 'still there'}")
    if remains == 0.0:
        result.cured, result.gone = not now.faults, True
        result.first_cured = result.cured and result.repairs == 1
        return True
    return False


def remaining(patient: Patient, faults: FaultsPresent) -> float:
    """Return how much of what was reported remains: 1 all of it, 0 none, a half some of it."""
    left = set(patient.reported) & patient.concerns[faults]
    if not left:
        return 0.0
    return 1.0 if len(left) == len(patient.reported) else 0.5
