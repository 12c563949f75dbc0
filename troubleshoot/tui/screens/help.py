"""Help: every key, made from the table of actions."""

from __future__ import annotations

from textual.app import ComposeResult
from textual.containers import VerticalScroll
from textual.content import Content
from textual.screen import Screen
from textual.widgets import Static

from troubleshoot.tui.actions import ACTIONS, EVERYWHERE, actions_of, bindings_of
from troubleshoot.tui.plain import beside, lines, plain
from troubleshoot.tui.widgets.lines import HeadLine, KeyLine, MessageLine


class HelpScreen(Screen[None]):
    """Every key of one screen, made from the table of actions."""

    CSS_PATH = "../styles/reading.tcss"
    BINDINGS = bindings_of("help")
    NAME = "help"

    def __init__(self, about: str) -> None:
        super().__init__()
        self.about = about

    def compose(self) -> ComposeResult:
        """Lay out the keys of the screen, those that hold everywhere, and how to type a reading."""
        yield HeadLine("Keys", id="head")
        with VerticalScroll(id="page"):
            yield Static(help_words(self.about), markup=False)
        yield MessageLine()
        yield KeyLine("help")

    def on_mount(self) -> None:
        """Let arrows and page keys scroll."""
        self.query_one("#page").focus()

    def action_back(self) -> None:
        """Back to where one was."""
        self.dismiss(None)


TITLES = {
    "session": "In a case",
    "start": "At the start",
    "list": "In a list",
    "marks": "In a list to mark",
    "form": "In a form",
    "caution": "A caution",
    "stop": "A stop",
    "why": "Why a cause is likely",
    "report": "The report",
    "calculator": "A calculation",
}
TYPING = (
    "Type a reading as you say it: 38, 38 psi, 2.6 bar, 3,1, 13.4 V, 1/2 turn, 45 ± 1 psi.",
    "A number alone is taken in the unit shown. A key that cannot begin a number is a command.",
    "Digits choose an answer, Enter takes it. In lists Up and Down move the mark ▸.",
    "Everything is on disk before the screen says so: you may switch off at any time.",
)


def help_words(about: str) -> Content:
    """Return the help page of a screen, then the other screens."""
    screens = [
        about,
        *dict.fromkeys(action.screen for action in ACTIONS if action.screen not in {about, EVERYWHERE, "help"}),
    ]
    shown: list[Content] = []
    for screen in (about, EVERYWHERE, *screens[1:]):
        title = TITLES.get(screen, "Everywhere" if screen == EVERYWHERE else screen)
        shown += [plain(title, "bold $primary")]
        shown += [
            beside(plain(f"  {action.cap:<8}", "bold $strong"), plain(action.help)) for action in actions_of(screen)
        ]
        if screen == about:
            shown += [beside(plain(f"  {'1 – 9':<8}", "bold $strong"), "Choose the line or answer with that number")]
        shown.append(Content(""))
        if screen == EVERYWHERE:
            shown += [plain("How to answer", "bold $primary"), *(plain(f"  {words}") for words in TYPING), Content("")]
    return lines(*shown)
