"""Which cases of a casebook are exercises: known without loading the virtual engine."""

from __future__ import annotations

import msgspec

from troubleshoot.case.events import Closed, Note, Opened
from troubleshoot.case.folding import decode
from troubleshoot.casebook.store import Casebook
from troubleshoot.problems import TroubleshootError

TRAINEE = "trainee: "
"""Begins the note that names who sits an exercise; its fifth event."""


class ExerciseOpen(TroubleshootError):
    """The case is an exercise that is not over; its ranking is not for reading."""


def sitting_of(casebook: Casebook, case_id: str) -> tuple[str, str]:
    """Return the seal of the drill a case sits, and the trainee; empty for a case that is no exercise."""
    seal, trainee = "", ""
    for payload in casebook.events(case_id)[:6]:
        try:
            event = decode(payload)
        except (msgspec.MsgspecError, UnicodeError):
            return "", ""
        if isinstance(event, Opened):
            seal = event.drill
        if isinstance(event, Note) and event.text.startswith(TRAINEE):
            trainee = event.text.removeprefix(TRAINEE)
    return (seal, trainee) if seal and trainee else ("", "")


def refuse_open_exercise(casebook: Casebook, case_id: str) -> None:
    """Refuse to open or write up an exercise as a case of its own before it is over."""
    if not sitting_of(casebook, case_id)[0]:
        return
    last = casebook.events(case_id)[-1]
    if not isinstance(decode(last), Closed):
        raise ExerciseOpen(
            f"Case {case_id} is an exercise that is not over.",
            "Go on with it by `troubleshoot drill sit` or `troubleshoot practise --case`.",
        )
