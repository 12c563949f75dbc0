"""Charts drawn as text for a terminal and as SVG for a page; both read without colour."""

import math
from collections.abc import Iterator
from dataclasses import dataclass
from textwrap import wrap

from troubleshoot.calculations.chart import Axis, Band, Chart, Line
from troubleshoot.calculations.units import show_number
from troubleshoot.reports.svg import svg_box, svg_document, svg_line, svg_text

GLYPHS = "*o+x#"
MARKS = "123456789"
HOLDS = "\N{NO-BREAK SPACE}"
FEWEST_ROWS, FEWEST_COLUMNS = 3, 30
"""Of the field of the curves, and of the whole, in a small drawing."""
FILLS, UPRIGHT_FILLS = ".'~`", ".!,~"
"""What shades a band, by its kind: bands across, and upright ones."""


def nice_ticks(low: float, high: float, most: int = 6) -> list[float]:
    """Return round numbers between low and high, at most `most` of them, for the scale of an axis.

    >>> nice_ticks(0, 60)
    [0.0, 20.0, 40.0, 60.0]
    """
    rough = (high - low) / max(1, most - 1)
    size = 10.0 ** math.floor(math.log10(rough))
    step = next(size * times for times in (1, 2, 2.5, 5, 10) if size * times >= rough * (1 - 1e-9))
    first = math.ceil(low / step - 1e-9)
    last = math.floor(high / step + 1e-9)
    return [float(f"{place * step:.12g}") for place in range(first, last + 1)]


def text_plot(chart: Chart, width: int = 72, height: int = 18) -> str:
    """Draw a chart with plain characters: one sign a line, dots in bands, ringed numbers for marks, a key below."""
    return "\n".join(_TextCanvas(chart, max(30, width), max(6, height)).drawn())


def small_plot(chart: Chart, width: int, height: int) -> list[str]:
    """Draw a chart in this room, the words of the axes in its key; nothing where the room is too small."""
    for rows in range(height - 4, FEWEST_ROWS - 1, -1):
        drawn = _TextCanvas(chart, width, rows).drawn(small=True) if width >= FEWEST_COLUMNS else []
        if drawn and len(drawn) <= height:
            return drawn
    return []


