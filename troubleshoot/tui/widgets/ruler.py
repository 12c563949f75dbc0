"""The ruler: the bands of a check on a line, and where the reading falls with its uncertainty."""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass

from textual.content import Content
from textual.widget import Widget

from troubleshoot.case.view import BandShown
from troubleshoot.knowledge.answers import number_beside
from troubleshoot.tui.plain import lines, literal, plain


@dataclass(frozen=True)
class Scale:
    """From a quantity to a column."""

    low: float
    high: float
    width: int

    def column(self, value: float) -> int:
        """Return the column of a value, held to the ends."""
        share = (value - self.low) / (self.high - self.low)
        return round(max(0.0, min(1.0, share)) * (self.width - 1))


def scale_for(
    bands: Sequence[BandShown], plausible: tuple[float, float] | None, value: float | None, width: int
) -> Scale | None:
    """Return a scale on which all limits stand well inside, and the reading too; None when there is nothing to show."""
    marks = [limit for band in bands for limit in (band.low, band.high) if limit is not None]
    if not marks:
        return None
    if value is not None:
        marks.append(value)
    low, high = min(marks), max(marks)
    if not math.isfinite(2 * (high - low)):
        return None  # a number that nothing was measured with, as 1e308; the answer is refused in words
    room = max((high - low) * 0.45, max(abs(low), abs(high)) * 0.25) or 1.0
    low, high = outward(low - room, high + room)
    if plausible is not None:
        low = min(max(low, plausible[0]), min(marks))
        high = max(min(high, plausible[1]), max(marks))
    return Scale(low, high, width) if high > low else None


def outward(low: float, high: float) -> tuple[float, float]:
    """Return ends that read well and hold the ones given: multiples of a tenth part or so of the distance."""
    step = 10.0 ** math.floor(math.log10(high - low))
    step /= 2 if (high - low) / step >= 4 else 10
    return min(low, math.floor(low / step) * step), max(high, math.ceil(high / step) * step)


def number(value: float) -> str:
    """Write a limit short, to at most four figures, without needless noughts; a gap in inches keeps two.

    >>> number(0.01102), number(0.00118), number(53.0)
    ('0.011', '0.0012', '53')
    """
    if abs(value) >= 1000:
        return f"{value:,.0f}"
    places = 1 if abs(value) >= 10 else 2
    if 0 < abs(value) < 0.1:
        places = min(1 - math.floor(math.log10(abs(value))), 6)
    text = f"{value:.{places}f}"
    return text.rstrip("0").rstrip(".")


def fits(words: str, room: int) -> bool:
    """Return whether the words of a band fit into its part of the line."""
    return len(words) + 4 <= room


def called(band: BandShown) -> str:
    """Return what a band is called, as it stands on the screen."""
    return literal(band.words or band.outcome.replace("-", " "))


def parts(bands: Sequence[BandShown], scale: Scale) -> list[tuple[BandShown, int, int]]:
    """Return each band with the columns it takes."""
    found = []
    for place, band in enumerate(bands):
        start = 0 if band.low is None else scale.column(band.low)
        end = scale.width if band.high is None or place == len(bands) - 1 else scale.column(band.high)
        found.append((band, start, end))
    return found


def legends(bands: Sequence[BandShown], scale: Scale) -> tuple[str, str]:
    """Return two lines over the ruler: the words that do not fit into their band, above it and the normal one first."""
    rows = [" " * scale.width, " " * scale.width]
    for band, start, end in sorted(parts(bands, scale), key=lambda part: not part[0].normal):
        words = f"{'━' if band.normal else '─'} {called(band)}"
        if fits(called(band), end - start) or len(words) > scale.width:
            continue
        middle = (start + end - len(words)) // 2
        places = range(max(0, start + 1 - len(words)), min(end, scale.width - len(words) + 1))
        spots = ((row, at) for row in (1, 0) for at in sorted(places, key=lambda at: abs(at - middle)))
        for row, at in spots:
            if not rows[row][max(0, at - 2) : at + len(words) + 2].strip():
                rows[row] = rows[row][:at] + words + rows[row][at + len(words) :]
                break
    return rows[0].rstrip(), rows[1].rstrip()


