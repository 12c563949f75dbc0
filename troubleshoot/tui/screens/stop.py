"""Fuel was smelt or seen: nothing else can be done until the leak is repaired."""

from __future__ import annotations

from typing import Literal

from textual.app import ComposeResult
from textual.containers import Center, VerticalScroll
from textual.screen import ModalScreen
from textual.widgets import Static

from troubleshoot.tui.actions import modal_bindings_of
from troubleshoot.tui.plain import beside, lines, plain
from troubleshoot.tui.screens.answer_once import OnceScreen
from troubleshoot.tui.widgets.lines import KeyLine, MessageLine, Pressable

How = Literal["leak_repaired", "mistake", "leave"]


class StopScreen(OnceScreen[How], ModalScreen[How]):
    """The stop; its result is how it ended."""

    CSS_PATH = "../styles/caution.tcss"
    BINDINGS = modal_bindings_of("stop")
    NAME = "stop"

    def __init__(self, words: str) -> None:
        super().__init__()
        self.words = words

    def compose(self) -> ComposeResult:
        """Lay out what to do first and the two ways on."""
        sentences = [part.strip() for part in self.words.replace(". ", ".\n").split("\n")]
        with Center(id="middle"), VerticalScroll(id="panel"):
            yield Static(plain("  DANGER: FUEL. STOP EVERYTHING.  "), id="signal", markup=False)
            yield Static(lines(*(plain(part) for part in sentences)), id="body", markup=False)
            words = beside(plain("m", "bold $strong"), "  the leak is repaired, and was looked at again")
            yield Pressable("m", words, id="press")
        yield MessageLine()
        yield KeyLine("stop")

    def action_leak_repaired(self) -> None:
        """The leak is repaired."""
        self.dismiss("leak_repaired")

    def action_mistake(self) -> None:
        """There was no smell."""
        self.dismiss("mistake")

    def action_back(self) -> None:
        """Leave the case standing as it is."""
        self.dismiss("leave")
