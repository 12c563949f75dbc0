"""The program with screens: what every screen shares, and the way in."""

from __future__ import annotations

import io
import os
from collections.abc import Sequence
from pathlib import Path

import msgspec
from rich.console import Console
from textual import events
from textual.app import App
from textual.filter import LineFilter
from textual.worker import Worker, WorkerState

from troubleshoot.file_writing import write_whole
from troubleshoot.problems import TroubleshootError
from troubleshoot.tui.actions import EVERYWHERE, TYPED, bindings_of
from troubleshoot.tui.screens.start import StartScreen
from troubleshoot.tui.themes import THEMES, InAscii, WithoutColour
from troubleshoot.tui.widgets.lines import MessageLine
from troubleshoot.tui.workspace import Workspace
from troubleshoot.tui.workspace_app import WorkspaceApp
from troubleshoot.visible import wants_ascii

FAULT_FILE = "fault.txt"
"""Beside the casebook: what the last fault of the program was."""


class ProgramFault(TroubleshootError):
    """A defect of the program itself, not something that a person did."""

    exit_code = 70


class TroubleshootApp(WorkspaceApp):
    """The screens over one workspace."""

    TITLE = "Troubleshoot"
    CSS_PATH = Path(__file__).with_name("styles") / "shared.tcss"
    BINDINGS = bindings_of(EVERYWHERE)
    ENABLE_COMMAND_PALETTE = False
    HORIZONTAL_BREAKPOINTS = [(0, "-narrow"), (80, "-normal"), (110, "-wide"), (140, "-broad")]  # noqa: RUF012 - as the base class has it
    VERTICAL_BREAKPOINTS = [(0, "-low"), (24, "-middle"), (36, "-tall")]  # noqa: RUF012 - as the base class has it

    def __init__(self, workspace: Workspace, start: str | None = None) -> None:
        super().__init__(workspace)
        self.start = start
        for theme, _ in THEMES:
            self.register_theme(theme)
        self.theme = workspace.settings.theme
        self.animation_level = "full" if workspace.settings.animations else "none"

    def get_line_filters(self) -> Sequence[LineFilter]:
        """Return what changes a line: where NO_COLOR is set, no colours; in the C locale, no signs but ASCII."""
        colours = [WithoutColour(self.current_theme.background or "")] if self.no_color else super().get_line_filters()
        return [*colours, *([InAscii()] if wants_ascii(os.environ) else [])]

    def on_mount(self) -> None:
        """Show the start, then load what the first case needs while the person reads."""
        screen = StartScreen(self.workspace)
        self.push_screen(screen)
        self.call_after_refresh(self.settle, screen)

    def settle(self, screen: StartScreen) -> None:
        """After the first paint: load in a thread, have cars prepared, and do what the command line named."""
        self.run_worker(self.warm_up, thread=True, name="warm-up", exit_on_error=False)
        self.workspace.prepare()
        if self.start in ("new", "example", "examples", "casebook", "calculators", "settings"):
            getattr(screen, f"action_{self.start}")()
        elif self.start:
            screen.open(self.start)

    def warm_up(self) -> None:
        """Load what the first case will need, its screen too, so that no key waits for it."""
        import troubleshoot.tui.screens.session  # noqa: F401 - importing is the point

        self.workspace.warm_up()

    def on_worker_state_changed(self, event: Worker.StateChanged) -> None:
        """Once the trees are read, say what of them is left out or replaced."""
        if event.worker.name == "warm-up" and event.state == WorkerState.SUCCESS:
            for screen in self.screen_stack:
                if isinstance(screen, StartScreen):
                    screen.show_notices()

    def on_key(self, event: events.Key) -> None:
        """Say so where a key does nothing, so that nobody waits for it; behind the last screen nobody does."""
        if (
            not self.screen_stack
            or event.key in self.active_bindings
            or not (event.is_printable or event.key.startswith("f"))
        ):
            return
        for line in self.screen.query(MessageLine):
            cap = event.character if event.character and event.is_printable else event.key.upper()
            line.tell(f"{cap} does nothing here. {'F1' if self.screen_name in TYPED else '?'} shows the keys.")

    def action_search(self) -> None:
        """Find something and do it: the toolkit's own palette over what can be done, checks, calculations, cases."""
        from textual.command import CommandPalette

        from troubleshoot.tui.palette import Palette

        if not isinstance(self.screen, CommandPalette):
            self.push_screen(Palette())

    def action_help(self) -> None:
        """Show the keys of the screen one is on."""
        from troubleshoot.tui.screens.help import HelpScreen

        if not isinstance(self.screen, HelpScreen):
            self.push_screen(HelpScreen(self.screen_name))

    def action_leave(self) -> None:
        """Leave the program; nothing is lost."""
        self.exit(0)


def run_screens(
    own_trees: Path | None, casebook_path: Path | None, start: str | None = None, units: str | None = None
) -> int:
    """Run the screens until the person leaves and return the exit code.

    `units` stand above those of the settings.
    `start` names a case id, or one of new, example, examples, casebook, calculators, settings.
    A TroubleshootError escapes when the casebook cannot be opened at all.
    """
    workspace = Workspace(own_trees, casebook_path)
    workspace.prepares = True
    if units == "us" or units == "metric":
        workspace.settings = msgspec.structs.replace(workspace.settings, units=units)
    try:
        return run_app(TroubleshootApp(workspace, start), workspace.casebook_path.with_name(FAULT_FILE))
    finally:
        workspace.close()


def run_app(app: App[int], report: Path, headless: bool = False) -> int:
    """Run an app and return its exit code; ProgramFault, with the traceback in the file, when it breaks off.

    What the framework would print over the terminal goes to `report` and into the notes of the ProgramFault,
    which `--debug` shows.
    """
    caught = io.StringIO()
    app.error_console = Console(file=caught, width=120, color_system=None)
    code = app.run(headless=headless, mouse=not os.environ.get("TROUBLESHOOT_NO_MOUSE"))
    if not caught.getvalue():
        return code or 0
    try:
        report.parent.mkdir(parents=True, exist_ok=True)
        write_whole(report, caught.getvalue(), private=True)
        where = f"What happened is written to {report}; please report it."
    except OSError:
        where = "Run it again with --debug to see what happened."
    fault = ProgramFault(
        "A fault in this program ended it. Nothing is lost: every answer taken is in the casebook.",
        f"Start it again and open the case from the list. {where}",
    )
    fault.add_note(caught.getvalue())
    raise fault
