"""Practise alone: a car drawn for a concern and a level, on a bench where repairs can be tried."""

from __future__ import annotations

import math
import secrets
from collections.abc import Callable, Iterator, Sequence
from dataclasses import dataclass
from functools import partial
from pathlib import Path

import numpy as np

from troubleshoot.bench.complaint_concerns import REPORTABLE
from troubleshoot.bench.fault_causes import CAUSE_FAULTS
from troubleshoot.bench.virtual_bench import CarJob, VirtualBench, compute_cars, reported_by
from troubleshoot.case.case import Clock
from troubleshoot.case.settings import CaseSettings
from troubleshoot.casebook.store import Casebook
from troubleshoot.classroom.drill_file import Ranking
from troubleshoot.classroom.drill_maker import (
    CARS,
    DrillPlan,
    MadeDrill,
    engine_of,
    made_drill,
    make_drills,
    possible_causes,
)
from troubleshoot.classroom.first_cars import unused_cars
from troubleshoot.classroom.hinting import with_hints
from troubleshoot.classroom.key_file import KEY, PLAIN_KEY, Key
from troubleshoot.classroom.ready_cars import ReadyCars, car_bytes, kept_car
from troubleshoot.classroom.sitting import HandingBench, Practice, Sitting, begin, take_up
from troubleshoot.classroom.solvability import DrillUnsolved, solve_quickly, with_best
from troubleshoot.file_writing import write_whole
from troubleshoot.knowledge.catalogue import Catalogue
from troubleshoot.knowledge.model import Cause
from troubleshoot.problems import TroubleshootError
from troubleshoot.virtual_engine.faults import onset as onset_of
from troubleshoot.virtual_engine.traces import Trace, trace

PRACTICE_BITS = 60
"""Bits of a practice's seed: enough that no two draw the same car."""
TRIED = 24
"""Cars drawn at once, of which the first that shows the concern is taken; they take little longer than one."""
MOST_DRAWS = 4
"""Draws made to fill the cars kept ready."""


@dataclass(frozen=True)
class Level:
    """How hard practice is: how bad the fault is, how many there are, how many of the rarer tools are missing."""

    words: str
    low: float
    high: float
    faults: int = 1
    missing: int = 0
    repair: float = math.inf
    """Minutes that putting the fault right takes at most; what is inside the engine is none of these."""
    path: float = math.inf
    """Minutes that a good path takes at most."""

    def takes(self, cause: Cause) -> bool:
        """Return whether a cause belongs to this level."""
        return math.isinf(self.repair) or (cause.repair.minutes <= self.repair and cause.system != "engine")


LEVELS: dict[int, Level] = {
    1: Level("gross faults put right within the hour, every tool", 1.0, 1.0, repair=60.0, path=180.0),
    2: Level("plain faults put right in two hours, every tool", 0.7, 1.0, repair=120.0, path=300.0),
    3: Level("middling faults, three tools missing", 0.5, 0.8, missing=3),
    4: Level("slight faults, five tools missing", 0.2, 0.5, missing=5),
    5: Level("two faults at once, three tools missing", 0.6, 1.0, faults=2, missing=3),
}


class PracticeRefused(TroubleshootError):
    """No car can be found for this."""


def draw_practice(
    seed: int, concern: str | None, level: int, car: str | None, ranking: Ranking, catalogue: Catalogue,
) -> MadeDrill:  # fmt: skip
    """Return a drawn car with its key; PracticeRefused when no fault of this level shows the concern."""
    if level not in LEVELS:
        raise PracticeRefused(f"There is no level {level}.", f"Use one of {', '.join(map(str, LEVELS))}.")
    if concern is not None and concern not in catalogue.concerns:
        raise PracticeRefused(f"There is no concern {concern[:60]}.", "See `troubleshoot concerns`.")
    if concern is not None and concern not in REPORTABLE:
        what = catalogue.concerns[concern].title
        raise PracticeRefused(f"The virtual engine cannot show “{what}”.", "Take another concern, or anything.")
    chosen = car or CARS[int(np.random.default_rng((seed, 3)).integers(len(CARS)))]
    for _, made in drawn_cars(seed, concern, (level,), chosen, ranking, catalogue):
        if (solved := solved_car(made, level, catalogue)) is not None:
            return solved
    what = catalogue.concerns[concern].title if concern else "anything"
    raise PracticeRefused(
        f"No fault of level {level} on the {catalogue.cars[chosen].title} gave “{what}”.",
        "Try again, another level, another car, or anything.",
    )


