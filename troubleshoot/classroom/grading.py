"""Mark a hand-in: every part of the rubric from the replayed trail and the key, with the reason in words.

A cause named is worth what the trainee's own readings make of it, so a guess is worth what the guess was. How the work
was done (first checks, set-ups, judging, sound parts) counts whole once the readings told most of what can be told,
and less before: work that told nothing earns nothing for having been tidy.
"""

from __future__ import annotations

from dataclasses import dataclass
from datetime import UTC, datetime

from troubleshoot.bench.fault_causes import same_cause
from troubleshoot.case.events import Event, HintGiven, RankingAsked, ReadingTaken, RepairMade
from troubleshoot.case.shares import percent
from troubleshoot.classroom.key_file import Key
from troubleshoot.classroom.replaying import Replayed
from troubleshoot.classroom.rubric import CRITERIA, Rubric
from troubleshoot.classroom.sitting import real_minutes
from troubleshoot.classroom.trainee_trail import judged_in
from troubleshoot.classroom.yardstick import Told, Yardstick, yardstick_of
from troubleshoot.knowledge.catalogue import Catalogue

CLEAR_READING = 0.75
"""A reading that lies in one band with less than this share may be judged either way."""
WRONG_REPAIR = 0.6
"""Part of the marks for sound parts that each wrong repair costs."""
NOT_VENTURED = 0.5
"""Part of the marks for sound parts that are lost where no cause set was named: nothing spoilt, nothing ventured."""
HEDGED = 0.25
"""Part of the marks for the right cause that each wrong one named beside it costs: a list of causes is no finding."""
FIRST = 3
"""Checks whose choice is marked: after them the way is mostly laid out."""
ALLOWANCE = 2.0
"""How many times a good path's minutes earn full marks: who does not know the fault must look at what it is not."""
WORKED = 0.8
"""The share of what can be told from which the way of working is marked whole: the last of it is the dearest."""
UNREAD = "nothing was read"


@dataclass(frozen=True)
class Score:
    """One part of a mark: points got of points to be had, and why."""

    criterion: str
    points: float
    out_of: float
    why: str

    @property
    def title(self) -> str:
        """Return the part in the words of a table."""
        return CRITERIA[self.criterion]


@dataclass(frozen=True)
class Marks:
    """What a hand-in came to, out of 100."""

    trainee: str
    file: str
    total: float
    scores: tuple[Score, ...]
    taken_off: float
    penalties: tuple[tuple[str, int, float], ...]
    """What cost points beside the parts: words, how often, points."""
    passed: bool
    named: tuple[str, ...]
    right: tuple[str, ...]
    wrong: tuple[str, ...]
    minutes: float
    real_minutes: float
    parts: float
    checks: tuple[str, ...]
    found: bool
    """Whether every cause set was named, whatever else was."""
    finished: bool
    day: str
    """The day it was begun, as 2026-11-25, by UTC."""
    attempt: int = 1
    remarks: tuple[str, ...] = ()
    """What the trainer may want to look at; it costs nothing."""

    @property
    def proved(self) -> bool:
        """Return whether all was found, and not by a guess: the readings bear out at least half of what could be."""
        return self.found and any(
            one.criterion == "right-cause" and one.points >= one.out_of / 2 for one in self.scores
        )


@dataclass(frozen=True)
class _Paper:
    """A hand-in beside the key, with what its readings told."""

    replayed: Replayed
    key: Key
    catalogue: Catalogue
    named: tuple[str, ...]
    right: tuple[str, ...]
    yardstick: Yardstick
    told: Told
    progress: float

    @property
    def wrong(self) -> tuple[str, ...]:
        """Return the causes named that cure nothing."""
        return tuple(one for one in self.named if one not in self.right)

    @property
    def worked(self) -> float:
        """Return how far the way of working counts, from 0 to 1."""
        return min(self.progress / WORKED, 1.0)

    @property
    def events(self) -> tuple[Event, ...]:
        """Return every event, those taken back too: what was read has been read."""
        return self.replayed.events


def mark(replayed: Replayed, key: Key, rubric: Rubric, catalogue: Catalogue) -> Marks:
    """Return the marks of a hand-in that has been replayed."""
    named = replayed.sitting.named
    right = tuple(one for one in named if any(same_cause(key.engine, one, true) for true in key.causes))
    checks = tuple(one.check for one in replayed.events if isinstance(one, ReadingTaken))
    yardstick = yardstick_of(key, catalogue)
    told = yardstick.told_by(checks)
    paper = _Paper(replayed, key, catalogue, named, right, yardstick, told, yardstick.progress(told))
    weights = rubric.weights(key.drill.judge)
    whole = sum(weights.values())
    scores = []
    for criterion, weight in weights.items():
        share, why = _PARTS[criterion](paper)
        out_of = 100.0 * weight / whole
        scores.append(Score(criterion, out_of * min(max(share, 0.0), 1.0), out_of, why))
    penalties = _penalties(replayed.events, rubric)
    off = sum(points for _, _, points in penalties)
    total = max(sum(one.points for one in scores) - off, 0.0)
    cured = [true for true in key.causes if any(same_cause(key.engine, one, true) for one in named)]
    return Marks(
        trainee=replayed.trainee,
        file=replayed.name,
        total=total,
        scores=tuple(scores),
        taken_off=off,
        penalties=penalties,
        passed=total >= rubric.pass_mark,
        named=named,
        right=right,
        wrong=paper.wrong,
        minutes=replayed.sitting.case.assessment.minutes,
        real_minutes=real_minutes(replayed.events),
        parts=_money(paper),
        checks=checks,
        found=len(cured) == len(key.causes),
        finished=replayed.finished,
        day=datetime.fromtimestamp(replayed.events[0].at, UTC).date().isoformat(),
        attempt=replayed.attempt,
        remarks=replayed.remarks,
    )


