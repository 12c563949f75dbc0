"""`troubleshoot tree`: the author's bench: draw a tree, try it, begin a new one, watch it while writing."""

from __future__ import annotations

import time
from pathlib import Path
from typing import TYPE_CHECKING, Annotated

import typer

from troubleshoot.cli import output
from troubleshoot.cli.options import global_options

if TYPE_CHECKING:
    from troubleshoot.knowledge.catalogue import Catalogue

HELP = "Draw, try, begin and watch symptom trees."


def register(app: typer.Typer) -> None:
    """Add the group of commands to the program."""
    group = typer.Typer(help=HELP, no_args_is_help=True, rich_markup_mode=None, pretty_exceptions_enable=False)
    group.command("show")(show)
    group.command("try")(try_out)
    group.command("new")(new)
    group.command("watch")(watch)
    group.command("schema")(schema)
    group.command("reference")(reference)
    app.add_typer(group, name="tree")


CarChoice = Annotated[str | None, typer.Option("--car", help="An example car, by id; by default one the steps suit.")]
Concern = Annotated[str, typer.Argument(help="A concern, by id, as wont-rev.")]


def show(context: typer.Context, concern: Concern, car: CarChoice = None) -> None:
    """Draw a tree: steps, odds, minutes, and worth of repairs."""
    import shutil

    from troubleshoot.cli.car_choice import car_named
    from troubleshoot.cli.case_setup import concern_named
    from troubleshoot.knowledge.tree_drawing import tree_lines

    catalogue = global_options(context).catalogue()
    say_unread(catalogue)
    width = max(40, min(100, shutil.get_terminal_size((80, 24)).columns)) - 2
    name = concern_named(catalogue, concern)
    for line in tree_lines(catalogue, name, car_named(catalogue, car), width):
        output.data(line)


def say_unread(catalogue: Catalogue) -> None:
    """Say which files have a fault, since what they hold is left out of whatever is shown next."""
    files = list(dict.fromkeys(one.file for one in catalogue.faults))
    for name in files:
        first = next(one for one in catalogue.faults if one.file == name)
        output.say(f"{name} has a fault, and what does not fit in it is left out: line {first.line}, {first.what}.")
    if files:
        output.say("`troubleshoot lint` says all of it, and what to do.")


def try_out(context: typer.Context, concern: Concern, car: CarChoice = None) -> None:
    """Walk a tree without a case, to see what it makes of answers.

    Each check is asked in its turn, and after each answer what is believed is shown.
    """
    from troubleshoot.cli.tree_trial import try_tree

    catalogue = global_options(context).catalogue()
    say_unread(catalogue)
    try_tree(catalogue, concern, car)


def new(
    context: typer.Context,
    concern: Annotated[str, typer.Argument(help="An id for the concern: small letters and hyphens, as idle-drops.")],
    says: Annotated[str | None, typer.Option(help="What the customer says.")] = None,
    meaning: Annotated[str | None, typer.Option(help="What exactly is meant.")] = None,
    causes: Annotated[str | None, typer.Option(help="Causes that show it, with commas between.")] = None,
    folder: Annotated[
        Path | None, typer.Option("--folder", help="Where to write; by default your own trees, else my-trees.")
    ] = None,
) -> None:
    """Begin a tree: a few questions, then a commented file.

    The linter passes what is written; what is given as an option is not asked.
    """
    from troubleshoot.cli.tree_start import begin_tree, refuse_bad_id
    from troubleshoot.knowledge.catalogue import own_trees

    wanted = global_options(context)
    refuse_bad_id(concern)
    if wanted.trees is not None:
        wanted.trees.mkdir(parents=True, exist_ok=True)
    say_unread(wanted.catalogue())
    place = folder or own_trees(wanted.trees) or Path("my-trees")
    begin_tree(wanted.catalogue(), place, concern, says, meaning, causes)


def watch(
    context: typer.Context,
    path: Annotated[Path | None, typer.Argument(help="A folder of trees, or a file in one.")] = None,
    every: Annotated[float, typer.Option(help="Seconds between two looks.", min=0.1)] = 0.5,
    rounds: Annotated[int, typer.Option(help="Stop after so many looks; 0 goes on.", min=0)] = 0,
) -> None:
    """Lint on every save until interrupted."""
    from troubleshoot.cli.lint import counted_words
    from troubleshoot.knowledge.linting import lint, stamp_for

    place = path or global_options(context).trees
    before, looks = "", 0
    while True:
        now = stamp_for(place)
        if now != before:
            before = now
            errors = [one for one in lint(place) if one.level == "error"]
            for finding in errors:
                output.data(str(finding))
            found = counted_words(len(errors), "finding") if errors else "nothing is wrong"
            output.say(f"{time.strftime('%H:%M:%S')}  {found}. Watching; Ctrl+C ends it.")
        looks += 1
        if rounds and looks >= rounds:
            return
        time.sleep(every)


def schema(
    context: typer.Context,
    folder: Annotated[Path, typer.Argument(help="Where to write; for the shipped trees, trees/schema.")],
    mark: Annotated[
        Path | None, typer.Option(help="Also write the line for editors into the files of these trees.")
    ] = None,
    plain: Annotated[bool, typer.Option("--plain", help="Without the ids; for the shipped trees.")] = False,
) -> None:
    """Write JSON Schemas, by which editors complete and check.

    They know the ids of the shipped trees and of your own; write them again when you have added some.
    """
    from troubleshoot.knowledge.schema import mark_files, write_schemas

    catalogue = None if plain else global_options(context).catalogue()
    if catalogue is not None:
        say_unread(catalogue)
    for file in (*write_schemas(folder, catalogue), *(mark_files(mark) if mark is not None else ())):
        output.data(str(file))


def reference() -> None:
    """Print the reference of the form.

    It stands at the end of trees/README.md as well.
    """
    from troubleshoot.knowledge.reference import reference as written

    output.data(written(), end="")
