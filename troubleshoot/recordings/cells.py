"""Cells of a table of text: numbers in any dialect, times in any clock's writing, and what stands for nothing."""

from __future__ import annotations

import math
import re
from collections.abc import Sequence
from datetime import date
from enum import Enum

import numpy as np
from numpy.typing import NDArray

Numbers = NDArray[np.float64]

MISSING = frozenset({"", "-", "--", "---", "nan", "off", "n/a", "na", "#n/a", "null", "none", "err", "?", "*"})
"""What loggers write where nothing was measured, folded to small letters."""

BEYOND_REASON = 1e12
"""No quantity of an engine is as large as this in any unit."""

DAY_S = 86_400.0

_NUMBER = re.compile(r"[+-]?(?:\d+(?:[ '\u00a0\u202f]\d{3})*|\d{1,3}(?:[.,]\d{3})+|\d*)(?:[.,]\d*)?(?:[eE][+-]?\d+)?")
_THOUSANDS_COMMA = re.compile(r"[+-]?\d{1,3}(?:,\d{3})+(?:\.\d*)?$")
_WITH_UNIT = re.compile(r"^([+-]?[\d.,]+)\s*(?:[A-Za-z%°µ/]{1,6})$")
_CLOCK = re.compile(r"(?:(\d+):)?(\d+):(\d+(?:[.,]\d+)?)\s*([AaPp][Mm])?$")
_ISO = re.compile(r"(\d{4})[-/](\d{1,2})[-/](\d{1,2})(?:[T ,;]+(.*))?$")
_DAY_FIRST = re.compile(r"(\d{1,2})\.(\d{1,2})\.(\d{4})(?:[T ,;]+(.*))?$")
_SLASHES = re.compile(r"(\d{1,2})/(\d{1,2})/(\d{4})(?:[T ,;]+(.*))?$")


class Decimal(Enum):
    """How a file writes its decimals."""

    POINT = "point"
    COMMA = "comma"


def looks_like_number(cell: str) -> bool:
    """Return whether a cell is a number or a time in some dialect."""
    text = cell.strip()
    return bool(text) and (
        (any(map(str.isdigit, text)) and _NUMBER.fullmatch(text) is not None) or seconds_in(text) is not None
    )


def decimals_of(cells: Sequence[str], separator: str) -> Decimal:
    """Return how the numbers among the cells are written; a file of commas has points unless a cell says otherwise."""
    comma = point = unclear = 0
    for cell in cells:
        text = cell.strip()
        if "," not in text and "." not in text:
            continue
        if text.rfind(",") > text.rfind("."):
            plain = text.count(",") == 1 and "." not in text
            if plain and _THOUSANDS_COMMA.match(text):
                unclear += 1
            elif _NUMBER.fullmatch(text):
                comma += 1
        elif _NUMBER.fullmatch(text):
            point += 1
    if comma or point:
        return Decimal.COMMA if comma > point else Decimal.POINT
    return Decimal.COMMA if unclear and separator != "," else Decimal.POINT


def number_in(cell: str, decimal: Decimal) -> float | None:
    """Return a cell as a number, nan where it stands for nothing, None when it is neither.

    A unit behind the number is left out of account: the heading's or the unit row's counts.
    """
    text = cell.strip()
    if text.casefold() in MISSING:
        return math.nan
    if found := _WITH_UNIT.match(text):
        text = found[1]
    text = text.replace(" ", "").replace("\u00a0", "").replace("\u202f", "").replace("'", "")
    if decimal is Decimal.COMMA:
        text = text.replace(".", "").replace(",", ".") if "," in text else text
    elif "," in text:
        if not _THOUSANDS_COMMA.match(text):
            return None
        text = text.replace(",", "")
    if "_" in text:
        return None
    try:
        value = float(text)
    except ValueError:
        return None
    return value if math.isfinite(value) else None


def quickly(cells: Sequence[str], decimal: Decimal) -> Numbers | None:
    """Return a column of plain numbers and of words for nothing (nan); None where a cell needs a closer look."""
    whole = "\n".join(cells)
    if decimal is Decimal.COMMA and "," in whole:
        if "." in whole:
            return None
        cells = whole.replace(",", ".").split("\n")
    elif "," in whole:
        return None
    for again in (False, True):
        try:
            values = np.fromiter(map(float, cells), np.float64, len(cells))
        except ValueError:
            if again:
                return None
            cells = ["nan" if not cell or cell.strip().casefold() in MISSING else cell for cell in cells]
        else:
            return None if np.isinf(values).any() else values
    return None


def seconds_in(cell: str) -> float | None:
    """Return seconds of a clock time, a time of minutes and seconds or a date with time; None for another text."""
    text = cell.strip()
    day = 0.0
    for pattern, order in ((_ISO, (1, 2, 3)), (_DAY_FIRST, (3, 2, 1)), (_SLASHES, (3, 1, 2))):
        if found := pattern.match(text):
            try:
                day = date(*(int(found[place]) for place in order)).toordinal() * DAY_S
            except ValueError:
                return None
            text = (found[4] or "").strip().removesuffix("Z")
            if not text:
                return None
            break
    found = _CLOCK.match(text)
    if found is None or len(text) > 40:
        return None
    hours, minutes, seconds = int(found[1] or 0), int(found[2]), float(found[3].replace(",", "."))
    if seconds >= 60 or (found[1] and minutes >= 60):
        return None
    if found[4]:
        hours = hours % 12 + (12 if found[4].casefold() == "pm" else 0)
    return day + hours * 3600.0 + minutes * 60.0 + seconds
