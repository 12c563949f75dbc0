"""The curves of a calculation, drawn with characters; text and shape, so that it reads without colour."""

from __future__ import annotations

from textual_plotext import PlotextPlot

from troubleshoot.calculations.chart import Chart, Line
from troubleshoot.calculations.curves import charts_for
from troubleshoot.calculations.definition import Calculation
from troubleshoot.calculations.units import Measured, System, convert
from troubleshoot.tui.calculation_form import Entered

MARKERS = ("braille", "dot", "x")
"""A marker a line, so that two lines differ in shape."""


def charts_of(calculation: Calculation, given: Entered, system: System) -> tuple[Chart, ...]:
    """Return the charts of a calculation with what was entered; CalculationRefused when these have no answer."""
    values: dict[str, float | tuple[float, ...]] = {}
    for field in calculation.inputs:
        if field.name in given:
            one = given[field.name]
            values[field.name] = (
                convert(one.value, one.unit, field.unit)
                if isinstance(one, Measured)
                else tuple(convert(each.value, each.unit, field.unit) for each in one)
            )
        elif field.default is not None:
            values[field.name] = field.default
    return charts_for(calculation, values, system=system)


class ChartPlot(PlotextPlot):
    """One chart."""

    def __init__(self, chart: Chart) -> None:
        super().__init__()
        self.chart = chart

    def on_mount(self) -> None:
        """Draw the lines, the limits and what to look at."""
        chart, plot = self.chart, self.plt
        low_x, high_x, low_y, high_y = chart.bounds()
        for place, line in enumerate(chart.lines):
            self._line(line, MARKERS[place % len(MARKERS)])
        for level in chart.levels:
            ends = (low_y, high_y) if level.upright else (low_x, high_x)
            across = [level.at, level.at]
            x, y = (across, list(ends)) if level.upright else (list(ends), across)
            plot.plot(x, y, marker="-", label=level.label)
        for mark in chart.marks:
            plot.scatter([mark.x], [mark.y], marker="O", label=mark.label)
        plot.title(chart.title)
        plot.xlabel(chart.x.title)
        plot.ylabel(chart.y.title)
        if chart.x.ticks:
            plot.xticks([at for at, _ in chart.x.ticks], [words for _, words in chart.x.ticks])
        plot.xlim(low_x, high_x)
        plot.ylim(low_y, high_y)

    def _line(self, line: Line, marker: str) -> None:
        xs, ys = [x for x, _ in line.points], [y for _, y in line.points]
        self.plt.plot(xs, ys, marker=marker, label=line.label)
