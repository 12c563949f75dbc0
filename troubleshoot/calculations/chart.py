"""A chart as plain data: axes with units, lines, levels and marks; drawn by the faces."""

import math
from collections.abc import Callable, Iterable
from typing import NamedTuple

from troubleshoot.calculations.units import System, convert, display_unit, show_number, shown_unit, with_unit

Point = tuple[float, float]


class Axis(NamedTuple):
    """What an axis shows, and in which unit; `ticks` name places on it where it is not a scale of numbers."""

    words: str
    unit: str
    ticks: tuple[tuple[float, str], ...] = ()

    @property
    def title(self) -> str:
        """The axis in words with its unit."""
        shown = shown_unit(self.unit)
        return f"{self.words}, {shown}" if shown else self.words


class Line(NamedTuple):
    """A curve through points."""

    label: str
    points: tuple[Point, ...]


class Level(NamedTuple):
    """A limit: a straight line across the chart at a value of y, or up it at a value of x.

    "{at}" in the label becomes the value with its unit when the chart is put into a system of units.
    """

    label: str
    at: float
    upright: bool = False


class Band(NamedTuple):
    """A part of the chart to shade: between two values of y, or of x where it is upright.

    `across` cuts it to a stretch of the other axis; bands of one label are one kind, named once.
    """

    label: str
    low: float
    high: float
    upright: bool = False
    across: tuple[float, float] | None = None


class Mark(NamedTuple):
    """A point to look at: a reading, or where two lines cross; "{x}" and "{y}" in the label become its values."""

    label: str
    x: float
    y: float


class Chart(NamedTuple):
    """One chart; everything in the units of its axes."""

    title: str
    x: Axis
    y: Axis
    lines: tuple[Line, ...]
    levels: tuple[Level, ...] = ()
    marks: tuple[Mark, ...] = ()
    bands: tuple[Band, ...] = ()

    def bounds(self) -> tuple[float, float, float, float]:
        """Return low and high x, low and high y of all there is to see, with y from zero where that is near."""
        points = [point for line in self.lines for point in line.points] + [(m.x, m.y) for m in self.marks]
        xs = [x for x, _ in points] + [level.at for level in self.levels if level.upright]
        ys = [y for _, y in points] + [level.at for level in self.levels if not level.upright]
        ys += [edge for band in self.bands if not band.upright for edge in (band.low, band.high)]
        low, high = min(ys), max(ys)
        if 0 < low < 0.6 * high:
            low = 0.0
        if high - low <= 1e-9 * max(abs(high), abs(low), 1e-12):
            low, high = low - 1, high + 1
        left, right = min(xs), max(xs)
        if right - left <= 1e-9 * max(abs(right), abs(left), 1e-12):
            left, right = left - 1, right + 1
        return left, right, low, high

    def in_system(self, system: System) -> "Chart":
        """Return the chart in the units a person of that system reads."""
        x_unit, y_unit = display_unit(self.x.unit, system), display_unit(self.y.unit, system)

        def to_x(value: float) -> float:
            return convert(value, self.x.unit, x_unit)

        def to_y(value: float) -> float:
            return convert(value, self.y.unit, y_unit)

        return Chart(
            self.title,
            Axis(self.x.words, x_unit, tuple((to_x(at), words) for at, words in self.x.ticks)),
            Axis(self.y.words, y_unit),
            tuple(Line(line.label, tuple((to_x(x), to_y(y)) for x, y in line.points)) for line in self.lines),
            tuple(self._level(lv, to_x(lv.at), x_unit) if lv.upright else self._level(lv, to_y(lv.at), y_unit)
                  for lv in self.levels),
            tuple(self._mark(mark, to_x(mark.x), to_y(mark.y), x_unit, y_unit) for mark in self.marks),
            tuple(self._band(band, *((to_x, to_y) if band.upright else (to_y, to_x))) for band in self.bands),
        )  # fmt: skip

    @staticmethod
    def _level(level: Level, at: float, unit: str) -> Level:
        """Return a level in a unit, its value put into the label."""
        return Level(level.label.replace("{at}", with_unit(show_number(at, 3), unit)), at, level.upright)

    @staticmethod
    def _band(band: Band, own: Callable[[float], float], other: Callable[[float], float]) -> Band:
        """Return a band in other units: `own` leads there on its own axis, `other` on the one it goes across."""
        across = (other(band.across[0]), other(band.across[1])) if band.across is not None else None
        return Band(band.label, own(band.low), own(band.high), band.upright, across)

    @staticmethod
    def _mark(mark: Mark, x: float, y: float, x_unit: str, y_unit: str) -> Mark:
        """Return a mark in other units, its values put into the label."""
        shown = mark.label.replace("{x}", with_unit(show_number(x, 3 if x < 1000 else 4), x_unit))
        return Mark(shown.replace("{y}", with_unit(show_number(y, 3), y_unit)), x, y)


def spaced(low: float, high: float, count: int = 81) -> list[float]:
    """Return evenly spaced numbers from low to high, both included."""
    return [low + (high - low) * place / (count - 1) for place in range(count)]


def curve(label: str, function: Callable[[float], float], at: Iterable[float]) -> Line:
    """Return the line of a function, leaving out where it has no answer (ValueError) or no finite one."""
    points: list[Point] = []
    for x in at:
        try:
            y = function(x)
        except (ValueError, ZeroDivisionError, OverflowError):
            continue
        if math.isfinite(y):
            points.append((x, y))
    return Line(label, tuple(points))
