"""The curves of a calculation, drawn with characters in the colours of the theme; it reads without colour."""

from __future__ import annotations

import re

from textual.content import Content
from textual.widget import Widget

from troubleshoot.calculations.chart import Chart
from troubleshoot.calculations.curves import charts_for
from troubleshoot.calculations.definition import Calculation
from troubleshoot.calculations.units import Measured, System, convert
from troubleshoot.reports.plots import GLYPHS, small_plot
from troubleshoot.tui.calculation_form import Entered
from troubleshoot.tui.plain import beside, lines, plain

_FRAME = re.compile(r"^( *[^ ]* )([+|])(.*)$")
_SIGNS = re.compile(rf"\([1-9]\)|[{re.escape(GLYPHS)}]+|[^{re.escape(GLYPHS)}(]+|\(")


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


class ChartPlot(Widget):
    """One chart, as large as there is room for; where there is none, it says so."""

    DEFAULT_CSS = "ChartPlot { height: 1fr; }"

    def __init__(self, chart: Chart) -> None:
        super().__init__()
        self.chart = chart

    def render(self) -> Content:
        """Draw the chart."""
        drawn = small_plot(self.chart, *self.size)
        if not drawn:
            return plain("The window is too small for a chart; make it larger.", "$warning")
        return lines(*(self._coloured(line, place) for place, line in enumerate(drawn)))

    def _coloured(self, line: str, place: int) -> Content:
        if place == 0:
            return plain(line, "bold $primary")
        framed = _FRAME.match(line)
        if framed is None:
            return plain(line)
        numbers, edge, field = framed.groups()
        if edge == "+" and not numbers.strip():
            return plain(line, "$quiet")
        parts = [plain(sign, _style_of(sign)) for sign in _SIGNS.findall(field)]
        return beside(plain(numbers), plain(edge, "$quiet"), *parts)


def _style_of(signs: str) -> str:
    if signs[0] in GLYPHS:
        return "bold $accent"
    return "bold $strong" if signs[0] == "(" and len(signs) > 1 else "$quiet"
