"""A log read from a file of text: one array for each quantity found in it."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, field
from functools import cached_property
from pathlib import Path

import numpy as np
from numpy.typing import NDArray

from troubleshoot.calculations.units import QuantityRefused
from troubleshoot.file_reading import TooLong, read_at_most
from troubleshoot.recordings.cells import BEYOND_REASON, DAY_S, Decimal, Numbers, number_in, quickly, seconds_in
from troubleshoot.recordings.dialect import Dialect, RecordingRefused, cells_of, counts, dialect_of, text_of
from troubleshoot.recordings.quantities import BY_NAME, SPEED, TIME, Column, column_for

LARGEST = 100_000_000
"""Bytes; an hour of forty columns at 50 Hz is less."""
MOST_FAULTS = 10
"""Faults of one file said at once."""
CHUNK = 8192
"""Lines turned into numbers at a time."""
RESTART_GAP_S = 10.0
"""Seconds put between the parts of a log that was stopped and begun again; the true pause is not known."""
MILLISECOND_STEP = 5.0
"""Whole numbers that rise by this or more without a named unit are milliseconds: no logger of use is as slow."""


@dataclass(frozen=True)
class Log:
    """A log; every column is as long as `time` (s, never falling), and nan where nothing was recorded."""

    name: str
    time: Numbers
    columns: Mapping[str, Numbers]
    ignored: tuple[str, ...] = ()
    lines: NDArray[np.int64] = field(default_factory=lambda: np.zeros(0, np.int64))
    """The file's line of each row."""
    restarts: tuple[int, ...] = ()
    """Rows at which the logger was begun again."""
    headings: tuple[str, ...] = ()
    remarks: tuple[str, ...] = ()
    """What was supposed while reading, in words."""
    sha256: str = ""

    def __len__(self) -> int:
        return int(self.time.size)

    def has(self, *names: str) -> bool:
        """Return whether all these quantities were recorded."""
        return all(name in self.columns for name in names)

    @cached_property
    def _held(self) -> dict[str, Numbers]:
        return {}

    def held(self, name: str) -> Numbers:
        """Return a column with short gaps filled by the number before: for finding moments, never for readings."""
        if name not in self._held:
            self._held[name] = _held(self.time, self.columns[name], self.restarts)
        return self._held[name]


def _held(time: Numbers, values: Numbers, restarts: Sequence[int]) -> Numbers:
    """Return values held over gaps of up to three times the column's own usual step, but not over a restart."""
    finite = np.isfinite(values)
    if finite.all() or finite.sum() < 2:
        return values
    places = np.flatnonzero(finite)
    usual = float(np.median(np.diff(time[places])))
    last = np.maximum.accumulate(np.where(finite, np.arange(values.size), -1))
    part = np.searchsorted(np.asarray(restarts, dtype=np.int64), np.arange(values.size), side="right")
    safe = np.maximum(last, 0)
    good = (last >= 0) & (time - time[safe] <= 3 * usual) & (part == part[safe])
    return np.where(good, values[safe], np.nan)


def read_log(path: Path, chosen: Mapping[str, str] | None = None) -> Log:
    """Read a log; RecordingRefused with line and column of each fault.

    `chosen` leads from a quantity's name to the heading that a person said it has.
    """
    import hashlib

    held = held_bytes(path, LARGEST)
    mark = hashlib.sha256(held).hexdigest()
    text = text_of(held, str(path))
    del held
    return log_from(text, str(path), chosen, mark)


def held_bytes(path: Path, most: int) -> bytes:
    """Return a recording's bytes; RecordingRefused when it cannot be read or is too long."""
    try:
        return read_at_most(path, most)
    except TooLong:
        raise RecordingRefused(
            f"{path}: the file is over {most / 1e6:.0f} MB long — cut it down to what matters"
        ) from None
    except (OSError, ValueError) as problem:
        why = getattr(problem, "strerror", None) or problem
        raise RecordingRefused(f"{path}: the file cannot be read ({why}) — check its name") from problem


def log_from(text: str, name: str, chosen: Mapping[str, str] | None = None, mark: str = "") -> Log:
    """Read a log from text; RecordingRefused with line and column of each fault."""
    lines = text.splitlines()
    del text
    dialect = dialect_of(lines, name, chosen)
    columns = columns_in(dialect, name, chosen)
    sheet = _Sheet(name, dialect, columns)
    first = dialect.first_row - 1
    for start in range(first, len(lines), CHUNK):
        sheet.take(lines[start : start + CHUNK], start + 1)
        if len(sheet.faults) >= MOST_FAULTS:
            sheet.faults.append(f"{name}: … and perhaps more")
            break
    if not sheet.faults and not sheet.rows:
        sheet.faults.append(
            f"{name}: there are no rows here — a log has a line of headings, then one line for each moment"
        )
    return sheet.log(mark) if not sheet.faults else _refuse(sheet.faults)


