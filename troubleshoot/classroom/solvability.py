"""The proof that a drill can be solved with the tools allowed, and how long a good path takes."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass

import msgspec

from troubleshoot.bench.fault_causes import same_cause
from troubleshoot.bench.patients import Patient
from troubleshoot.bench.virtual_bench import BenchCar, compute_cars, reading_texts
from troubleshoot.classroom.drill_file import Drill
from troubleshoot.classroom.key_file import Key, refuse_other_drill
from troubleshoot.classroom.yardstick import Told, Yardstick
from troubleshoot.knowledge.catalogue import Catalogue
from troubleshoot.problems import TroubleshootError
from troubleshoot.proof.policies import POLICIES
from troubleshoot.proof.walk import Problems, WalkResult, walk

HONEST = ("the tool", "two steps ahead", "authored order")
"""Policies that look before they repair; replacing parts by the odds is no path to hold a trainee to."""
QUICK = "authored order"
"""What practice is held against beside the tool itself; both take no time to speak of."""
BY_READINGS = "by what can be read"
"""The path of somebody who knows which readings tell most; what proves a drill that no policy solves."""
SOUND_REPAIRED = 2
"""Repairs of sound parts at most in a path that proves a drill: more is no finding, but changing parts."""
SHOWN = 0.1
"""Probability that the readings must give each cause set for them to have shown it at all."""
WORKING_DAY = 480.0
"""Minutes; a path that takes longer is warned of."""


class DrillUnsolved(TroubleshootError):
    """No policy finds the fault with what the drill allows."""


class DrillDiffers(TroubleshootError):
    """The drill's readings are not those of the car in its key."""


@dataclass(frozen=True)
class Solved:
    """How each policy fared, and the best: the fewest repairs, then the fewest minutes, of those that found it.

    One that found it without a single check was lucky, and is the best only where no other found it.
    """

    results: dict[str, WalkResult]
    best: str

    @property
    def warning(self) -> str:
        """Return in a sentence what is wrong with a drill that can be solved; empty when nothing is."""
        if self.minutes <= WORKING_DAY:
            return ""
        return f"A path of {self.minutes:.0f} minutes is longer than a working day: few trainees will find this."

    @property
    def minutes(self) -> float:
        """Return the minutes of the best policy."""
        return self.results[self.best].minutes


def solve(drill: Drill, key: Key, car: BenchCar, catalogue: Catalogue, policies: Sequence[str] = HONEST) -> Solved:
    """Walk the drill with every policy named; DrillUnsolved when none cures the car."""
    patient = _patient_of(drill, car, catalogue)
    problem = Problems(catalogue).of(patient)
    results = {name: walk(patient, catalogue, problem, POLICIES[name]) for name in policies}
    found = [name for name in policies if finds(results[name])]
    if not found:
        results[BY_READINGS] = _by_readings(patient, key, catalogue)
        found = [BY_READINGS] if finds(results[BY_READINGS]) else []
    if not found:
        tried = "; ".join(f"{name} ends after {one.repairs} repairs" for name, one in results.items() if one.repairs)
        raise DrillUnsolved(
            f"No policy finds {' and '.join(key.causes)} with what is allowed and at most {SOUND_REPAIRED} repairs of"
            f" sound parts, and the readings do not show it ({tried or 'nothing was repaired'}).",
            "Allow more tools, raise the severity, or name the concerns.",
        )
    return _best_of(results)


def _patient_of(drill: Drill, car: BenchCar, catalogue: Catalogue) -> Patient:
    """Return the car of a drill with the tools that the drill allows."""
    allowed = frozenset(catalogue.tools) if drill.tools is None else frozenset(drill.tools)
    return car.patient(0, drill.concerns, frozenset(catalogue.tools) - allowed)


def _best_of(results: dict[str, WalkResult]) -> Solved:
    """Return how each policy fared, with the best of those that found it."""
    found = [name for name, one in results.items() if finds(one)]
    looked = [name for name in found if results[name].checks] or found
    return Solved(results, min(looked, key=lambda name: (results[name].repairs, results[name].minutes, name)))


def finds(result: WalkResult) -> bool:
    """Return whether a walk cured the car, and not by changing one part after the other."""
    return result.cured and result.repairs - len(result.truth) <= SOUND_REPAIRED


