"""Paragraphs, each wrapped under its own lead, so that bullets and labels stand out."""

from __future__ import annotations

from collections.abc import Sequence

from textual.content import Content
from textual.widget import Widget

from troubleshoot.tui.plain import beside, lines, plain

Paragraph = Content | tuple[Content, Content]
"""Words, or a lead and the words that hang beside it."""

NARROWEST = 10


def hung(lead: Content, body: Content, width: int) -> list[Content]:
    """Return the body wrapped beside its lead; under it where the lead leaves no room."""
    room = width - lead.cell_length
    if room < NARROWEST:
        return [*lead.wrap(width), *body.wrap(width)]
    wrapped = [line.rstrip() for line in body.wrap(room)] or [Content("")]
    return [beside(" " * lead.cell_length if place else lead, line) for place, line in enumerate(wrapped)]


def laid_out(paragraphs: Sequence[Paragraph], width: int) -> list[Content]:
    """Return all paragraphs as lines."""
    shown: list[Content] = []
    for one in paragraphs:
        shown += hung(*one, width) if isinstance(one, tuple) else [line.rstrip() for line in one.wrap(width)]
    return shown


def lead(words: str, style: str = "bold $primary") -> Content:
    """Return a label or bullet as a lead."""
    return plain(f"{words} ", style)


class Words(Widget):
    """Some paragraphs."""

    DEFAULT_CSS = "Words { height: auto; }"

    def __init__(self, id: str | None = None, paragraphs: Sequence[Paragraph] = ()) -> None:
        super().__init__(id=id)
        self.paragraphs = tuple(paragraphs)
        self._laid: tuple[int, list[Content]] = (0, [])

    def show(self, paragraphs: Sequence[Paragraph]) -> None:
        """Show other paragraphs; nothing at all hides the widget."""
        self.paragraphs = tuple(paragraphs)
        self._laid = (0, [])
        self.display = bool(self.paragraphs)
        self.refresh(layout=True)

    def render(self) -> Content:
        """Write the paragraphs as wide as there is room."""
        return lines(*self._lines(self.content_size.width))

    def get_content_height(self, container: object, viewport: object, width: int) -> int:  # noqa: ARG002
        """Return how many lines they take."""
        return len(self._lines(width))

    def _lines(self, width: int) -> list[Content]:
        """Lay the paragraphs out once for a width, since a layout asks several times."""
        if self._laid[0] != max(width, NARROWEST):
            self._laid = (max(width, NARROWEST), self.laid_out(max(width, NARROWEST)))
        return self._laid[1]

    def laid_out(self, width: int) -> list[Content]:
        """Return the lines for a width."""
        return laid_out(self.paragraphs, width)
