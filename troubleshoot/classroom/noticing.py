"""What a trainer should look at among the hand-ins of a class; none of it costs anything by itself."""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Sequence
from dataclasses import replace
from pathlib import Path

from troubleshoot.case.events import CheckSkipped, Judged, Measured, ReadingTaken, RepairMade
from troubleshoot.classroom.class_folder import kept_secret, stamp_holds
from troubleshoot.classroom.marks_pages import Marked
from troubleshoot.classroom.replaying import Replayed
from troubleshoot.classroom.sitting import real_minutes

FEWEST = 4
"""Steps of a trail; shorter ones are alike by chance."""
FASTEST = 8.0
"""Seconds a reading, its caution, its number and its judgement among them: nobody reads them faster."""

Noticed = dict[int, list[str]]


def noticed(marked: Sequence[Marked], texts: Sequence[str], paths: Sequence[Path]) -> list[Marked]:
    """Return the hand-ins of a class with what stands out beside the others; texts and paths in the same order."""
    found: Noticed = defaultdict(list)
    _equal_trails(marked, found)
    _equal_names(marked, found)
    for place, one in enumerate(marked):
        hurried = hurry(one.replayed)
        if hurried:
            found[place].append(hurried)
        secret = kept_secret(paths[place].absolute().parent.parent)
        if secret and not stamp_holds(texts[place], secret):
            found[place].append("not written in the class that was served, or changed since")
    return [
        replace(one, marks=replace(one.marks, remarks=(*one.marks.remarks, *found[place])))
        for place, one in enumerate(marked)
    ]


def hurry(replayed: Replayed) -> str:
    """Return in words that a sitting was done faster than anybody reads; empty when it was not."""
    readings = sum(isinstance(one, ReadingTaken) for one in replayed.events)
    seconds = 60.0 * real_minutes(replayed.events)
    if readings < FEWEST or seconds >= FASTEST * readings:
        return ""
    return f"{readings} readings within {max(seconds, 1.0):.0f} s by the clock"


def steps_of(replayed: Replayed) -> tuple[str, ...]:
    """Return what was done, in order and without the times."""
    steps = []
    for one in replayed.events:
        if isinstance(one, ReadingTaken):
            steps.append(f"read {one.check}" if isinstance(one.answer, Measured) else f"look {one.check}")
        elif isinstance(one, Judged):
            steps.append(f"judge {one.check} {one.outcome}")
        elif isinstance(one, RepairMade):
            steps.append(f"name {one.cause}")
        elif isinstance(one, CheckSkipped):
            steps.append(f"skip {one.check}")
    return tuple(steps)


def _equal_trails(marked: Sequence[Marked], found: Noticed) -> None:
    alike: dict[tuple[str, ...], list[int]] = defaultdict(list)
    for place, one in enumerate(marked):
        steps = steps_of(one.replayed)
        if len(steps) >= FEWEST:
            alike[steps].append(place)
    for places in alike.values():
        for place in places:
            others = [_who(marked[other]) for other in places if other != place]
            if others:
                found[place].append(f"the same steps in the same order as {', '.join(others)}")


def _equal_names(marked: Sequence[Marked], found: Noticed) -> None:
    named: dict[tuple[str, int], list[int]] = defaultdict(list)
    for place, one in enumerate(marked):
        named[" ".join(one.marks.trainee.split()).casefold(), one.marks.attempt].append(place)
    for places in named.values():
        for place in places if len(places) > 1 else ():
            found[place].append(f"{len(places)} hand-ins have this name")


def _who(one: Marked) -> str:
    return f"{one.marks.trainee} ({Path(one.marks.file).name})"
