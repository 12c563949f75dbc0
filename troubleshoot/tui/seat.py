"""One seat of a class: asks the name, sits the drill, and puts the hand-in where the trainer collects it."""

from __future__ import annotations

import contextlib
import os
import sys
import time
from dataclasses import replace
from pathlib import Path

from textual import events

from troubleshoot.case.settings import CaseSettings
from troubleshoot.casebook.store import Casebook
from troubleshoot.classroom.class_folder import class_secret, stamped
from troubleshoot.classroom.drill_file import Drill, read_drill
from troubleshoot.classroom.handing_in import FileThere, drill_name, file_name, to_hand_in_at, write_hand_in
from troubleshoot.classroom.name_list import person_at
from troubleshoot.classroom.sat_cases import sitting_of
from troubleshoot.classroom.seats import (
    HAND_INS,
    SeatRefused,
    hand_in_paths,
    note_handed_in,
    note_sitting,
    seat_casebook,
)
from troubleshoot.classroom.sitting import Sitting, sit
from troubleshoot.classroom.variants import drill_for, drill_of_class
from troubleshoot.problems import TroubleshootError
from troubleshoot.tui.app import FAULT_FILE, run_app
from troubleshoot.tui.drill_app import DrillApp
from troubleshoot.tui.screens.sitting import name_form
from troubleshoot.tui.workspace import Workspace

LOOKS_EVERY = 2.0
"""Seconds between two looks at whether the class is still there."""


class SeatApp(DrillApp):
    """The screens of one seat."""

    TITLE = "Drill"

    def __init__(self, workspace: Workspace, drill: Drill, stem: str, into: Path, seat: str, of_class: str) -> None:
        super().__init__(workspace, None)
        self.drill, self.stem, self.into, self.seat, self.of_class = drill, stem, into, seat, of_class
        self.server = os.getppid()

    def on_mount(self, event: events.Mount | None = None) -> None:
        """Go on with the sitting of this seat, or ask who sits here."""
        if event is not None:
            event.prevent_default()
            self.set_interval(LOOKS_EVERY, self.leave_if_alone)
        before = open_sitting(self.workspace.casebook, self.drill)
        person = person_at(self.into, self.seat)
        if before or person is not None:
            self.take_seat(before or (person.name if person is not None else ""))
        else:
            self.push_screen(name_form(self.drill), self.named)

    def leave_if_alone(self) -> None:
        """Leave when the server that began this process is gone; where a system hides that, stay."""
        if os.getppid() != self.server:
            self.exit(0)

    def named(self, name: object) -> None:
        """Sit down under a name; without one, leave."""
        if isinstance(name, str):
            self.take_seat(name)
        else:
            self.exit(0)

    def take_seat(self, name: str) -> None:
        """Open the sitting; one that is handed in already is written again, and nothing else."""
        settings = CaseSettings(learn=False, units=self.workspace.settings.units)
        sitting, _ = sit(self.workspace.casebook, self.workspace.catalogue, time.time, self.drill, name, settings)
        note_sitting(self.into, self.seat, self.of_class)
        wanted = file_name(self.stem, sitting.trainee, sitting.attempt)
        sitting = handed_in_to(sitting, self.into, wanted, self.seat)
        if sitting.over:
            write_hand_in(sitting)
            self.left()
        else:
            self.show_drill(sitting)

    def left(self) -> None:
        """Leave; what was handed in is noted, so that the page says so."""
        if self.sitting is None or self.sitting.over:
            note_handed_in(self.into, self.seat, self.of_class)
        self.exit(0)


def handed_in_to(sitting: Sitting, into: Path, name: str, seat: str) -> Sitting:
    """Return the sitting with its file in the folder of hand-ins; two trainees of one name get the seat's number."""
    folder = into / HAND_INS
    folder.mkdir(parents=True, exist_ok=True)
    secret = class_secret(into)
    for path in hand_in_paths(folder, name, seat):
        with contextlib.suppress(FileThere):
            found = to_hand_in_at(sitting, path)
            return replace(found, stamp=lambda text: stamped(text, secret, seat))
    raise SeatRefused(f"{folder} is full of hand-ins of one name.", "Clear it.")


def open_sitting(casebook: Casebook, drill: Drill) -> str:
    """Return the name of who sits this drill in a casebook, the one touched last; empty when nobody does."""
    for row in casebook.cases():
        seal, trainee = sitting_of(casebook, row.id)
        if seal == drill.seal and trainee:
            return trainee
    return ""


def run_seat(arguments: list[str]) -> int:
    """Run the seat that the environment names: drill file, folder of the class, own trees where there are any."""
    drill_path, into = Path(arguments[0]), Path(arguments[1])
    own_trees = Path(arguments[2]) if len(arguments) > 2 else None
    seat = os.environ.get("TROUBLESHOOT_SEAT", "")
    try:
        drill_path, of_class = drill_for(drill_path, seat), drill_of_class(drill_path).seal
        drill = read_drill(drill_path)
        workspace = Workspace(own_trees, seat_casebook(into, seat))
        screens = SeatApp(workspace, drill, drill_name(drill_path), into, seat, of_class)
        run_app(screens, workspace.casebook_path.with_name(FAULT_FILE))
        workspace.close()
    except TroubleshootError as refused:
        sys.stderr.write(f"{refused}\n")
        return refused.exit_code
    return 0