def _refuse(faults: Sequence[str]) -> Log:
    raise RecordingRefused("\n".join(faults))


def columns_in(dialect: Dialect, name: str, chosen: Mapping[str, str] | None = None) -> tuple[Column, ...]:
    """Return the columns of a file that are known, time and engine speed among them; RecordingRefused otherwise."""
    found: dict[str, Column] = {}
    faults: list[str] = []
    for quantity in chosen or {}:
        if quantity not in BY_NAME:
            _refuse([f"{quantity[:40]!r} is no quantity of a log — use one of {', '.join(BY_NAME)}"])
    for place, heading in enumerate(dialect.headings):
        where = f"{name}:{dialect.heading_line}: heading {heading[:40]!r}"
        try:
            column = column_for(place, heading[:200], chosen)
            if column is not None and not column.stated and place < len(dialect.units):
                column = column.in_unit(dialect.units[place].strip("()[]"))
        except QuantityRefused as problem:
            faults.append(f"{where}: {problem.sentence} — {problem.advice}")
            continue
        if column is None:
            continue
        if column.quantity.name in found:
            first = found[column.quantity.name].heading[:40]
            faults.append(
                f"{name}:{dialect.heading_line}: {first!r} and {heading[:40]!r} mean the same — "
                f"rename one, or say which with --column {column.quantity.name}=HEADING"
            )
            continue
        found[column.quantity.name] = column
    for needed in (TIME, SPEED):
        if needed not in found and not faults:
            there = ", ".join(repr(one[:30]) for one in dialect.headings[:12])
            faults.append(
                f"{name}:{dialect.heading_line}: no column is the {needed.replace('-', ' ')} — say which it is with "
                f"--column {needed}=HEADING; the headings are {there}"
            )
    for quantity, heading in (chosen or {}).items():
        if quantity not in found and not faults:
            faults.append(f"{name}:{dialect.heading_line}: there is no heading {heading[:40]!r} — look at its spelling")
    if faults:
        _refuse(faults)
    return tuple(found.values())


