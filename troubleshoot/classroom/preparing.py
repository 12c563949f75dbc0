"""The process that prepares cars for practice behind a face, standing back for everything else."""

from __future__ import annotations

import os
import secrets
import signal
import subprocess
import sys
import threading
from pathlib import Path

from troubleshoot.calculations.units import System
from troubleshoot.knowledge.catalogue import load_catalogue
from troubleshoot.knowledge.prose import in_units

BACK = 15
"""How far it stands back; whoever asks meanwhile gets a car that is shipped."""
FOLDER = "ready"
"""Beside the casebook: the cars kept ready."""


class Preparing:
    """At most one such process at a time; it ends with the face that began it."""

    def __init__(self, casebook: Path, own_trees: Path | None, units: str) -> None:
        self.casebook, self.own_trees, self.units = casebook, own_trees, units
        self._process: subprocess.Popen[bytes] | None = None

    def start(self) -> None:
        """Fill the cars kept ready; does nothing while they are being filled."""
        if self.running:
            return
        command = [sys.executable, "-m", __name__, str(self.casebook), self.units]
        command += [str(self.own_trees)] if self.own_trees else []
        silent = subprocess.DEVNULL
        try:
            self._process = subprocess.Popen(command, stdin=subprocess.PIPE, stdout=silent, stderr=silent)
        except OSError:
            self._process = None

    @property
    def running(self) -> bool:
        """Return whether it is at work."""
        return self._process is not None and self._process.poll() is None

    def stop(self) -> None:
        """End it; what it has finished stays."""
        if self._process is not None:
            self._process.kill()
            self._process.communicate()


def end_with_the_face() -> None:
    """End this process as soon as the one that began it is gone, however that ended: its end of stdin closes then."""
    sys.stdin.buffer.read()
    os.kill(os.getpid(), signal.SIGTERM)


def main(arguments: list[str]) -> None:
    """Fill the cars kept ready: casebook, units, own trees where there are any."""
    from troubleshoot.classroom.practising import prepare, solve_ready
    from troubleshoot.classroom.ready_cars import ReadyCars, stand_back

    threading.Thread(target=end_with_the_face, daemon=True).start()
    casebook, units, *own = arguments
    system: System = "metric" if units == "metric" else "us"
    catalogue = in_units(load_catalogue(Path(own[0]) if own else None), system)
    ready = ReadyCars(Path(casebook).with_name(FOLDER), catalogue, system)
    stand_back(BACK)
    prepare(ready, catalogue, secrets.randbits)
    solve_ready(ready, catalogue)


if __name__ == "__main__":
    main(sys.argv[1:])
