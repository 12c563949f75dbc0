"""The report as it stands: read it here, write it to a file."""

from __future__ import annotations

from pathlib import Path

from textual.app import ComposeResult
from textual.containers import VerticalScroll
from textual.screen import Screen
from textual.widgets import Static

from troubleshoot.investigation.walk import Investigation
from troubleshoot.problems import TroubleshootError
from troubleshoot.tui.actions import bindings_of
from troubleshoot.tui.plain import plain
from troubleshoot.tui.widgets.lines import HeadLine, KeyLine, MessageLine, tell, tell_problem


class ReportScreen(Screen[None]):
    """The report of one case, as text."""

    CSS_PATH = "../styles/reading.tcss"
    BINDINGS = bindings_of("report")
    NAME = "report"

    def __init__(self, text: str, name: str, folder: Path) -> None:
        super().__init__()
        self.text, self.file = text, folder / f"{name}.txt"

    def compose(self) -> ComposeResult:
        """Lay out the report."""
        yield HeadLine("Report", id="head")
        with VerticalScroll(id="page"):
            yield Static(plain(self.text), markup=False)
        yield MessageLine()
        yield KeyLine("report")

    def on_mount(self) -> None:
        """Let arrows and page keys scroll."""
        self.query_one("#page").focus()
        tell(self, f"w writes it to {self.file}")

    def action_write(self) -> None:
        """Write the report to a file."""
        try:
            self.file.write_text(self.text, encoding="utf-8")
        except OSError as refused:
            problem = TroubleshootError(
                f"{self.file} cannot be written: {refused.strerror}.", "Start from a folder of yours."
            )
            tell_problem(self, problem)
        else:
            tell(self, f"Written to {self.file}")

    def action_back(self) -> None:
        """One step back."""
        self.dismiss(None)


def report_screen(investigation: Investigation) -> ReportScreen:
    """Return the report of a case, ready to read."""
    from troubleshoot.reports.written import text_report

    return ReportScreen(text_report(investigation), f"case-{investigation.case_id}", Path.cwd())
