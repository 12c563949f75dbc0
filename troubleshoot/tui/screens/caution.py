"""A caution: everything waits until it is read and acknowledged."""

from __future__ import annotations

from textual.app import ComposeResult
from textual.containers import VerticalScroll
from textual.content import Content
from textual.screen import ModalScreen
from textual.widgets import Static

from troubleshoot.investigation.view import CautionShown
from troubleshoot.tui.actions import bindings_of
from troubleshoot.tui.plain import beside, lines, plain
from troubleshoot.tui.widgets.card import bullets
from troubleshoot.tui.widgets.lines import KeyLine, MessageLine


class CautionScreen(ModalScreen[bool]):
    """One caution; True when acknowledged."""

    CSS_PATH = "../styles/caution.tcss"
    BINDINGS = bindings_of("caution")
    NAME = "caution"

    def __init__(self, caution: CautionShown, words: str = "") -> None:
        super().__init__()
        self.caution, self.words = caution, words

    def compose(self) -> ComposeResult:
        """Lay out the signal word, what can happen, how to stay clear of it, and whose rules hold."""
        caution = self.caution
        with VerticalScroll(id="panel"):
            yield Static(plain(f" {caution.signal} ", "bold reverse"), id="signal", markup=False)
            yield Static(
                lines(
                    plain(caution.title, "bold $strong"),
                    *([plain(self.words, "bold")] if self.words else []),
                    plain(caution.happens),
                    Content(""),
                    *bullets(caution.avoid),
                    Content(""),
                    *([plain(caution.defer, "$quiet")] if caution.defer else []),
                ),
                id="body",
                markup=False,
            )
            yield Static(
                beside("Press ", plain("y", "bold $strong"), " when you have read it and will keep to it."),
                id="press",
                markup=False,
            )
        yield MessageLine()
        yield KeyLine("caution")

    def action_acknowledge(self) -> None:
        """It is read."""
        self.dismiss(True)

    def action_back(self) -> None:
        """Not now."""
        self.dismiss(False)
