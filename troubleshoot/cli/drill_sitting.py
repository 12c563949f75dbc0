"""`drill sit`: sit a drill in plain lines or on the screens, and write the hand-in."""

from __future__ import annotations

from pathlib import Path

from troubleshoot.cli import output
from troubleshoot.cli.case_setup import EndOfInput, Smelt, ask
from troubleshoot.cli.options import GlobalOptions
from troubleshoot.cli.starting import screens_possible


def sit_drill(
    wanted: GlobalOptions, drill_path: Path, name: str | None, to: Path | None, screens: bool | None, again: bool
) -> int:
    """Begin or go on with a sitting and return the exit code; one handed in is written to its file."""
    from troubleshoot.classroom.drill_file import read_drill
    from troubleshoot.classroom.handing_in import (
        drill_name,
        file_name,
        refuse_unwritable,
        to_hand_in_at,
        write_hand_in,
    )
    from troubleshoot.classroom.sitting import sit
    from troubleshoot.cli.conversation import Talk, hold

    drill = read_drill(wanted.here / drill_path)
    catalogue = wanted.catalogue()
    refuse_unwritable((wanted.here / to).parent if to else wanted.here)
    try:
        who = name if name is not None else ask("Your name:")
    except (EndOfInput, Smelt):
        output.data("Nobody gave a name; nothing was begun.")
        return output.DONE
    with wanted.open_casebook() as book:
        sitting, before = sit(book, catalogue, wanted.clock, drill, who, wanted.settings(), again)
        named = file_name(drill_name(drill_path), sitting.trainee, sitting.attempt)
        sitting = to_hand_in_at(sitting, wanted.here / (to or named))
        if sitting.over:
            write_hand_in(sitting)
            output.data(f"{sitting.trainee} has handed in this drill. --again sits it once more, as another attempt.")
            output.data(f"Written again: {sitting.hand_in_at}.")
            return output.DONE
        if before:
            output.data(f"Going on with the sitting of {sitting.trainee}.")
        if wanted.drill_screens and (screens if screens is not None else screens_possible()):
            over = wanted.drill_screens(wanted.trees, book, sitting)
        else:
            over = hold(Talk(sitting.case, sitting))
        if not over:
            output.data("Saved. To go on, give the same command and name again.")
            return output.DONE
        if sitting.ended_by_clock:
            output.data("The time by the clock was up; what was named is handed in.")
        output.data(f"Handed in: {sitting.hand_in_at}. Give this file to the trainer.")
    return output.DONE