def ready_practice(
    ready: ReadyCars, level: int, concern: str | None, ranking: Ranking, catalogue: Catalogue,
    draw: Callable[[int], int] = secrets.randbits,
) -> MadeDrill | None:  # fmt: skip
    """Return a car kept ready or shipped that shows the concern and can be solved; None where there is none."""
    while (made := ready.take(level, concern, ranking)) is not None:
        if (solved := solved_car(made, level, catalogue)) is not None:
            return solved
    if level in LEVELS:
        for first, found in unused_cars(ready.folder, level, concern, draw):
            name = next(one for one in CARS if engine_of(one, catalogue) == (first.engine, first.ignition))
            faults = dict(zip(found.causes, (severity for _, severity in first.faults), strict=True))
            plan = _plan(np.random.default_rng(draw(PRACTICE_BITS)), faults, LEVELS[level], name, ranking, catalogue)
            if (solved := solved_car(made_drill(plan, found, catalogue), level, catalogue)) is not None:
                return solved
    return None


def drawn_cars(
    seed: int, concern: str | None, levels: Sequence[int], car: str, ranking: Ranking, catalogue: Catalogue
) -> Iterator[tuple[int, MadeDrill]]:
    """Yield the cars of one draw that show the concern, each with its level; whether they can be solved is open."""
    rng = np.random.default_rng((seed, 3))
    rng.integers(len(CARS))
    engine, ignition = engine_of(car, catalogue)
    drawn = [level for level in levels for _ in range(TRIED)]
    plans = [
        _plan(rng, _faults(rng, concern, LEVELS[level], car, catalogue), LEVELS[level], car, ranking, catalogue)
        for level in drawn
    ]
    jobs = [
        CarJob(engine, ignition, tuple((CAUSE_FAULTS[cause], one) for cause, one in plan.faults.items()), seed + place)
        for place, plan in enumerate(plans)
    ]
    for level, plan, found in zip(drawn, plans, compute_cars(jobs), strict=True):
        reported = reported_by(found)
        if reported and (concern is None or concern in reported):
            yield level, made_drill(plan, found, catalogue)


def solved_car(made: MadeDrill, level: int, catalogue: Catalogue) -> MadeDrill | None:
    """Return a car with its good path and hints; None where it cannot be solved in the minutes of the level."""
    if made.key.best_policy:
        return made
    try:
        best = solve_quickly(made.drill, made.car, catalogue)
    except DrillUnsolved:
        return None
    if best.minutes > LEVELS[level].path:
        return None
    key = with_hints(with_best(made.key, best), catalogue)
    return MadeDrill(key.drill, key, made.car)


def prepare(ready: ReadyCars, catalogue: Catalogue, draw: Callable[[int], int]) -> None:
    """Fill the cars kept ready, every level from the same draws of any concern, at most `MOST_DRAWS`."""
    seeds = [draw(PRACTICE_BITS) for _ in range(MOST_DRAWS)]
    ready.fill(
        tuple(LEVELS),
        (
            pair
            for place, seed in enumerate(seeds, seeds[0])
            for pair in drawn_cars(seed, None, tuple(LEVELS), CARS[place % len(CARS)], "asked", catalogue)
        ),
    )


def solve_ready(ready: ReadyCars, catalogue: Catalogue) -> None:
    """Solve the cars kept ready, one of each level in turn; whoever comes before that is done waits for one car."""
    left = list(LEVELS)
    while left:
        left = [one for one in left if ready.solve_one(one, partial(solved_car, level=one, catalogue=catalogue))]


