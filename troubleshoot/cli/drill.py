"""`troubleshoot drill`: set, sit and mark drills."""

from __future__ import annotations

from pathlib import Path
from typing import Annotated, Literal

import typer

from troubleshoot.cli import drill_class, drill_marking, drill_sitting, drill_term, output
from troubleshoot.cli.options import global_options
from troubleshoot.problems import TroubleshootError

group = typer.Typer(help="Set, sit and mark drills.", rich_markup_mode=None, no_args_is_help=True)


@group.command("list")
def list_starters() -> None:
    """List the drills that come with the program."""
    from troubleshoot.classroom.story import read_plan, starters

    for name, path in starters().items():
        plan = read_plan(path)
        output.data(f"{name:<32} level {plan.level}  {plan.title}")


@group.command("causes")
def list_causes(
    context: typer.Context,
    car: Annotated[str, typer.Option(help="An example car, by id.")] = "harrow-240",
) -> None:
    """List the causes that can be set on a car of the virtual engine."""
    from troubleshoot.classroom.drill_maker import possible_causes

    catalogue = global_options(context).catalogue()
    for name in possible_causes(car, catalogue):
        output.data(f"{name:<32} {catalogue.causes[name].title}")


@group.command("new")
def new(
    context: typer.Context,
    story: Annotated[str | None, typer.Option("--from", help="A starter drill by id, or a story file.")] = None,
    to: Annotated[str | None, typer.Option("-o", "--output", help="Name of the two files, without ending.")] = None,
    car: Annotated[str | None, typer.Option(help="An example car, by id.")] = None,
    fault: Annotated[list[str] | None, typer.Option(help="A cause to set, as CAUSE or CAUSE=0.6; up to two.")] = None,
    any_of: Annotated[list[str] | None, typer.Option(help="Causes of which one is drawn.")] = None,
    title: Annotated[str | None, typer.Option(help="What the trainee sees; say nothing of the cause.")] = None,
    words: Annotated[str | None, typer.Option("--story", help="The customer's words.")] = None,
    concern: Annotated[list[str] | None, typer.Option(help="A concern reported; left out: what the car shows.")] = None,
    without: Annotated[list[str] | None, typer.Option(help="A tool that is not at hand.")] = None,
    minutes: Annotated[float | None, typer.Option(help="Minutes of work in the workshop allowed.")] = None,
    clock: Annotated[float | None, typer.Option(help="Minutes by the clock, then it is handed in.")] = None,
    money: Annotated[float | None, typer.Option(help="Parts money allowed.")] = None,
    hint: Annotated[list[str] | None, typer.Option(help="A hint the trainee may ask for.")] = None,
    ranking: Annotated[Literal["hidden", "asked", "shown"] | None, typer.Option(help="The ranking of causes.")] = None,
    files: Annotated[
        list[str] | None, typer.Option("--file", help="Hand out files to read: log, sound or capture.")
    ] = None,
    judge: Annotated[bool | None, typer.Option(help="Let the trainee judge each number.")] = None,
    unproved: Annotated[bool, typer.Option("--unproved", help="Write it though no policy solves it.")] = False,
    seed: Annotated[
        int | None, typer.Option(help="Draw the same drill again; whoever has it has the key.", min=0)
    ] = None,
    variants: Annotated[int, typer.Option(help="So many with other figures, in a folder.", min=1, max=200)] = 1,
) -> None:
    """Set a drill: write its file and its key.

    NAME.drill.json is for the trainees, NAME.key for the trainer alone.
    """
    from troubleshoot.classroom.handed_files import file_kinds

    given = {
        "car": car, "title": title, "story": words, "minutes": minutes, "clock": clock, "money": money,
        "ranking": ranking, "judge": judge, "faults": _severities(fault), "any-of": _severities(any_of),
        "concerns": concern or None, "tools-missing": without or None, "hints": hint or None,
        "files": file_kinds(files) if files else None,
    }  # fmt: skip
    wanted = {name: value for name, value in given.items() if value is not None}
    drill_marking.set_drill(global_options(context), story, to, wanted, unproved, seed, variants)


