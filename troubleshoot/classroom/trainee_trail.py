"""The trail of an exercise as its trainee sees it: readings as they were judged, without the exercise's own notes."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import replace

from troubleshoot.case.events import Event, Note
from troubleshoot.case.view import TrailLine
from troubleshoot.classroom.exercise_cases import TRAINEE
from troubleshoot.knowledge.answers import named_outcomes
from troubleshoot.knowledge.catalogue import Catalogue

ASKED = "asked to see the ranking"
JUDGED, HANDED_IN, HINT = "judged ", "handed in, trail ", "hint: "


def judged_in(events: Sequence[Event]) -> dict[str, str]:
    """Return check -> outcome as the person judged it first."""
    found: dict[str, str] = {}
    for event in events:
        if isinstance(event, Note) and event.text.startswith(JUDGED):
            check, _, outcome = event.text.removeprefix(JUDGED).partition(": ")
            found.setdefault(check, outcome)
    return found


def sat_trail(
    trail: Sequence[TrailLine], events: Sequence[Event], catalogue: Catalogue, judge: bool, practice: bool
) -> tuple[TrailLine, ...]:
    """Return the lines a trainee sees; where a number lies is not told before it has been judged."""
    said = judged_in(events)
    shown = (_line(one, said, catalogue, judge, practice) for one in trail)
    return tuple(one for one in shown if one is not None)


def _line(line: TrailLine, said: dict[str, str], catalogue: Catalogue, judge: bool, practice: bool) -> TrailLine | None:
    if line.kind == "note":
        return _note(line)
    if line.kind == "repair" and not practice:
        return replace(line, answer="named")
    if line.kind != "reading" or not line.verdict or not judge:
        return line
    judged = said.get(line.check)
    if judged is None:
        return replace(line, verdict="not judged yet", normal=None)
    words = dict(named_outcomes(catalogue.checks[line.check])).get(judged, judged)
    return line if words == line.verdict else replace(line, verdict=f"{line.verdict} (you said: {words})")


def _note(line: TrailLine) -> TrailLine | None:
    text = line.answer
    if text.startswith((TRAINEE, JUDGED, HANDED_IN)):
        return None
    if text == ASKED:
        return replace(line, title="Ranking", answer="asked for")
    if text.startswith(HINT):
        return replace(line, title="Hint", answer=text.removeprefix(HINT))
    return line
