"""`troubleshoot lint`: say everything that is wrong in the trees, each with its place and what to do about it."""

from __future__ import annotations

from pathlib import Path
from typing import Annotated

import typer

from troubleshoot.cli import output
from troubleshoot.cli.options import global_options

REPLACES = "replaces"
"""The notice that an own id takes the place of a shipped one: it changes answers, so it is always said."""


def register(app: typer.Typer) -> None:
    """Add the command to the program."""
    app.command("lint")(lint_command)


def lint_command(
    context: typer.Context,
    path: Annotated[
        Path | None, typer.Argument(help="A folder of trees, or a file in one; none: those shipped.")
    ] = None,
    as_json: Annotated[bool, typer.Option("--json", help="Write the findings as JSON.")] = False,
    notices: Annotated[bool, typer.Option("--notices", help="Show notices too; they do not fail.")] = False,
    deep: Annotated[bool, typer.Option("--deep", help="Also work out what each tree's order of steps costs.")] = False,
    alone: Annotated[
        bool, typer.Option("--alone", help="Read the folder by itself, not over the shipped trees.")
    ] = False,
) -> None:
    """Look for faults in the trees: exit 0 when nothing is wrong, 1 with findings, 2 when there is nothing to read."""
    from troubleshoot.knowledge.linting import lint

    found = lint(path or global_options(context).trees, alone=alone, deep=deep)
    errors = [finding for finding in found if finding.level == "error"]
    shown = list(found) if notices else [one for one in found if one.level == "error" or one.code == REPLACES]
    if as_json:
        import msgspec

        output.data(msgspec.json.format(msgspec.json.encode(shown)).decode())
    else:
        for finding in shown:
            output.data(f"{'notice: ' if finding.level == 'notice' else ''}{finding}")
    hidden = len(found) - len(shown)
    more = f" {counted_words(hidden, 'notice')} with --notices." if hidden else ""
    output.say(f"{counted_words(len(errors), 'finding')}.{more}" if errors else f"Nothing is wrong.{more}")
    raise typer.Exit(1 if errors else 0)


def counted_words(count: int, what: str) -> str:
    """Return how many there are of something in words.

    >>> counted_words(1, "notice")
    '1 notice'
    """
    return f"{count} {what}{'' if count == 1 else 's'}"
