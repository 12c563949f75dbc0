"""`troubleshoot cases`: list, show, attach, export, import, merge, back up, check, rescue and delete cases."""

from __future__ import annotations

from datetime import UTC, datetime
from pathlib import Path
from typing import Annotated

import typer

from troubleshoot.case.attached import changed, described
from troubleshoot.case.case import resume_case
from troubleshoot.case.kept_events import decode, decode_all
from troubleshoot.case.rescued import note_later
from troubleshoot.casebook.backups import back_up, faults
from troubleshoot.casebook.exchange import LARGEST, ExchangeRefused, export_case, import_case, merge
from troubleshoot.casebook.refusing import CasebookRefused, CaseUnknown
from troubleshoot.casebook.rescue import rescue
from troubleshoot.casebook.store import Casebook, CaseRow
from troubleshoot.classroom.sat_cases import refuse_open_sitting
from troubleshoot.cli import output
from troubleshoot.cli.options import GlobalOptions, global_options
from troubleshoot.file_reading import TooLong, read_at_most
from troubleshoot.reports.case_report import report_of, when
from troubleshoot.reports.case_text import as_text

group = typer.Typer(help="List, exchange, merge, back up or rescue cases.", rich_markup_mode=None)
Words = Annotated[list[str] | None, typer.Argument(help="Only cases that hold all these words, or their beginnings.")]
Most = Annotated[int | None, typer.Option(min=1, help="So many at most, the one touched last first.")]


@group.callback(invoke_without_command=True)
def cases(
    context: typer.Context,
    as_json: Annotated[bool, typer.Option("--json", help="Print the list as JSON.")] = False,
) -> None:
    """List all cases, the one touched last first."""
    if context.invoked_subcommand is None:
        _list(global_options(context), as_json)


@group.command("list")
def list_cases(
    context: typer.Context,
    words: Words = None,
    open_only: Annotated[bool, typer.Option("--open", help="Only cases that are not closed.")] = False,
    most: Most = None,
    as_json: Annotated[bool, typer.Option("--json", help="Print the list as JSON.")] = False,
) -> None:
    """List all cases, or those found by words.

    The words are looked for in car, concern and notes; the case touched last stands first.
    """
    _list(global_options(context), as_json, " ".join(words or ()), open_only, most)


def _list(
    wanted: GlobalOptions, as_json: bool, words: str = "", open_only: bool = False, most: int | None = None
) -> None:
    rows: tuple[CaseRow, ...] = ()
    if wanted.casebook_path.exists() or _should_be_there(wanted):
        with wanted.open_casebook(writable=False) as book:
            rows = book.cases(words, open_only, most)
    if as_json:
        fields = ("id", "opened", "touched", "headline", "state")
        output.as_json([{name: getattr(row, name) for name in fields} for row in rows])
        return
    for row in rows:
        output.data(f"{row.id:<14} {row.state:<9} {when(row.touched)}  {row.headline}")
    if not rows and (words or open_only):
        output.say("No case is like that. `troubleshoot cases` lists them all.")
    elif not rows:
        output.say("There are no cases yet. `troubleshoot` or `troubleshoot ask` begins one.")


def _should_be_there(wanted: GlobalOptions) -> bool:
    """Return whether a casebook that is not there was there once: it was named, or a link leads to it."""
    path = wanted.casebook_path
    return wanted.casebook is not None or path.is_symlink() or (path.parent.exists() and not path.parent.is_dir())


@group.command("show")
def show(context: typer.Context, case: Annotated[str, typer.Argument(help="The case's id.")]) -> None:
    """Show a case as text."""
    wanted = global_options(context)
    with wanted.open_casebook(writable=False) as book:
        refuse_open_sitting(book, case)
        walk = resume_case(book, wanted.catalogue(), case, wanted.clock, wanted.settings())
        output.data(as_text(report_of(walk)))


@group.command("export")
def export(
    context: typer.Context,
    case: Annotated[str, typer.Argument(help="The case's id.")],
    to: Annotated[Path | None, typer.Option("-o", "--output", help="The file to write; stdout if left out.")] = None,
) -> None:
    """Write a case as one JSON file."""
    wanted = global_options(context)
    with wanted.open_casebook(writable=False) as book:
        text = export_case(book, case)
    output.write_out(text, wanted.here / to if to else None)


@group.command("import")
def take_in(context: typer.Context, file: Annotated[Path, typer.Argument(help="A file that export wrote.")]) -> None:
    """Take a case in from a JSON file.

    The same case taken in twice is one case.
    """
    wanted = global_options(context)
    path = wanted.here / file
    try:
        text = read_at_most(path, LARGEST).decode("utf-8")
    except TooLong:
        raise ExchangeRefused(f"{file} is too long to be one case.", "Give a file that `cases export` wrote.") from None
    except UnicodeDecodeError as problem:
        raise ExchangeRefused(f"{file} is not UTF-8 text.", "Give a file that `cases export` wrote.") from problem
    with wanted.open_casebook() as book:
        taken = import_case(book, text, decode)
        resume_case(book, wanted.catalogue(), taken.case_id, wanted.clock, wanted.settings()).settle()
    if taken.how != "new":
        output.say(_HOW[taken.how].format(taken=taken))
    output.data(taken.case_id)