@dataclass
class _Sheet:
    """What is gathered while a file is read."""

    name: str
    dialect: Dialect
    columns: tuple[Column, ...]
    faults: list[str] = field(default_factory=list)
    made: list[Numbers] = field(default_factory=list)
    numbers: list[NDArray[np.int64]] = field(default_factory=list)
    again: list[int] = field(default_factory=list)
    rows: int = 0
    clock: bool = False
    underlined: bool = False
    """Whether the lines at hand hold an underline, which Python would take inside a number."""

    def blame(self, line: int, what: str, advice: str) -> None:
        """Note a fault."""
        if len(self.faults) < MOST_FAULTS:
            self.faults.append(f"{self.name}:{line}: {what} — {advice}")

    def take(self, lines: Sequence[str], first: int) -> None:
        """Turn some lines into numbers, whole columns at a time where they are plain."""
        width = len(self.dialect.headings)
        self.underlined = any("_" in line for line in lines)
        rows: list[list[str]] = []
        places: list[int] = []
        for number, cells in enumerate(cells_of(lines, self.dialect.separator, self.name, first), start=first):
            if len(cells) != width and not self._fits(number, cells, lines[number - first], width):
                continue
            if not any(cells) or (cells[0].startswith("#") and not counts(lines[number - first])):
                continue
            if cells[0][:1].isalpha() and self._repeats(cells):
                if cells[0].strip() == self.dialect.headings[0]:
                    self.again.append(self.rows + len(rows))
                continue
            rows.append(cells)
            places.append(number)
        if not rows:
            return
        block = np.empty((len(self.columns), len(rows)))
        for row, column in enumerate(self.columns):
            block[row] = self._column(column, [cells[column.place] for cells in rows], places)
        self.made.append(block)
        self.numbers.append(np.asarray(places, dtype=np.int64))
        self.rows += len(rows)

    def _fits(self, number: int, cells: list[str], line: str, width: int) -> bool:
        """Trim or fill a row whose count of cells differs only by empty ones; note any other as a fault."""
        if not counts(line):
            return False
        while len(cells) > width and not cells[-1].strip():
            cells.pop()
        while len(cells) < width and not self.dialect.headings[len(cells)]:
            cells.append("")
        if len(cells) == width:
            return True
        self.blame(number, f"{len(cells)} cells, but {width} headings", "one cell for each heading")
        return False

    def _repeats(self, cells: Sequence[str]) -> bool:
        """Return whether a row is the headings or units over again, as a logger writes that is begun anew."""
        plain = tuple(cell.strip() for cell in cells)
        return plain in (self.dialect.headings, self.dialect.units)

    def _column(self, column: Column, cells: list[str], places: Sequence[int]) -> Numbers:
        """Return one column's cells as numbers in the quantity's unit."""
        if column.quantity.name == TIME and (self.clock or ":" in next(filter(None, cells), "")):
            self.clock = True
            return self._clock_times(column, cells, places)
        values = None if self.underlined else quickly(cells, self.dialect.decimal)
        if values is None:
            values = self._slowly(column, cells, places)
        with np.errstate(over="ignore"):
            wild = np.flatnonzero(np.abs(values) > BEYOND_REASON)
        for place in wild[:MOST_FAULTS]:
            self._no_number(column, cells[place], places[place])
        scale, zero = column.line
        values[wild] = np.nan
        return values * scale + zero

    def _slowly(self, column: Column, cells: Sequence[str], places: Sequence[int]) -> Numbers:
        known: dict[str, float] = {}
        values = np.empty(len(cells))
        for row, cell in enumerate(cells):
            if cell not in known:
                value = number_in(cell, self.dialect.decimal)
                if value is None:
                    self._no_number(column, cell, places[row])
                    value = np.nan
                known[cell] = value
            values[row] = known[cell]
        return values

    def _clock_times(self, column: Column, cells: Sequence[str], places: Sequence[int]) -> Numbers:
        values = np.full(len(cells), np.nan)
        for row, cell in enumerate(cells):
            value = seconds_in(cell)
            if value is None and cell.strip():
                self._no_number(column, cell, places[row], "is not a time")
            elif value is not None:
                values[row] = value
        return values

    def _no_number(self, column: Column, cell: str, line: int, what: str = "is not a number") -> None:
        advice = "correct it or leave it empty"
        if self.dialect.decimal is Decimal.POINT and "," in cell:
            advice = "decimal commas need semicolons or tabs between the cells"
        self.blame(line, f"column {column.place + 1}, {column.heading[:40]!r}: {cell.strip()[:30]!r} {what}", advice)

    def log(self, mark: str) -> Log:
        """Return the log; RecordingRefused where the times do not fit."""
        names = [one.quantity.name for one in self.columns]
        whole = np.concatenate(self.made, axis=1)
        lines = np.concatenate(self.numbers)
        self.made.clear()
        time = whole[names.index(TIME)]
        missing = np.flatnonzero(~np.isfinite(time))
        for row in missing[:MOST_FAULTS]:
            self.blame(int(lines[row]), "the time is missing", "every line needs its time")
        if self.faults:
            _refuse(self.faults)
        remarks: list[str] = []
        time_column = self.columns[names.index(TIME)]
        if self._are_milliseconds(time_column, time):
            time = time / 1000.0
            remarks.append("The time has no unit; by its steps it was taken as milliseconds.")
        time, restarts = self._straightened(time, lines)
        if restarts:
            where = ", ".join(str(lines[row]) for row in restarts[:6])
            remarks.append(f"The logger was begun again at line {where}; the parts are kept apart.")
        columns = {
            name: whole[place] for place, name in enumerate(names) if name != TIME and np.isfinite(whole[place]).any()
        }
        known = {one.place for one in self.columns}
        ignored = tuple(one for place, one in enumerate(self.dialect.headings) if place not in known and one)
        if SPEED not in columns:
            _refuse([f"{self.name}: the engine speed is missing in every line — look at its column"])
        return Log(
            self.name,
            time,
            {TIME: time} | columns,
            ignored,
            lines,
            restarts,
            self.dialect.headings,
            tuple(remarks),
            mark,
        )

    def _are_milliseconds(self, column: Column, time: Numbers) -> bool:
        if column.stated or self.clock or time.size < 3:
            return False
        steps = np.diff(time)
        steps = steps[steps > 0]
        return bool(steps.size) and float(np.median(steps)) >= MILLISECOND_STEP and not np.any(time % 1)

    def _straightened(self, time: Numbers, lines: NDArray[np.int64]) -> tuple[Numbers, tuple[int, ...]]:
        """Return times that never fall, and the rows at which the logger was begun again."""
        time = time - (time[0] if self.clock or abs(time[0]) > 1e6 else 0.0)
        steps = np.diff(time)
        shift = np.zeros(time.size)
        restarts = []
        for row in np.flatnonzero((steps < 0) | np.isin(np.arange(1, time.size), self.again)) + 1:
            back = -float(steps[row - 1])
            if self.clock and back > DAY_S / 2:
                shift[row:] += DAY_S
                continue
            begun = int(row) in self.again or time[row] <= time[0] + 1.0
            if not begun and back > 0:
                self.blame(
                    int(lines[row]),
                    f"the time goes back from {time[row - 1]:g} to {time[row]:g} s",
                    "sort the lines by time",
                )
                if len(self.faults) >= MOST_FAULTS:
                    break
                continue
            restarts.append(int(row))
            if back > 0:
                shift[row:] += back + RESTART_GAP_S
        if self.faults:
            _refuse(self.faults)
        return time + shift, tuple(restarts)