def _faults(
    rng: np.random.Generator, concern: str | None, level: Level, car: str, catalogue: Catalogue
) -> dict[str, float]:
    """Draw the causes of a car of this level, each with how bad it is."""
    possible = [one for one in possible_causes(car, catalogue) if level.takes(catalogue.causes[one])]
    if concern is not None:
        showing = [one for one in possible if one in catalogue.concerns[concern].shows]
        possible = showing or possible
    engine, _ = engine_of(car, catalogue)
    count = min(level.faults, len(possible))
    chosen = [possible[int(one)] for one in rng.choice(len(possible), size=count, replace=False)]
    if count < level.faults:
        chosen += [one for one in possible_causes(car, catalogue) if one not in chosen][: level.faults - count]
    faults = {}
    for cause in chosen:
        onset = onset_of(CAUSE_FAULTS[cause], engine) or 0.0
        faults[cause] = float(min(max(rng.uniform(level.low, level.high), onset, 0.05), 1.0))
    return faults


def _plan(
    rng: np.random.Generator, faults: dict[str, float], level: Level, car: str, ranking: Ranking, catalogue: Catalogue
) -> DrillPlan:
    """Draw which tools are missing, and return the plan of a practice."""
    rare = sorted(name for name, tool in catalogue.tools.items() if not tool.common)
    missing = [rare[int(one)] for one in rng.choice(len(rare), size=min(level.missing, len(rare)), replace=False)]
    return DrillPlan(title=f"Practice on the {catalogue.cars[car].title}", car=car, faults=faults,
                     tools_missing=tuple(missing), ranking=ranking, judge=False)  # fmt: skip


def bench_for(made: MadeDrill, catalogue: Catalogue) -> Practice:
    """Return what puts the car on the bench, in the state its repairs have brought it to."""
    return lambda repaired: VirtualBench(made.car, catalogue, made.drill.concerns, repaired)


def begin_practice(
    casebook: Casebook, catalogue: Catalogue, clock: Clock, made: MadeDrill, settings: CaseSettings
) -> Sitting:
    """Begin practice; its key is kept beside the casebook, so that it can be gone on with."""
    sitting = begin(casebook, catalogue, clock, made.drill, "practice", settings, bench_for(made, catalogue))
    path = practice_file(casebook.path, sitting.case.case_id)
    if path is not None:
        write_whole(path, car_bytes(made), private=True)
    return sitting


def go_on(
    casebook: Casebook, catalogue: Catalogue, clock: Clock, case_id: str, settings: CaseSettings
) -> tuple[Sitting, Key]:
    """Go on with practice."""
    made = kept_practice(casebook.path, case_id)
    sitting = take_up(casebook, catalogue, clock, made.drill, case_id, settings, bench_for(made, catalogue))
    return sitting, made.key


def kept_practice(casebook: Path, case_id: str) -> MadeDrill:
    """Return the car of a practice from its file; touches no casebook, so any thread may do it."""
    path = practice_file(casebook, case_id)
    if path is None or not path.exists():
        raise PracticeRefused(f"Case {case_id} is no practice that can be gone on with.", "Begin a new one.")
    return kept_car(path)


def practice_file(casebook: Path, case_id: str) -> Path | None:
    """Return where the key of a practice case is kept; None for a casebook in memory.

    It is packed, so that whoever looks into the folder does not read what is wrong; earlier releases wrote plain JSON.
    """
    if str(casebook) == ":memory:":
        return None
    readable = casebook.parent / f"practice-{case_id}{PLAIN_KEY}"
    return readable if readable.exists() else casebook.parent / f"practice-{case_id}{KEY}"


def practice_trace(sitting: Sitting, key: Key, scenario: str) -> Trace:
    """Return a recorded run of the car in its present state."""
    bench = sitting.practice.told if isinstance(sitting.practice, HandingBench) else sitting.practice
    left = bench.car.after(sitting.named) if isinstance(bench, VirtualBench) else key.job.faults
    return trace(key.engine, key.ignition, left, scenario, key.job.seed)


__all__ = ["LEVELS", "Level", "begin_practice", "draw_practice", "go_on", "make_drills", "practice_trace"]