def _penalties(events: tuple[Event, ...], rubric: Rubric) -> tuple[tuple[str, int, float], ...]:
    """Return what costs points: the ranking once, each hint, each reading repeated with nothing repaired between."""
    counted = (
        ("Ranking looked at", int(any(isinstance(one, RankingAsked) for one in events)), rubric.asking),
        ("Hints", sum(isinstance(one, HintGiven) for one in events), rubric.hint),
        ("Readings repeated", _repeats(events), rubric.repeat),
    )
    return tuple((words, count, count * cost) for words, count, cost in counted if count)


def _repeats(events: tuple[Event, ...]) -> int:
    seen: set[str] = set()
    again = 0
    for event in events:
        if isinstance(event, ReadingTaken):
            again += event.check in seen
            seen.add(event.check)
        elif isinstance(event, RepairMade):
            seen.clear()
    return again


def _title(paper: _Paper, cause: str) -> str:
    return paper.catalogue.causes[cause].title if cause in paper.catalogue.causes else cause


def _right_cause(paper: _Paper) -> tuple[float, str]:
    """What was named, each as far as the readings taken support it against the most that could be had."""
    if not paper.named:
        return 0.0, "no cause was named"
    shares = []
    for true in paper.key.causes:
        found = [one for one in paper.right if same_cause(paper.key.engine, one, true)]
        shares.append(max((paper.yardstick.support(paper.told, one) for one in found), default=0.0))
    share = sum(shares) / len(shares) * max(1.0 - HEDGED * len(paper.wrong), 0.0)
    words = ", ".join(_title(paper, one) for one in paper.named)
    right = f"{len(paper.right)} of {len(paper.key.causes)} right"
    proof = (
        f"; the readings bear it out to {percent(sum(shares) / len(shares))} of what could be had"
        if paper.right
        else ""
    )
    return share, f"named: {words}; {right}{f', {len(paper.wrong)} wrong' if paper.wrong else ''}{proof}"


def _first_checks(paper: _Paper) -> tuple[float, str]:
    """The choice of the first checks: what each could save, beside the best there was at that moment."""
    first = paper.told.checks[:FIRST]
    if not first:
        return 0.0, UNREAD
    worth = [paper.yardstick.choice(paper.told.checks, place) for place in range(len(first))]
    words = ", ".join(
        f"{paper.catalogue.checks[name].ask} {percent(share)}" for name, share in zip(first, worth, strict=True)
    )
    return paper.worked * sum(worth) / len(worth), f"against the best check at that moment: {words}"


def _information(paper: _Paper) -> tuple[float, str]:
    """What the readings told of what is wrong, and in how many minutes beside a good path."""
    used, good, limit = paper.told.minutes, paper.yardstick.good, paper.key.drill.minutes
    if not paper.told.checks:
        return 0.0, UNREAD
    spent = paper.replayed.sitting.case.assessment.minutes
    words = (
        f"{percent(paper.progress)} of what can be told, in {used:.0f} minutes; a good path takes {good.minutes:.0f}"
    )
    if limit is not None and spent > limit:
        return 0.0, f"{words}; {spent:.0f} minutes with repairs, {limit:.0f} were allowed"
    return paper.progress * min(1.0, ALLOWANCE * good.minutes / used if used > 0 else 1.0), words


def _setups(paper: _Paper) -> tuple[float, str]:
    """Set-ups made once and used for all that needs them."""
    made, needed = paper.told.setups, paper.told.needed
    if not made:
        return paper.worked, "nothing was set up"
    return paper.worked * needed / made, f"set up {made} times; {needed} would have done"


def _money(paper: _Paper) -> float:
    known = paper.catalogue.causes
    return sum(known[one].repair.parts for one in paper.named if one in known)


def _sound_parts(paper: _Paper) -> tuple[float, str]:
    """Repairs of what was not wrong, and the money limit."""
    spent, limit = _money(paper), paper.key.drill.money
    wrong = "1 cause named that was" if len(paper.wrong) == 1 else f"{len(paper.wrong)} causes named that were"
    words = f"{wrong} not there, {spent:.0f} spent on parts"
    true = paper.key.causes
    missed = sum(not any(same_cause(paper.key.engine, one, cause) for one in paper.right) for cause in true)
    ventured = paper.worked * (1.0 - NOT_VENTURED * missed / len(true))
    if not paper.named:
        return ventured, "nothing was named"
    if limit is not None and spent > limit:
        return 0.0, f"{words}; {limit:.0f} was allowed"
    return ventured * max(1.0 - WRONG_REPAIR * len(paper.wrong), 0.0), words


def _judged(paper: _Paper) -> tuple[float, str]:
    """Numbers read once, and whether the person put each in the band it lies in; a close call may go either way."""
    said = judged_in(paper.events)
    latest = paper.replayed.sitting.case.assessment.latest
    numbers = [one for one, read in latest.items() if read.value is not None]
    if not numbers:
        return paper.worked, "no number was read that could be judged"
    good = 0
    missed: list[str] = []
    for name in numbers:
        read = latest[name]
        if said.get(name) == read.outcome or (name in said and max(read.shares) < CLEAR_READING):
            good += 1
        else:
            missed.append(paper.catalogue.checks[name].ask)
    words = f"{good} of {len(numbers)} numbers judged as they lie"
    return paper.worked * good / len(numbers), words + (f"; not: {'; '.join(missed[:3])}" if missed else "")


_PARTS = {
    "right-cause": _right_cause,
    "first-checks": _first_checks,
    "information": _information,
    "set-ups": _setups,
    "judged": _judged,
    "sound-parts": _sound_parts,
}
