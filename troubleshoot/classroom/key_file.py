"""The key file: what is wrong with the car of a drill; it stays with the trainer.

It is packed, so that whoever sees the trainer's folder does not read the answer in passing; it is no lock. Earlier
releases wrote plain JSON in NAME.key.json, which is read as well.
"""

from __future__ import annotations

from pathlib import Path
from typing import Literal

import msgspec
from msgspec import Struct

from troubleshoot.bench.fault_causes import FAULT_CAUSES
from troubleshoot.bench.virtual_bench import CarJob
from troubleshoot.classroom.drill_file import Drill, packed, read_json, seal_of
from troubleshoot.file_writing import write_whole
from troubleshoot.problems import TroubleshootError
from troubleshoot.virtual_engine.engines import ENGINES, IGNITIONS
from troubleshoot.virtual_engine.faults import FAULTS

FORMAT: Literal["troubleshoot-drill-key"] = "troubleshoot-drill-key"
VERSION: Literal[1] = 1
KEY, PLAIN_KEY = ".key", ".key.json"
"""How the names of key files end, and how they ended in earlier releases."""


class KeyRefused(TroubleshootError):
    """The file is no key, or not the key of this drill."""


class FaultSet(Struct, frozen=True, forbid_unknown_fields=True):
    """One fault of the virtual engine, its severity, and the cause of the trees that it is."""

    fault: str
    severity: float
    cause: str


class Key(Struct, frozen=True, kw_only=True, rename="kebab", forbid_unknown_fields=True):
    """Everything about a drill that only the trainer knows; the drill itself is in it, so marking needs no other."""

    format: Literal["troubleshoot-drill-key"] = FORMAT
    version: Literal[1] = VERSION
    drill: Drill
    engine: str
    ignition: str
    faults: tuple[FaultSet, ...]
    seed: str
    best_policy: str = ""
    best_minutes: float = 0.0
    best_trail: tuple[str, ...] = ()

    @property
    def causes(self) -> tuple[str, ...]:
        """Return the causes of the trees, in the order they were set."""
        return tuple(one.cause for one in self.faults)

    @property
    def job(self) -> CarJob:
        """Return what the car is computed from."""
        return CarJob(
            self.engine, self.ignition, tuple((one.fault, one.severity) for one in self.faults), int(self.seed)
        )


def key_text(key: Key) -> str:
    """Return a key as the text of its file."""
    return msgspec.json.format(msgspec.json.encode(key), indent=1).decode() + "\n"


def write_key(path: Path, key: Key, new: bool = False) -> None:
    """Write a key for its owner's eyes alone; `new` refuses to write over a file, with FileExistsError."""
    write_whole(path, packed(key_text(key)), private=True, new=new)


def key_stem(path: Path) -> str:
    """Return what a key file is called, without its ending.

    >>> key_stem(Path("school/hill.key")), key_stem(Path("hill.key.json"))
    ('hill', 'hill')
    """
    return path.name.removesuffix(PLAIN_KEY).removesuffix(KEY)


def key_files(folder: Path) -> list[Path]:
    """Return the key files of a folder, in the order of their names."""
    return sorted(one for ending in (KEY, PLAIN_KEY) for one in folder.glob(f"*{ending}") if one.is_file())


def read_key(path: Path) -> Key:
    """Read a key; KeyRefused when the file is none, is damaged, or names what this program does not know."""
    advice = "Give the key file as `troubleshoot drill new` wrote it."
    whole = read_json(path, "drill key", FORMAT, KeyRefused, advice)
    try:
        key = msgspec.convert(whole, Key)
    except msgspec.ValidationError as problem:
        raise KeyRefused(f"{path} is a damaged key: {problem}.", advice) from problem
    return checked_key(path, key, advice)


def checked_key(path: Path, key: Key, advice: str) -> Key:
    """Return a key read from a file; KeyRefused when it names what this program does not know, or was changed."""
    known = key.engine in ENGINES and key.ignition in IGNITIONS and key.seed.isdecimal() and len(key.seed) < 60
    if not known or any(FAULT_CAUSES.get(one.fault) != one.cause or one.fault not in FAULTS for one in key.faults):
        raise KeyRefused(f"{path} is a damaged key: it names a car or a fault that is not known.", advice)
    if seal_of(key.drill) != key.drill.seal:
        raise KeyRefused(f"{path} was changed after it was written: the seal of its drill does not fit.", advice)
    return key


def refuse_other_drill(key: Key, drill: Drill) -> None:
    """Refuse a drill that this key does not belong to."""
    if key.drill.seal != drill.seal:
        raise KeyRefused("The key belongs to another drill.", f"Use the key of “{drill.title}”.")
