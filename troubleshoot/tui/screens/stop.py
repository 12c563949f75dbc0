"""Fuel was smelt or seen: nothing else can be done until the leak is mended."""

from __future__ import annotations

from typing import Literal

from textual.app import ComposeResult
from textual.containers import VerticalScroll
from textual.screen import ModalScreen
from textual.widgets import Static

from troubleshoot.tui.actions import bindings_of
from troubleshoot.tui.plain import beside, lines, plain
from troubleshoot.tui.widgets.lines import KeyLine, MessageLine


class StopScreen(ModalScreen[Literal["mended", "mistake", "leave"]]):
    """The stop; its result is how it ended."""

    CSS_PATH = "../styles/caution.tcss"
    BINDINGS = bindings_of("stop")
    NAME = "stop"

    def __init__(self, words: str) -> None:
        super().__init__()
        self.words = words

    def compose(self) -> ComposeResult:
        """Lay out what to do first and the two ways on."""
        sentences = [part.strip() for part in self.words.replace(". ", ".\n").split("\n")]
        with VerticalScroll(id="panel"):
            yield Static(plain(" DANGER ", "bold reverse"), id="signal", markup=False)
            yield Static(
                lines(plain("Fuel: stop everything", "bold $strong"), "", *(plain(part) for part in sentences)),
                id="body",
                markup=False,
            )
            yield Static(
                beside("Press ", plain("m", "bold $strong"), " when the leak is mended and has been looked at again."),
                id="press",
                markup=False,
            )
        yield MessageLine()
        yield KeyLine("stop")

    def action_mended(self) -> None:
        """The leak is mended."""
        self.dismiss("mended")

    def action_mistake(self) -> None:
        """There was no smell."""
        self.dismiss("mistake")

    def action_back(self) -> None:
        """Leave the case standing as it is."""
        self.dismiss("leave")
