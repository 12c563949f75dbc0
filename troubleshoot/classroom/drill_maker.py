"""Set a drill: from a trainer's plan to the drill file and its key."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from dataclasses import dataclass
from typing import Annotated

import msgspec
import numpy as np
from msgspec import UNSET, Meta, Struct, field

from troubleshoot.bench.fault_causes import CAUSE_FAULTS
from troubleshoot.bench.virtual_bench import BenchCar, CarJob, compute_cars, reading_texts, reported_by
from troubleshoot.case.answering import refuse_unknown_concerns, refuse_unknown_tools
from troubleshoot.classroom.drill_file import Drill, Ranking, sealed
from troubleshoot.classroom.handed_files import READ_IN_FILES, FileKind, files_for, texts_of
from troubleshoot.classroom.key_file import FaultSet, Key
from troubleshoot.knowledge.catalogue import Catalogue
from troubleshoot.knowledge.compiling import fits
from troubleshoot.knowledge.findings import nearest
from troubleshoot.problems import TroubleshootError
from troubleshoot.virtual_engine.engines import ENGINES
from troubleshoot.virtual_engine.faults import FAULTS

SEED_BITS = 120
"""Bits of a drill's seed: more than anyone can try."""
MOST_FAULTS = 2
"""Faults that one drill may have at once."""

CARS = tuple(f"{engine}{end}" for engine in ENGINES for end in ("", "-electronic"))
"""The example cars that the virtual engine has."""

Severity = Annotated[float, Meta(ge=0.05, le=1)]


class DrillPlan(Struct, frozen=True, kw_only=True, rename="kebab", forbid_unknown_fields=True):
    """What a trainer decides about a drill; `faults` are all set, one of `any_of` is drawn."""

    title: Annotated[str, Meta(min_length=1, max_length=80)] = ""
    story: str = ""
    teaches: str = ""
    level: Annotated[int, Meta(ge=1, le=5)] = 1
    car: str = ENGINES[0]
    faults: dict[str, Severity] = field(default_factory=dict)
    any_of: dict[str, Severity] = field(default_factory=dict)
    concerns: tuple[str, ...] = ()
    tools_missing: tuple[str, ...] = ()
    minutes: Annotated[float, Meta(gt=0)] | None = None
    money: Annotated[float, Meta(ge=0)] | None = None
    clock: Annotated[float, Meta(ge=1, le=1440)] | None = None
    hints: tuple[str, ...] = ()
    ranking: Ranking = "hidden"
    judge: bool = True
    files: tuple[FileKind, ...] = ()
    """Kinds of files that the bench hands out instead of telling the number."""
    seed: str | int = ""


class PlanRefused(TroubleshootError):
    """A drill cannot be set so."""


@dataclass(frozen=True)
class MadeDrill:
    """A drill with its key, and the computed car they came from."""

    drill: Drill
    key: Key
    car: BenchCar


def engine_of(car: str, catalogue: Catalogue) -> tuple[str, str]:
    """Return engine and ignition of an example car; PlanRefused for a car the virtual engine does not have."""
    if car not in CARS or car not in catalogue.cars:
        raise PlanRefused(
            f"The virtual engine has no car {car[:60]}{nearest(car, CARS)}.", f"Use one of: {', '.join(CARS)}."
        )
    engine = car.removesuffix("-electronic")
    return engine, "points" if engine == car else "electronic"


def possible_causes(car: str, catalogue: Catalogue) -> tuple[str, ...]:
    """Return the causes that can be set on a car, by id."""
    _, ignition = engine_of(car, catalogue)
    return tuple(sorted(cause for cause, name in CAUSE_FAULTS.items() if ignition in FAULTS[name].applies_to))


def make_drills(
    plans: Sequence[DrillPlan],
    seeds: Sequence[int],
    catalogue: Catalogue,
    done: Callable[[int, int], None] | None = None,
) -> list[MadeDrill]:
    """Return drill and key of each plan; a plan's own seed goes before the one given. PlanRefused when it cannot be.

    The key has no best policy yet; `solvability.solve` finds it.
    """
    jobs = []
    for plan, seed in zip(plans, seeds, strict=True):
        own = str(plan.seed).strip()
        if own and not (own.isdecimal() and len(own) < 60):
            raise PlanRefused(f"The seed {own[:40]!r} is no whole number.", "Leave it out; one is drawn.")
        jobs.append(_job(plan, int(own) if own else seed, catalogue))
    cars = compute_cars(jobs, done)
    return [made_drill(plan, car, catalogue) for plan, car in zip(plans, cars, strict=True)]


