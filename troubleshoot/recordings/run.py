"""A recorded run read from a CSV file: one list of numbers for each quantity found in it."""

from __future__ import annotations

import csv
import math
from collections.abc import Iterator, Mapping
from dataclasses import dataclass, field
from pathlib import Path

from troubleshoot.calculations.units import QuantityRefused
from troubleshoot.file_reading import TooLong, read_at_most
from troubleshoot.problems import TroubleshootError
from troubleshoot.recordings.columns import QUANTITIES, Column, column_for

LARGEST = 200_000_000
"""Bytes; an hour of fourteen columns at 50 Hz is a tenth of this."""

MOST_FAULTS = 10
"""Faults of one file said at once."""


class RunRefused(TroubleshootError):
    """The file is not a recorded run that can be read; one line for each fault, with its line number."""


@dataclass(frozen=True)
class Run:
    """A recorded run; every column is as long as `time`, and nan where nothing was recorded."""

    name: str
    time: tuple[float, ...]
    columns: Mapping[str, tuple[float, ...]]
    ignored: tuple[str, ...] = ()

    def __len__(self) -> int:
        return len(self.time)

    def has(self, *names: str) -> bool:
        """Return whether all these quantities were recorded."""
        return all(name in self.columns for name in names)


@dataclass
class _Sheet:
    """What is gathered while a file is read."""

    name: str
    columns: list[Column]
    width: int
    decimal_comma: bool
    values: dict[str, list[float]] = field(default_factory=dict)
    faults: list[str] = field(default_factory=list)

    def blame(self, line: int, what: str, mend: str) -> None:
        """Note a fault."""
        self.faults.append(f"{self.name}:{line}: {what} — {mend}")


def read_run(path: Path) -> Run:
    """Read a run; RunRefused with the line of each fault."""
    try:
        text = read_at_most(path, LARGEST).decode("utf-8-sig")
    except TooLong:
        raise RunRefused(
            f"{path}: the file is over {LARGEST / 1e6:.0f} MB long — cut the run to what matters"
        ) from None
    except UnicodeDecodeError:
        raise RunRefused(f"{path}: this is not UTF-8 text — save the run as CSV in UTF-8") from None
    except OSError as problem:
        raise RunRefused(f"{path}: the file cannot be read ({problem.strerror}) — check its name") from problem
    return run_from(text, str(path))


def run_from(text: str, name: str) -> Run:
    """Read a run from text; RunRefused with the line of each fault."""
    lines = [(number, line) for number, line in enumerate(text.splitlines(), start=1) if _counts(line)]
    if len(lines) < 2:
        raise RunRefused(f"{name}: there are no rows here — a run has a line of headings, then one line a moment")
    separator = _separator(lines[0][1])
    headings = next(_rows(lines[:1], separator, name))[1]
    sheet = _sheet(name, headings, lines[0][0], separator)
    ignored = tuple(
        one.strip() for place, one in enumerate(headings) if place not in {column.place for column in sheet.columns}
    )
    for number, cells in _rows(lines[1:], separator, name):
        _take_row(sheet, number, cells)
        if len(sheet.faults) >= MOST_FAULTS:
            sheet.faults.append(f"{name}: … and perhaps more")
            break
    if sheet.faults:
        raise RunRefused("\n".join(sheet.faults))
    if not sheet.values["time"]:
        raise RunRefused(f"{name}: there are no rows here — a run has a line of headings, then one line a moment")
    columns = {one: tuple(values) for one, values in sheet.values.items() if any(map(math.isfinite, values))}
    return Run(name, columns["time"], columns, ignored)


def _counts(line: str) -> bool:
    return bool(line.strip(" \t,;")) and not line.lstrip().startswith("#")


def _separator(heading: str) -> str:
    return max(",;\t", key=heading.count)


def _rows(lines: list[tuple[int, str]], separator: str, name: str) -> Iterator[tuple[int, list[str]]]:
    """Yield each line's number and cells."""
    for number, line in lines:
        try:
            yield number, next(csv.reader([line], delimiter=separator))
        except (csv.Error, StopIteration) as problem:
            raise RunRefused(f"{name}:{number}: the line cannot be read ({problem}) — look at its quotes") from problem


def _sheet(name: str, headings: list[str], line: int, separator: str) -> _Sheet:
    sheet = _Sheet(name, [], len(headings), separator == ";")
    seen: dict[str, str] = {}
    for place, heading in enumerate(headings):
        try:
            column = column_for(place, heading)
        except QuantityRefused as problem:
            sheet.blame(line, f"heading {heading.strip()[:40]!r}: {problem.sentence}", problem.advice)
            continue
        if column is None:
            continue
        if column.quantity.name in seen:
            first = seen[column.quantity.name]
            sheet.blame(
                line, f"{first!r} and {column.heading[:40]!r} mean the same", "rename the one that is not meant"
            )
            continue
        seen[column.quantity.name] = column.heading[:40]
        sheet.columns.append(column)
        sheet.values[column.quantity.name] = []
    for needed in ("time", "engine-speed"):
        if needed not in seen and not sheet.faults:
            known = ", ".join(next(one.headings for one in QUANTITIES if one.name == needed))
            sheet.blame(line, f"no column is the {needed.replace('-', ' ')}", f"give it one of these headings: {known}")
    if sheet.faults:
        raise RunRefused("\n".join(sheet.faults))
    return sheet


def _take_row(sheet: _Sheet, number: int, cells: list[str]) -> None:
    if len(cells) < sheet.width and not any(cell.strip() for cell in cells):
        return
    if len(cells) != sheet.width:
        sheet.blame(number, f"{len(cells)} cells, but {sheet.width} headings", "one cell for each heading")
        return
    row: dict[str, float] = {}
    for column in sheet.columns:
        value = _number(sheet, number, column, cells[column.place].strip())
        if value is None:
            return
        row[column.quantity.name] = value
    times = sheet.values["time"]
    if not math.isfinite(row["time"]):
        sheet.blame(number, "the time is missing", "every line needs its time")
    elif times and row["time"] < times[-1]:
        sheet.blame(number, f"the time goes back from {times[-1]:g} to {row['time']:g} s", "sort the lines by time")
    else:
        for name, value in row.items():
            sheet.values[name].append(value)


def _number(sheet: _Sheet, line: int, column: Column, cell: str) -> float | None:
    """Return a cell as a number, nan when it is empty, None (with a fault) when it is neither."""
    if not cell or cell in ("-", "NaN", "nan"):
        return math.nan
    text = cell.replace(",", ".") if sheet.decimal_comma else cell
    try:
        value = float(text)
        if math.isfinite(value):
            return column.taken(value)
    except (ValueError, QuantityRefused):
        pass
    sheet.blame(line, f"column {column.heading[:40]!r}: {cell[:30]!r} is not a number", "correct it or leave it empty")
    return None
