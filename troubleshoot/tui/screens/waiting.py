"""Wait for something that takes seconds: what it is at, a bar, the seconds so far; Esc goes back without it."""

from __future__ import annotations

import time
from collections.abc import Awaitable, Callable
from functools import partial
from typing import Any, TypeVar

from textual import events
from textual.app import App, ComposeResult
from textual.widgets import ProgressBar, Static

from troubleshoot.problems import TroubleshootError
from troubleshoot.tui.actions import bindings_of
from troubleshoot.tui.plain import plain
from troubleshoot.tui.screens.answer_once import OnceScreen
from troubleshoot.tui.screens.form_screen import FormScreen
from troubleshoot.tui.widgets.lines import HeadLine, KeyLine, MessageLine

SETTLES = 0.1
"""Seconds until the screen after a wait takes keys."""
Made = TypeVar("Made")
Told = Callable[[str, int, int], None]
"""Told what it is at, and how many of how many are done; 0 of 0 where that is not known."""


class WaitScreen(OnceScreen[object]):
    """Works in a thread; the result is what was made, the refusal, or nothing when the person went back."""

    CSS_PATH = "../styles/waiting.tcss"
    BINDINGS = bindings_of("wait")
    NAME = "wait"

    def __init__(self, title: str, words: str, make: Callable[[Told], object]) -> None:
        super().__init__()
        self.head, self.words, self.make = title, words, make
        self.began = time.monotonic()
        self.left = False
        self.typed: list[str] = []
        """Keys pressed while waiting; they belong to what comes after."""

    def compose(self) -> ComposeResult:
        """Lay out what it is at and the bar."""
        yield HeadLine(self.head, id="head")
        yield Static(plain(self.words), id="words", markup=False)
        yield ProgressBar(total=None, show_eta=False, show_percentage=False, id="bar")
        yield Static(id="seconds", markup=False)
        yield MessageLine()
        yield KeyLine(self.NAME)

    def on_mount(self) -> None:
        """Begin."""
        self.set_interval(0.5, self.count)
        work = partial(self.work, self.app)  # a screen that was left no longer finds it
        self.app.run_worker(work, thread=True, name="wait")  # leaving this screen does not cancel it half done

    def count(self) -> None:
        """Say how long it has taken."""
        self.query_one("#seconds", Static).update(plain(f"{time.monotonic() - self.began:.0f} s"))

    def work(self, app: App[Any]) -> None:
        """Make it, in the thread."""
        try:
            made = self.make(lambda words, done, of: app.call_from_thread(self.tell_stage, words, done, of))
        except TroubleshootError as refused:
            made = refused
        app.call_from_thread(self.over, made)

    def tell_stage(self, words: str, done: int, of: int) -> None:
        """Say what it is at."""
        if not self.left:
            self.query_one("#words", Static).update(plain(words))
            self.query_one(ProgressBar).update(total=of or None, progress=done)

    def on_key(self, event: events.Key) -> None:
        """Keep a key for the screen that comes after."""
        if event.key not in self.active_bindings:
            event.stop()
            self.typed.append(event.key)

    def over(self, made: object) -> None:
        """Hand over what was made; what was typed meanwhile goes to what is shown then."""
        if not self.left:
            self.left = True
            while self in self.app.screen_stack and not self.is_active:
                self.app.pop_screen()  # help, or the palette, opened meanwhile
            self.dismiss(made)
            if not isinstance(made, TroubleshootError):
                self.app.set_timer(SETTLES, self.type_again)

    def type_again(self) -> None:
        """Press the keys again that were pressed while waiting."""
        for key in self.typed:
            self.app.simulate_key(key)

    def action_back(self) -> None:
        """Go back without it; what the thread still makes is thrown away."""
        if not self.left:
            self.left = True
            self.dismiss(None)


async def wait_for(app: App[Any], title: str, words: str, make: Callable[[Told], Made]) -> Made | None:
    """Show the bar until it is made and return it, or nothing when the person went back; a refusal is raised."""
    found = await app.push_screen_wait(WaitScreen(title, words, make))
    if isinstance(found, TroubleshootError):
        raise found
    return found  # type: ignore[return-value]  # the bar gives back what was made, or nothing


async def ask_until_made(
    app: App[Any],
    title: str,
    words: tuple[str, str],
    form: Callable[[dict[str, str], str], FormScreen],
    make: Callable[[Any], Awaitable[Callable[[], Made] | None]],
) -> Made | None:
    """Fill in a form until what it asks for is made, and return that; nothing when it is given up.

    `words` are those of the form and those while waiting; `form` gets what was typed before, which stays, and its
    words, which are the refusal after one. `make` returns the work that is waited for, or nothing to ask again.
    """
    typed: dict[str, str] = {}
    said, waiting = words
    while (asked := await app.push_screen_wait(form(typed, said))) is not None:
        try:
            work = await make(asked)
            if work is not None:
                return await wait_for(app, title, waiting, lambda _, one=work: one())  # type: ignore[misc]  # bound now
        except TroubleshootError as refused:
            said = str(refused)
    return None
