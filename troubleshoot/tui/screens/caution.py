"""A caution: everything waits until it is read and acknowledged."""

from __future__ import annotations

from textual import events
from textual.app import ComposeResult
from textual.containers import VerticalScroll
from textual.screen import ModalScreen
from textual.widgets import Static

from troubleshoot.case.view import CautionShown
from troubleshoot.tui.actions import CAPS, bottom_line_of, modal_bindings_of
from troubleshoot.tui.plain import beside, plain
from troubleshoot.tui.screens.answer_once import OnceScreen
from troubleshoot.tui.widgets.card import bullets, signal_colour
from troubleshoot.tui.widgets.lines import KeyLine, Pressable
from troubleshoot.tui.widgets.words import Paragraph, Words

PRESS = beside("Press ", plain("y", "bold $strong"), " when you have read this and will keep to it.")
MORE = beside("There is more: ", plain("y", "bold $strong"), " shows the rest.")
READ_ON = {one.id: one.words for one in bottom_line_of("caution")} | {"acknowledge": "read on"}
"""What the bottom line says while something stands below what is seen."""


def card_words(caution: CautionShown, whole: bool = False) -> list[Paragraph]:
    """Return one caution as it is read: signal word, what happens to you, how to avoid it; `whole` is its full text."""
    happens, *avoid = (caution.happens, *caution.avoid) if whole else caution.card or (caution.happens, *caution.avoid)
    parts: list[Paragraph] = [
        beside(
            plain(f" {caution.signal} ", f"bold reverse {signal_colour(caution.signal)}"),
            plain(f"  {caution.title}", "bold $strong"),
        ),
        plain(happens, "bold"),
        *bullets(tuple(avoid)),
    ]
    if whole and caution.defer:
        parts.append(plain(caution.defer, "$quiet"))
    return parts


class CautionScreen(OnceScreen[tuple[str, ...] | None], ModalScreen[tuple[str, ...] | None]):
    """The cautions of one step, one hazard a card; the result is the ids of those read, None at a smell of fuel."""

    CSS_PATH = "../styles/caution.tcss"
    BINDINGS = modal_bindings_of("caution")
    NAME = "caution"
    cautions: tuple[CautionShown, ...] = ()
    words = ""
    place = 0
    whole = False

    def compose(self) -> ComposeResult:
        """Lay out one card, and below it the line that says what `y` does."""
        with VerticalScroll(id="panel"):
            yield Static(id="place", markup=False)
            yield Words(id="body")
        yield Pressable("y", id="press")
        yield KeyLine("caution")

    def show(self, cautions: tuple[CautionShown, ...], words: str) -> None:
        """Show cautions from the first; the screen is laid out once and used for all."""
        self.cautions, self.words, self.place, self.whole = cautions, words, 0, False
        if self.query("#body"):
            self.on_mount()

    def on_mount(self) -> None:
        """Write the card that is read now, from its beginning."""
        if not self.cautions:
            return
        caution = self.cautions[self.place]
        many = f"{self.place + 1} of {len(self.cautions)}" if len(self.cautions) > 1 else ""
        place = " · ".join(part for part in (many, self.words[:1].lower() + self.words[1:]) if part)
        head = self.query_one("#place", Static)
        head.update(plain(place, "$quiet"))
        head.display = bool(place)
        self.query_one("#body", Words).show(card_words(caution, self.whole))
        panel = self.query_one("#panel", VerticalScroll)
        panel.set_class(caution.signal == "DANGER", "danger")
        panel.scroll_home(animate=False)
        self.call_after_refresh(self.show_press)

    def on_resize(self) -> None:
        """What fits has changed."""
        self.call_after_refresh(self.show_press)

    def unread(self) -> bool:
        """Return whether something stands below what is seen."""
        panel = self.query_one("#panel", VerticalScroll)
        return panel.scroll_target_y < panel.max_scroll_y

    def show_press(self) -> None:
        """Say what the key does now."""
        unread = self.unread()
        self.query_one("#press", Static).update(MORE if unread else PRESS)
        self.query_one(KeyLine).name_keys(READ_ON if unread else None)

    def action_acknowledge(self) -> None:
        """Show what was not seen yet; when all of it was, it is read, and the next card comes."""
        if self.unread():
            self.query_one("#panel", VerticalScroll).scroll_page_down(animate=False)
            self.call_after_refresh(self.show_press)
        elif self.place + 1 < len(self.cautions):
            self.place, self.whole = self.place + 1, False
            self.on_mount()
        else:
            self.dismiss(tuple(one.id for one in self.cautions))

    def on_key(self, event: events.Key) -> None:
        """Say so where a key does nothing, as Enter, with what to press instead."""
        if event.key not in self.active_bindings:
            cap = CAPS.get(event.key, event.character if event.is_printable and event.character else event.key)
            press = MORE if self.unread() else PRESS
            self.query_one("#press", Static).update(beside(plain(f"{cap} does nothing here. "), press))

    def action_whole(self) -> None:
        """Show the full text of this caution, or its card again."""
        self.whole = not self.whole
        self.on_mount()

    def action_smell(self) -> None:
        """Fuel is smelt or seen: nothing is read to its end."""
        self.dismiss(None)

    def action_back(self) -> None:
        """Not now: what was read stays read."""
        self.dismiss(tuple(one.id for one in self.cautions[: self.place]))
