"""The trail of a drill as its trainee sees it: readings as they were judged."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import replace

from troubleshoot.case.events import Event, Judged
from troubleshoot.case.view import TrailLine
from troubleshoot.knowledge.catalogue import Catalogue


def judged_in(events: Sequence[Event]) -> dict[str, str]:
    """Return check -> outcome as the person judged it first."""
    found: dict[str, str] = {}
    for event in events:
        if isinstance(event, Judged):
            found.setdefault(event.check, event.outcome)
    return found


def sat_trail(
    trail: Sequence[TrailLine], events: Sequence[Event], catalogue: Catalogue, judge: bool, practice: bool
) -> tuple[TrailLine, ...]:
    """Return the lines a trainee sees; where a number lies is not told before it has been judged.

    What two readings say together is worked out by the trainee, but in practice without judging.
    """
    said = judged_in(events)
    shown = (one for one in trail if one.kind != "sum" or (practice and not judge))
    return tuple(_line(one, said, catalogue, judge, practice) for one in shown)


def _line(line: TrailLine, said: dict[str, str], catalogue: Catalogue, judge: bool, practice: bool) -> TrailLine:
    if line.kind == "repair" and not practice:
        return replace(line, answer="named")
    if line.kind != "reading" or not line.verdict or not judge:
        return line
    judged = said.get(line.check)
    if judged is None:
        return replace(line, verdict="not judged yet", normal=None)
    words = dict(catalogue.checks[line.check].named_outcomes).get(judged, judged)
    return line if words == line.verdict else replace(line, verdict=f"{line.verdict} (you said: {words})")