def _by_readings(patient: Patient, key: Key, catalogue: Catalogue) -> WalkResult:
    """Return the walk of somebody who takes the readings that tell most and repairs what they put first.

    It is not cured where more sound parts than allowed stand before a cause that is set, or hardly anything shows it.
    """
    seen = Yardstick(key, catalogue)
    tried = [(told, _repairs_by(told, seen, key)) for told in (seen.good, seen.whole)]
    told, repairs = min(tried, key=lambda one: len(one[1]))
    cured = bool(told.checks) and all(seen.probability(told, one) >= SHOWN for one in key.causes)
    minutes = sum(catalogue.causes[one].repair.minutes for one in repairs if one in catalogue.causes)
    readings = key.drill.readings
    return WalkResult(
        patient.case.number, patient.case.engine, patient.reported, key.causes,
        minutes=told.minutes + minutes, checks=len(told.checks), repairs=len(repairs), cured=cured,
        trail=[*(f"{name}: {readings[name]} ({seen.outcome(name)})" for name in told.checks),
               *(f"repair {name}: {'gone' if name == repairs[-1] else 'still there'}" for name in repairs)],
    )  # fmt: skip


def _repairs_by(told: Told, seen: Yardstick, key: Key) -> list[str]:
    """Return the causes repaired in the order of their probability until all that were set are."""
    least = min(seen.probability(told, one) for one in key.causes)
    before = [
        name for name, p in told.probability.items()
        if p > least and not any(same_cause(key.engine, name, one) for one in key.causes)
    ]  # fmt: skip
    return sorted([*before, *key.causes], key=lambda name: -seen.probability(told, name))


def solve_quickly(drill: Drill, car: BenchCar, catalogue: Catalogue) -> Solved:
    """Solve for somebody who waits; DrillUnsolved where the tool itself does not find the fault."""
    patient = _patient_of(drill, car, catalogue)
    problem = Problems(catalogue).of(patient)
    results = {HONEST[0]: walk(patient, catalogue, problem, POLICIES[HONEST[0]])}
    if not finds(results[HONEST[0]]):
        raise DrillUnsolved("The tool itself does not find this fault.", "Draw another car.")
    results[QUICK] = walk(patient, catalogue, problem, POLICIES[QUICK])
    return _best_of(results)


def check_solvable(drill: Drill, key: Key, catalogue: Catalogue) -> Solved:
    """Prove a drill against its key: the car is computed anew, its readings are the drill's, and it can be solved."""
    refuse_other_drill(key, drill)
    car = compute_cars([key.job])[0]
    refuse_differing(drill, car, catalogue)
    return solve(drill, key, car, catalogue)


def proof_lines(solved: Solved) -> Iterator[str]:
    """Yield how each policy fares, and what follows, as lines of at most 79 columns."""
    for name, one in solved.results.items():
        end = "finds it" if finds(one) else "changes too many parts" if one.cured else "does not find it"
        repairs = "1 repair" if one.repairs == 1 else f"{one.repairs} repairs"
        yield f"{name:<18} {end}: {one.minutes:.0f} minutes, {one.checks} checks, {repairs}"
    yield f"The drill can be solved; a good path takes {solved.minutes:.0f} minutes."
    if solved.warning:
        yield f"WARNING: {solved.warning}"


def with_best(key: Key, found: Solved) -> Key:
    """Return the key with the best policy written in."""
    one = found.results[found.best]
    return msgspec.structs.replace(
        key, best_policy=found.best, best_minutes=round(one.minutes, 1), best_trail=tuple(one.trail)
    )


def refuse_differing(drill: Drill, car: BenchCar, catalogue: Catalogue) -> None:
    """Refuse a drill whose readings are not those that the car of its key gives with these trees."""
    gone = sorted(name for name in drill.readings if name not in catalogue.checks)
    if gone:
        raise DrillDiffers(
            f"The drill has a reading for {gone[0]}, which is not in these trees.", "Use the trees it was set with."
        )
    here = reading_texts(catalogue, car.readings[car.job.faults], drill.readings)
    for name, found in here.items():
        if found != drill.readings[name]:
            raise DrillDiffers(
                f"The drill reads {drill.readings[name]} for {name}; the car of its key reads {found}.",
                "Use the program and trees that set the drill, or set it again.",
            )
