"""A caution: everything waits until it is read and acknowledged."""

from __future__ import annotations

from textual.app import ComposeResult
from textual.containers import VerticalScroll
from textual.content import Content
from textual.screen import ModalScreen
from textual.widgets import Static

from troubleshoot.case.view import CautionShown
from troubleshoot.tui.actions import bindings_of
from troubleshoot.tui.plain import beside, plain
from troubleshoot.tui.widgets.card import bullets, signal_colour
from troubleshoot.tui.widgets.lines import KeyLine
from troubleshoot.tui.widgets.words import Paragraph, Words, laid_out

PANEL, FRAME = 76, 6
"""Columns of the framed panel, and those that its frame and margins take."""
PRESS = beside("Press ", plain("y", "bold $strong"), " when you have read this and will keep to it.")
MORE = beside("There is more: ", plain("y", "bold $strong"), " shows the rest.")


def caution_words(cautions: tuple[CautionShown, ...], words: str, close: bool = False) -> list[Paragraph]:
    """Return what the cautions say, one after another; `close` sets each as one paragraph, where room is short."""
    if close:
        return [*([plain(words, "bold")] if words else []), *(one_paragraph(caution) for caution in cautions)]
    parts: list[Paragraph] = [plain(words, "bold"), Content("")] if words else []
    for caution in cautions:
        parts.append(
            beside(
                plain(f" {caution.signal} ", f"bold reverse {signal_colour(caution.signal)}"),
                plain(f"  {caution.title}", "bold $strong"),
            )
        )
        parts += [plain(caution.happens), *bullets(caution.avoid)]
        if caution.defer:
            parts.append(plain(caution.defer, "$quiet"))
        parts.append(Content(""))
    return parts[:-1]


def one_paragraph(caution: CautionShown) -> Content:
    """Return a whole caution as one paragraph, what to keep to set off by dots."""
    parts = [
        plain(f" {caution.signal} ", f"bold reverse {signal_colour(caution.signal)}"),
        plain(f" {caution.title}. ", "bold $strong"),
        plain(caution.happens),
    ]
    for avoid in caution.avoid:
        parts += [plain(" · ", "bold $warning"), plain(avoid)]
    return beside(*parts, plain(f" {caution.defer}" if caution.defer else "", "$quiet"))


class CautionScreen(ModalScreen[bool]):
    """All cautions of one step; True when they were read to the end and acknowledged."""

    CSS_PATH = "../styles/caution.tcss"
    BINDINGS = bindings_of("caution")
    NAME = "caution"
    cautions: tuple[CautionShown, ...] = ()
    words = ""

    def compose(self) -> ComposeResult:
        """Lay out the cautions, and below them the line that says what `y` does."""
        with VerticalScroll(id="panel"):
            yield Words(id="body")
        yield Static(id="press", markup=False)
        yield KeyLine("caution")

    def show(self, cautions: tuple[CautionShown, ...], words: str) -> None:
        """Show cautions; the screen is laid out once and used for all."""
        self.cautions, self.words = cautions, words
        if self.query("#body"):
            self.on_mount()

    def on_mount(self) -> None:
        """Write the words of the cautions from their beginning: framed, else line by line, else set close."""
        width, height = self.app.size
        said = caution_words(self.cautions, self.words)
        close = len(laid_out(said, min(width, PANEL) - FRAME)) > (height - 1) * 88 // 100 - 2
        if close and len(laid_out(said, width - 1)) >= height:
            said = caution_words(self.cautions, self.words, close=True)
        self.set_class(close, "close")
        self.set_class(close and len(laid_out(said, width - 1)) in (height - 2, height - 1), "fits")
        self.query_one("#body", Words).show(said)
        self.query_one("#panel", VerticalScroll).scroll_home(animate=False)
        self.call_after_refresh(self.show_press)

    def on_resize(self) -> None:
        """What fits has changed."""
        self.on_mount()

    def unread(self) -> bool:
        """Return whether something stands below what is seen."""
        panel = self.query_one("#panel", VerticalScroll)
        return panel.scroll_target_y < panel.max_scroll_y

    def show_press(self) -> None:
        """Say what the key does now."""
        self.query_one("#press", Static).update(MORE if self.unread() else PRESS)

    def action_acknowledge(self) -> None:
        """Show what was not seen yet; when all of it was, it is read."""
        if self.unread():
            self.query_one("#panel", VerticalScroll).scroll_page_down(animate=False)
            self.call_after_refresh(self.show_press)
        else:
            self.dismiss(True)

    def action_back(self) -> None:
        """Not now."""
        self.dismiss(False)