def _severities(named: list[str] | None) -> dict[str, float] | None:
    """Return cause -> severity from CAUSE or CAUSE=0.6; None when nothing was named."""
    found = {}
    for one in named or ():
        cause, given, text = one.partition("=")
        try:
            found[cause.strip()] = float(text) if given else 1.0
        except ValueError:
            raise TroubleshootError(f"{text[:20]!r} is no severity.", "Give a number from 0.05 to 1.") from None
    return found or None


@group.command("check")
def check(
    context: typer.Context,
    drill: Annotated[Path, typer.Argument(help="The drill file.")],
    key: Annotated[Path, typer.Argument(help="Its key file.")],
) -> None:
    """Prove that a drill can be solved with the tools allowed.

    Says in how many minutes each policy does it.
    """
    drill_marking.check_drill(global_options(context), drill, key)


@group.command("sit")
def sit(
    context: typer.Context,
    drill: Annotated[Path, typer.Argument(help="The drill file.")],
    name: Annotated[str | None, typer.Option(help="Your name; asked if left out.")] = None,
    to: Annotated[Path | None, typer.Option("-o", "--output", help="The hand-in file to write.")] = None,
    screens: Annotated[bool | None, typer.Option(help="With screens; left out: where they can be drawn.")] = None,
    again: Annotated[
        bool, typer.Option("--again", help="Sit it once more after handing in, as another attempt.")
    ] = False,
) -> None:
    """Sit a drill, or go on with it; the hand-in is written at its end.

    The same words write it again.
    """
    raise typer.Exit(drill_sitting.sit_drill(global_options(context), drill, name, to, screens, again))


@group.command("mark")
def mark(
    context: typer.Context,
    key: Annotated[Path, typer.Argument(help="The key file, or a folder of variants with their keys.")],
    hand_ins: Annotated[list[Path], typer.Argument(help="Hand-in files, or folders of them.")],
    rubric: Annotated[Path | None, typer.Option(help="A rubric of your own.")] = None,
    csv: Annotated[Path | None, typer.Option(help="Write the marks as CSV.")] = None,
    pages: Annotated[Path | None, typer.Option(help="A folder for printable pages, one each and one for all.")] = None,
    as_json: Annotated[bool, typer.Option("--json", help="Print the marks as JSON.")] = False,
    book: Annotated[Path | None, typer.Option(help="Enter the marks in this grade book too.")] = None,
    class_name: Annotated[str, typer.Option("--class", help="The class they belong to, for the grade book.")] = "",
    names: Annotated[Path | None, typer.Option(help="The list of names, for ids and e-mails.")] = None,
    remarks: Annotated[Path | None, typer.Option(help="Your own words for the pages, `Name: words` a line.")] = None,
) -> None:
    """Replay hand-ins against the drill and mark them.

    One that does not replay is refused, and where; exit code 2 then.
    """
    wanted = global_options(context)
    found, code = drill_marking.mark_hand_ins(wanted, key, hand_ins, rubric, csv, pages, as_json, remarks)
    if book is not None and found.marked:
        drill_term.enter(wanted, found, book, class_name, names)
    raise typer.Exit(code)


@group.command("grades")
def grades(
    context: typer.Context,
    book: Annotated[Path, typer.Argument(help="The grade book, as `drill mark --book` makes it.")],
    class_name: Annotated[str | None, typer.Option("--class", help="One class alone.")] = None,
    trainee: Annotated[str | None, typer.Option(help="One trainee alone.")] = None,
    beside: Annotated[str | None, typer.Option(help="An earlier class to compare with.")] = None,
    course: Annotated[Path | None, typer.Option(help="A course: order, aims, pass mark, scale.")] = None,
    csv: Annotated[Path | None, typer.Option(help="Write the marks as CSV for a school's system.")] = None,
    xapi: Annotated[Path | None, typer.Option(help="Write the marks as xAPI statements, a line each.")] = None,
    home: Annotated[str, typer.Option(help="The school's address, for xAPI.")] = "http://school.invalid",
) -> None:
    """Show marks over drills and classes, and how they went."""
    drill_term.show_grades(global_options(context), book, class_name, trainee, beside, course, csv, xapi, home)


