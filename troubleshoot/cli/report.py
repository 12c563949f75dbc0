"""`troubleshoot report`: a case written up as text, Markdown or a printable page."""

from __future__ import annotations

from pathlib import Path
from typing import Annotated

import typer

from troubleshoot.case.case import resume_case
from troubleshoot.classroom.sat_cases import refuse_open_sitting
from troubleshoot.cli import output
from troubleshoot.cli.options import global_options
from troubleshoot.problems import TroubleshootError
from troubleshoot.reports.case_report import CaseReport, report_of


def report(
    context: typer.Context,
    case: Annotated[str, typer.Argument(help="The case's id; see `cases`.")],
    text: Annotated[bool, typer.Option("--text", help="As plain text (what it is unless said otherwise).")] = False,
    markdown: Annotated[bool, typer.Option("--markdown", help="As Markdown.")] = False,
    html: Annotated[bool, typer.Option("--html", help="As a page for the workshop to print.")] = False,
    customer: Annotated[bool, typer.Option("--customer", help="As a page for the customer, in plain words.")] = False,
    to: Annotated[Path | None, typer.Option("-o", "--output", help="The file to write; stdout if left out.")] = None,
) -> None:
    """Write a case up: concern, cause, correction, readings with limits and basis, trail."""
    if text + markdown + html + customer > 1:
        advice = "Give one of --text, --markdown, --html and --customer."
        raise TroubleshootError("A report has one form at a time.", advice)
    wanted = global_options(context)
    with wanted.open_casebook(writable=False) as book:
        refuse_open_sitting(book, case)
        made = report_of(resume_case(book, wanted.catalogue(), case, wanted.clock, wanted.settings()))
    output.write_out(formed(made, markdown, html, customer), wanted.here / to if to else None)


def formed(made: CaseReport, markdown: bool, html: bool, customer: bool = False) -> str:
    """Return a report in one of its forms, as text unless said otherwise."""
    if customer:
        from troubleshoot.reports.customer_page import customer_page

        return customer_page(made)
    if markdown:
        from troubleshoot.reports.case_markdown import as_markdown

        return as_markdown(made)
    if html:
        from troubleshoot.reports.case_html import as_html

        return as_html(made)
    from troubleshoot.reports.case_text import as_text

    return as_text(made) + "\n"


def register(app: typer.Typer) -> None:
    """Add the command to an application."""
    app.command("report")(report)
