"""Mark one line or more of a list: concerns, tools; typing narrows the list, marks stay."""

from __future__ import annotations

from collections.abc import Collection, Sequence

from troubleshoot.problems import TroubleshootError
from troubleshoot.tui.actions import bindings_of
from troubleshoot.tui.screens.choice_screen import ChooseScreen, matching
from troubleshoot.tui.widgets.lines import tell, tell_problem
from troubleshoot.tui.widgets.numbered import Numbered, Row

MARKED, UNMARKED = "[x] ", "[ ] "


class MarkScreen(ChooseScreen, inherit_bindings=False):
    """Rows to mark; `marked` holds the ids after Enter, and the result is `done`."""

    BINDINGS = bindings_of("marks")
    NAME = "marks"

    def __init__(
        self, title: str, rows: Sequence[Row], marked: Collection[str] = (), words: str = "", least: int = 0
    ) -> None:
        super().__init__(title, rows, words, narrows=True)
        self.marked = set(marked)
        self.least = least
        """How many must be marked to go on."""

    def narrow(self, wanted: str) -> None:
        """Show only the rows with the words wanted, each with its mark."""
        super().narrow(wanted)
        self.redraw(0)

    def redraw(self, at: int) -> None:
        """Write the rows with their marks."""
        rows = [
            Row(row.id, row.words, row.aside, row.under, MARKED if row.id in self.marked else UNMARKED, row.also)
            for row in matching(self.rows, self.wanted)
        ]
        self.query_one(Numbered).show(rows, at=at)

    def act_on(self, row: Row) -> None:
        """A digit marks or unmarks."""
        self.toggle(row.id)

    def action_mark(self) -> None:
        """Mark or unmark the row ▸."""
        numbered = self.query_one(Numbered)
        if numbered.marked is None:
            return
        self.toggle(numbered.marked.id)

    def toggle(self, row: str) -> None:
        """Mark or unmark a row; what was wanted is done with, and the whole list stands there again."""
        self.marked ^= {row}
        if self.wanted:
            self.narrow("")
            self.query_one(Numbered).move([one.id for one in self.rows].index(row))
        else:
            self.redraw(self.query_one(Numbered).at)
        tell(self, f"{len(self.marked)} marked. Enter goes on.")

    def seeks_with(self, character: str) -> bool:
        """Return whether a key belongs to the words wanted; Space marks instead, whatever is wanted."""
        return character != " " and super().seeks_with(character)

    def action_done(self) -> None:
        """Go on, when enough is marked; with nothing marked, or a row wanted, Enter marks the row ▸ first."""
        pointed = self.query_one(Numbered).marked
        if pointed is not None and (len(self.marked) < self.least or (self.wanted and pointed.id not in self.marked)):
            self.marked.add(pointed.id)
        if len(self.marked) < self.least:
            tell_problem(self, TroubleshootError("Nothing is marked.", "Press the digit of a line, then Enter."))
            return
        self.dismiss("done")
