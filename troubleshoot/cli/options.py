"""What was asked for before the command: trees, casebook, units, learning, debugging."""

from __future__ import annotations

import time
from collections.abc import Callable, Mapping
from dataclasses import dataclass
from pathlib import Path
from typing import TYPE_CHECKING, Any, Literal

if TYPE_CHECKING:
    from troubleshoot.case.settings import CaseSettings
    from troubleshoot.casebook.store import Casebook
    from troubleshoot.classroom.sitting import Sitting
    from troubleshoot.knowledge.car import Car
    from troubleshoot.knowledge.catalogue import Catalogue

DrillScreens = Callable[["Path | None", "Casebook", "Sitting"], bool]
"""Opens the screens in a drill, for own trees and a casebook, and returns whether it was closed."""


@dataclass(frozen=True)
class GlobalOptions:
    """The options that stand before the command."""

    trees: Path | None = None
    casebook: Path | None = None
    units: Literal["us", "metric"] = "us"
    learn: bool = True
    debug: bool = False
    drill_screens: DrillScreens | None = None
    seat_program: tuple[str, ...] = ()
    """The words that start one seat's screens."""
    asked_units: Literal["us", "metric"] | None = None
    """The units that the command line names; they stand above those kept in the settings."""

    def catalogue(self) -> Catalogue:
        """Return the trees to work with."""
        from troubleshoot.knowledge.catalogue import load_catalogue
        from troubleshoot.knowledge.prose import in_units

        return in_units(load_catalogue(self.trees), self.units)

    def open_casebook(self, writable: bool = True) -> Casebook:
        """Open the casebook, after the week's copy where it may be written; CasebookRefused when it cannot be."""
        from troubleshoot.casebook.backups import back_up_if_due
        from troubleshoot.casebook.store import Casebook

        if writable:
            back_up_if_due(self.casebook_path, self.clock())
        return Casebook(self.casebook_path, writable=writable)

    @property
    def casebook_path(self) -> Path:
        """Where the casebook is."""
        from troubleshoot.casebook.store import default_path

        return self.casebook or default_path()

    def cars(self, catalogue: Catalogue) -> Mapping[str, Car]:
        """Return the cars that have a name: those entered before and kept beside the casebook, then the invented."""
        from troubleshoot.knowledge.car_file import named_cars

        return {**named_cars(self.casebook_path.with_name("cars")), **catalogue.cars}

    @property
    def here(self) -> Path:
        """The folder that file names start from."""
        return Path()

    def settings(self) -> CaseSettings:
        """Return the settings of the walk."""
        from troubleshoot.case.settings import CaseSettings

        return CaseSettings(learn=self.learn, units=self.units)

    def clock(self) -> float:
        """Return the time in seconds since 1970 (UTC)."""
        return time.time()


def global_options(context: Any) -> GlobalOptions:
    """Return what was asked for before the command of this context."""
    found = context.find_object(GlobalOptions)
    return found if isinstance(found, GlobalOptions) else GlobalOptions()


def is_file(path: Path, what: str) -> bool:
    """Whether a file is meant; a name that looks like one and is not there is reported as such."""
    try:
        return path.is_file() or path.suffix in (".yaml", ".yml") or "/" in what
    except (OSError, ValueError):
        return False