def _job(plan: DrillPlan, seed: int, catalogue: Catalogue) -> CarJob:
    engine, ignition = engine_of(plan.car, catalogue)
    refuse_unknown_tools(catalogue, plan.tools_missing)
    if plan.concerns:
        refuse_unknown_concerns(catalogue, plan.concerns)
    chosen = dict(plan.faults)
    if plan.any_of:
        names = sorted(plan.any_of)
        name = names[int(np.random.default_rng((seed, 5)).integers(len(names)))]
        chosen[name] = plan.any_of[name]
    if not 1 <= len(chosen) <= MOST_FAULTS:
        raise PlanRefused(f"A drill has one fault or two, this plan has {len(chosen)}.", "Name one or two causes.")
    possible = possible_causes(plan.car, catalogue)
    for cause in chosen:
        if cause not in possible:
            known = cause in CAUSE_FAULTS or cause in catalogue.causes
            why = f"cannot be set on the {plan.car}" if known else "is no cause of the trees"
            raise PlanRefused(
                f"{cause[:60]} {why}{nearest(cause, possible)}.", "See `troubleshoot drill causes` for what can be set."
            )
    return CarJob(engine, ignition, tuple((CAUSE_FAULTS[cause], float(one)) for cause, one in chosen.items()), seed)


def made_drill(plan: DrillPlan, car: BenchCar, catalogue: Catalogue) -> MadeDrill:
    """Return the drill and key of a computed car; PlanRefused when its driver would notice nothing."""
    reported = plan.concerns or reported_by(car)
    if not reported:
        raise PlanRefused(
            f"The driver of this car would notice nothing ({', '.join(car.causes)}).",
            "Raise the severity, choose another fault, or name the concerns yourself.",
        )
    known = catalogue.cars[plan.car]
    checks = [name for name, check in catalogue.checks.items() if fits(known, check.for_)]
    missing = set(plan.tools_missing)
    drill = Drill(
        title=plan.title or f"A drill on the {known.title}",
        story=plan.story.strip() or told(reported, catalogue),
        car=msgspec.to_builtins(known),
        concerns=reported,
        tools=tuple(name for name in sorted(catalogue.tools) if name not in missing) if missing else None,
        minutes=plan.minutes,
        money=plan.money,
        clock_minutes=UNSET if plan.clock is None else plan.clock,
        hints=plan.hints,
        ranking=plan.ranking,
        judge=plan.judge,
        trees=catalogue.version,
        readings=reading_texts(catalogue, car.readings[car.job.faults], checks),
    )
    faults = tuple(
        FaultSet(fault, severity, cause) for (fault, severity), cause in zip(car.job.faults, car.causes, strict=True)
    )
    job = car.job
    key = Key(drill=sealed(drill), engine=job.engine, ignition=job.ignition, faults=faults, seed=str(job.seed))
    return with_files(MadeDrill(key.drill, key, car), plan.files, catalogue)


def with_files(made: MadeDrill, kinds: Sequence[FileKind], catalogue: Catalogue) -> MadeDrill:
    """Return a drill whose bench hands out files of these kinds too, sealed anew."""
    if not kinds:
        return made
    job, told = made.car.job, made.drill.readings
    answered = [name for name, read in told.items() if read is not None or name in READ_IN_FILES]
    handed = files_for(job, job.faults, made.car.readings[job.faults], kinds, answered, catalogue)
    cylinders = made.drill.known_car.cylinders
    read: dict[str, str] = {}
    for name, file in handed.items():
        new = [one for one in file.checks if told[one] is None]
        read |= texts_of(name, file, cylinders, catalogue, new)
    drill = sealed(
        msgspec.structs.replace(made.drill, handed=handed or msgspec.UNSET, readings={**told, **read}, seal="")
    )
    return MadeDrill(drill, msgspec.structs.replace(made.key, drill=drill), made.car)


def told(concerns: Sequence[str], catalogue: Catalogue) -> str:
    """Return the customer's words for these concerns: what the trees say, and nothing about the cause."""
    says = "; ".join(catalogue.concerns[one].says.rstrip(".") for one in concerns)
    return f"The owner says: {says}."
