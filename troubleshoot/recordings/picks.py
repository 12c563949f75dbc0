"""Which heading a person said is which quantity, remembered for that set of headings."""

from __future__ import annotations

import hashlib
import json
from collections.abc import Mapping, Sequence
from pathlib import Path

from troubleshoot.calculations.units import QuantityRefused
from troubleshoot.file_writing import write_whole
from troubleshoot.recordings.dialect import RecordingRefused, dialect_of, text_of
from troubleshoot.recordings.log import LARGEST, Log, held_bytes, read_log
from troubleshoot.recordings.quantities import BY_NAME, SPEED, TIME, column_for

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
        word, name = name.strip()[:200], name.strip().casefold().replace(" ", "-").replace("_", "-")
        if not sign or not heading.strip():
            raise RecordingRefused(f"{one[:60]!r} names no column — write NAME=HEADING, as in engine-speed=Drehzahl")
        if name not in BY_NAME:  # a heading in the trade's words will do, as rpm
            name = dict(meanings([word], {})).get(word) or name
        if name not in BY_NAME:
            raise RecordingRefused(f"{name[:40]!r} is no quantity of a log — use one of {', '.join(BY_NAME)}")
        found[name] = heading.strip()
    return found


def headings_of(path: Path, chosen: Mapping[str, str] | None = None) -> tuple[str, ...]:
    """Return the headings of a log's file; RecordingRefused when it has none."""
    text = text_of(held_bytes(path, LARGEST)[:1_000_000], str(path))
    return dialect_of(text.splitlines(), str(path), chosen).headings


def log_with_picks(path: Path, chosen: Mapping[str, str], folder: Path | None) -> tuple[Log, bool]:
    """Read a log; what is chosen now is remembered in a folder for its headings, what was said before is used again.

    Return also whether it could be remembered.
    """
    if folder is None or not path.is_file():
        return read_log(path, chosen), True
    headings = headings_of(path, chosen)
    before = remembered(folder, headings)
    used = {name: heading for name, heading in before.items() if heading not in chosen.values()} | dict(chosen)
    log = read_log(path, used)
    return log, not chosen or remember(folder, headings, used)


def meanings(headings: Sequence[str], chosen: Mapping[str, str]) -> tuple[tuple[str, str], ...]:
    """Return each heading with the quantity it means; empty where it means none, or has a unit of another kind."""
    found = []
    for place, one in enumerate(headings):
        try:
            known = column_for(place, one[:200], chosen)
        except QuantityRefused:
            known = None
        found.append((one, known.quantity.name if known is not None else ""))
    return tuple(found)


def lacking(means: Sequence[tuple[str, str]]) -> str:
    """Return in words what a log still needs: time, engine speed, one heading for each; empty where it needs none."""
    names = [name for _, name in means if name]
    for needed in (TIME, SPEED):
        if needed not in names:
            return f"No heading is the {needed.replace('-', ' ')}."
    twice = next((name for name in names if names.count(name) > 1), "")
    return f"Two headings mean {twice.replace('-', ' ')}." if twice else ""


def gone_through(folder: Path, headings: Sequence[str]) -> bool:
    """Return whether somebody said before what this set of headings means."""
    return mark_of(headings) in _all(folder)


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
