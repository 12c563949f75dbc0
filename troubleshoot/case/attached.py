"""Photographs and other files of a case: kept by where they lie and by their hash, never copied."""

from __future__ import annotations

import hashlib
from collections.abc import Iterator, Sequence
from pathlib import Path

from troubleshoot.case.events import Attached, Event
from troubleshoot.case.folding import standing
from troubleshoot.problems import TroubleshootError


class FileNotAttached(TroubleshootError):
    """The file cannot be read, or is none."""


def described(path: Path) -> Attached:
    """Return a file as the case keeps it; FileNotAttached where it cannot be read whole."""
    where = path.absolute()
    name = str(where).encode("utf-8", "replace").decode("utf-8")
    try:
        if not where.is_file():  # a pipe or a device has no end
            raise FileNotAttached(f"{name} is no file.", "Name a photograph or another file that is there.")
        with where.open("rb") as file:
            mark = hashlib.file_digest(file, "sha256").hexdigest()
            return Attached(file=name, size=file.tell(), sha256=mark)
    except OSError as refused:
        why = refused.strerror or str(refused)
        raise FileNotAttached(
            f"{name} cannot be read: {why}.", "Look at the name and the rights of the file."
        ) from refused


def attached(events: Sequence[Event]) -> tuple[Attached, ...]:
    """Return the files that stand in a case, those taken back left out."""
    return tuple(one.event for one in standing(events) if isinstance(one.event, Attached))


def changed(events: Sequence[Event], beside: Path) -> Iterator[str]:
    """Yield a sentence for each file of a case that is missing or changed.

    A case that came from another machine finds its files in `beside` too, by their names.
    """
    for one in attached(events):
        name = one.file.replace("\\", "/").rsplit("/", 1)[-1]
        there = [place for place in (Path(one.file), beside / name) if place.is_file()]
        if not there:
            yield f"{one.file} is missing here; lay {name} in {beside}, or where it was."
            continue
        try:
            same = any(described(place).sha256 == one.sha256 for place in there)
        except FileNotAttached as refused:
            yield refused.sentence
            continue
        if not same:
            yield f"{there[0]} was changed after it was attached."
