"""The pulls of a car before its conversion or repair, kept beside the casebook under the car's name."""

from __future__ import annotations

import json
from collections.abc import Collection, Sequence
from pathlib import Path

from troubleshoot.file_writing import write_whole
from troubleshoot.recordings.comparing import as_arrays
from troubleshoot.recordings.dialect import RecordingRefused
from troubleshoot.recordings.log import held_bytes
from troubleshoot.recordings.pull_curve import PullCurve

FILE_NAME = "baselines.json"
MOST_BYTES = 20_000_000


def keep_baseline(folder: Path, car: str, pulls: Sequence[PullCurve], factor: float) -> None:
    """Keep a car's pulls, corrected to standard weather; RecordingRefused when the file cannot be written."""
    known = _all(folder)
    known[_named(car, known)] = [
        {
            "name": Path(one.name).name,
            "unit": one.unit,
            "points": [
                [round(float(at), 1), round(float(power) * factor, 3)]
                for at, power in zip(one.speed, one.power, strict=True)
            ],
        }
        for one in pulls
    ]
    try:
        folder.mkdir(parents=True, exist_ok=True)
        write_whole(folder / FILE_NAME, json.dumps(known, ensure_ascii=False), private=True)
    except OSError as problem:
        raise RecordingRefused(
            f"{folder / FILE_NAME}: cannot be written ({problem.strerror}) — look at its rights"
        ) from problem


def baseline_of(folder: Path, car: str) -> list[PullCurve]:
    """Return the pulls kept of a car; RecordingRefused where there are none."""
    known = _all(folder)
    car = _named(car, known)
    if car not in known:
        there = ", ".join(sorted(known)[:12]) or "none"
        raise RecordingRefused(f"No baseline is kept of {car[:40]!r} — kept are: {there}")
    made = []
    try:
        for one in known[car]:
            speed, power = as_arrays(one["points"])  # type: ignore[arg-type]  # what JSON holds is checked by use
            made.append(PullCurve(str(one["name"]), speed, power, str(one["unit"])))
    except (KeyError, TypeError, ValueError) as problem:
        raise RecordingRefused(
            f"{folder / FILE_NAME}: the baseline of {car[:40]!r} is damaged — keep it anew"
        ) from problem
    return made


def _named(car: str, known: Collection[str]) -> str:
    """Return the name under which a car is kept already, whatever its capitals and spaces; else the name given."""
    wanted = " ".join(car.split())
    return next((one for one in known if one.casefold() == wanted.casefold()), wanted)


def _all(folder: Path) -> dict[str, list[dict[str, object]]]:
    path = folder / FILE_NAME
    if not path.exists():
        return {}
    try:
        found = json.loads(held_bytes(path, MOST_BYTES).decode("utf-8"))
    except (ValueError, RecursionError):
        raise RecordingRefused(f"{path}: this is no file of baselines — move it away") from None
    if not isinstance(found, dict):
        raise RecordingRefused(f"{path}: this is no file of baselines — move it away")
    return found
