"""What the screens work with: the trees, the casebook, the settings; each opened when first needed."""

from __future__ import annotations

import re
import secrets
import threading
import time
from collections.abc import Callable, Collection, Mapping
from contextlib import suppress
from pathlib import Path
from typing import TYPE_CHECKING

import msgspec

from troubleshoot.problems import TroubleshootError
from troubleshoot.tui.settings import ScreenSettings, read_settings, write_settings

if TYPE_CHECKING:
    from troubleshoot.case.case import Case
    from troubleshoot.case.settings import CaseSettings
    from troubleshoot.casebook.store import Casebook, CaseRow
    from troubleshoot.classroom.drill_file import Ranking
    from troubleshoot.classroom.drill_maker import MadeDrill
    from troubleshoot.classroom.preparing import Preparing
    from troubleshoot.knowledge.car import Car
    from troubleshoot.knowledge.catalogue import Catalogue


MOST_LISTED = 200
"""Cases on one list; more are found by typing."""


class Workspace:
    """One person's trees, casebook and settings."""

    def __init__(
        self,
        own_trees: Path | None,
        casebook_path: Path | None,
        clock: Callable[[], float] = time.time,
        trees: Path | None = None,
        draw: Callable[[int], int] = secrets.randbits,
    ) -> None:
        """`trees` stands in place of the shipped trees; `draw` gives the seed of a drill, of so many bits."""
        self._trees = trees
        self.own_trees, self.clock, self.draw = own_trees, clock, draw
        self._path = casebook_path
        self._casebook: Casebook | None = None
        self._catalogue: Catalogue | None = None
        self._worded: dict[str, Catalogue] = {}
        """The trees with the figures in their words in the units of each system asked for."""
        self._loading = threading.Lock()
        self.prepares = False
        self._preparing: Preparing | None = None
        self.settings, self._settings_unread = read_settings(self.settings_path)

    @property
    def casebook_path(self) -> Path:
        """Return where the casebook is."""
        from troubleshoot.casebook.store import default_path

        return self._path or default_path()

    @property
    def settings_path(self) -> Path:
        """Return where the settings are kept: beside the casebook."""
        return self.casebook_path.with_name("settings.json")

    @property
    def casebook(self) -> Casebook:
        """Return the casebook, opened on first use; CasebookRefused when it cannot be."""
        from troubleshoot.casebook.store import Casebook

        if self._casebook is None:
            self._casebook = Casebook(self.casebook_path)
        return self._casebook

    @property
    def catalogue(self) -> Catalogue:
        """Return the trees, loaded on first use; safe to ask for from a thread."""
        with self._loading:
            if self._catalogue is None:
                from troubleshoot.knowledge.catalogue import load_catalogue

                self._catalogue = load_catalogue(self.own_trees, self._trees)
            if self.settings.units not in self._worded:
                from troubleshoot.knowledge.prose import in_units

                self._worded[self.settings.units] = in_units(self._catalogue, self.settings.units)
            return self._worded[self.settings.units]

    def warm_up(self) -> None:
        """Load what the first case will need, in a thread, so that no key waits for it; problems show up later."""
        try:
            _ = self.catalogue
            from troubleshoot.calculations.units import read_quantity

            read_quantity("38 psi", "psi")
            from troubleshoot.casebook.backups import back_up_if_due

            back_up_if_due(self.casebook_path, self.clock())
        except TroubleshootError:
            return

    def notices(self) -> tuple[str, ...]:
        """Return what a person should know of what was read: what is replaced, and what is left out."""
        read = self.catalogue
        said = [self._settings_unread] if self._settings_unread else []
        if read.own_overrides:
            said.append(f"Your own trees stand in place of the shipped ones for: {', '.join(read.own_overrides)}.")
        errors = [fault for fault in read.faults if fault.level == "error"]
        if errors:
            count = "1 fault in the trees" if len(errors) == 1 else f"{len(errors)} faults in the trees"
            said.append(
                f"{count}; what is faulty is left out. `troubleshoot lint` lists them all. The first: {errors[0]}"
            )
        return tuple(said)

    def cases(self, matching: str = "", open_only: bool = False) -> tuple[CaseRow, ...]:
        """Return the first cases of the casebook that hold these words, the one touched last first."""
        return self.casebook.cases(matching, open_only, MOST_LISTED)

    def open_case(self) -> Case:
        """Open a new case."""
        from troubleshoot.case.case import open_case

        return open_case(self.casebook, self.catalogue, self.clock, settings=self._case_settings())

    def resume(self, case_id: str) -> Case:
        """Open a case of the casebook again."""
        from troubleshoot.case.case import resume_case

        return resume_case(self.casebook, self.catalogue, case_id, self.clock, settings=self._case_settings())

    @property
    def cars_folder(self) -> Path:
        """Return where the cars that were entered are kept, each as a car file: beside the casebook."""
        return self.casebook_path.with_name("cars")

    def kept_cars(self) -> Mapping[str, Car]:
        """Return the cars that were entered, by the name of their file."""
        from troubleshoot.knowledge.car_file import named_cars

        return named_cars(self.cars_folder)

    def keep_car(self, car: Car, was: Car | None = None) -> None:
        """Keep a car, in place of one of the same name and plate; TroubleshootError when it cannot be written.

        `was` is the car that was changed; it goes where the new one is the same and not a second one.
        """
        from troubleshoot.file_writing import write_whole
        from troubleshoot.knowledge.car_file import car_text

        path = self._file_of(car)
        try:
            path.parent.mkdir(parents=True, exist_ok=True)
            write_whole(path, car_text(car), private=True)
            if was is not None and self._file_of(was) != path and _same_car(was, car):
                self._file_of(was).unlink(missing_ok=True)
        except OSError as refused:
            raise TroubleshootError(
                f"The car cannot be kept in {path}: {refused.strerror}.", "The case goes on."
            ) from refused

    def _file_of(self, car: Car) -> Path:
        from troubleshoot.knowledge.car_file import ENDING

        words = re.findall(r"\w+", f"{car.title} {car.plate}".casefold())
        return self.cars_folder / f"{'-'.join(words) or 'car'}{ENDING}"

    def _case_settings(self) -> CaseSettings:
        from troubleshoot.case.settings import CaseSettings

        mine = self.settings
        return CaseSettings(money_per_minute=mine.money_per_minute, learn=mine.learn, units=mine.units)

    def keep(self, settings: ScreenSettings) -> None:
        """Use other settings from now on and write them down."""
        self.settings, self._settings_unread = settings, ""
        try:
            write_settings(self.settings_path, settings)
        except OSError as refused:
            raise TroubleshootError(
                f"The settings cannot be written to {self.settings_path}: {refused.strerror}.",
                "They hold until you leave the program.",
            ) from refused

    def keep_tools(self, tools: Collection[str]) -> None:
        """Begin the next case with these tools; where that cannot be written down, it holds until one leaves."""
        told = tuple(sorted(tools))
        self.settings = msgspec.structs.replace(self.settings, tools=told)
        kept, unread = read_settings(self.settings_path)
        if not unread and kept.tools != told:
            with suppress(OSError):
                write_settings(self.settings_path, msgspec.structs.replace(kept, tools=told))

    def prepare(self) -> None:
        """Let cars be prepared for practice in a process of its own, where a person sits before these screens."""
        if self.prepares and str(self.casebook_path) != ":memory:":
            if self._preparing is None:
                from troubleshoot.classroom.preparing import Preparing

                self._preparing = Preparing(self.casebook_path, self.own_trees, self.settings.units)
            self._preparing.start()

    def ready_car(self, level: int, concern: str | None, ranking: Ranking) -> MadeDrill | None:
        """Return a car prepared for this practice; None where there is none."""
        from troubleshoot.classroom.practising import ready_practice
        from troubleshoot.classroom.preparing import FOLDER
        from troubleshoot.classroom.ready_cars import ReadyCars

        ready = ReadyCars(self.casebook_path.with_name(FOLDER), self.catalogue, self.settings.units)
        return ready_practice(ready, level, concern, ranking, self.catalogue, self.draw)

    def close(self) -> None:
        """Close the casebook, and end what prepares cars."""
        if self._preparing is not None:
            self._preparing.stop()
        if self._casebook is not None:
            self._casebook.close()


def _same_car(was: Car, now: Car) -> bool:
    """Whether it is one car: the plate stayed, or name and owner did."""
    return bool(was.plate and was.plate == now.plate) or (was.title, was.owner) == (now.title, now.owner)
