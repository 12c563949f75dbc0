"""The proof that a drill can be solved with the tools allowed, and how long a good path takes."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass

import msgspec

from troubleshoot.bench.virtual_bench import BenchCar, compute_cars, reading_texts
from troubleshoot.classroom.drill_file import Drill
from troubleshoot.classroom.key_file import Key, refuse_other_drill
from troubleshoot.knowledge.catalogue import Catalogue
from troubleshoot.problems import TroubleshootError
from troubleshoot.proof.policies import POLICIES
from troubleshoot.proof.walk import Problems, WalkResult, walk

HONEST = ("the tool", "two steps ahead", "authored order")
"""Policies that look before they repair; replacing parts by the odds is no path to hold a trainee to."""
QUICK = ("the tool", "authored order")
"""Those of them that take no time to speak of."""


class DrillUnsolved(TroubleshootError):
    """No policy finds the fault with what the drill allows."""


class DrillDiffers(TroubleshootError):
    """The drill's readings are not those of the car in its key."""


@dataclass(frozen=True)
class Solved:
    """How each policy fared, and the best: the fewest repairs, then the fewest minutes, of those that cured the car.

    One that cured it without a single check was lucky, and is the best only where no other found it.
    """

    results: dict[str, WalkResult]
    best: str

    @property
    def minutes(self) -> float:
        """Return the minutes of the best policy."""
        return self.results[self.best].minutes


def solve(drill: Drill, key: Key, car: BenchCar, catalogue: Catalogue, policies: Sequence[str] = HONEST) -> Solved:
    """Walk the drill with every policy named; DrillUnsolved when none cures the car."""
    allowed = frozenset(catalogue.tools) if drill.tools is None else frozenset(drill.tools)
    patient = car.patient(0, drill.concerns, frozenset(catalogue.tools) - allowed)
    problem = Problems(catalogue).of(patient)
    results = {name: walk(patient, catalogue, problem, POLICIES[name]) for name in policies}
    cured = [name for name in policies if results[name].cured]
    if not cured:
        tried = "; ".join(f"{name} ends after {one.repairs} repairs" for name, one in results.items())
        raise DrillUnsolved(
            f"No policy finds {' and '.join(key.causes)} with what is allowed ({tried}).",
            "Allow more tools, raise the severity, or name the concerns.",
        )
    looked = [name for name in cured if results[name].checks] or cured
    return Solved(results, min(looked, key=lambda name: (results[name].repairs, results[name].minutes, name)))


def solve_quickly(drill: Drill, key: Key, car: BenchCar, catalogue: Catalogue) -> Solved:
    """Solve for somebody who waits: by the quick policies, and only where the tool itself finds the fault."""
    solve(drill, key, car, catalogue, QUICK[:1])
    return solve(drill, key, car, catalogue, QUICK)


def check_solvable(drill: Drill, key: Key, catalogue: Catalogue) -> Solved:
    """Prove a drill against its key: the car is computed anew, its readings are the drill's, and it can be solved."""
    refuse_other_drill(key, drill)
    car = compute_cars([key.job])[0]
    refuse_differing(drill, car, catalogue)
    return solve(drill, key, car, catalogue)


def proof_lines(solved: Solved) -> Iterator[str]:
    """Yield how each policy fares, and what follows, as lines of at most 79 columns."""
    for name, one in solved.results.items():
        end = "finds it" if one.cured else "does not find it"
        repairs = "1 repair" if one.repairs == 1 else f"{one.repairs} repairs"
        yield f"{name:<18} {end}: {one.minutes:.0f} minutes, {one.checks} checks, {repairs}"
    yield f"The drill can be solved; a good path takes {solved.minutes:.0f} minutes."


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