class _TextCanvas:
    """A grid of characters with the scales of a chart."""

    def __init__(self, chart: Chart, width: int, height: int) -> None:
        self.chart = chart
        self.left, self.right, self.low, self.high = chart.bounds()
        self.y_ticks = nice_ticks(self.low, self.high, max(3, height // 4))
        self.margin = max(len(show_number(tick)) for tick in self.y_ticks) + 1
        self.columns, self.rows = width - self.margin - 2, height
        self.cells = [[" "] * self.columns for _ in range(self.rows)]

    def column(self, x: float) -> int:
        """Return the column of a value of x."""
        return round((x - self.left) / (self.right - self.left) * (self.columns - 1))

    def row(self, y: float) -> int:
        """Return the row of a value of y, row 0 at the top."""
        return self.rows - 1 - round((y - self.low) / (self.high - self.low) * (self.rows - 1))

    def drawn(self, small: bool = False) -> list[str]:
        """Return the lines of the drawing; where it is small, the axes are named in the key."""
        kinds = band_kinds(self.chart)
        for band in self.chart.bands:
            self._shade(band, fill_of(band, kinds.index(band.label)))
        for level in self.chart.levels:
            if level.upright:
                for row in range(self.rows):
                    self._put(self.column(level.at), row, ":")
            else:
                for column in range(0, self.columns, 2):
                    self._put(column, self.row(level.at), "-")
        for glyph, line in zip(GLYPHS, self.chart.lines, strict=False):
            self._draw(line, glyph)
        for sign, mark in zip(MARKS, self.chart.marks, strict=False):
            column, row = self.column(mark.x), self.row(mark.y)
            for place, ring in ((column - 1, "("), (column, sign), (column + 1, ")")):
                self._put(place, row, ring)
        if small:
            across = [] if self.chart.x.ticks else [f"across: {self.chart.x.title}"]
            words = [f"up: {self.chart.y.title}", *across, *(one for part in self._signs() for one in part)]
            key = wrap("   ".join(one.replace(" ", HOLDS) for one in words), self.margin + 2 + self.columns)
            return [
                self.chart.title,
                *self._framed(),
                *self._x_scale()[:2],
                *(line.replace(HOLDS, " ") for line in key),
            ]
        return [self.chart.title, self.chart.y.title, *self._framed(), *self._x_scale(), *self._key()]

    def _shade(self, band: Band, sign: str) -> None:
        """Fill a band; where it is thinner than a sign, one row or column of it."""
        left, right, low, high = shaded(band, (self.left, self.right, self.low, self.high))
        for row in range(self.row(high), self.row(low) + 1):
            for column in range(self.column(left), self.column(right) + 1):
                self._put(column, row, sign)

    def _put(self, column: int, row: int, sign: str) -> None:
        if 0 <= column < self.columns and 0 <= row < self.rows:
            self.cells[row][column] = sign

    def _draw(self, line: Line, glyph: str) -> None:
        """Draw a curve, a sign in every column it passes."""
        for (x0, y0), (x1, y1) in zip(line.points, line.points[1:], strict=False):
            first, last = self.column(x0), self.column(x1)
            before = self.row(y0)
            for column in range(first, last + 1):
                along = (column - first) / (last - first) if last > first else 1.0
                row = self.row(y0 + (y1 - y0) * along)
                step = 1 if row > before else -1
                for passed in (*range(before + step, row, step), row):
                    self._put(column, passed, glyph)
                before = row
        if len(line.points) == 1:
            self._put(self.column(line.points[0][0]), self.row(line.points[0][1]), glyph)

    def _framed(self) -> list[str]:
        labels = {self.row(tick): show_number(tick) for tick in self.y_ticks}
        return [
            f"{labels.get(row, ''):>{self.margin}} {'+' if row in labels else '|'}{''.join(cells).rstrip()}"
            for row, cells in enumerate(self.cells)
        ]

    def _x_scale(self) -> list[str]:
        """Return the line of the x axis and its numbers or named places."""
        ticks = axis_ticks(self.chart.x, self.left, self.right)
        line, words = ["-"] * self.columns, [" "] * (self.columns + 8)
        taken = -1
        for at, label in ticks:
            column = self.column(at)
            line[column] = "+"
            start = min(max(0, column - len(label) // 2), self.columns - len(label))
            if start > taken:
                words[start : start + len(label)] = label
                taken = start + len(label)
        pad = " " * (self.margin + 1)
        named = [] if self.chart.x.ticks else [f"{pad} {self.chart.x.title}"]
        return [f"{pad}+{''.join(line)}", f"{pad} {''.join(words).rstrip()}", *named]

    def _signs(self) -> tuple[list[str], ...]:
        """Return what each sign stands for: lines, bands, levels, marks."""
        lines = [f"{glyph} {line.label}" for glyph, line in zip(GLYPHS, self.chart.lines, strict=False)]
        levels = [f"{':' if level.upright else '-'} {level.label}" for level in self.chart.levels if level.label]
        marks = [f"{sign} {mark.label}" for sign, mark in zip(MARKS, self.chart.marks, strict=False)]
        kinds = {band.label: band for band in self.chart.bands}
        bands = [f"{fill_of(kinds[label], at)} {label}" for at, label in enumerate(band_kinds(self.chart))]
        return lines, bands, levels, marks

    def _key(self) -> list[str]:
        width = self.margin + 2 + self.columns
        return [
            line
            for part in self._signs()
            for line in wrap("   ".join(part), width, initial_indent="  ", subsequent_indent="    ")
        ]


def fill_of(band: Band, kind: int) -> str:
    """Return the sign that shades a band of the kind of this number."""
    fills = UPRIGHT_FILLS if band.upright else FILLS
    return fills[min(kind, len(fills) - 1)]


def band_kinds(chart: Chart) -> list[str]:
    """Return the labels of a chart's bands, each once."""
    return list(dict.fromkeys(band.label for band in chart.bands))


def shaded(band: Band, bounds: tuple[float, float, float, float]) -> tuple[float, float, float, float]:
    """Return left, right, low and high of what a band shades within a chart's bounds."""
    left, right, low, high = bounds
    own, other = ((left, right), (low, high)) if band.upright else ((low, high), (left, right))
    mine = (max(own[0], min(own[1], band.low)), max(own[0], min(own[1], band.high)))
    across = other if band.across is None else (max(other[0], band.across[0]), min(other[1], band.across[1]))
    return (*mine, *across) if band.upright else (*across, *mine)


def axis_ticks(axis: Axis, low: float, high: float) -> list[tuple[float, str]]:
    """Return the places of an axis with their labels: named places, or round numbers."""
    return list(axis.ticks) or [(tick, show_number(tick)) for tick in nice_ticks(low, high)]


WIDTH, HEIGHT = 720, 420
_LEFT, _TOP, _EDGE, _FLOOR = 72, 44, WIDTH - 24, HEIGHT - 80
"""Where the field of the curves begins and ends."""

_GREYS = ("#e9e9e9", "#bdbdbd", "#d6d6d6", "#f2f2f2")
"""Shades of bands, by their kind."""
_DASHES = ("", "9 5", "2 4", "12 4 2 4", "5 2")


def svg_plot(chart: Chart) -> str:
    """Draw a chart as a whole SVG document: no script, no outside file, every text escaped."""
    frame = _Frame(*chart.bounds())
    title = svg_text(_LEFT, 22, chart.title, "start", "font-size='16' font-weight='bold'")
    edge = svg_box(_LEFT, _TOP, _EDGE - _LEFT, _FLOOR - _TOP, 'fill="none" stroke="black"')
    parts = [
        title,
        *frame.bands(chart),
        *frame.grid(chart),
        *frame.levels(chart),
        *frame.curves(chart),
        *frame.marks(chart),
        edge,
    ]
    return svg_document(chart.title, (WIDTH, HEIGHT), parts)


@dataclass(frozen=True)
class _Frame:
    """Where the values of a chart lie on its drawing."""

    left: float
    right: float
    low: float
    high: float

    def x(self, value: float) -> float:
        """Return how far from the left a value of x lies."""
        return _LEFT + (value - self.left) / (self.right - self.left) * (_EDGE - _LEFT)

    def y(self, value: float) -> float:
        """Return how far from the top a value of y lies."""
        return _FLOOR - (value - self.low) / (self.high - self.low) * (_FLOOR - _TOP)

    def bands(self, chart: Chart) -> Iterator[str]:
        """Yield the bands, a grey for each kind, its name at the first."""
        named: list[str] = []
        for band in chart.bands:
            left, right, low, high = shaded(band, (self.left, self.right, self.low, self.high))
            x, y = self.x(left), self.y(high)
            wide, tall = max(1.5, self.x(right) - x), max(1.5, self.y(low) - y)
            kind = band_kinds(chart).index(band.label)
            yield svg_box(x, y, wide, tall, f'fill="{_GREYS[min(kind, len(_GREYS) - 1)]}" stroke="none"')
            if band.label not in named:
                named.append(band.label)
                down = 14 + 16 * kind if band.upright else 14
                yield svg_text(x + 4, y + down, band.label, "start", "fill='#444'")

    def grid(self, chart: Chart) -> Iterator[str]:
        """Yield the lines of the scales, their numbers and what they show."""
        for tick in nice_ticks(self.low, self.high):
            yield svg_line(_LEFT, self.y(tick), _EDGE, self.y(tick), "#ddd")
            yield svg_text(_LEFT - 8, self.y(tick) + 4, show_number(tick), "end")
        for at, label in axis_ticks(chart.x, self.left, self.right):
            yield svg_line(self.x(at), _TOP, self.x(at), _FLOOR, "#ddd")
            yield svg_text(self.x(at), _FLOOR + 18, label, "middle")
        yield svg_text(_LEFT, _TOP - 6, chart.y.title, "start", "fill='#444'")
        if not chart.x.ticks:
            yield svg_text(_EDGE, _FLOOR + 36, chart.x.title, "end", "fill='#444'")

    def levels(self, chart: Chart) -> Iterator[str]:
        """Yield the limits, dashed, with their names."""
        for level in chart.levels:
            if level.upright:
                yield svg_line(self.x(level.at), _TOP, self.x(level.at), _FLOOR, "#666", "6 4")
                yield svg_text(self.x(level.at) + 4, _TOP + 14, level.label, "start", "fill='#444'")
            else:
                yield svg_line(_LEFT, self.y(level.at), _EDGE, self.y(level.at), "#666", "6 4")
                yield svg_text(_EDGE - 4, self.y(level.at) - 5, level.label, "end", "fill='#444'")

    def curves(self, chart: Chart) -> Iterator[str]:
        """Yield the curves, told apart by their dashes, and their key below."""
        for place, line in enumerate(chart.lines):
            points = " ".join(f"{self.x(x):.1f},{self.y(y):.1f}" for x, y in line.points)
            dash = _DASHES[place % len(_DASHES)]
            yield (
                f'<polyline points="{points}" fill="none" stroke="black" stroke-width="2" stroke-dasharray="{dash}"/>'
            )
            x, y = _LEFT + place * 170, HEIGHT - 20
            yield svg_line(x, y, x + 34, y, "black", dash, 2)
            yield svg_text(x + 40, y + 4, line.label, "start")

    def marks(self, chart: Chart) -> Iterator[str]:
        """Yield the points to look at, each with its words on the side where there is room."""
        for mark in chart.marks:
            x, y = self.x(mark.x), self.y(mark.y)
            yield f'<circle cx="{x:.1f}" cy="{y:.1f}" r="5" fill="white" stroke="black" stroke-width="2"/>'
            leftwards = x > WIDTH - 220
            yield svg_text(x - 9 if leftwards else x + 9, y + 18, mark.label, "end" if leftwards else "start")
