"""Sit a drill: one open case a trainee and drill, to be stopped and gone on with, and the hand-in at the end."""

from __future__ import annotations

import re
from collections.abc import Sequence
from itertools import pairwise

from troubleshoot.case.case import Clock
from troubleshoot.case.events import Event
from troubleshoot.case.settings import CaseSettings
from troubleshoot.casebook.exchange import export_case
from troubleshoot.casebook.store import Casebook
from troubleshoot.classroom.drill_file import Drill, DrillRefused
from troubleshoot.classroom.exercise import Exercise, begin, take_up
from troubleshoot.classroom.exercise_cases import sitting_of
from troubleshoot.knowledge.catalogue import Catalogue
from troubleshoot.problems import TroubleshootError

ENDING = ".handin.json"
"""How the name of a hand-in file ends."""
LONGEST_NAME = 60
"""Characters of a trainee's name."""
PAUSE = 600.0
"""Seconds without anything done that count as a pause, not as work."""


class NameRefused(TroubleshootError):
    """A sitting needs a name that can be read on the trainer's list."""


def clean_name(name: str) -> str:
    """Return a trainee's name as it can be kept; NameRefused when nothing is left of it."""
    plain = " ".join("".join(one if one.isprintable() else " " for one in name).split())
    if not plain or len(plain) > LONGEST_NAME:
        raise NameRefused("A sitting needs a name of at most 60 characters.", "Type the name the trainer knows.")
    return plain


def sit(
    casebook: Casebook, catalogue: Catalogue, clock: Clock, drill: Drill, name: str, settings: CaseSettings
) -> tuple[Exercise, bool]:
    """Return the sitting of this trainee, and whether it was begun before; a closed one is begun anew."""
    refuse_unknown_checks(drill, catalogue)
    trainee = clean_name(name)
    for case_id in open_sittings(casebook, drill, trainee):
        return take_up(casebook, catalogue, clock, drill, case_id, settings), True
    return begin(casebook, catalogue, clock, drill, trainee, settings), False


def refuse_unknown_checks(drill: Drill, catalogue: Catalogue) -> None:
    """Refuse a drill that was set with trees that have other checks or concerns than these."""
    gone = [one for one in drill.readings if one not in catalogue.checks]
    gone += [one for one in drill.concerns if one not in catalogue.concerns]
    if gone:
        raise DrillRefused(
            f"The drill was set with other trees: these have no {gone[0][:60]}.",
            "Use the program and trees of the trainer.",
        )


def open_sittings(casebook: Casebook, drill: Drill, trainee: str) -> list[str]:
    """Return the open cases of this drill and trainee, the one touched last first."""
    found = []
    for row in casebook.cases():
        if row.state == "open" and sitting_of(casebook, row.id) == (drill.seal, trainee):
            found.append(row.id)
    return found


def hand_in(exercise: Exercise) -> str:
    """Return the trail as the text of a hand-in file: the export of the case."""
    return export_case(exercise.casebook, exercise.case_id)


def file_name(drill_name: str, trainee: str) -> str:
    """Return a file name for a hand-in that any system takes.

    >>> file_name("lean-top", "Änne  O'Hara")
    'lean-top-Änne-O-Hara.handin.json'
    """
    words = "-".join(re.findall(r"\w+", trainee))[:LONGEST_NAME] or "trainee"
    return f"{drill_name}-{words}{ENDING}"


def real_minutes(events: Sequence[Event]) -> float:
    """Return the minutes worked by the clock on the wall, pauses over ten minutes left out."""
    times = [one.at for one in events]
    gaps = [later - earlier for earlier, later in pairwise(times)]
    return sum(gap for gap in gaps if 0.0 < gap <= PAUSE) / 60.0
