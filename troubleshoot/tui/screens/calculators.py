"""The calculations: a list by subject, and each as a form with its result beside what is typed."""

from __future__ import annotations

from collections.abc import Callable, Mapping
from typing import TYPE_CHECKING, Any

from textual import on
from textual.app import App, ComposeResult
from textual.containers import Vertical, VerticalScroll
from textual.content import Content
from textual.widgets import Static

from troubleshoot.calculations.units import System
from troubleshoot.problems import TroubleshootError
from troubleshoot.tui.actions import bindings_of
from troubleshoot.tui.calculation_form import entered, form_fields, in_words_of, result_lines
from troubleshoot.tui.plain import beside, lines, plain
from troubleshoot.tui.screens.answer_once import OnceScreen
from troubleshoot.tui.screens.choice_screen import ChooseScreen
from troubleshoot.tui.widgets.form import FieldLine
from troubleshoot.tui.widgets.lines import HeadLine, KeyLine, MessageLine, tell, tell_problem
from troubleshoot.tui.widgets.numbered import Row
from troubleshoot.tui.workspace import Workspace

if TYPE_CHECKING:
    from troubleshoot.calculations.definition import Calculation


Knows = Callable[["Calculation", System], Mapping[str, str]]
"""What is known of a calculation's inputs already, by field name."""


def open_list(app: App[Any], workspace: Workspace, knows: Knows | None = None) -> None:
    """List the calculations; one chosen opens as a form, with what is known in it; leaving it lists them again."""
    from troubleshoot.calculations.registry import calculation, calculations, searched_in

    rows = [Row(one.name, one.title, one.subject, also=searched_in(one)) for one in calculations()]

    def chosen(name: str | None) -> None:
        if name is not None:
            app.push_screen(
                CalculatorScreen(calculation(name), workspace.settings.units, knows),
                lambda _: open_list(app, workspace, knows),
            )

    app.push_screen(ChooseScreen("Calculations", rows, "", "None.", narrows=True), chosen)


class CalculatorScreen(OnceScreen[None]):
    """One calculation: what is typed, and at once what comes of it."""

    CSS_PATH = "../styles/calculator.tcss"
    BINDINGS = bindings_of("calculator")
    NAME = "calculator"

    def __init__(self, calculation: Calculation, units: System, knows: Knows | None = None) -> None:
        super().__init__()
        self.calculation, self.units, self.knows = calculation, units, knows
        self.charted = 0
        """How many charts have been shown; the next one comes next."""

    def compose(self) -> ComposeResult:
        """Lay out the formula, a line a field, the results, and room for the chart."""
        known = self.calculation
        yield HeadLine(known.title, known.subject, id="head")
        yield Static(id="words", markup=False)
        with VerticalScroll(id="fields", can_focus=False):
            for field in form_fields(known, self.units):
                yield FieldLine(field)
        yield Static(id="results", markup=False)
        yield Vertical(id="chart")
        yield MessageLine()
        yield KeyLine("calculator")

    def on_mount(self) -> None:
        """Begin in the first field; calculate with the defaults."""
        known = self.fill_in()
        self.tell_use()
        empty = [line for line in self.query(FieldLine) if not line.text]
        (empty[0] if empty else self.query(FieldLine).first()).focus()
        self.calculate()
        if known:
            tell(self, f"Of this car and its readings: {', '.join(known)}.")

    def tell_use(self) -> None:
        """Say what the calculation is good for, then its formula and where that holds."""
        known = self.calculation
        use, valid = (in_words_of(one, self.units) for one in (known.documentation.use, known.valid))
        self.query_one("#words", Static).update(lines(plain(use, "$foreground"), plain(known.formula), plain(valid)))

    def fill_in(self) -> list[str]:
        """Put what is known of the car and its readings into the fields not typed in, and return their words."""
        given = self.knows(self.calculation, self.units) if self.knows is not None else {}
        filled = [line for line in self.query(FieldLine) if line.field.name in given and not line.touched]
        for line in filled:
            line.fill(given[line.field.name])
        return [line.field.words for line in filled]

    @on(FieldLine.Changed)
    def calculate(self) -> None:
        """Calculate with what stands in the fields and show the result, or what is missing or wrong."""
        known = self.calculation
        texts = {line.field.name: line.text for line in self.query(FieldLine)}
        given, wrong, missing = entered(known, texts, self.units)
        for line in self.query(FieldLine):
            line.problem = wrong.get(line.field.name, "")
        try:
            shown: Content = (
                plain(f"Still needed: {', '.join(missing)}", "$quiet")
                if missing
                else result_lines(known, given, self.units)
                if not wrong
                else plain("Correct the field marked ! first.", "$quiet")
            )
        except TroubleshootError as refused:
            shown = plain(f"! {refused}", "$error")
        told = in_words_of(known.source, self.units)
        source = beside(plain("Source  ", "bold $primary"), plain(told, "$quiet"))
        self.query_one("#results", Static).update(lines(shown, source))

    async def action_chart(self) -> None:
        """Draw the next chart of this calculation; after the last, take it away."""
        from troubleshoot.tui.widgets.chart import ChartPlot, charts_of

        place = self.query_one("#chart", Vertical)
        await place.remove_children()
        self.remove_class("charted")
        texts = {line.field.name: line.text for line in self.query(FieldLine)}
        given, wrong, missing = entered(self.calculation, texts, self.units)
        if wrong or missing:
            tell(self, "The chart needs every field filled in first.")
            return
        try:
            charts = charts_of(self.calculation, given, self.units)
        except TroubleshootError as refused:
            tell_problem(self, refused)
            return
        if self.charted < len(charts):
            self.add_class("charted")
            await place.mount(ChartPlot(charts[self.charted]))
            self.charted += 1
        else:
            self.charted = 0
            tell(self, "" if charts else "This calculation has no chart.")

    def action_units(self) -> None:
        """Show the other units; what was typed stays as it was typed, its unit written with it."""
        self.units = "metric" if self.units == "us" else "us"
        fresh = {field.name: field for field in form_fields(self.calculation, self.units)}
        for line in self.query(FieldLine):
            if not line.touched:
                line.show(fresh[line.field.name])
            else:
                line.range(fresh[line.field.name])
        self.fill_in()
        self.tell_use()
        self.calculate()

    def action_back(self) -> None:
        """Back to the list."""
        self.dismiss(None)
