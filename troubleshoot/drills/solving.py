"""The proof that a drill can be solved with the tools allowed, and how long the best policy takes."""

from __future__ import annotations

from dataclasses import dataclass

import msgspec

from troubleshoot.drills.drill_file import Drill
from troubleshoot.drills.key_file import Key
from troubleshoot.drills.proof_policies import POLICIES
from troubleshoot.drills.proof_walk import Problems, WalkResult, walk
from troubleshoot.drills.virtual_bench import BenchCar, all_typed
from troubleshoot.knowledge.catalogue import Catalogue
from troubleshoot.problems import TroubleshootError

HONEST = ("the tool", "two steps ahead", "authored order")
"""Policies that look before they repair; replacing parts by the odds is no path to hold a trainee to."""


class DrillUnsolved(TroubleshootError):
    """No policy finds the fault with what the drill allows."""


class DrillDiffers(TroubleshootError):
    """The drill's readings are not those of the car in its key."""


@dataclass(frozen=True)
class Solved:
    """How each policy fared, and the best: the fewest repairs, then the fewest minutes, of those that cured the car."""

    results: dict[str, WalkResult]
    best: str

    @property
    def minutes(self) -> float:
        """Return the minutes of the best policy."""
        return self.results[self.best].minutes


def solve(drill: Drill, key: Key, car: BenchCar, catalogue: Catalogue) -> Solved:
    """Walk the drill with every honest policy; DrillUnsolved when none cures the car."""
    allowed = frozenset(catalogue.tools) if drill.tools is None else frozenset(drill.tools)
    patient = car.patient(0, drill.concerns, frozenset(catalogue.tools) - allowed)
    problem = Problems(catalogue).of(patient)
    results = {name: walk(patient, catalogue, problem, POLICIES[name]) for name in HONEST}
    cured = [name for name in HONEST if results[name].cured]
    if not cured:
        tried = "; ".join(f"{name} ends after {one.repairs} repairs" for name, one in results.items())
        raise DrillUnsolved(
            f"No policy finds {' and '.join(key.causes)} with what is allowed ({tried}).",
            "Allow more tools, raise the severity, or name the concerns.",
        )
    return Solved(results, min(cured, key=lambda name: (results[name].repairs, results[name].minutes, name)))


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
    here = all_typed(catalogue, car.readings[car.job.faults], drill.readings)
    for name, found in here.items():
        if found != drill.readings[name]:
            raise DrillDiffers(
                f"The drill reads {drill.readings[name]} for {name}; the car of its key reads {found}.",
                "Use the program and trees that set the drill, or set it again.",
            )
