"""A pull as power over engine speed: from a dyno's table, or from a log that has power, torque or only speed."""

from __future__ import annotations

import hashlib
from collections.abc import Mapping
from dataclasses import dataclass, replace
from pathlib import Path

import numpy as np

from troubleshoot.calculations.runs import power_from_torque
from troubleshoot.calculations.units import QuantityRefused, convert
from troubleshoot.recordings.cells import BEYOND_REASON, number_in
from troubleshoot.recordings.dialect import RecordingRefused, cells_of, counts, dialect_of, text_of
from troubleshoot.recordings.estimates import Numbers, smoothed
from troubleshoot.recordings.log import LARGEST, held_bytes, log_from
from troubleshoot.recordings.quantities import SPEED, TIME, Column, column_for
from troubleshoot.recordings.stretches import Stretch, pull

SMOOTH_S = 0.4
"""Seconds over which the rise of speed is taken where a log has neither power nor torque."""
MOST_ROWS = 200_000
LEAST_POINTS = 5
POWER, RISE = "hp", "rpm/s"
FASTEST = 100_000.0
"""rpm; a row of more holds no speed of an engine and is left out."""


@dataclass(frozen=True)
class PullCurve:
    """One pull: `power` in `unit` (hp, or rpm/s where only the rise of speed is known) at rising `speed` in rpm."""

    name: str
    speed: Numbers
    power: Numbers
    unit: str
    sha256: str = ""


def read_pull(path: Path, chosen: Mapping[str, str] | None = None) -> PullCurve:
    """Read a pull; RecordingRefused with line and column, or where it holds none."""
    held = held_bytes(path, LARGEST)
    found = _pull_in(text_of(held, str(path)), path, chosen)
    return replace(found, sha256=hashlib.sha256(held).hexdigest())


def _pull_in(text: str, path: Path, chosen: Mapping[str, str] | None) -> PullCurve:
    lines = text.splitlines()
    dialect = dialect_of(lines, str(path), chosen)
    columns: dict[str, Column] = {}
    for place, heading in enumerate(dialect.headings):
        try:
            one = column_for(place, heading[:200], chosen)
            if one is not None and not one.stated and place < len(dialect.units):
                one = one.in_unit(dialect.units[place].strip("()[]"))
        except QuantityRefused as problem:
            raise RecordingRefused(
                f"{path}:{dialect.heading_line}: heading {heading[:40]!r}: {problem.sentence} — {problem.advice}"
            ) from problem
        if one is not None:
            columns.setdefault(one.quantity.name, one)
    if TIME in columns:
        return _from_log(text, path, chosen)
    if SPEED not in columns or not {"power", "torque"} & set(columns):
        raise RecordingRefused(
            f"{path}:{dialect.heading_line}: a dyno's table needs engine speed and power or torque — "
            "name its columns rpm, power (hp), torque (lbf*ft), or give a log with time"
        )
    what = columns.get("power") or columns["torque"]
    rows = []
    body = lines[dialect.first_row - 1 :][:MOST_ROWS]
    for number, cells in enumerate(cells_of(body, dialect.separator, str(path), dialect.first_row), dialect.first_row):
        if not counts(lines[number - 1]):
            continue
        pair = []
        for column in (columns[SPEED], what):
            cell = cells[column.place] if column.place < len(cells) else ""
            value = number_in(cell, dialect.decimal)
            if value is None or abs(value) > BEYOND_REASON:
                raise RecordingRefused(
                    f"{path}:{number}: column {column.place + 1}, {column.heading[:40]!r}: {cell.strip()[:30]!r} "
                    "is not a number — correct it or leave it empty"
                )
            scale, zero = column.line
            pair.append(value * scale + zero)
        rows.append(pair)
    held = np.array(rows, dtype=np.float64).reshape(-1, 2)
    speed, power = held[:, 0], held[:, 1]
    return _curve(str(path), speed, power if "power" in columns else _with_torque(speed, power), POWER)


def _from_log(text: str, path: Path, chosen: Mapping[str, str] | None) -> PullCurve:
    log = log_from(text, str(path), chosen)
    found = pull(log)
    if found is None and {"power", "torque"} & set(log.columns):
        found = Stretch(log, 0, len(log))
    if found is None:
        raise RecordingRefused(
            f"{path}: no pull at full throttle is in this log — it needs throttle or manifold pressure, or power"
        )
    time, speed = found.time, log.held(SPEED)[found.rows]
    if log.has("power"):
        return _curve(str(path), speed, log.held("power")[found.rows], POWER)
    if log.has("torque"):
        return _curve(str(path), speed, _with_torque(speed, log.held("torque")[found.rows]), POWER)
    smooth = smoothed(time, speed, SMOOTH_S)
    good = np.isfinite(smooth)
    if good.sum() < LEAST_POINTS or np.ptp(time[good]) <= 0:
        raise RecordingRefused(f"{path}: the pull is too short to compare — log more of it")
    moments, first = np.unique(time[good], return_index=True)
    values = smooth[good][first]
    return _curve(str(path), values, np.gradient(values, moments), RISE)


def _with_torque(speed: Numbers, torque: Numbers) -> Numbers:
    """Return hp of torques in lbf·ft."""
    watts = convert(1.0, "lbf*ft", "N*m") * power_from_torque(1.0, 1.0) * torque * speed
    made: Numbers = watts / convert(1.0, "hp", "W")
    return made


def _curve(name: str, speed: Numbers, power: Numbers, unit: str) -> PullCurve:
    """Return a pull in order of speed, by the mean in each 25 rpm, so that one speed has one power."""
    good = np.isfinite(speed) & np.isfinite(power) & (speed > 0) & (speed < FASTEST)
    place = np.round(speed[good] / 25.0).astype(np.int64)
    if np.unique(place).size < LEAST_POINTS:
        raise RecordingRefused(f"{name}: the pull has fewer than {LEAST_POINTS} speeds — give more of it")
    _, inverse = np.unique(place, return_inverse=True)
    count = np.bincount(inverse)
    return PullCurve(
        name,
        np.bincount(inverse, weights=speed[good]) / count,
        np.bincount(inverse, weights=power[good]) / count,
        unit,
    )
