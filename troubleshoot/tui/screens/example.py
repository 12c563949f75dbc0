"""The example on the screen: a case like any other, in which Enter with nothing typed lets the engine answer."""

from __future__ import annotations

from textual import work

from troubleshoot.case.case import Case
from troubleshoot.classroom.example import ExampleBench
from troubleshoot.problems import TroubleshootError
from troubleshoot.tui import session_dialogs as dialogs
from troubleshoot.tui.screens.session import SessionScreen
from troubleshoot.tui.screens.waiting import wait_for
from troubleshoot.tui.session_options import gone
from troubleshoot.tui.widgets.answer import Answer
from troubleshoot.tui.widgets.lines import tell, tell_problem
from troubleshoot.tui.workspace import Workspace

ASK = "Enter: the virtual engine answers. Or type a reading of your own."
REPAIR = "Enter: make this repair. The engine then says what is left of the concern."
TRY = "Enter: start the engine and see whether it is gone."


class ExampleScreen(SessionScreen):
    """One example."""

    def __init__(self, workspace: Workspace, case: Case) -> None:
        super().__init__(workspace, case)
        assert isinstance(case.bench, ExampleBench), "the example has its engine"
        self.engine = case.bench

    def on_mount(self) -> None:
        """Compute the engine while the first caution is read."""
        self.run_worker(self.engine.computed, thread=True, name="engine", exit_on_error=False)

    def show_parts(self, said: str = "") -> None:
        """Show every part, and what Enter does here."""
        super().show_parts(said)
        hint = {"check": ASK, "repair": REPAIR, "retest": TRY}.get(self.view.step.kind, "")
        if hint and not gone(self.view):
            tell(self, " ".join(word for word in (said, hint) if word))

    def action_take(self) -> None:
        """Take what was typed or marked; where there is nothing, let the engine answer."""
        answer, step = self.query_one(Answer), self.view.step
        if step.kind == "repair" and step.repair is not None and (answer.chosen and answer.chosen.id == "repair"):
            with self.changing():
                self.case.repair(step.repair.cause)
        elif step.kind in ("check", "retest") and not answer.typed.strip() and answer.chosen is None:
            self.action_bench()
        else:
            super().action_take()

    def action_bench(self) -> None:
        """Let the engine answer the check, or say what is left of the concern after a repair."""
        self.ask_engine()

    @work(exclusive=True)
    async def ask_engine(self) -> None:
        """Wait for the engine where it is still being computed, then take its answer."""
        words = "Starting the engine"
        try:
            if not self.engine.ready:
                await wait_for(self.app, "The virtual engine", words, lambda _: self.engine.computed())
        except TroubleshootError as refused:
            tell_problem(self, refused)
        if self.engine.ready:
            self.answer_from_engine()

    def answer_from_engine(self) -> None:
        """Take the engine's answer to what is asked now."""
        if self.view.step.kind == "retest" and not gone(self.view):
            with self.changing():
                self.case.retest(self.engine.retest())
        else:
            dialogs.take_from_bench(self)
