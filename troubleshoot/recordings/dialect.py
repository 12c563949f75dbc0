"""How a file of text is laid out: its letters, what parts its cells, where its headings and units stand."""

from __future__ import annotations

import codecs
import csv
from collections import Counter
from collections.abc import Iterable, Iterator, Mapping, Sequence
from dataclasses import dataclass

from troubleshoot.calculations.units import QuantityRefused
from troubleshoot.problems import TroubleshootError
from troubleshoot.recordings.cells import Decimal, decimals_of, looks_like_number
from troubleshoot.recordings.quantities import column_for, looks_like_unit

SEPARATORS = "\t;|,"
LOOKED_THROUGH = 400
"""Lines from the beginning that tell how a file is laid out."""
MOST_BEFORE = 100
"""Lines that may stand before the headings."""
LONGEST_LINE = 1_000_000


class RecordingRefused(TroubleshootError):
    """The file is no recording that can be read; one line for each fault, with its place."""


@dataclass(frozen=True)
class Dialect:
    """How one file is laid out; line numbers count from 1."""

    separator: str
    headings: tuple[str, ...]
    heading_line: int
    units: tuple[str, ...]
    first_row: int
    decimal: Decimal


def text_of(held: bytes, name: str) -> str:
    """Return a file's letters: UTF-8, UTF-16 with or without its mark, else Latin-1; RecordingRefused for no text."""
    try:
        if held.startswith((codecs.BOM_UTF16_LE, codecs.BOM_UTF16_BE)):
            text = held.decode("utf-16")
        elif len(held) >= 8 and held[1:64:2].count(0) > len(held[1:64:2]) * 0.8 and 0 not in held[0:64:2]:
            text = held.decode("utf-16-le")
        elif len(held) >= 8 and held[0:64:2].count(0) > len(held[0:64:2]) * 0.8 and 0 not in held[1:64:2]:
            text = held.decode("utf-16-be")
        else:
            text = held.decode("utf-8-sig")
    except UnicodeDecodeError as problem:
        if problem.encoding.startswith("utf-16"):
            raise RecordingRefused(f"{name}: this is not text — save the log as CSV in UTF-8") from None
        text = held.decode("cp1252", errors="replace")
    if "\0" in text[:100_000]:
        raise RecordingRefused(f"{name}: this is not text — save the log as CSV in UTF-8")
    return text


def cells_of(lines: Iterable[str], separator: str, name: str, first: int) -> Iterator[list[str]]:
    """Yield each line's cells; RecordingRefused with the line's number where quotes do not fit."""
    for number, line in enumerate(lines, start=first):
        if '"' not in line:
            yield line.split(separator)
            continue
        try:
            yield next(csv.reader([line], delimiter=separator))
        except (csv.Error, StopIteration) as problem:
            raise RecordingRefused(
                f"{name}:{number}: the line cannot be read ({problem}) — look at its quotes"
            ) from problem


def counts(line: str) -> bool:
    """Return whether a line holds anything but separators and remarks."""
    return bool(line.strip(" \t,;|")) and not line.lstrip().startswith("#")


def dialect_of(lines: Sequence[str], name: str, chosen: Mapping[str, str] | None = None) -> Dialect:
    """Return how a file's lines are laid out; RecordingRefused where no row of numbers stands under headings."""
    start = [(number, line) for number, line in enumerate(lines[:LOOKED_THROUGH], start=1) if counts(line)]
    if start and start[0][1].casefold().startswith("sep=") and len(start[0][1].strip()) == 5:
        separator = start[0][1].strip()[4]
        start = start[1:]
    else:
        separator = _separator([line for _, line in start])
    if any(len(line) > LONGEST_LINE for _, line in start):
        raise RecordingRefused(f"{name}: a line is over a million letters long — this is no table")
    if len(start) < 2:
        raise RecordingRefused(
            f"{name}: there are no rows here — a log has a line of headings, then one line for each moment"
        )
    rows = [(number, next(cells_of([line], separator, name, number))) for number, line in start]
    heading = _heading_place(rows, name, chosen)
    number, cells = rows[heading]
    units: tuple[str, ...] = ()
    first = heading + 1
    if first < len(rows) and _are_units(rows[first][1], len(cells)):
        units = tuple(cell.strip() for cell in rows[first][1])
        first += 1
    if first >= len(rows):
        raise RecordingRefused(
            f"{name}: there are no rows here — a log has a line of headings, then one line for each moment"
        )
    numbers = [cell for _, row in rows[first:] for cell in row]
    headings = tuple(cell.strip().lstrip("\ufeff") for cell in cells)
    return Dialect(separator, headings, number, units, rows[first][0], decimals_of(numbers, separator))


def _separator(lines: Sequence[str]) -> str:
    """Return what parts the cells: the sign that most lines hold equally often, commas last."""
    best, best_score = ",", 0.0
    for sign in SEPARATORS:
        often = Counter(line.count(sign) for line in lines)
        often.pop(0, None)
        if not often:
            continue
        share = max(often.values()) / len(lines)
        if sign != "," and share >= 0.5:
            return sign
        if share > best_score:
            best, best_score = sign, share
    return best


def _heading_place(rows: Sequence[tuple[int, list[str]]], name: str, chosen: Mapping[str, str] | None) -> int:
    """Return the place of the headings among the rows: the line of most known headings before the first numbers."""
    first = next((place for place, (_, cells) in enumerate(rows) if _is_numbers(cells)), len(rows))
    known = [(_known(cells, chosen), -place) for place, (_, cells) in enumerate(rows[: first or 1])]
    if first > MOST_BEFORE and first < len(rows):
        raise RecordingRefused(f"{name}: over {MOST_BEFORE} lines stand before the numbers — cut them off")
    most, at = max(known)
    if most:
        return -at
    if first == 0:
        raise RecordingRefused(
            f"{name}:{rows[0][0]}: no column has a heading — give the first line headings: time, rpm and so on"
        )
    before = first - 1
    if before > 0 and before < len(rows) and _are_units(rows[before][1], len(rows[before - 1][1])):
        before -= 1
    return min(before, len(rows) - 1) if first < len(rows) else 0


def _is_numbers(cells: Sequence[str]) -> bool:
    filled = [cell for cell in cells if cell.strip()]
    return len(filled) >= 2 and sum(map(looks_like_number, filled)) >= max(2, len(filled) // 2)


def _known(cells: Sequence[str], chosen: Mapping[str, str] | None) -> int:
    known = 0
    for place, cell in enumerate(cells[:500]):
        try:
            known += column_for(place, cell[:200], chosen) is not None
        except QuantityRefused:
            known += 1
    return known


def _are_units(cells: Sequence[str], width: int) -> bool:
    filled = [cell.strip() for cell in cells if cell.strip()]
    if not filled or len(cells) > width + 1 or any(map(looks_like_number, filled)):
        return False
    return sum(looks_like_unit(cell.strip("()[]")) for cell in filled[:60]) > len(filled[:60]) // 2
