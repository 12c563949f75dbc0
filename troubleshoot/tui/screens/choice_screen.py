"""Choose one line of a list: digits, arrows and Enter; typing narrows long lists."""

from __future__ import annotations

from collections.abc import Callable, Sequence

from textual import events, on
from textual.app import ComposeResult
from textual.containers import VerticalScroll
from textual.widgets import Static

from troubleshoot.tui.actions import bindings_of
from troubleshoot.tui.plain import beside, plain
from troubleshoot.tui.screens.answer_once import OnceScreen
from troubleshoot.tui.widgets.lines import HeadLine, KeyLine, MessageLine
from troubleshoot.tui.widgets.numbered import Numbered, Row


class ChooseScreen(OnceScreen[str | None]):
    """A title, some words, and rows to choose from; the result is the id of the row, nothing when left."""

    CSS_PATH = "../styles/choice.tcss"
    BINDINGS = bindings_of("list")
    NAME = "list"

    def __init__(
        self,
        title: str,
        rows: Sequence[Row],
        words: str = "",
        empty: str = "Nothing here.",
        narrows: bool = False,
        later: Callable[[], Sequence[Row]] | None = None,
    ) -> None:
        """`later` gives rows that take a moment; the screen opens with `rows` and shows those as soon as it can."""
        super().__init__()
        self.later = later
        self.head, self.words, self.rows, self.empty, self.narrows = title, words, tuple(rows), empty, narrows
        self.wanted = ""

    def compose(self) -> ComposeResult:
        """Lay out title, words, what is wanted, and rows."""
        yield HeadLine(self.head, id="head")
        yield Static(plain(self.words), id="words", markup=False)
        yield Static(id="wanted", markup=False)
        with VerticalScroll(id="rows", can_focus=False):
            yield Numbered(id="list", empty=self.empty)
        yield MessageLine()
        yield KeyLine(self.NAME)

    def on_mount(self) -> None:
        """Show the rows."""
        self.query_one("#words").display = bool(self.words)
        self.narrow("")
        self.query_one(Numbered).focus()
        if self.later is not None:
            self.call_after_refresh(self.settle)

    def settle(self) -> None:
        """Show the rows that took a moment; what has been typed by now still narrows them."""
        if self.later is not None:
            self.rows, self.later = tuple(self.later()), None
            self.narrow(self.wanted)

    def narrow(self, wanted: str) -> None:
        """Show only the rows with the words wanted."""
        self.wanted = wanted
        numbered = self.query_one(Numbered)
        numbered.empty = "Nothing matches. Backspace takes letters away." if wanted else self.empty
        numbered.show(self.rows_for(wanted), at=0)
        found = self.query_one("#wanted", Static)
        found.display = self.narrows
        found.update(
            beside(plain("Find: ", "bold $primary"), plain(wanted, "bold $strong"), plain("▁", "$accent"))
            if wanted
            else plain("Type to find", "$quiet")
        )

    def rows_for(self, wanted: str) -> tuple[Row, ...]:
        """Return the rows with the words wanted."""
        return matching(self.rows, wanted)

    def on_key(self, event: events.Key) -> None:
        """Narrow the list by what is typed."""
        if not self.narrows:
            return
        if event.key == "backspace":
            event.stop()
            self.narrow(self.wanted[:-1])
        elif event.character and self.seeks_with(event.character):
            event.stop()
            self.narrow(self.wanted + event.character)

    def seeks_with(self, character: str) -> bool:
        """Return whether a key belongs to the words wanted."""
        return continues(character, self.wanted)

    @on(Numbered.Taken)
    def take(self, taken: Numbered.Taken) -> None:
        """Do what a digit does here; a second one, typed before the first was done, would close what is below.

        Nor does a digit choose from rows that are about to change their places.
        """
        if self.is_active and self.later is None:
            self.act_on(taken.row)

    def act_on(self, row: Row) -> None:
        """A digit chooses at once."""
        self.dismiss(row.id)

    def action_pick(self) -> None:
        """Choose the row marked ▸."""
        row = self.query_one(Numbered).marked
        if row is not None:
            self.dismiss(row.id)

    def action_back(self) -> None:
        """Give up what is wanted, else leave without choosing."""
        if self.wanted:
            self.narrow("")
        else:
            self.dismiss(None)


def continues(character: str, wanted: str) -> bool:
    """Return whether a key belongs to the words wanted: letters, and signs within words; digits choose lines."""
    return character.isalpha() or character in "-'/" or (character == " " and bool(wanted))


def matching(rows: Sequence[Row], wanted: str) -> tuple[Row, ...]:
    """Return the rows that hold every word wanted, in their id too; those whose own words begin with it first."""
    words = wanted.casefold().split()
    found = [
        row
        for row in rows
        if all(word in f"{row.words} {row.aside} {row.under} {row.id} {row.also}".casefold() for word in words)
    ]
    return tuple(sorted(found, key=lambda row: -sum(f" {word}" in f" {row.words}".casefold() for word in words)))
