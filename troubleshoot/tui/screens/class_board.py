"""The board of a running class: who is where, drawn again every few seconds."""

from __future__ import annotations

from functools import partial
from pathlib import Path
from typing import TYPE_CHECKING, Any

from textual import work
from textual.app import App, ComposeResult
from textual.containers import VerticalScroll
from textual.widgets import Static

from troubleshoot.classroom.board import Believed, board_lines, seats_in
from troubleshoot.classroom.variants import keys_in
from troubleshoot.classroom.yardstick import belief_in
from troubleshoot.problems import TroubleshootError
from troubleshoot.tui.actions import bindings_of
from troubleshoot.tui.plain import plain
from troubleshoot.tui.screens.answer_once import OnceScreen
from troubleshoot.tui.screens.drill_files import choose_class, choose_key
from troubleshoot.tui.widgets.lines import HeadLine, KeyLine, MessageLine, tell_problem
from troubleshoot.tui.workspace import Workspace

if TYPE_CHECKING:
    from troubleshoot.tui.screens.home import HomeScreen

EVERY = 3.0
"""Seconds between two looks at the class."""


async def watch_class(home: HomeScreen) -> None:
    """Ask which class, and show its board until the trainer leaves."""
    folder = await choose_class(home.app)
    if folder is not None:
        seats_in(folder)
        await home.app.push_screen_wait(BoardScreen(home.workspace, folder))


class BoardScreen(OnceScreen[None]):
    """Who sits where, how far along, and who has handed in."""

    CSS_PATH = "../styles/page.tcss"
    BINDINGS = bindings_of("board")
    NAME = "board"

    def __init__(self, workspace: Workspace, folder: Path) -> None:
        super().__init__()
        self.workspace, self.folder = workspace, folder
        self.believed: Believed | None = None
        self.looking = False
        self.titles = {name: one.ask for name, one in workspace.catalogue.checks.items()}

    def compose(self) -> ComposeResult:
        """Lay out the board."""
        yield HeadLine(f"The class in {self.folder.name}", f"looked at every {EVERY:.0f} s", id="head")
        with VerticalScroll(id="page"):
            yield Static(id="board", markup=False)
        yield MessageLine()
        yield KeyLine(self.NAME)

    def on_mount(self) -> None:
        """Look now and every few seconds."""
        self.query_one("#page").focus()
        self.look()
        self.set_interval(EVERY, self.look)

    def look(self) -> None:
        """Read the seats in a thread, since a seat may be writing just now; one look at a time."""
        if not self.looking:
            self.looking = True
            self.run_worker(partial(self._read, self.app), thread=True, name="board")

    def _read(self, app: App[Any]) -> None:
        found: tuple[str, ...] | TroubleshootError
        try:
            found = tuple(board_lines(seats_in(self.folder, self.believed), self.workspace.clock(), self.titles))
        except TroubleshootError as refused:
            found = refused
        finally:
            self.looking = False
        app.call_from_thread(self.show, found)

    def show(self, found: tuple[str, ...] | TroubleshootError) -> None:
        """Draw the board or say why it could not be read, unless it was left meanwhile."""
        if not self.is_attached:
            return
        if isinstance(found, TroubleshootError):
            tell_problem(self, found)
        else:
            self.query_one("#board", Static).update(plain("\n".join(found)))

    @work
    async def action_belief(self) -> None:
        """Show or hide how far each one's readings point to what is wrong; the key says what that is."""
        if self.believed is not None:
            self.believed = None
        else:
            path = await choose_key(self.app, "Which key?", "Whoever sees the board then sees who is on the way.")
            if path is None:
                return
            try:
                self.believed = belief_in(keys_in(path), self.workspace.catalogue)
            except TroubleshootError as refused:
                tell_problem(self, refused)
        self.look()

    def action_back(self) -> None:
        """Leave the board; the class goes on."""
        self.dismiss(None)
