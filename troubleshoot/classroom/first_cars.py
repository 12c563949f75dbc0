"""Cars computed once and shipped: the engine takes seconds for one, and nobody should wait for the first practice.

Only what the engine said is kept; drill, key and good path are made from the trees as they stand. After a change of the
engine `scripts/first_cars.py` writes the file anew. It is packed, so that whoever opens it does not read what is wrong.
"""

from __future__ import annotations

import math
from collections.abc import Callable, Iterator, Sequence
from functools import cache
from pathlib import Path
from typing import Literal

import msgspec
from msgspec import Struct

from troubleshoot.bench.fault_causes import FAULT_CAUSES
from troubleshoot.bench.patients import changes_since
from troubleshoot.bench.virtual_bench import BenchCar, CarJob, reported_by, states_of
from troubleshoot.classroom.drill_file import packed, read_json
from troubleshoot.classroom.key_file import KeyRefused
from troubleshoot.file_writing import write_whole
from troubleshoot.virtual_engine.readings import READINGS

FORMAT: Literal["troubleshoot-first-cars"] = "troubleshoot-first-cars"
FILE = Path(__file__).with_name("first_cars.bin")
DIGITS = 6
"""Significant digits kept of a reading: more than any instrument shows."""
USED = ".used"
"""Ends the name of an empty file that says which car was taken: nobody gets one twice."""


class FirstCar(Struct, frozen=True, array_like=True):
    """One car: for every set of faults that can be left, the readings in the engine's order and what is heard."""

    level: int
    engine: str
    ignition: str
    faults: tuple[tuple[str, float], ...]
    seed: int
    rows: tuple[tuple[float | None, ...], ...]
    heard: tuple[tuple[str, ...], ...]

    @property
    def car(self) -> BenchCar:
        """Return the car as the engine gave it."""
        states = states_of(self.faults)
        values = [[math.nan if one is None else one for one in row] for row in self.rows]
        readings = {state: dict(zip(READINGS, row, strict=True)) for state, row in zip(states, values, strict=True)}
        for row in readings.values():
            row |= changes_since(readings[()], row)
        job = CarJob(self.engine, self.ignition, self.faults, self.seed)
        return BenchCar(job, readings, dict(zip(states, self.heard, strict=True)))


def first_car(level: int, car: BenchCar) -> FirstCar:
    """Return a computed car as it is kept."""
    rows = tuple(
        tuple(_kept(car.readings[state][name]) for name in READINGS) for state in states_of(car.job.faults)
    )  # fmt: skip
    heard = tuple(car.heard[state] for state in states_of(car.job.faults))
    job = car.job
    return FirstCar(level, job.engine, job.ignition, job.faults, job.seed, rows, heard)


def _kept(value: float) -> float | None:
    return float(f"{value:.{DIGITS}g}") if math.isfinite(value) else None


def write_cars(cars: Sequence[FirstCar]) -> None:
    """Write the file that is shipped."""
    write_whole(FILE, packed(msgspec.json.encode({"format": FORMAT, "version": 1, "cars": cars}).decode()))


@cache
def first_cars() -> tuple[FirstCar, ...]:
    """Return the cars shipped; none where the file is missing or damaged, for then they are computed."""
    try:
        whole = read_json(FILE, "list of cars", FORMAT, KeyRefused, "Install the program again.")
        return msgspec.convert(whole.get("cars"), tuple[FirstCar, ...])
    except (KeyRefused, msgspec.ValidationError):
        return ()


def unused_cars(
    folder: Path, level: int, concern: str | None, draw: Callable[[int], int]
) -> Iterator[tuple[FirstCar, BenchCar]]:
    """Yield the cars of a level that show a concern, any where none is named, in random order; each once a folder."""
    wanted = [one for one in first_cars() if one.level == level]
    for one in sorted(wanted, key=lambda _: draw(60)):
        mark = folder / f"{one.seed:x}{USED}"
        if mark.exists() or any(name not in FAULT_CAUSES for name, _ in one.faults):
            continue
        car = one.car
        if concern is None or concern in reported_by(car):
            folder.mkdir(parents=True, exist_ok=True)
            mark.touch()
            yield one, car
