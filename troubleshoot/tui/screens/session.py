"""The session: a case on the screen, with the keys that open other screens over it."""

from __future__ import annotations

from textual import on

from troubleshoot.tui import session_dialogs as dialogs
from troubleshoot.tui.actions import bindings_of
from troubleshoot.tui.screens.case_screen import CaseScreen
from troubleshoot.tui.session_options import wants_quantity
from troubleshoot.tui.widgets.answer import Answer
from troubleshoot.tui.widgets.likely import Likely
from troubleshoot.tui.widgets.lines import tell


class SessionScreen(CaseScreen):
    """One open case."""

    CSS_PATH = "../styles/session.tcss"
    BINDINGS = bindings_of("session")
    NAME = "session"

    def covered(self) -> bool:
        """Open a stop or a caution over the case, and return whether there is one."""
        return dialogs.open_at_once(self)

    def action_take(self) -> None:
        """Take what was typed or marked."""
        answer, check = self.query_one(Answer), self.view.step.check
        if wants_quantity(self.view) and check is not None:
            if answer.typed.strip():
                self.take(check.id, answer.typed)
            else:
                tell(self, "Type what you read, then Enter. u if you cannot measure it.")
        elif answer.chosen is None:
            tell(self, "Choose an answer by its digit, then Enter. u if you cannot tell.")
        else:
            dialogs.follow(self, answer.chosen.id)

    def action_bench(self) -> None:
        """In a drill, let the bench answer."""
        dialogs.take_from_bench(self)

    @on(Likely.Asked)
    def explain(self, asked: Likely.Asked) -> None:
        """Say why a cause that was clicked is likely."""
        dialogs.open_why(self, asked.cause)

    def action_dialog(self, dialog: str) -> None:
        """Open another screen by its name in the table of actions."""
        dialogs.DIALOGS[dialog](self)
