"""Computed cars as files: the car of a practice, and cars prepared ahead, so that nobody waits for the engine.

Such a file is packed, so that whoever looks into the folder does not read what is wrong.
"""

from __future__ import annotations

import hashlib
import math
import os
import secrets
from collections import Counter
from collections.abc import Callable, Iterator, Sequence
from pathlib import Path
from typing import Literal

import msgspec
from msgspec import Struct

from troubleshoot import __version__
from troubleshoot.bench.virtual_bench import BenchCar, compute_cars
from troubleshoot.classroom.drill_file import Ranking, packed, read_json, sealed
from troubleshoot.classroom.drill_maker import MadeDrill
from troubleshoot.classroom.key_file import Key, KeyRefused, checked_key, read_key
from troubleshoot.file_writing import write_whole
from troubleshoot.knowledge.catalogue import Catalogue

FORMAT: Literal["troubleshoot-computed-car"] = "troubleshoot-computed-car"
VERSION: Literal[1] = 1
WANTED = 12
"""Cars kept ready for each level."""
ALIKE = 2
"""Of them with the same first concern, so that most concerns find one."""
ENDING = ".car"
OPEN = "x"
"""Begins the number of a car that nobody has solved yet, so that it stands after those of hexadecimal digits."""


class CarState(Struct, frozen=True, forbid_unknown_fields=True):
    """What is read and heard while these faults are present; a reading of None is no number."""

    faults: tuple[tuple[str, float], ...]
    readings: dict[str, float | None]
    heard: tuple[str, ...]


class ComputedCar(Struct, frozen=True, kw_only=True, rename="kebab", forbid_unknown_fields=True):
    """A key and everything that the engine said of its car."""

    format: Literal["troubleshoot-computed-car"] = FORMAT
    version: Literal[1] = VERSION
    key: Key
    states: tuple[CarState, ...]


def car_bytes(made: MadeDrill) -> bytes:
    """Return a computed car as the bytes of its file."""
    states = tuple(
        CarState(
            faults,
            {name: value if math.isfinite(value) else None for name, value in row.items()},
            made.car.heard[faults],
        )
        for faults, row in made.car.readings.items()
    )
    return packed(msgspec.json.encode(ComputedCar(key=made.key, states=states)).decode())


def kept_key(path: Path) -> Key:
    """Return the key of a practice from its file; those of earlier releases are keys. KeyRefused when it is neither."""
    try:
        return _held(path).key
    except KeyRefused:
        return read_key(path)


def kept_car(path: Path) -> MadeDrill:
    """Return the car of a practice from its file; that of an earlier release is computed anew from its key."""
    try:
        held = _held(path)
    except KeyRefused:
        key = read_key(path)
        return MadeDrill(key.drill, key, compute_cars([key.job])[0])
    readings = {
        one.faults: {name: math.nan if value is None else value for name, value in one.readings.items()}
        for one in held.states
    }
    car = BenchCar(held.key.job, readings, {one.faults: one.heard for one in held.states})
    return MadeDrill(held.key.drill, held.key, car)


def _held(path: Path) -> ComputedCar:
    advice = "Begin a new practice."
    whole = read_json(path, "computed car", FORMAT, KeyRefused, advice)
    try:
        held = msgspec.convert(whole, ComputedCar)
    except msgspec.ValidationError as problem:
        raise KeyRefused(f"{path} is damaged: {problem}.", advice) from problem
    key = checked_key(path, held.key, advice)
    if {one.faults for one in held.states} < {key.job.faults, ()}:
        raise KeyRefused(f"{path} is damaged: a state of its car is missing.", advice)
    return held


class ReadyCars:
    """The cars prepared ahead in one folder, for one version of program and trees and one system of units."""

    def __init__(self, folder: Path, catalogue: Catalogue, units: str) -> None:
        self.folder = folder
        of = hashlib.sha256(f"{__version__} {catalogue.version} {units}".encode()).hexdigest()
        self.stem = of[:16]

    def files(self, level: int) -> list[Path]:
        """Return the files of this level, those that are solved first, else in no order that anybody could learn."""
        return sorted(self.folder.glob(f"{self.stem}-{level}-*{ENDING}"))

    def take(self, level: int, concern: str | None, ranking: Ranking) -> MadeDrill | None:
        """Return a car of this level that shows the concern, and take it out of the folder; None if there is none."""
        for path in self.files(level):
            try:
                made = kept_car(path)
                if concern is not None and concern not in made.drill.concerns:
                    continue
                path.unlink()
            except (KeyRefused, OSError):
                path.unlink(missing_ok=True)
                continue
            drill = sealed(msgspec.structs.replace(made.drill, ranking=ranking))
            return MadeDrill(drill, msgspec.structs.replace(made.key, drill=drill), made.car)
        return None

    def fill(self, levels: Sequence[int], drawn: Iterator[tuple[int, MadeDrill]]) -> None:
        """Keep cars drawn, each with its level, until all levels have enough; those of other versions are removed."""
        for old in self.folder.glob(f"*{ENDING}"):
            if not old.name.startswith(self.stem):
                old.unlink(missing_ok=True)
        held = {one: Counter(kept_key(path).drill.concerns[0] for path in self.files(one)) for one in levels}
        self.folder.mkdir(parents=True, exist_ok=True)
        while any(one.total() < WANTED for one in held.values()):
            level, made = next(drawn, (0, None))
            if made is None:
                return
            first = made.drill.concerns[0]
            if held[level].total() < WANTED and held[level][first] < ALIKE:
                held[level][first] += 1
                self._keep(level, made)

    def solve_one(self, level: int, solve: Callable[[MadeDrill], MadeDrill | None]) -> bool:
        """Put the solved car in place of one that is not, or none if it cannot be solved; False where all are."""
        path = next(self.folder.glob(f"{self.stem}-{level}-{OPEN}*{ENDING}"), None)
        if path is None:
            return False
        try:
            solved = solve(kept_car(path))
            path.unlink()
        except (KeyRefused, OSError):
            path.unlink(missing_ok=True)
        else:
            if solved is not None:
                self._keep(level, solved)
        return True

    def _keep(self, level: int, made: MadeDrill) -> None:
        number = ("" if made.key.best_policy else OPEN) + secrets.token_hex(6)
        write_whole(self.folder / f"{self.stem}-{level}-{number}{ENDING}", car_bytes(made), private=True)


def stand_back(far: int) -> None:
    """Let everything else on this machine go before this process, where the system has a way to say so."""
    if hasattr(os, "nice"):
        os.nice(max(0, far - os.nice(0)))
