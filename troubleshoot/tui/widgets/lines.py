"""The three lines every screen has: what it is, what the program says, and the keys."""

from __future__ import annotations

from typing import Any

from textual.content import Content
from textual.screen import Screen
from textual.widgets import Static

from troubleshoot.problems import TroubleshootError
from troubleshoot.tui.actions import bottom_line_of
from troubleshoot.tui.plain import beside, plain


class HeadLine(Static):
    """The first line: where one is on the left, how far on the right."""

    DEFAULT_CSS = "HeadLine { height: 1; }"

    def __init__(self, left: str = "", right: str = "", short: str = "", id: str | None = None) -> None:
        super().__init__(id=id, markup=False)
        self.left, self.right, self.short = left, right, short

    def show(self, left: str, right: str = "", short: str = "") -> None:
        """Show new words on both sides; `short` stands on the left where there is no room for the whole."""
        self.left, self.right, self.short = left, right, short
        self.refresh()

    def render(self) -> Content:
        """Write both sides; the left gives way when there is no room for both."""
        width = self.size.width
        right = plain(self.right, "$quiet")
        room = max(width - right.cell_length - 2, 8)
        left = plain(self.left.replace("\n", " "), "bold")
        if self.short and left.cell_length > room:
            left = plain(self.short.replace("\n", " "), "bold")
        left = left.truncate(room, ellipsis=True)
        gap = max(1, width - left.cell_length - right.cell_length)
        return beside(left, " " * gap, right)


class MessageLine(Static):
    """What the program has to say about the last key; a problem starts with a sign and not with a colour only."""

    DEFAULT_CSS = "MessageLine { height: auto; max-height: 3; }"

    def __init__(self) -> None:
        super().__init__(id="message", markup=False)

    def tell(self, words: str, problem: bool = False) -> None:
        """Show words until the next key that does something."""
        self.update(plain(f"! {words}", "bold $error") if problem else plain(words, "$accent"))


class KeyLine(Static):
    """The last line: at most five keys with a word each, and no more than fit."""

    DEFAULT_CSS = "KeyLine { height: 1; color: $quiet; }"

    def __init__(self, screen: str) -> None:
        super().__init__(id="keys", markup=False)
        self.keys = [(action.cap, action.words) for action in bottom_line_of(screen)]

    def render(self) -> Content:
        """Write the keys; where not all fit the last but one give way, so that help always stays."""
        shown = list(self.keys)
        while len(shown) > 2 and keys_width(shown) > self.size.width:
            del shown[-2]
        return Content("   ").join(beside(plain(cap, "bold $strong"), f" {words}") for cap, words in shown)


def keys_width(keys: list[tuple[str, str]]) -> int:
    """Return how many columns the bottom line takes."""
    return sum(len(cap) + 1 + len(words) for cap, words in keys) + 3 * (len(keys) - 1)


def tell(screen: Screen[Any], words: str) -> None:
    """Say something in the message line of a screen."""
    screen.query_one(MessageLine).tell(words)


def tell_problem(screen: Screen[Any], problem: TroubleshootError) -> None:
    """Say what is wrong and what to do about it in the message line of a screen."""
    screen.query_one(MessageLine).tell(str(problem), problem=True)