_HOW = {
    "new": "{taken.case_id} is new here.",
    "known": "{taken.case_id} was here already.",
    "longer": "{taken.case_id} was here already, and now goes on as it did there.",
    "differs": "{taken.case_id} began as {taken.other} did and then went another way; both are kept.",
}


@group.command("merge")
def merge_in(
    context: typer.Context, other: Annotated[Path, typer.Argument(help="Another casebook: the laptop's, the shop's.")]
) -> None:
    """Take in every case of another casebook.

    What is here already is not taken twice; conflicts are listed.
    """
    wanted = global_options(context)
    counted = dict.fromkeys(_HOW, 0)
    said, came = [], list[str]()
    with wanted.open_casebook() as book, Casebook(wanted.here / other, writable=False) as there:
        total = there.count()
        for number, taken in enumerate(merge(book, there), start=1):
            if isinstance(taken, CasebookRefused):
                said.append(f"Not taken: {taken.sentence}")
            else:
                counted[taken.how] += 1
                if taken.how in ("longer", "differs"):
                    said.append(_HOW[taken.how].format(taken=taken))
                if taken.how != "known":
                    came.append(taken.case_id)
            if number % 1000 == 0:
                output.say(f"{number} of {total} cases looked at.")
        for one in set(book.with_event("attached")).intersection(came):
            said += [f"{one}: {line}" for line in changed(decode_all(book.events(one)), wanted.casebook_path.parent)]
    for line in said:
        output.say(line)
    output.data(
        f"{counted['new']} new, {counted['longer']} went on, {counted['known']} here already, "
        f"{counted['differs']} went another way."
    )


@group.command("attach")
def attach(
    context: typer.Context,
    case: Annotated[str, typer.Argument(help="The case's id.")],
    files: Annotated[list[Path], typer.Argument(help="Photographs or other files.")],
) -> None:
    """Note photographs and other files as belonging to a case.

    The case keeps where each file lies and its hash; the file stays where it is.
    """
    wanted = global_options(context)
    found = [described(wanted.here / file) for file in files]
    with wanted.open_casebook() as book:
        refuse_open_sitting(book, case)
        walk = resume_case(book, wanted.catalogue(), case, wanted.clock, wanted.settings())
        with walk.all_or_nothing():
            for one in found:
                walk.attach(one)
    for one in found:
        output.data(f"Attached: {one.file}, {one.size} bytes, SHA-256 {one.sha256[:12]}")


@group.command("backup")
def backup(
    context: typer.Context,
    to: Annotated[Path | None, typer.Option("-o", "--output", help="The file to write.")] = None,
) -> None:
    """Write a whole copy of the casebook.

    Without -o it is written beside the casebook, under today's date.
    One a week is made by itself when the program starts; the last four are kept.
    """
    wanted = global_options(context)
    source = wanted.casebook_path
    day = datetime.fromtimestamp(wanted.clock(), UTC).strftime("%Y-%m-%d")
    path = wanted.here / to if to else source.with_name(f"{source.stem}-backup-{day}.sqlite")
    if to and path.exists():
        raise CasebookRefused(f"{to} is there already.", "Name another file, or move that one away.")
    output.data(f"Written: {back_up(source, path)}")


@group.command("check")
def check(context: typer.Context) -> None:
    """Say what of the casebook is damaged.

    Every event of every case is read, and every file that was attached; the exit code is 1 if anything is wrong.
    """
    wanted = global_options(context)
    found = faults(wanted.casebook_path)
    for line in found:
        output.data(line)
    if found:
        output.say("`troubleshoot cases rescue DAMAGED -o NEW` gets back what can be read.")
        raise typer.Exit(output.FOUND_WRONG)
    with wanted.open_casebook(writable=False) as book:
        count = book.count()
        kept = {one: decode_all(book.events(one)) for one in book.with_event("attached")}
    for one, events in kept.items():
        for line in changed(events, wanted.casebook_path.parent):
            output.data(f"{one}: {line}")
            found = (*found, line)
    output.data(f"{count} {'case' if count == 1 else 'cases'}, all whole.")
    if found:
        raise typer.Exit(output.FOUND_WRONG)


@group.command("rescue")
def rescue_from(
    context: typer.Context,
    damaged: Annotated[Path, typer.Argument(help="The damaged casebook; it is left as it is.")],
    to: Annotated[Path, typer.Option("-o", "--output", help="The new casebook to make.")],
) -> None:
    """Get back what a damaged casebook still holds.

    What cannot be read is listed.
    """
    wanted = global_options(context)
    back = rescue(wanted.here / damaged, wanted.here / to)
    for line in back.lost:
        output.say(line)
    with Casebook(wanted.here / to) as book:
        for case, payloads in back.later.items():
            if words := note_later(book, case, payloads, datetime.now(UTC).timestamp()):
                output.say(f"Case {case}: {words}")
    output.data(f"{back.cases} cases with {back.events} events are in {to}.")
    if back.lost:
        raise typer.Exit(output.FOUND_WRONG)


@group.command("delete")
def delete(
    context: typer.Context,
    case: Annotated[str, typer.Argument(help="The case's id.")],
    sure: Annotated[bool, typer.Option("--yes", help="Do not ask.")] = False,
) -> None:
    """Delete a case for good, after asking."""
    wanted = global_options(context)
    with wanted.open_casebook() as book:
        if not book.cases(case_id=case):
            raise CaseUnknown(f"There is no case {case!r}.", "See `troubleshoot cases` for the list.")
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
