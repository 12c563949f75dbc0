"""`troubleshoot calc`: list, search and work out the trade's calculations.

The options of each calculation come from its definition; there is no second list.
"""

from typing import Annotated, Any

import typer
import typer.core

from troubleshoot.calculations.definition import Calculation
from troubleshoot.calculations.registry import calculation, calculations, search
from troubleshoot.cli import output
from troubleshoot.cli.calc_options import UnitsChoice, command_for
from troubleshoot.cli.options import global_options

HELP = """Work out one of the trade's calculations, or list them.

Values are typed with or without a unit: "45 psi", 3,1bar, 160F, "20 oz", "45 ± 1 psi".
`troubleshoot calc NAME --help` shows what a calculation asks for."""


class CalculationCommands(typer.core.TyperGroup):
    """One command for every calculation, made from its definition when it is asked for."""

    def list_commands(self, ctx: Any) -> list[str]:  # noqa: ARG002
        """Return the names of all calculations, by subject."""
        return [one.name for one in calculations()]

    def get_command(self, ctx: Any, cmd_name: str) -> Any:  # noqa: ARG002
        """Return a stand-in with the title: enough for a list."""
        title = calculation(cmd_name).title
        return typer.core.TyperCommand(cmd_name, help=title, short_help=title, callback=lambda: None)

    def resolve_command(self, ctx: Any, args: list[str]) -> Any:  # noqa: ARG002
        """Return the real command with its options; UnknownCalculation offers the nearest spelling."""
        one = calculation(args[0])
        return one.name, command_for(one), args[1:]


def calc(
    context: typer.Context,
    find: Annotated[str | None, typer.Option("--search", help="List those in which these words occur.")] = None,
    reference: Annotated[bool, typer.Option("--reference", help="Print all formulas with sources (Markdown).")] = False,
    as_json: Annotated[bool, typer.Option("--json", help="Print the list as JSON.")] = False,
    units: UnitsChoice = None,
) -> None:
    """Show the list when no calculation is named; its docstring for people is HELP."""
    context.meta["troubleshoot.calc.units"] = units or global_options(context).units
    if context.invoked_subcommand is not None:
        return
    if reference:
        from troubleshoot.calculations.reference import reference_page

        output.data(reference_page(), end="")
        return
    found = search(find) if find is not None else calculations()
    if as_json:
        output.as_json([_as_data(one) for one in found])
        return
    if not found:
        output.fail(f'No calculation speaks of "{(find or "")[:60]}".', "List them all with: troubleshoot calc.")
    _print_list(found)
    output.say("Work one out with: troubleshoot calc NAME --help")


def _print_list(found: tuple[Calculation, ...]) -> None:
    """Print names and titles by subject."""
    width = max(len(one.name) for one in found)
    subject = ""
    for one in found:
        if one.subject != subject:
            output.data(("\n" if subject else "") + one.subject.capitalize())
            subject = one.subject
        output.data(f"  {one.name:<{width}}  {one.title}")


def _as_data(one: Calculation) -> dict[str, Any]:
    """Return a calculation as a program may want it."""
    return {
        "name": one.name,
        "title": one.title,
        "subject": one.subject,
        "inputs": [
            {
                "name": field.name,
                "words": field.words,
                "unit": field.unit,
                "low": field.low,
                "high": field.high,
                "default": field.default,
                "list": field.many,
            }
            for field in one.inputs
        ],
        "outputs": [{"name": field.name, "words": field.words, "unit": field.unit} for field in one.outputs],
        "formula": one.formula,
        "valid": one.valid,
        "source": one.source,
    }


def register(app: typer.Typer) -> None:
    """Add the command to an application."""
    commands = typer.Typer(
        name="calc",
        cls=CalculationCommands,
        help=HELP,
        invoke_without_command=True,
        callback=calc,
        rich_markup_mode=None,
        context_settings={"help_option_names": ["-h", "--help"]},
    )
    app.add_typer(commands)
