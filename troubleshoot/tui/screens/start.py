"""The start: open cases to go on with, a new case, an example, and the rest."""

from __future__ import annotations

from typing import TYPE_CHECKING

from textual import on, work
from textual.app import ComposeResult
from textual.containers import Vertical, VerticalScroll
from textual.widgets import Static

from troubleshoot.problems import TroubleshootError
from troubleshoot.tui.actions import Action, actions_of, bindings_of
from troubleshoot.tui.plain import lines, plain
from troubleshoot.tui.screens.home import HomeScreen
from troubleshoot.tui.widgets.lines import HeadLine, KeyLine, MessageLine, tell, tell_problem
from troubleshoot.tui.widgets.numbered import Numbered, Row
from troubleshoot.tui.widgets.words import Words

if TYPE_CHECKING:
    from troubleshoot.tui.screens.example import ExampleScreen

WHAT = (
    "Find the fault in an engine converted from a carburettor to throttle-body injection. "
    "You say what the car does; you are asked for one measurement at a time; "
    "the causes are ranked after each, until one stands out, is repaired, and the retest proves it."
)


WAYS = {
    "new": "Your car: say what it does, then one measurement at a time.",
    "example": "First time? See a whole case in two minutes; an engine answers for you.",
}
"""The two ways in, in words; the first is recommended once there is a case, the second until then."""
ALSO = ("examples", "drills", "casebook", "calculators", "settings")


class Way(Words):
    """One way in; a click goes there."""

    def __init__(self, action: Action) -> None:
        super().__init__()
        self.action, self.recommended = action, False

    def on_click(self) -> None:
        """Press the key."""
        self.app.simulate_key(self.action.key)

    def recommend(self, recommended: bool, enter: bool) -> None:
        """Show the way as the one to go, or not; `enter` says that Enter goes there, which ▸ marks."""
        self.recommended = recommended
        lead = plain(f"{'▸' if recommended and enter else ' '} {self.action.cap}  ", "bold $accent")
        self.show([(lead, plain(WAYS[self.action.id], "bold $strong" if recommended else ""))])


