"""A page to read: headings, lines, bullets that hang; where it has a file, it can be written there."""

from __future__ import annotations

from collections.abc import Sequence
from pathlib import Path

from textual.app import ComposeResult
from textual.containers import VerticalScroll

from troubleshoot.file_writing import write_whole
from troubleshoot.problems import TroubleshootError
from troubleshoot.tui.actions import bindings_of
from troubleshoot.tui.plain import plain
from troubleshoot.tui.screens.answer_once import OnceScreen
from troubleshoot.tui.widgets.lines import HeadLine, KeyLine, MessageLine, tell, tell_problem
from troubleshoot.tui.widgets.words import Paragraph, Words, lead

BULLET = "- "


class PageScreen(OnceScreen[None]):
    """Lines to read: one that begins with a dash hangs, one that ends with a colon or full stop heads what follows."""

    CSS_PATH = "../styles/page.tcss"
    BINDINGS = bindings_of("page")
    NAME = "page"

    def __init__(self, title: str, told: Sequence[str], file: Path | None = None) -> None:
        super().__init__()
        self.head, self.told, self.file = title, tuple(told), file

    def compose(self) -> ComposeResult:
        """Lay out the lines."""
        yield HeadLine(self.head, id="head")
        with VerticalScroll(id="page"):
            yield Words(paragraphs=[part for line in self.told for part in paragraphs(line)])
        yield MessageLine()
        yield KeyLine(self.NAME)

    def on_mount(self) -> None:
        """Let arrows and page keys scroll."""
        self.query_one("#page").focus()

    def action_write(self) -> None:
        """Write the page to its file, unless that is there already."""
        if self.file is None:
            tell(self, "There is nothing to write here.")
            return
        try:
            write_whole(self.file, "\n".join(self.told) + "\n", new=True)
        except OSError as refused:
            words = f"{self.file} cannot be written: {refused.strerror}."
            tell_problem(self, TroubleshootError(words, "Move it away, or start from a folder of your own."))
        else:
            tell(self, f"Written to {self.file}")

    def action_back(self) -> None:
        """One step back."""
        self.dismiss(None)


def paragraphs(line: str) -> list[Paragraph]:
    """Return a line as it is laid out: a bullet, a heading with room above it, or as it stands."""
    if line.startswith(BULLET):
        return [(lead("  ·"), plain(line.removeprefix(BULLET)))]
    if line.endswith(":"):
        return [plain(""), plain(line, "bold $strong")]
    return [plain(line)]
