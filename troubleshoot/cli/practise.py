"""`troubleshoot practise`: diagnose the virtual engine alone, repairs and retests included."""

from __future__ import annotations

import secrets
from collections.abc import Callable, Sequence
from pathlib import Path
from typing import TYPE_CHECKING, Annotated, Literal

import typer

from troubleshoot.cli import output
from troubleshoot.cli.options import GlobalOptions, global_options
from troubleshoot.cli.starting import screens_possible
from troubleshoot.cli.waiting import waiting
from troubleshoot.file_writing import write_whole

if TYPE_CHECKING:
    from troubleshoot.classroom.key_file import Key
    from troubleshoot.classroom.sitting import Sitting


def practise(
    context: typer.Context,
    concern: Annotated[str | None, typer.Argument(help="What the customer says, by id; anything if left out.")] = None,
    level: Annotated[int, typer.Option(help="From 1, gross faults and full tools, to 5, two faults at once.")] = 1,
    car: Annotated[str | None, typer.Option(help="An example car, by id; drawn if left out.")] = None,
    ranking: Annotated[
        Literal["hidden", "asked", "shown"], typer.Option(help="The ranking: hidden, shown when asked for, or shown.")
    ] = "asked",
    files: Annotated[
        list[str] | None, typer.Option("--file", help="Hand out files to read: log, sound or capture.")
    ] = None,
    case: Annotated[str | None, typer.Option(help="Go on with this practice.")] = None,
    screens: Annotated[bool | None, typer.Option(help="With screens; left out: where they can be drawn.")] = None,
    seed: Annotated[int | None, typer.Option(help="Draw the same car again.", min=0)] = None,
    record: Annotated[bool, typer.Option("--record", help="Show how practice has gone, week by week.")] = False,
) -> None:
    """Practise alone on the virtual engine: it answers each check, you repair, it is retested.

    At the end: what it was, what your readings told, a good path and yours.
    """
    wanted = global_options(context)
    if record:
        _show_record(wanted)
        raise typer.Exit(output.DONE)
    raise typer.Exit(_practise(wanted, concern, level, car, ranking, case, screens, seed, files or ()))


def _practise(
    wanted: GlobalOptions, concern: str | None, level: int, car: str | None,
    ranking: Literal["hidden", "asked", "shown"], case: str | None, screens: bool | None, seed: int | None,
    files: Sequence[str],
) -> int:  # fmt: skip
    from troubleshoot.classroom.drill_maker import with_files
    from troubleshoot.classroom.handed_files import file_kinds
    from troubleshoot.classroom.practising import PRACTICE_BITS, begin_practice, draw_practice, go_on, ready_practice
    from troubleshoot.classroom.preparing import FOLDER
    from troubleshoot.classroom.ready_cars import ReadyCars
    from troubleshoot.cli.conversation import Talk, hold

    catalogue = wanted.catalogue()
    with wanted.open_casebook() as book:
        with waiting("Putting a car on the bench"):
            if case is not None:
                sitting, key = go_on(book, catalogue, wanted.clock, case, wanted.settings())
            else:
                ready = ReadyCars(wanted.casebook_path.with_name(FOLDER), catalogue, wanted.units)
                any_car = seed is None and car is None
                made = ready_practice(ready, level, concern, ranking, catalogue) if any_car else None
                drawn = seed if seed is not None else secrets.randbits(PRACTICE_BITS)
                made = made or draw_practice(drawn, concern, level, car, ranking, catalogue)
                made = with_files(made, file_kinds(files), catalogue)
                key = made.key
                sitting = begin_practice(book, catalogue, wanted.clock, made, wanted.settings())
        if wanted.drill_screens and (screens if screens is not None else screens_possible()):
            closed = wanted.drill_screens(wanted.trees, book, sitting)
        else:
            closed = hold(Talk(sitting.case, sitting, _tracer(sitting, key, wanted.here)))
        if closed:
            _debrief(sitting, key)
        else:
            output.data(f"Saved. To go on: troubleshoot practise --case {sitting.case.case_id}")
    return output.DONE


def _show_record(wanted: GlobalOptions) -> None:
    """Print how practice has gone over the weeks."""
    from troubleshoot.classroom.practice_record import practised, record_lines

    with wanted.open_casebook() as book:
        for line in record_lines(practised(book, wanted.catalogue())):
            output.data(line)


def _tracer(sitting: Sitting, key: Key, folder: Path) -> Callable[[str], None]:
    """Return the command that records a run of the car: `trace pull` and the like."""

    def record(rest: str) -> None:
        """Record a run and write it beside where one works, to be looked at with `troubleshoot run`."""
        from troubleshoot.classroom.practising import practice_trace

        found = practice_trace(sitting, key, rest.strip() or "pull")
        path = folder / f"{sitting.case.case_id}-{rest.strip() or 'pull'}.csv"
        write_whole(path, found.to_csv())
        for name, values in found.channels.items():
            low, high = float(values.min()), float(values.max())
            output.data(f"  {name:<20} {low:8.3g} to {high:8.3g} {found.units.get(name, '')}")
        output.data(f"The run is in {path}; `troubleshoot run {path}` reads it.")

    return record


def _debrief(sitting: Sitting, key: Key) -> None:
    from troubleshoot.classroom.debriefing import debrief_lines
    from troubleshoot.cli.plain_lines import wrapped

    output.data()
    for line in debrief_lines(sitting, key):
        for part in wrapped(line.removeprefix("- "), "  - ") if line.startswith("- ") else wrapped(line):
            output.data(part)


def register(app: typer.Typer) -> None:
    """Add the command to an application."""
    app.command("practise")(practise)
