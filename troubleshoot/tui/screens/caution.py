"""A caution: everything waits until it is read and acknowledged."""

from __future__ import annotations

from textual.app import ComposeResult
from textual.containers import VerticalScroll
from textual.content import Content
from textual.screen import ModalScreen
from textual.widgets import Static

from troubleshoot.investigation.view import CautionShown
from troubleshoot.tui.actions import bindings_of
from troubleshoot.tui.plain import beside, plain
from troubleshoot.tui.widgets.card import bullets
from troubleshoot.tui.widgets.lines import KeyLine
from troubleshoot.tui.widgets.words import Paragraph, Words

PRESS = beside("Press ", plain("y", "bold $strong"), " when you have read it and will keep to it.")


def caution_words(caution: CautionShown, words: str) -> list[Paragraph]:
    """Return what a caution says."""
    parts: list[Paragraph] = [plain(caution.title, "bold $strong")]
    if words:
        parts.append(plain(words, "bold"))
    parts += [plain(caution.happens), Content(""), *bullets(caution.avoid)]
    if caution.defer:
        parts += [Content(""), plain(caution.defer, "$quiet")]
    return parts


class CautionScreen(ModalScreen[bool]):
    """One caution; True when acknowledged."""

    CSS_PATH = "../styles/caution.tcss"
    BINDINGS = bindings_of("caution")
    NAME = "caution"
    caution: CautionShown | None = None
    words = ""

    def compose(self) -> ComposeResult:
        """Lay out the signal word, what can happen, how to stay clear of it, and whose rules hold."""
        with VerticalScroll(id="panel"):
            yield Static(id="signal", markup=False)
            yield Words(id="body")
            yield Static(PRESS, id="press", markup=False)
        yield KeyLine("caution")

    def show(self, caution: CautionShown, words: str) -> None:
        """Show a caution; the screen is laid out once and used for all."""
        self.caution, self.words = caution, words
        if self.query("#body"):
            self.on_mount()

    def on_mount(self) -> None:
        """Write the words of the caution."""
        if self.caution is None:
            return
        self.query_one("#signal", Static).update(plain(f" {self.caution.signal} ", "bold reverse"))
        self.query_one("#body", Words).show(caution_words(self.caution, self.words))
        self.query_one("#panel").scroll_home(animate=False)

    def action_acknowledge(self) -> None:
        """It is read."""
        self.dismiss(True)

    def action_back(self) -> None:
        """Not now."""
        self.dismiss(False)
