"""The way in: `troubleshoot`, or `python -m troubleshoot`."""

from __future__ import annotations

import os
import sys
from pathlib import Path
from typing import TYPE_CHECKING

if TYPE_CHECKING:
    from troubleshoot.casebook.store import Casebook
    from troubleshoot.classroom.sitting import Sitting


def screens(own_trees: Path | None, casebook: Path | None, place: str | None, units: str | None) -> int:
    """Open the screens and return the exit code; imported only then."""
    from troubleshoot.tui.app import run_screens

    return int(run_screens(own_trees, casebook, place, units))


def drill_screens(own_trees: Path | None, book: Casebook, sitting: Sitting) -> bool:
    """Open the screens in a drill and return whether it was closed; imported only then."""
    from troubleshoot.tui.drill_app import run_drill

    return run_drill(own_trees, book, sitting)


SEAT = "--seat"
"""What the server of a class says to this program to have one seat's screens; no person types it."""
SEAT_PROGRAM = (sys.executable, "-m", "troubleshoot", SEAT)
"""What starts one seat's screens; the drill, the folder of the class and own trees follow."""


def seat_screens(arguments: list[str]) -> int:
    """Open the screens of one seat of a class and return the exit code; imported only then."""
    from troubleshoot.tui.seat import run_seat

    return run_seat(arguments)


ONE_THREAD = ("OPENBLAS_NUM_THREADS", "OMP_NUM_THREADS", "MKL_NUM_THREADS", "VECLIB_MAXIMUM_THREADS")
"""How numpy's libraries are told how many threads to use."""


def use_one_thread() -> None:
    """Let numpy work in one thread, unless the person has said otherwise; before numpy is imported.

    The matrices are small: on a busy machine threads that wait for each other take four times as long.
    """
    for name in ONE_THREAD:
        os.environ.setdefault(name, "1")


def main() -> int:
    """Run the program with the arguments of the command line and return its exit code."""
    from troubleshoot.cli import output

    output.ready_streams()
    use_one_thread()
    arguments = sys.argv[1:]
    if arguments in (["--version"], ["-V"]):
        from troubleshoot import __version__

        return output.protected(lambda: output.data(f"troubleshoot {__version__}"), lambda: False)
    if arguments[:1] == [SEAT]:
        return seat_screens(arguments[1:])
    if not arguments and "_TROUBLESHOOT_COMPLETE" not in os.environ:
        from troubleshoot.cli.options import GlobalOptions
        from troubleshoot.cli.starting import start

        return output.protected(lambda: start(GlobalOptions(), screens), lambda: False)
    from troubleshoot.cli.app import run

    return run(arguments, screens, drill_screens, SEAT_PROGRAM)


if __name__ == "__main__":
    sys.exit(main())
