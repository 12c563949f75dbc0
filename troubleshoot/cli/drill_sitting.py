"""`drill sit`: sit a drill in plain lines or on the screens, and write the hand-in."""

from __future__ import annotations

from pathlib import Path

from troubleshoot.cli import output
from troubleshoot.cli.case_setup import EndOfInput, ask
from troubleshoot.cli.options import GlobalOptions
from troubleshoot.cli.starting import screens_possible


def sit_drill(wanted: GlobalOptions, drill_path: Path, name: str | None, to: Path | None, screens: bool | None) -> int:
    """Begin or go on with a sitting and return the exit code; a closed one is written to the hand-in file."""
    from troubleshoot.classroom.drill_file import read_drill
    from troubleshoot.classroom.sitting import file_name, hand_in, sit
    from troubleshoot.cli.drill_marking import refuse_existing
    from troubleshoot.cli.drill_talk import talk

    drill = read_drill(wanted.here / drill_path)
    catalogue = wanted.catalogue()
    try:
        who = name if name is not None else ask("Your name:")
    except EndOfInput:
        output.data("Nobody gave a name; nothing was begun.")
        return output.DONE
    with wanted.open_casebook() as book:
        exercise, before = sit(book, catalogue, wanted.clock, drill, who, wanted.settings())
        stem = drill_path.name.removesuffix(".json").removesuffix(".drill")
        path = wanted.here / to if to else wanted.here / file_name(stem, exercise.trainee)
        refuse_existing([path])
        if before:
            output.data(f"Going on with the sitting of {exercise.trainee}.")
        if wanted.exercise_screens and (screens if screens is not None else screens_possible()):
            closed = wanted.exercise_screens(wanted.trees, book, exercise)
        else:
            closed = talk(exercise)
        if not closed:
            output.data("Saved. To go on, give the same command and name again.")
            return output.DONE
        path.write_text(hand_in(exercise), encoding="utf-8", newline="\n")
        output.data(f"Handed in: {path}. Give this file to the trainer.")
    return output.DONE
