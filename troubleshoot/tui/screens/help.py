"""Help: every key, made from the table of actions."""

from __future__ import annotations

from textual.app import ComposeResult
from textual.containers import VerticalScroll
from textual.content import Content

from troubleshoot.tui.actions import ACTIONS, EVERYWHERE, actions_of, bindings_of
from troubleshoot.tui.plain import plain
from troubleshoot.tui.screens.answer_once import OnceScreen
from troubleshoot.tui.widgets.lines import HeadLine, KeyLine, MessageLine
from troubleshoot.tui.widgets.words import Paragraph, Words


class HelpScreen(OnceScreen[None]):
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
            yield Words(paragraphs=help_words(self.about))
        yield MessageLine()
        yield KeyLine("help")

    def on_mount(self) -> None:
        """Let arrows and page keys scroll."""
        self.query_one("#page").focus()

    def action_back(self) -> None:
        """Back to where one was."""
        self.dismiss(None)


TITLES = {
    "recording": "A recording",
    "compared": "Before and after",
    "session": "In a case",
    "drill": "In a drill",
    "page": "A page to read",
    "wait": "While you wait",
    "marks-table": "The marks of a class",
    "board": "The board of a class",
    "start": "At the start",
    "list": "In a list",
    "marks": "In a list to mark",
    "form": "In a form",
    "measured": "In a form with quantities",
    "caution": "A caution",
    "stop": "A stop",
    "why": "Why a cause is likely",
    "report": "The report",
    "calculator": "A calculation",
    EVERYWHERE: "Everywhere",
}
TYPING = (
    "Type a reading as you say it: 38, 38 psi, 2.6 bar, 3,1, 13.4 V, 1/2 turn, 45 ± 1 psi.",
    "Roughly or between: ~40, about 40, 38-42. It then counts as less sure.",
    "A number alone is taken in the unit shown. While nothing is typed, the keys named here are commands.",
    "Digits choose an answer, Enter takes it. In lists Up and Down move the mark ▸.",
    "Answers, causes, lines of a list and the keys named on the screen can be clicked.",
    "Everything is on disk before the screen says so: you may switch off at any time.",
)


def help_words(about: str) -> list[Paragraph]:
    """Return the help page of a screen, then what holds everywhere, then the other screens."""
    others = dict.fromkeys(action.screen for action in ACTIONS if action.screen not in {about, EVERYWHERE, "help"})
    shown: list[Paragraph] = [*_keys(about)]
    shown.insert(-1, (_key("1 – 9"), plain("Choose the line or answer with that number")))
    shown += _keys(EVERYWHERE)
    shown += [plain("How to answer", "bold $primary"), *((plain("  "), plain(words)) for words in TYPING), Content("")]
    for screen in others:
        shown += _keys(screen)
    return shown


def _keys(screen: str) -> list[Paragraph]:
    title = plain(TITLES.get(screen, screen), "bold $primary")
    return [title, *((_key(action.cap), plain(action.help)) for action in actions_of(screen)), Content("")]


def _key(cap: str) -> Content:
    return plain(f"  {cap:<8}", "bold $strong")
