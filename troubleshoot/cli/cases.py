"""`troubleshoot cases`: list, show, export, import and delete cases."""

from __future__ import annotations

import json
from pathlib import Path
from typing import Annotated

import typer

from troubleshoot.casebook.exchange import LARGEST, ExchangeRefused, export_case, import_case
from troubleshoot.casebook.store import CaseRow
from troubleshoot.cli import output
from troubleshoot.cli.asked import Asked, asked
from troubleshoot.drills.exercise_cases import refuse_open_exercise
from troubleshoot.file_reading import TooLong, read_at_most
from troubleshoot.investigation.folding import decode
from troubleshoot.investigation.walk import resume_case
from troubleshoot.reports.case_report import report_of, when
from troubleshoot.reports.case_text import as_text

group = typer.Typer(help="List, show, export, import or delete cases.", rich_markup_mode=None)


@group.callback(invoke_without_command=True)
def cases(
    context: typer.Context,
    as_json: Annotated[bool, typer.Option("--json", help="Print the list as JSON.")] = False,
) -> None:
    """List all cases, the one touched last first."""
    if context.invoked_subcommand is None:
        _list(asked(context), as_json)


@group.command("list")
def list_cases(
    context: typer.Context,
    as_json: Annotated[bool, typer.Option("--json", help="Print the list as JSON.")] = False,
) -> None:
    """List all cases, the one touched last first."""
    _list(asked(context), as_json)


def _list(wanted: Asked, as_json: bool) -> None:
    rows: tuple[CaseRow, ...] = ()
    if wanted.casebook_path.exists():
        with wanted.open_casebook(writable=False) as book:
            rows = book.cases()
    if as_json:
        fields = ("id", "opened", "touched", "headline", "state")
        output.data(json.dumps([{name: getattr(row, name) for name in fields} for row in rows], indent=1))
        return
    for row in rows:
        output.data(f"{row.id:<14} {row.state:<9} {when(row.touched)}  {row.headline}")
    if not rows:
        output.say("There are no cases yet. `troubleshoot` or `troubleshoot ask` begins one.")


@group.command("show")
def show(context: typer.Context, case: Annotated[str, typer.Argument(help="The case's id.")]) -> None:
    """Show a case as text."""
    wanted = asked(context)
    with wanted.open_casebook(writable=False) as book:
        refuse_open_exercise(book, case)
        walk = resume_case(book, wanted.catalogue(), case, wanted.clock, wanted.settings())
        output.data(as_text(report_of(walk)))


@group.command("export")
def export(
    context: typer.Context,
    case: Annotated[str, typer.Argument(help="The case's id.")],
    to: Annotated[Path | None, typer.Option("-o", "--output", help="The file to write; stdout if left out.")] = None,
) -> None:
    """Write a case as one JSON file."""
    wanted = asked(context)
    with wanted.open_casebook(writable=False) as book:
        text = export_case(book, case)
    output.write_out(text, wanted.here / to if to else None)


@group.command("import")
def take_in(context: typer.Context, file: Annotated[Path, typer.Argument(help="A file that export wrote.")]) -> None:
    """Take a case in from a JSON file, under a new id."""
    wanted = asked(context)
    path = wanted.here / file
    try:
        text = read_at_most(path, LARGEST).decode("utf-8")
    except TooLong:
        raise ExchangeRefused(f"{file} is too long to be one case.", "Give a file that `cases export` wrote.") from None
    except UnicodeDecodeError as problem:
        raise ExchangeRefused(f"{file} is not UTF-8 text.", "Give a file that `cases export` wrote.") from problem
    with wanted.open_casebook() as book:
        case = import_case(book, text, decode)
        resume_case(book, wanted.catalogue(), case, wanted.clock, wanted.settings()).settle()
    output.data(case)


@group.command("delete")
def delete(
    context: typer.Context,
    case: Annotated[str, typer.Argument(help="The case's id.")],
    sure: Annotated[bool, typer.Option("--yes", help="Do not ask.")] = False,
) -> None:
    """Delete a case for good, after asking."""
    wanted = asked(context)
    with wanted.open_casebook() as book:
        book.events(case)
        if not sure:
            answer = output.question(f"Delete case {case} for good? Type its id again:")
            if answer is None or answer.strip() != case:
                output.say("Nothing was deleted.")
                raise typer.Exit(output.REFUSED)
        book.delete(case)
    output.say(f"Case {case} is deleted.")


def register(app: typer.Typer) -> None:
    """Add the command to an application."""
    app.add_typer(group, name="cases")
