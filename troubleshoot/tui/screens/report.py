"""The report as it stands: read it here, write it to a file as text, Markdown or a page to print."""

from __future__ import annotations

import re
from collections.abc import Callable
from pathlib import Path

from textual.app import ComposeResult
from textual.containers import VerticalScroll
from textual.content import Content
from textual.events import Resize
from textual.widgets import Static

from troubleshoot.case.case import Case
from troubleshoot.file_writing import write_whole
from troubleshoot.problems import TroubleshootError
from troubleshoot.reports.case_report import CaseReport, report_of
from troubleshoot.reports.case_text import WIDTH, as_text
from troubleshoot.tui.actions import bindings_of
from troubleshoot.tui.plain import beside, lines, plain
from troubleshoot.tui.screens.answer_once import OnceScreen
from troubleshoot.tui.widgets.lines import HeadLine, KeyLine, MessageLine, tell, tell_problem

EDGES = 3
"""Columns of the margins and the scrollbar."""
BESIDE = 160
"""Columns from which the report stands beside the check: 76 for it, and at least 84 for the check."""


LABEL = re.compile(r"[A-Z]{4,} *(?=\S)|[A-Z][^:]*$")
"""What begins at the edge of the paper and is no sentence: the word before a line, or the title over some."""


def titled(line: str) -> Content:
    """Return a line of the report with its label, or the whole where it is a title, in the colour of titles."""
    found = LABEL.match(line)
    cut = found.end() if found else 0
    return beside(plain(line[:cut], "bold $primary"), plain(line[cut:]))


class ReportScreen(OnceScreen[None]):
    """The report of one case, as text."""

    CSS_PATH = "../styles/reading.tcss"
    BINDINGS = bindings_of("report")
    NAME = "report"

    def __init__(self, report: CaseReport, name: str, folder: Path, in_case: bool = False) -> None:
        """`in_case` says that the case is on the screen below."""
        super().__init__()
        self.report, self.stem, self.folder, self.in_case = report, name, folder, in_case

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
        """Stand beside the check where there is room, and break the lines where the page ends, once it has its size."""
        self.set_class(self.in_case and event.size.width >= BESIDE, "beside")
        self.call_after_refresh(self.show_text)

    def show_text(self) -> None:
        """Show the report as wide as the page is."""
        width = min(WIDTH, self.query_one("#page").size.width - EDGES)
        shown = (titled(line) for line in as_text(self.report, width).splitlines())
        self.query_one("#text", Static).update(lines(*shown))

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


def report_screen(case: Case, in_case: bool = False) -> ReportScreen:
    """Return the report of a case, ready to read; `in_case` says that the case is on the screen below."""
    return ReportScreen(report_of(case), f"case-{case.case_id}", Path.cwd(), in_case)
