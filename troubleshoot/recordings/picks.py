"""Which heading a person said is which quantity, remembered for that set of headings."""

from __future__ import annotations

import hashlib
import json
from collections.abc import Mapping, Sequence
from pathlib import Path

from troubleshoot.file_writing import write_whole
from troubleshoot.recordings.dialect import RecordingRefused, dialect_of, text_of
from troubleshoot.recordings.log import LARGEST, held_bytes
from troubleshoot.recordings.quantities import BY_NAME, column_for

FILE_NAME = "log-columns.json"
MOST_BYTES = 2_000_000
MOST_SETS = 500
"""Sets of headings remembered; the oldest goes first."""


def mark_of(headings: Sequence[str]) -> str:
    """Return what a set of headings is known by."""
    return hashlib.sha256("\x1f".join(one.strip().casefold() for one in headings).encode()).hexdigest()[:24]


def read_picks(text: Sequence[str]) -> dict[str, str]:
    """Return quantity and heading of each NAME=HEADING; RecordingRefused for any other text."""
    found: dict[str, str] = {}
    for one in text:
        name, sign, heading = one.partition("=")
        name = name.strip().casefold().replace(" ", "-").replace("_", "-")
        if not sign or not heading.strip():
            raise RecordingRefused(f"{one[:60]!r} names no column — write NAME=HEADING, as in engine-speed=Drehzahl")
        if name not in BY_NAME:
            raise RecordingRefused(f"{name[:40]!r} is no quantity of a log — use one of {', '.join(BY_NAME)}")
        found[name] = heading.strip()
    return found


def headings_of(path: Path, chosen: Mapping[str, str] | None = None) -> tuple[str, ...]:
    """Return the headings of a log's file; RecordingRefused when it has none."""
    text = text_of(held_bytes(path, LARGEST)[:1_000_000], str(path))
    return dialect_of(text.splitlines(), str(path), chosen).headings


def open_headings(headings: Sequence[str], chosen: Mapping[str, str]) -> tuple[str, ...]:
    """Return the headings that mean nothing yet, for a person to say what they are."""
    found = []
    for place, one in enumerate(headings):
        try:
            known = column_for(place, one, chosen)
        except ValueError:
            known = None
        if known is None and one:
            found.append(one)
    return tuple(found)


def remembered(folder: Path, headings: Sequence[str]) -> dict[str, str]:
    """Return what was said before of this set of headings; nothing where the memory cannot be read."""
    found = _all(folder).get(mark_of(headings), {})
    return {name: heading for name, heading in found.items() if name in BY_NAME and heading in headings}


def remember(folder: Path, headings: Sequence[str], chosen: Mapping[str, str]) -> bool:
    """Keep what was said of a set of headings; return whether it could be kept."""
    known = _all(folder)
    known.pop(mark_of(headings), None)
    known[mark_of(headings)] = dict(chosen)
    kept = dict(list(known.items())[-MOST_SETS:])
    try:
        folder.mkdir(parents=True, exist_ok=True)
        write_whole(folder / FILE_NAME, json.dumps(kept, indent=1, ensure_ascii=False), private=True)
    except OSError:
        return False
    return True


def _all(folder: Path) -> dict[str, dict[str, str]]:
    try:
        held = held_bytes(folder / FILE_NAME, MOST_BYTES)
        found = json.loads(held.decode("utf-8"))
    except (RecordingRefused, ValueError, RecursionError):
        return {}
    if not isinstance(found, dict):
        return {}
    return {
        mark: {str(name): str(heading) for name, heading in one.items()}
        for mark, one in found.items()
        if isinstance(one, dict)
    }
