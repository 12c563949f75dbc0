"""Charts drawn as text for a terminal and as SVG for a page; both read without colour."""

import math

from troubleshoot.calculations.chart import Axis, Chart, Line
from troubleshoot.calculations.units import show_number
from troubleshoot.reports.svg import svg_document, svg_line, svg_text

GLYPHS = "*o+x#"
MARKS = "123456789"


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
    """Draw a chart with plain characters: one sign a line, dashes for limits, numbers for marks, a key below."""
    return "\n".join(_TextCanvas(chart, max(30, width), max(6, height)).drawn())


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

    def drawn(self) -> list[str]:
        """Return the lines of the drawing."""
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
            self._put(self.column(mark.x), self.row(mark.y), sign)
        return [self.chart.title, self.chart.y.title, *self._framed(), *self._x_scale(), *self._key()]

    def _put(self, column: int, row: int, sign: str) -> None:
        if 0 <= column < self.columns and 0 <= row < self.rows:
            self.cells[row][column] = sign

    def _draw(self, line: Line, glyph: str) -> None:
        """Draw a curve, a sign in every column it passes."""
        for (x0, y0), (x1, y1) in zip(line.points, line.points[1:], strict=False):
            first, last = self.column(x0), self.column(x1)
            for column in range(first, last + 1):
                along = (column - first) / (last - first) if last > first else 0.0
                self._put(column, self.row(y0 + (y1 - y0) * along), glyph)
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

    def _key(self) -> list[str]:
        lines = [f"{glyph} {line.label}" for glyph, line in zip(GLYPHS, self.chart.lines, strict=False)]
        levels = [f"{':' if level.upright else '-'} {level.label}" for level in self.chart.levels]
        marks = [f"{sign} {mark.label}" for sign, mark in zip(MARKS, self.chart.marks, strict=False)]
        return ["  " + "   ".join(part) for part in (lines, levels, marks) if part]


def axis_ticks(axis: Axis, low: float, high: float) -> list[tuple[float, str]]:
    """Return the places of an axis with their labels: named places, or round numbers."""
    return list(axis.ticks) or [(tick, show_number(tick)) for tick in nice_ticks(low, high)]


WIDTH, HEIGHT = 720, 420
_LEFT, _TOP, _RIGHT, _BOTTOM = 72, 44, 24, 80
_DASHES = ("", "9 5", "2 4", "12 4 2 4", "5 2")


def svg_plot(chart: Chart) -> str:
    """Draw a chart as a whole SVG document: no script, no outside file, every text escaped."""
    left, right, low, high = chart.bounds()

    def x(value: float) -> str:
        return f"{_LEFT + (value - left) / (right - left) * (WIDTH - _LEFT - _RIGHT):.1f}"

    def y(value: float) -> str:
        return f"{HEIGHT - _BOTTOM - (value - low) / (high - low) * (HEIGHT - _TOP - _BOTTOM):.1f}"

    top, floor, edge = f"{_TOP}", f"{HEIGHT - _BOTTOM}", f"{WIDTH - _RIGHT}"
    parts = [
        svg_text(_LEFT, 22, chart.title, "start", "font-size='16' font-weight='bold'"),
    ]
    for tick in nice_ticks(low, high):
        parts.append(svg_line(f"{_LEFT}", y(tick), edge, y(tick), "#ddd"))
        parts.append(svg_text(_LEFT - 8, float(y(tick)) + 4, show_number(tick), "end"))
    for at, label in axis_ticks(chart.x, left, right):
        parts.append(svg_line(x(at), top, x(at), floor, "#ddd"))
        parts.append(svg_text(float(x(at)), HEIGHT - _BOTTOM + 18, label, "middle"))
    parts.append(svg_text(_LEFT, _TOP - 6, chart.y.title, "start", "fill='#444'"))
    if not chart.x.ticks:
        parts.append(svg_text(WIDTH - _RIGHT, HEIGHT - _BOTTOM + 36, chart.x.title, "end", "fill='#444'"))
    for level in chart.levels:
        if level.upright:
            parts.append(svg_line(x(level.at), top, x(level.at), floor, "#666", "6 4"))
            parts.append(svg_text(float(x(level.at)) + 4, _TOP + 14, level.label, "start", "fill='#444'"))
        else:
            parts.append(svg_line(f"{_LEFT}", y(level.at), edge, y(level.at), "#666", "6 4"))
            parts.append(svg_text(WIDTH - _RIGHT - 4, float(y(level.at)) - 5, level.label, "end", "fill='#444'"))
    for place, line in enumerate(chart.lines):
        points = " ".join(f"{x(px)},{y(py)}" for px, py in line.points)
        dash = _DASHES[place % len(_DASHES)]
        parts.append(
            f'<polyline points="{points}" fill="none" stroke="black" stroke-width="2" stroke-dasharray="{dash}"/>'
        )
        key_x, key_y = _LEFT + place * 170, HEIGHT - 20
        parts.append(svg_line(str(key_x), str(key_y), str(key_x + 34), str(key_y), "black", dash, 2))
        parts.append(svg_text(key_x + 40, key_y + 4, line.label, "start"))
    for mark in chart.marks:
        parts.append(f'<circle cx="{x(mark.x)}" cy="{y(mark.y)}" r="5" fill="white" stroke="black" stroke-width="2"/>')
        near_right = float(x(mark.x)) > WIDTH - 220
        shift = -9 if near_right else 9
        parts.append(
            svg_text(float(x(mark.x)) + shift, float(y(mark.y)) + 18, mark.label, "end" if near_right else "start")
        )
    parts.append(
        f'<rect x="{_LEFT}" y="{_TOP}" width="{WIDTH - _LEFT - _RIGHT}" height="{HEIGHT - _TOP - _BOTTOM}" '
        'fill="none" stroke="black"/>'
    )
    return svg_document(chart.title, (WIDTH, HEIGHT), parts)