@group.command("course")
def course(
    to: Annotated[Path | None, typer.Option("-o", "--output", help="The file to write; stdout if left out.")] = None,
) -> None:
    """Write a course over the starters, to edit."""
    from troubleshoot.classroom.course import usual_course

    drill_marking.write_new(usual_course(), to)


@group.command("replay")
def replay(
    context: typer.Context,
    key: Annotated[Path, typer.Argument(help="The key file, or a folder of variants with their keys.")],
    hand_in: Annotated[Path, typer.Argument(help="The hand-in.")],
) -> None:
    """Show a hand-in step by step, with the belief beside it."""
    drill_marking.replay_hand_in(global_options(context), key, hand_in)


@group.command("paper")
def paper(
    context: typer.Context,
    drill: Annotated[Path, typer.Argument(help="The drill file.")],
    to: Annotated[Path | None, typer.Option("-o", "--output", help="The page to write, as HTML.")] = None,
) -> None:
    """Write a drill on paper: story, checks, cards, answer sheet."""
    drill_marking.write_paper(global_options(context), drill, to)


@group.command("rubric")
def rubric(
    to: Annotated[Path | None, typer.Option("-o", "--output", help="The file to write; stdout if left out.")] = None,
) -> None:
    """Write the usual rubric, to edit."""
    from troubleshoot.classroom.rubric import usual_rubric

    drill_marking.write_new(usual_rubric().read_text(encoding="utf-8"), to)


@group.command("plant")
def plant(
    context: typer.Context,
    cause: Annotated[str, typer.Argument(help="The cause, by id; without one, what can be set is listed.")] = "",
    car: Annotated[str, typer.Option(help="An example car, by id.")] = "harrow-240",
    severity: Annotated[
        float | None, typer.Option(help="How bad, from 0.05 to 1; left out: as the card sets it.")
    ] = None,
) -> None:
    """Print the card for a fault on a real training engine.

    Says why where a fault must not be set.
    """
    if cause:
        drill_class.print_card(global_options(context), cause, car, severity)
    else:
        drill_class.print_plantable(global_options(context))


@group.command("serve")
def serve(
    context: typer.Context,
    drill: Annotated[Path, typer.Argument(help="The drill file; the key stays with you.")],
    seats: Annotated[int, typer.Option(help="Trainees at most.", min=1, max=200)] = 20,
    into: Annotated[Path, typer.Option(help="The folder for seats and hand-ins.")] = Path("class"),
    host: Annotated[str, typer.Option(help="The address to listen on; only 127.0.0.1 is closed.")] = "127.0.0.1",
    port: Annotated[int, typer.Option(help="The port.", min=1, max=65535)] = 8080,
    names: Annotated[Path | None, typer.Option(help="A list of names: each gets a code for a seat, on paper.")] = None,
    tls: Annotated[bool, typer.Option("--tls", help="Hide what goes over the network; makes a certificate.")] = False,
    qr: Annotated[bool, typer.Option("--qr", help="Show the address as a QR code too.")] = False,
) -> None:
    """Let a class sit a drill in the browser; needs the extra `class`."""
    from troubleshoot.classroom.serving import ClassPlan

    wanted = global_options(context)
    here = wanted.here
    people = None if names is None else here / names
    drill_class.serve_class(
        wanted, ClassPlan(here / drill, seats, here / into, host, port, wanted.trees, people, tls, qr)
    )


@group.command("board")
def board(
    context: typer.Context,
    into: Annotated[Path, typer.Argument(help="The folder of the class.")] = Path("class"),
    watch: Annotated[float | None, typer.Option(help="Show it again every so many seconds.", min=1)] = None,
    key: Annotated[
        Path | None,
        typer.Option(help="The key, or a folder of keys: shows how right each is."),
    ] = None,
) -> None:
    """Show who is where."""
    drill_class.show_board(global_options(context), into, watch, key)


def register(app: typer.Typer) -> None:
    """Add the commands to an application."""
    app.add_typer(group, name="drill")
