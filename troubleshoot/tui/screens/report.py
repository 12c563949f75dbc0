"""The report as it stands: read it here, write it to a file as text, Markdown or a page to print."""

from __future__ import annotations

from collections.abc import Callable
from pathlib import Path

from textual.app import ComposeResult
from textual.containers import VerticalScroll
from textual.events import Resize
from textual.widgets import Static

from troubleshoot.case.case import Case
from troubleshoot.file_writing import write_whole
from troubleshoot.problems import TroubleshootError
from troubleshoot.reports.case_report import CaseReport, report_of
from troubleshoot.reports.case_text import WIDTH, as_text
from troubleshoot.tui.actions import bindings_of
from troubleshoot.tui.plain import plain
from troubleshoot.tui.screens.answer_once import OnceScreen
from troubleshoot.tui.widgets.lines import HeadLine, KeyLine, MessageLine, tell, tell_problem

EDGES = 3
"""Columns of the margins and the scrollbar."""


class ReportScreen(OnceScreen[None]):
    """The report of one case, as text."""

    CSS_PATH = "../styles/reading.tcss"
    BINDINGS = bindings_of("report")
    NAME = "report"

    def __init__(self, report: CaseReport, name: str, folder: Path) -> None:
        super().__init__()
        self.report, self.stem, self.folder = report, name, folder

    def compose(self) -> ComposeResult:
        """Lay out the report."""
        yield HeadLine("Report", id="head")
        with VerticalScroll(id="page"):
            yield Static(id="text", markup=False)
        yield MessageLine()
        yield KeyLine("report")

    def on_mount(self) -> None:
        """Let arrows and page keys scroll."""
        self.query_one("#page").focus()
        tell(self, f"1, 2, 3 or 4 writes a file into {self.folder}")

    def on_resize(self, event: Resize) -> None:
        """Break the lines where the screen ends."""
        self.query_one("#text", Static).update(plain(as_text(self.report, min(WIDTH, event.size.width - EDGES))))

    def action_write(self) -> None:
        """Write the report as text."""
        self.write(as_text, "txt")

    def action_markdown(self) -> None:
        """Write the report as Markdown."""
        from troubleshoot.reports.case_markdown import as_markdown

        self.write(as_markdown, "md")

    def action_web_page(self) -> None:
        """Write the report as a page to print."""
        from troubleshoot.reports.case_html import as_html

        self.write(as_html, "html")

    def action_customer(self) -> None:
        """Write the page for the customer."""
        from troubleshoot.reports.customer_page import customer_page

        self.write(customer_page, "html", "-customer")

    def write(self, form: Callable[[CaseReport], str], ending: str, more: str = "") -> None:
        """Write the report in one form into the folder."""
        file = self.folder / f"{self.stem}{more}.{ending}"
        try:
            write_whole(file, form(self.report))
        except OSError as refused:
            advice = "Start the program from a folder of your own."
            tell_problem(self, TroubleshootError(f"{file} cannot be written: {refused.strerror}.", advice))
        else:
            tell(self, f"Written to {file}")

    def action_back(self) -> None:
        """One step back."""
        self.dismiss(None)


def report_screen(case: Case) -> ReportScreen:
    """Return the report of a case, ready to read."""
    return ReportScreen(report_of(case), f"case-{case.case_id}", Path.cwd())
