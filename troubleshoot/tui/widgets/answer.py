"""The answer: a quantity with its ruler, or answers to choose from, whichever the step asks for."""

from __future__ import annotations

from collections.abc import Sequence

from textual import events
from textual.app import ComposeResult
from textual.containers import Vertical
from textual.widgets import Static

from troubleshoot.calculations.units import shown_unit
from troubleshoot.case.view import CheckShown
from troubleshoot.tui.plain import plain
from troubleshoot.tui.widgets.entry import Entry
from troubleshoot.tui.widgets.numbered import Numbered, Row
from troubleshoot.tui.widgets.ruler import Ruler, number


def hint_for(check: CheckShown) -> str:
    """Return what may be typed: the unit, the plausible range, and how sure the instrument is."""
    unit = shown_unit(check.unit) if check.unit else ""
    hint = f"in {'inches' if unit == 'in' else unit}" if unit else "a number"
    if check.unit == "lambda":
        hint += " or AFR"
    if check.plausible is not None:
        hint += f", {number(check.plausible[0])} to {number(check.plausible[1])}"
    return hint + (f", ±{number(check.uncertainty)}" if check.uncertainty else "")


class Answer(Vertical):
    """Shows either the entry with echo and ruler, or the rows to choose from."""

    DEFAULT_CSS = "Answer { height: auto; } Answer #echo { height: auto; max-height: 2; }"

    def compose(self) -> ComposeResult:
        """Lay out both ways to answer; one of them is hidden."""
        yield Entry(id="entry")
        yield Static(id="echo", markup=False)
        yield Ruler(id="ruler")
        yield Numbered(id="answers", first=-1, pages=False)

    def on_click(self, event: events.Click) -> None:
        """The upper edge, which names the key that reads on or back, does what it does."""
        words = str(self.border_title) if event.screen_y == self.region.y else ""
        if "PgDn" in words or "PgUp" in words:
            self.app.simulate_key("pagedown" if "PgDn" in words else "pageup")

    def ask_quantity(self, check: CheckShown) -> None:
        """Ask for a quantity."""
        self._switch(quantity=True)
        self.query_one(Entry).show(hint_for(check))
        self.query_one(Ruler).show(check.bands, check.plausible)
        self.echo("")
        self.query_one(Entry).focus()

    def ask_choice(self, rows: Sequence[Row], first: int = -1) -> None:
        """Ask for one of the rows; `first` is the one marked to begin with, -1 for none."""
        self._switch(quantity=False)
        self.query_one(Numbered).show(rows, at=first)
        self.query_one(Numbered).focus(scroll_visible=False)
        self.scroll_home(animate=False)

    def echo(self, words: str, good: bool = True) -> None:
        """Say how the typed text is understood; where nothing is said, the ruler takes the line."""
        said = self.query_one("#echo", Static)
        said.update(plain(words, "" if good else "$warning"))
        said.display = bool(words)
        self.query_one(Ruler).set_class(not words, "open")

    @property
    def typed(self) -> str:
        """Return the text typed, or nothing when rows are shown."""
        entry = self.query_one(Entry)
        return entry.text if entry.display else ""

    @property
    def chosen(self) -> Row | None:
        """Return the row marked, or None when a quantity is asked for."""
        rows = self.query_one(Numbered)
        return rows.marked if rows.display else None

    def _switch(self, quantity: bool) -> None:
        for part in (self.query_one(Entry), self.query_one("#echo"), self.query_one(Ruler)):
            part.display = quantity
        self.query_one(Numbered).display = not quantity