def axis(bands: Sequence[BandShown], scale: Scale) -> str:
    """Return the line of the ruler: heavy where normal, the words of bands where they fit, a tick at each limit."""
    row: list[str] = []
    for band, start, end in parts(bands, scale):
        room = end - start
        fill = "━" if band.normal else "─"
        label = f" {called(band)} " if fits(called(band), room) else ""
        row.extend(label.center(room, fill) if label else fill * room)
    for band in bands[1:]:
        if band.low is not None and 0 <= (at := scale.column(band.low)) < len(row):
            row[at] = "┿" if band.normal else "┼"
    return "".join(row)[: scale.width]


def marker(value: float, uncertainty: float | None, shown: str, scale: Scale) -> str:
    """Return the line with the reading: `├─▼─┤ 38 psi`, as wide as one standard uncertainty each way."""
    at = scale.column(value)
    row = [" "] * scale.width
    if uncertainty:
        left, right = scale.column(value - uncertainty), scale.column(value + uncertainty)
        if right - left >= 2:
            row[left : right + 1] = ["├", *"─" * (right - left - 1), "┤"]
    row[at] = "▼"
    text = "".join(row).rstrip()
    words = literal(shown)
    if len(text) + 1 + len(words) <= scale.width:
        return f"{text} {words}"
    lead = len(text) - len(text.lstrip())
    return text if len(words) + 1 > lead else text[: lead - len(words) - 1] + words + " " + text.lstrip()


def figures(bands: Sequence[BandShown], scale: Scale, read: tuple[float, str] | None = None) -> str:
    """Return the line of numbers under the limits, and the ends where there is room."""
    row = [" "] * scale.width
    limits = [(band.low, band.low_written or number(band.low)) for band in bands[1:] if band.low is not None]
    if read is not None:
        limits = [(value, number_beside(value, words, *read)) for value, words in limits]
    for value, words in [*limits, (scale.low, number(scale.low)), (scale.high, number(scale.high))]:
        start = max(0, min(scale.column(value) - len(words) // 2, scale.width - len(words)))
        around = row[max(0, start - 1) : start + len(words) + 1]
        if all(one == " " for one in around):
            row[start : start + len(words)] = words
    return "".join(row)


def with_reading(
    bands: Sequence[BandShown], plausible: tuple[float, float] | None, read: tuple[float, float | None, str], width: int
) -> list[str]:
    """Return three lines: a reading (value, uncertainty, words), the bands, their limits; none in too few columns."""
    value, uncertainty, words = read
    scale = scale_for(bands, plausible, value, width) if width >= LEAST_WIDTH else None
    if scale is None:
        return []
    return [marker(value, uncertainty, words, scale), axis(bands, scale), figures(bands, scale, (value, words))]


def styled(drawn: Sequence[str]) -> Content:
    """Return the three lines of a reading in their colours."""
    return lines(*(plain(one, style) for one, style in zip(drawn, ("bold $accent", "", "$quiet"), strict=False)))


LEAST_WIDTH, MOST_WIDTH = 16, 110


class Ruler(Widget):
    """Three lines: the reading, the bands, the limits; with no reading yet, one more for the words of the bands."""

    DEFAULT_CSS = "Ruler { height: 3; } Ruler.open { height: 4; }"

    def __init__(self, id: str | None = None) -> None:
        super().__init__(id=id)
        self.bands: tuple[BandShown, ...] = ()
        self.plausible: tuple[float, float] | None = None
        self.value: float | None = None
        self.uncertainty: float | None = None
        self.words = ""

    def show(self, bands: Sequence[BandShown], plausible: tuple[float, float] | None) -> None:
        """Show the bands of another check, with no reading on them."""
        self.bands, self.plausible = tuple(bands), plausible
        self.value = self.uncertainty = None
        self.refresh()

    def mark(self, value: float | None, uncertainty: float | None = None, words: str = "") -> None:
        """Put the reading on the ruler, or take it off."""
        self.value, self.uncertainty, self.words = value, uncertainty, words
        self.refresh()

    def render(self) -> Content:
        """Draw the lines as wide as there is room, up to 110 columns."""
        width = min(self.size.width - 1, MOST_WIDTH)
        if self.value is not None:
            return styled(with_reading(self.bands, self.plausible, (self.value, self.uncertainty, self.words), width))
        scale = scale_for(self.bands, self.plausible, None, width) if width >= LEAST_WIDTH else None
        if scale is None:
            return Content("")
        over = [plain(row, "$quiet") for row in legends(self.bands, scale)[0 if self.has_class("open") else 1 :]]
        return lines(*over, plain(axis(self.bands, scale)), plain(figures(self.bands, scale), "$quiet"))
