"""A list of lines to choose from: digits for the first nine, arrows for all, ▸ on the line that Enter takes."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

from textual import events
from textual.content import Content
from textual.message import Message
from textual.reactive import reactive
from textual.widget import Widget

from troubleshoot.tui.plain import beside, lines, plain


@dataclass(frozen=True)
class Row:
    """One line: its id, its words, quieter words beside and under it; by `also` it is found, though not shown."""

    id: str
    words: str
    aside: str = ""
    under: str = ""
    mark: str = ""
    also: str = ""


class Numbered(Widget, can_focus=True):
    """Rows with numbers; speaks by `Moved` when the mark moves and by `Taken` for a digit."""

    DEFAULT_CSS = "Numbered { height: auto; } Numbered:focus { text-style: none; }"
    HELP = "Digits choose a line; Up and Down move the mark; Enter takes it."

    at: reactive[int] = reactive(0, layout=True)
    """The row marked ▸; -1 for none."""

    class Moved(Message):
        """The mark stands on another row."""

        def __init__(self, numbered: Numbered, row: Row) -> None:
            super().__init__()
            self.numbered, self.row = numbered, row

        @property
        def control(self) -> Numbered:
            """Return the list that speaks."""
            return self.numbered

    class Taken(Moved):
        """A digit chose a row."""

    def __init__(
        self, id: str | None = None, empty: str = "Nothing here.", first: int = 0, gap: bool = False, pages: bool = True
    ) -> None:
        """`pages` False leaves PgUp and PgDn to the screen, which scrolls something else with them."""
        super().__init__(id=id)
        self.rows: tuple[Row, ...] = ()
        self.empty, self.first, self.gap, self.pages = empty, first, gap, pages

    def show(self, rows: Sequence[Row], at: int | None = None) -> None:
        """Show other rows, the mark on the first or on the one given."""
        self.rows = tuple(rows)
        self.set_reactive(Numbered.at, self.first if at is None else min(at, len(self.rows) - 1))
        self.refresh(layout=True)

    @property
    def marked(self) -> Row | None:
        """Return the row marked ▸, if any."""
        return self.rows[self.at] if 0 <= self.at < len(self.rows) else None

    def render(self) -> Content:
        """Write the rows, each wrapped under its own number."""
        if not self.rows:
            return plain(self.empty, "$quiet")
        width = max(self.content_size.width or self.size.width, 12)
        shown = [self._row(number, row, width) for number, row in enumerate(self.rows)]
        return Content("\n\n" if self.gap else "\n").join(shown)

    def _row(self, number: int, row: Row, width: int) -> Content:
        here = number == self.at
        cap = f"{number + 1} " if number < 9 else "  "
        head = beside(
            plain("▸ " if here else "  ", "bold $accent"), plain(cap + row.mark, "bold" if here else "$quiet")
        )
        words = plain(row.words, "bold $strong" if here else "")
        aside = plain(row.aside, "$quiet")
        indent = " " * head.cell_length
        room = max(width - head.cell_length, 8)
        if row.aside and words.cell_length + aside.cell_length + 2 <= room:
            first = [beside(words, " " * (room - words.cell_length - aside.cell_length), aside)]
        else:
            first = [*words.wrap(room), *(aside.wrap(room) if row.aside else ())]
        under = plain(row.under, "$quiet").wrap(room) if row.under else []
        first += under
        return lines(*(beside(indent if place else head, line.rstrip()) for place, line in enumerate(first)))

    def get_content_height(self, container: object, viewport: object, width: int) -> int:  # noqa: ARG002
        """Return the number of lines the rows take."""
        if not self.rows:
            return 1
        gaps = len(self.rows) - 1 if self.gap else 0
        return gaps + sum(self._row(n, row, max(width, 12)).plain.count("\n") + 1 for n, row in enumerate(self.rows))

    def line_of(self, place: int) -> int:
        """Return the line on which a row begins."""
        width = max(self.size.width, 12)
        gap = 1 if self.gap else 0
        return sum(self._row(n, row, width).plain.count("\n") + 1 + gap for n, row in enumerate(self.rows[:place]))

    def move(self, place: int) -> None:
        """Put the mark on a row and bring it into view."""
        if not self.rows:
            return
        self.at = max(0, min(place, len(self.rows) - 1))
        if self.parent is not None and isinstance(self.parent, Widget):
            line = self.line_of(self.at)
            top, height = self.parent.scroll_offset.y, self.parent.size.height
            if line < top:
                self.parent.scroll_to(y=line, animate=False)
            elif line + 2 > top + height:
                self.parent.scroll_to(y=line + 2 - height, animate=False)
        self.post_message(self.Moved(self, self.rows[self.at]))

    def on_key(self, event: events.Key) -> None:
        """Move the mark, or take a row by its digit."""
        moves = {"up": self.at - 1, "down": self.at + 1, "home": 0, "end": len(self.rows) - 1}
        if self.pages:
            moves |= {"pageup": self.at - 5, "pagedown": self.at + 5}
        if event.key in moves:
            event.stop()
            self.move(moves[event.key])
        elif event.character and event.character in "123456789" and int(event.character) <= len(self.rows):
            event.stop()
            self.move(int(event.character) - 1)
            self.post_message(self.Taken(self, self.rows[self.at]))

    def on_click(self, event: events.Click) -> None:
        """Put the mark on the row that was clicked and take it."""
        for place in range(len(self.rows) - 1, -1, -1):
            if self.line_of(place) <= event.y:
                self.move(place)
                self.post_message(self.Taken(self, self.rows[place]))
                return
