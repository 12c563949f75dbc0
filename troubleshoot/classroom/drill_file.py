"""The drill file: everything a trainee needs, and nothing that tells the answer but the readings themselves.

What is in it: the car as its owner knows it, the concerns and the story, what is allowed, and one reading for each
check that this kind of car has, in the order of the checks' ids, with every fault present. What is not in it: faults,
severities, seed, rubric, the best policy's minutes, and any result of a retest. A retest that a trainee's program
could work out would let a script try all causes in a moment; so a sitting ends with the causes named, and whether they
cure the car is the key's to say. (Practice alone keeps its own key, so there repairs and retests work.)

The readings come from a car drawn with a seed of 120 bits that only the key has, so that nobody can draw the cars of
all faults and compare the noise.
"""

from __future__ import annotations

import hashlib
import zlib
from pathlib import Path
from typing import Annotated, Any, Literal

import msgspec
from msgspec import UNSET, Struct, UnsetType, field

from troubleshoot.file_reading import TooLong, read_at_most
from troubleshoot.knowledge.car import Car, car_from
from troubleshoot.problems import TroubleshootError

FORMAT: Literal["troubleshoot-drill"] = "troubleshoot-drill"
VERSION: Literal[1] = 1
LARGEST = 2_000_000
"""Bytes; a drill is about ten thousand."""

Ranking = Literal["hidden", "asked", "shown"]


class DrillRefused(TroubleshootError):
    """The file is no drill, or not one that can be used here."""


class HandedFile(Struct, frozen=True, kw_only=True, rename="kebab", forbid_unknown_fields=True):
    """A file that the bench hands out: what it is, the checks it answers, and its bytes (zlib, then base64)."""

    what: str
    checks: tuple[str, ...]
    content: str


FileName = Annotated[str, msgspec.Meta(pattern=r"^[a-z0-9][a-z0-9-]{0,40}\.(csv|wav)$")]
"""What a file that is handed out may be called: no folder, nothing hidden."""


class Drill(Struct, frozen=True, kw_only=True, rename="kebab", forbid_unknown_fields=True):
    """One drill as the trainee gets it; minutes (of work), money and minutes by the clock left out mean no limit.

    A drill without a limit by the clock has no word of it, so that the seals of earlier drills hold.
    """

    format: Literal["troubleshoot-drill"] = FORMAT
    version: Literal[1] = VERSION
    title: str
    story: str
    car: dict[str, Any]
    concerns: tuple[str, ...]
    tools: tuple[str, ...] | None = None
    minutes: float | None = None
    money: float | None = None
    clock_minutes: float | UnsetType = UNSET
    hints: tuple[str, ...] = ()
    ranking: Ranking = "hidden"
    judge: bool = True
    trees: str
    readings: dict[str, str | None]
    handed: dict[FileName, HandedFile] | UnsetType = UNSET
    """Files handed out as the answer of checks; left out where there are none, as in earlier drills."""
    seal: str = field(default="")

    @property
    def known_car(self) -> Car:
        """Return the car."""
        return car_from(self.car)

    @property
    def read_in_files(self) -> frozenset[str]:
        """Return the checks that are answered by a file handed out."""
        files = self.handed.values() if isinstance(self.handed, dict) else ()
        return frozenset(check for one in files for check in one.checks)

    @property
    def clock_limit(self) -> float | None:
        """Return the minutes by the clock that a sitting may last; None for no limit."""
        return None if isinstance(self.clock_minutes, UnsetType) else self.clock_minutes


def seal_of(drill: Drill) -> str:
    """Return the hash over everything in a drill but the seal."""
    content = msgspec.json.encode(msgspec.structs.replace(drill, seal=""), order="deterministic")
    return hashlib.sha256(content).hexdigest()


def sealed(drill: Drill) -> Drill:
    """Return the drill with its seal."""
    return msgspec.structs.replace(drill, seal=seal_of(drill))


def drill_text(drill: Drill) -> str:
    """Return a drill as the text of its file."""
    return msgspec.json.format(msgspec.json.encode(drill), indent=1).decode() + "\n"


def read_drill(path: Path) -> Drill:
    """Read a drill; DrillRefused when the file is no drill, or was changed since it was written."""
    advice = "Give the drill file as `troubleshoot drill new` wrote it."
    whole = read_json(path, "drill", FORMAT, DrillRefused, advice)
    try:
        drill = msgspec.convert(whole, Drill)
        _ = drill.known_car
    except msgspec.ValidationError as problem:
        raise DrillRefused(f"{path} is a damaged drill: {problem}.", advice) from problem
    if seal_of(drill) != drill.seal:
        raise DrillRefused(f"{path} was changed after it was written: its seal does not fit.", advice)
    return drill


PACKED = b"troubleshoot-packed-1\n"
"""Begins a file of ours that is not to be read over somebody's shoulder."""


def packed(text: str) -> bytes:
    """Return the text of a file so that it cannot be read by opening it; `read_json` reads it all the same."""
    return PACKED + zlib.compress(text.encode("utf-8"))


def _unpacked(held: bytes) -> bytes:
    """Return what a packed file holds; TooLong past what a file may hold, UnicodeError when it is damaged."""
    if not held.startswith(PACKED):
        return held
    unpacking = zlib.decompressobj()
    try:
        whole = unpacking.decompress(held.removeprefix(PACKED), LARGEST)
    except zlib.error as problem:
        raise UnicodeError(str(problem)) from problem
    if unpacking.unconsumed_tail:
        raise TooLong
    return whole


def read_json(path: Path, what: str, form: str, refuse: type[TroubleshootError], advice: str) -> dict[str, Any]:
    """Return the object a JSON file of ours holds; refuses a missing, foreign or newer file in a sentence."""
    try:
        whole = msgspec.json.decode(_unpacked(read_at_most(path, LARGEST)))
    except TooLong as problem:
        raise refuse(f"{path} is too long to be a {what}.", advice) from problem
    except OSError as problem:
        raise refuse(f"{path} cannot be read: {problem.strerror or problem}.", advice) from problem
    except (msgspec.MsgspecError, UnicodeError, RecursionError) as problem:
        raise refuse(f"{path} is damaged or no {what}: {problem}.", advice) from problem
    if not isinstance(whole, dict) or whole.get("format") != form:
        raise refuse(f"{path} is not a {what}.", advice)
    if whole.get("version") != VERSION:
        found = str(whole.get("version"))[:20]
        raise refuse(f"{path} is a {what} of form {found}; this program knows form {VERSION}.", "Use a newer program.")
    return whole
