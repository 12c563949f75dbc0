"""Which cases of a casebook are sittings or practice: known without loading the virtual engine."""

from __future__ import annotations

import msgspec

from troubleshoot.case.events import Closed, Opened, Seated
from troubleshoot.case.kept_events import decode, decode_all
from troubleshoot.casebook.store import Casebook
from troubleshoot.problems import TroubleshootError

BEGINNING = 5
"""Events that the program itself writes when a sitting begins: opened, car, concerns, tools, seated."""


EXAMPLE = "example"
"""What the first event of the example has in place of the seal of a drill."""


class SittingOpen(TroubleshootError):
    """The case is a sitting or practice that is not over; its ranking is not for reading."""


def sitting_of(casebook: Casebook, case_id: str) -> tuple[str, str]:
    """Return the seal of the drill a case sits, and the trainee; empty for a case that is no sitting."""
    try:
        events = decode_all(casebook.events(case_id)[:BEGINNING])
    except (msgspec.MsgspecError, UnicodeError):
        return "", ""
    seal = next((one.drill for one in events if isinstance(one, Opened)), "")
    trainee = next((one.trainee for one in events if isinstance(one, Seated)), "")
    return (seal, trainee) if seal and trainee else ("", "")


def is_example(casebook: Casebook, case_id: str) -> bool:
    """Return whether a case is the example, in which the virtual engine answers."""
    first = casebook.events(case_id)[:1]
    try:
        return any(isinstance(one, Opened) and one.drill == EXAMPLE for one in map(decode, first))
    except (msgspec.MsgspecError, UnicodeError):
        return False


def refuse_open_sitting(casebook: Casebook, case_id: str) -> None:
    """Refuse to open or write up a sitting or practice as a case of its own before it is over."""
    if not sitting_of(casebook, case_id)[0]:
        return
    last = casebook.events(case_id)[-1]
    if not isinstance(decode(last), Closed):
        raise SittingOpen(
            f"Case {case_id} is a drill that is not over.",
            "Go on with it by `troubleshoot drill sit` or `troubleshoot practise --case`.",
        )