def ago(seconds: float) -> str:
    """Return how long ago something was, in the largest whole unit."""
    for size, word in ((86400, "day"), (3600, "hour"), (60, "minute")):
        if seconds >= size:
            count = int(seconds // size)
            return f"{count} {word}{'' if count == 1 else 's'} ago"
    return "just now"


class StartScreen(HomeScreen):
    """Where the program begins and where every case comes back to."""

    CSS_PATH = "../styles/start.tcss"
    BINDINGS = bindings_of("start")
    NAME = "start"

    def compose(self) -> ComposeResult:
        """Lay out what this is, the keys, and the open cases."""
        yield HeadLine("Troubleshoot", id="head")
        yield Static(plain(WHAT), id="what", markup=False)
        with Vertical(id="choices"):
            for action in actions_of("start"):
                if action.id in WAYS:
                    yield Way(action)
        yield KeyLine("start", "also", ALSO)
        yield Static(id="notices", markup=False)
        yield Static(plain("OPEN CASES", "bold $primary"), id="title", markup=False)
        with VerticalScroll(id="cases", can_focus=False):
            yield Numbered(id="list", empty="None yet.")
        yield MessageLine()
        yield KeyLine("start")

    def on_mount(self) -> None:
        """List the open cases."""
        self.refresh_cases()
        self.query_one(Numbered).focus()

    def on_screen_resume(self) -> None:
        """List them again after another screen."""
        self.refresh_cases()

    def refresh_cases(self) -> None:
        """List the open cases, the one touched last first."""
        try:
            cases = self.workspace.cases(open_only=True)
        except TroubleshootError as refused:
            tell_problem(self, refused)
            return
        first = "new" if cases else "example"
        for way in self.query(Way):
            way.recommend(way.action.id == first, enter=not cases)
        self.query_one("#choices").sort_children(key=lambda way: not (isinstance(way, Way) and way.recommended))
        now = self.workspace.clock()
        self.query_one(Numbered).show(
            [Row(case.id, case.headline or "Nothing entered yet", ago(now - case.touched)) for case in cases]
        )

    def show_notices(self) -> None:
        """Say what of the trees is replaced or left out."""
        try:
            said = self.workspace.notices()
        except TroubleshootError as refused:
            tell_problem(self, refused)
            return
        for place in self.query("#notices").results(Static):
            place.update(lines(*(plain(f"! {words}", "$warning") for words in said)))
            place.display = bool(said)

    @on(Numbered.Taken)
    def open_taken(self, taken: Numbered.Taken) -> None:
        """A digit opens the case; a second one, typed before it is open, does nothing."""
        if self.is_active:
            self.open(taken.row.id)

    def action_pick(self) -> None:
        """Open the case marked ▸; where there is none yet, the example."""
        row = self.query_one(Numbered).marked
        if row is not None:
            self.open(row.id)
        else:
            self.action_example()

    def open(self, case_id: str) -> None:
        """Open a case of the casebook again; that of a drill opens as one."""
        from troubleshoot.classroom.sat_cases import is_example
        from troubleshoot.tui.screens.drills import open_again
        from troubleshoot.tui.screens.session import SessionScreen

        try:
            if open_again(self, case_id):
                return
            if is_example(self.workspace.casebook, case_id):
                screen: SessionScreen = self._example(case_id)
            else:
                screen = SessionScreen(self.workspace, self.workspace.resume(case_id))
        except TroubleshootError as refused:
            tell_problem(self, refused)
        else:
            self.app.push_screen(screen)

    @work(exclusive=True)
    async def action_new(self) -> None:
        """Enter a new case and open it."""
        from troubleshoot.tui.screens.new_case import enter_case
        from troubleshoot.tui.screens.session import SessionScreen

        try:
            case = await enter_case(self.app, self.workspace)
            if case is not None:
                self.app.push_screen(SessionScreen(self.workspace, case))
        except TroubleshootError as refused:
            tell_problem(self, refused)

    def action_example(self) -> None:
        """Open the example; where the trees do not have it, choose one of theirs."""
        from troubleshoot.classroom.example import has_example

        try:
            if has_example(self.workspace.catalogue):
                self.app.push_screen(self._example())
            else:
                self.action_examples()
        except TroubleshootError as refused:
            tell_problem(self, refused)

    def _example(self, case_id: str = "") -> ExampleScreen:
        from troubleshoot.classroom.example import begin_example, resume_example
        from troubleshoot.tui.screens.example import ExampleScreen
        from troubleshoot.tui.screens.shown_drill import settings_of

        workspace, settings = self.workspace, settings_of(self.workspace)
        book, catalogue, clock = workspace.casebook, workspace.catalogue, workspace.clock
        case = (
            resume_example(book, catalogue, case_id, clock, settings)
            if case_id
            else begin_example(book, catalogue, clock, settings)
        )
        return ExampleScreen(workspace, case)

    def action_examples(self) -> None:
        """Choose an invented car with a concern and open the case."""
        from troubleshoot.tui.screens.new_case import begin, example_screen
        from troubleshoot.tui.screens.session import SessionScreen

        def chosen(which: str | None) -> None:
            if which is None:
                return
            car, concern = which.split(" ")
            try:
                screen = SessionScreen(
                    self.workspace, begin(self.workspace, self.workspace.catalogue.cars[car], [concern], None)
                )
            except TroubleshootError as refused:
                tell_problem(self, refused)
            else:
                self.app.push_screen(screen)

        try:
            self.app.push_screen(example_screen(self.workspace), chosen)
        except TroubleshootError as refused:
            tell_problem(self, refused)

    def action_drills(self) -> None:
        """Practise, or set or sit a drill."""
        from troubleshoot.tui.screens.drills import open_drills

        open_drills(self)

    def action_casebook(self) -> None:
        """List all cases, open and closed."""
        from troubleshoot.tui.screens.casebook import CasebookScreen

        try:
            self.app.push_screen(CasebookScreen(self.workspace), lambda case: self.open(case) if case else None)
        except TroubleshootError as refused:
            tell_problem(self, refused)

    def action_calculators(self) -> None:
        """Open the calculations."""
        from troubleshoot.tui.screens.calculators import open_list

        open_list(self.app, self.workspace)

    def action_settings(self) -> None:
        """Open the settings."""
        from troubleshoot.tui.screens.settings import settings_screen

        self.app.push_screen(settings_screen(self.workspace.settings), self.keep)

    def keep(self, settings: object) -> None:
        """Use other settings from now on."""
        from troubleshoot.tui.settings import ScreenSettings

        if not isinstance(settings, ScreenSettings):
            return
        self.app.theme = settings.theme
        self.app.animation_level = "full" if settings.animations else "none"
        try:
            self.workspace.keep(settings)
        except TroubleshootError as refused:
            tell_problem(self, refused)
        else:
            tell(self, "Settings kept.")

    def action_quit(self) -> None:
        """Leave the program."""
        self.app.exit(0)
