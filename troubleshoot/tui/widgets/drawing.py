"""The drawing of a check, its leads drawn shorter where there is no room for the whole."""

from __future__ import annotations

from itertools import zip_longest

from textual.content import Content
from textual.widgets import Static

from troubleshoot.tui.plain import plain

DRAWN_LONG = " -=~_"
"""What a lead, a hose or a gap is drawn with; one stroke less changes nothing."""


def narrowed(drawing: str, width: int) -> str:
    """Return a drawing with leads and gaps made shorter, over its whole height, until it is as wide or cannot be.

    >>> print(narrowed("pump ----+---- tank\\n         |", 17))
    pump ---+--- tank
            |
    """
    columns = list(zip_longest(*drawing.splitlines(), fillvalue=" "))
    while len(columns) > max(width, 1):
        spare = [at for at in range(1, len(columns)) if columns[at] == columns[at - 1] and _long(columns[at])]
        if not spare:
            break
        lengths = {at: _run(columns, at) for at in spare}
        del columns[max(spare, key=lambda at: (lengths[at], at))]
    return "\n".join("".join(line).rstrip() for line in zip(*columns, strict=True))


def _long(column: tuple[str, ...]) -> bool:
    return all(one in DRAWN_LONG for one in column)


def _run(columns: list[tuple[str, ...]], at: int) -> int:
    """Return how many columns like this one stand before it."""
    return 1 + _run(columns, at - 1) if at and columns[at - 1] == columns[at] else 1


class Drawing(Static):
    """A drawing, as wide as there is room."""

    def __init__(self, id: str) -> None:
        super().__init__(id=id, markup=False)
        self.whole = ""

    def show(self, drawing: str) -> None:
        """Show a drawing, or none."""
        self.whole = drawing.rstrip()
        self.update(plain(self.whole))
        self.display = bool(self.whole)

    def render(self) -> Content:
        """Draw it in the columns there are."""
        return plain(narrowed(self.whole, self.content_size.width))
