"""The three lines every screen has: what it is, what the program says, and the keys."""

from __future__ import annotations

from collections.abc import Collection, Mapping, Sequence
from dataclasses import replace
from typing import Any

from textual import events
from textual.content import Content
from textual.screen import Screen
from textual.widgets import Static

from troubleshoot.problems import TroubleshootError
from troubleshoot.tui.actions import Action, actions_of, bottom_line_of
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
    """The last line: at most five keys and help, with a word each, and no more than fit."""

    DEFAULT_CSS = "KeyLine { height: 1; color: $quiet; }"

    def __init__(
        self, screen: str, id: str = "keys", only: Collection[str] = (), named: Mapping[str, str] | None = None
    ) -> None:
        """Name the keys of the bottom line, or `only` some actions of the screen; `named` has other words for some."""
        super().__init__(id=id, markup=False)
        self.of, self.usual = screen, (only, named or {})
        self.name_keys()

    def name_keys(self, named: Mapping[str, str] | None = None) -> None:
        """Name only these actions from now on, in these words; those named at first where none are given."""
        only, words = self.usual if named is None else (named, named)
        usual = bottom_line_of(self.of)
        found = {one.id: one for one in (*actions_of(self.of), *usual) if one.id in only}
        self.actions = tuple(replace(one, words=words.get(one.id, one.words)) for one in found.values() or usual)
        self.refresh()

    def shown(self) -> tuple[Action, ...]:
        """Return the actions there is room for: the first, the way out and help stay longest."""
        left = list(self.actions)
        for gives_way in sorted(self.actions[1:], key=lambda one: (_stays(one), -self.actions.index(one))):
            if keys_width([(one.cap, one.words) for one in left]) <= self.size.width:
                break
            left.remove(gives_way)
        return tuple(left)

    def render(self) -> Content:
        """Write the keys there is room for."""
        return Content(GAP).join(beside(plain(one.cap, "bold $strong"), f" {one.words}") for one in self.shown())

    async def on_click(self, event: events.Click) -> None:
        """A key that is clicked does what it does when it is pressed."""
        action = action_at(self.shown(), event.x - self.gutter.left, len(GAP))
        if action is not None:
            event.stop()
            self.app.simulate_key(action.key)


GAP = "   "


def action_at(shown: Sequence[Action], column: int, gap: int) -> Action | None:
    """Return the action named at a column of a line of keys with gaps of so many columns between them."""
    at = 0
    for action in shown:
        end = at + len(action.cap) + 1 + len(action.words)
        if at <= column < end:
            return action
        at = end + gap
    return None


class Pressable(Static):
    """Words that name a key; a click on them does what the key does."""

    def __init__(self, key: str, words: Content | str = "", id: str | None = None) -> None:
        super().__init__(words, id=id, markup=False)
        self.key = key

    def on_click(self) -> None:
        """Press the key."""
        self.app.simulate_key(self.key)


def _stays(action: Action) -> int:
    """Return how long a key stays on a line that is too short: 2 the way out, 1 help, 0 the rest."""
    return 2 if action.key == "escape" or action.id == "quit" else 1 if action.id == "help" else 0


def keys_width(keys: list[tuple[str, str]]) -> int:
    """Return how many columns the bottom line takes."""
    return sum(len(cap) + 1 + len(words) for cap, words in keys) + 3 * (len(keys) - 1)


def tell(screen: Screen[Any], words: str) -> None:
    """Say something in the message line of a screen."""
    screen.query_one(MessageLine).tell(words)


def tell_problem(screen: Screen[Any], problem: TroubleshootError) -> None:
    """Say what is wrong and what to do about it in the message line of a screen."""
    screen.query_one(MessageLine).tell(str(problem), problem=True)
