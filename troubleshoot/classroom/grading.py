"""Mark a hand-in: every part of the rubric from the replayed trail and the key, with the reason in words."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import UTC, datetime

from troubleshoot.bench.fault_causes import same_cause
from troubleshoot.case.cautioning import runs
from troubleshoot.case.events import CautionAcknowledged, Event, Note, ReadingTaken, RepairMade
from troubleshoot.classroom.exercise import ASKED, judged_in
from troubleshoot.classroom.key_file import Key
from troubleshoot.classroom.replaying import Replayed
from troubleshoot.classroom.rubric import CRITERIA, Rubric
from troubleshoot.classroom.sitting import real_minutes
from troubleshoot.knowledge.catalogue import Catalogue
from troubleshoot.knowledge.compiling import fits
from troubleshoot.reasoning.belief import believe
from troubleshoot.reasoning.events import Evidence

CLEAR_READING = 0.75
"""A reading that lies in one band with less than this share may be judged either way."""
ENOUGH = 0.5
"""A named cause that the readings make at least this probable is fully justified."""
WRONG_REPAIR = 0.5
"""Part of the marks for parts that each wrong repair costs."""
HEDGED = 0.25
"""Part of the marks for the right cause that each wrong one named beside it costs: a list of causes is no finding."""
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


@dataclass(frozen=True)
class _Paper:
    """A hand-in on the marker's workspace."""

    replayed: Replayed
    key: Key
    catalogue: Catalogue
    named: tuple[str, ...]
    right: tuple[str, ...]
    cured: int

    @property
    def wrong(self) -> tuple[str, ...]:
        """Return the causes named that cure nothing."""
        return tuple(one for one in self.named if one not in self.right)

    @property
    def read(self) -> bool:
        """Return whether anything was read at all; who reads nothing guesses."""
        return any(isinstance(one, ReadingTaken) for one in self.events)

    @property
    def events(self) -> tuple[Event, ...]:
        """Return every event, those taken back too: what was read has been read."""
        return self.replayed.events


def mark(replayed: Replayed, key: Key, rubric: Rubric, catalogue: Catalogue) -> Marks:
    """Return the marks of a hand-in that has been replayed."""
    named = replayed.exercise.named
    right = tuple(one for one in named if any(same_cause(key.engine, one, true) for true in key.causes))
    cured = sum(1 for true in key.causes if any(same_cause(key.engine, one, true) for one in named))
    paper = _Paper(replayed, key, catalogue, named, right, cured)
    weights = rubric.weights(key.drill.judge)
    whole = sum(weights.values())
    scores = []
    for criterion, weight in weights.items():
        share, why = _PARTS[criterion](paper)
        out_of = 100.0 * weight / whole
        scores.append(Score(criterion, out_of * min(max(share, 0.0), 1.0), out_of, why))
    asked = any(isinstance(one, Note) and one.text == ASKED for one in replayed.events)
    off = rubric.asking if asked else 0.0
    return Marks(
        trainee=replayed.trainee,
        file=replayed.name,
        total=max(sum(one.points for one in scores) - off, 0.0),
        scores=tuple(scores),
        taken_off=off,
        named=named,
        right=right,
        wrong=paper.wrong,
        minutes=replayed.exercise.assessment.minutes,
        real_minutes=real_minutes(replayed.events),
        parts=_money(paper),
        checks=tuple(one.check for one in replayed.events if isinstance(one, ReadingTaken)),
        found=cured == len(key.causes),
        finished=replayed.finished,
        day=datetime.fromtimestamp(replayed.events[0].at, UTC).date().isoformat(),
    )


def _title(paper: _Paper, cause: str) -> str:
    return paper.catalogue.causes[cause].title if cause in paper.catalogue.causes else cause


def _right_cause(paper: _Paper) -> tuple[float, str]:
    if not paper.named:
        return 0.0, "no cause was named"
    share = paper.cured / len(paper.key.causes) * max(1.0 - HEDGED * len(paper.wrong), 0.0)
    words = ", ".join(_title(paper, one) for one in paper.named)
    right = f"{paper.cured} of {len(paper.key.causes)} right"
    return share, f"named: {words}; {right}{f', {len(paper.wrong)} wrong' if paper.wrong else ''}"


def _minutes(paper: _Paper) -> tuple[float, str]:
    """Minutes against the best policy, as far as the readings justify what was named: a guess saves no time."""
    used, best, limit = paper.replayed.exercise.assessment.minutes, paper.key.best_minutes, paper.key.drill.minutes
    words = f"{used:.0f} minutes; the best policy takes {best:.0f}"
    if not paper.cured:
        return 0.0, f"{words}; no cause was right"
    if limit is not None and used > limit:
        return 0.0, f"{words}; {limit:.0f} were allowed"
    part = paper.cured / len(paper.key.causes)
    by_readings = _by_readings(paper)
    known = max(min(by_readings[one] / ENOUGH, 1.0) for one in paper.right)
    words += "" if known == 1.0 else f"; counted at {known:.0%}, as far as the readings pointed there"
    return known * part * (min(1.0, best / used) if used > 0 and best > 0 else 1.0), words


def _money(paper: _Paper) -> float:
    known = paper.catalogue.causes
    return sum(known[one].repair.parts for one in paper.named if one in known)


def _parts(paper: _Paper) -> tuple[float, str]:
    spent, limit = _money(paper), paper.key.drill.money
    wrong = "1 cause named that was" if len(paper.wrong) == 1 else f"{len(paper.wrong)} causes named that were"
    words = f"{wrong} not there, {spent:.0f} spent on parts"
    if not paper.read:
        return 0.0, UNREAD
    if limit is not None and spent > limit:
        return 0.0, f"{words}; {limit:.0f} was allowed"
    return 1.0 - WRONG_REPAIR * len(paper.wrong), words


def _cautions(paper: _Paper) -> tuple[float, str]:
    """Every hazardous check, and whether each of its cautions was read first, for an engine that turns if it does."""
    read: set[tuple[str, bool]] = set()
    hazardous, met = 0, 0
    for event in paper.events:
        if isinstance(event, CautionAcknowledged):
            read.add((event.caution, event.running))
        if isinstance(event, ReadingTaken):
            check = paper.catalogue.checks[event.check]
            wanted = [one for one in check.cautions if _counts(paper, one)]
            if wanted:
                hazardous += 1
                turning = runs(check)
                met += all((one, True) in read or (not turning and (one, False) in read) for one in wanted)
    if not paper.read:
        return 0.0, UNREAD
    if not hazardous:
        return 1.0, "no check with a hazard was made"
    return met / hazardous, f"{met} of {hazardous} hazardous checks had their cautions read first"


def _counts(paper: _Paper, caution: str) -> bool:
    """Return whether a caution is asked for on this car at each check; a procedure is, only while the line is shut."""
    known = paper.catalogue.cautions.get(caution)
    return known is not None and not known.until and fits(paper.replayed.exercise.drill.known_car, known.for_)


def _judged(paper: _Paper) -> tuple[float, str]:
    """Numbers read once, and whether the person put each in the band it lies in; a close call may go either way."""
    said = judged_in(paper.events)
    latest = paper.replayed.exercise.assessment.latest
    numbers = [one for one, read in latest.items() if read.value is not None]
    if not numbers:
        return (1.0, "no number was read that could be judged") if paper.read else (0.0, UNREAD)
    good = 0
    missed: list[str] = []
    for name in numbers:
        read = latest[name]
        if said.get(name) == read.outcome or (name in said and max(read.shares) < CLEAR_READING):
            good += 1
        else:
            missed.append(paper.catalogue.checks[name].ask)
    words = f"{good} of {len(numbers)} numbers judged as they lie"
    return good / len(numbers), words + (f"; not: {'; '.join(missed[:3])}" if missed else "")


def _repeats(paper: _Paper) -> tuple[float, str]:
    seen: set[str] = set()
    again = readings = 0
    for event in paper.events:
        if isinstance(event, ReadingTaken):
            readings += 1
            again += event.check in seen
            seen.add(event.check)
        elif isinstance(event, RepairMade):
            seen.clear()
    if not readings:
        return 0.0, UNREAD
    return 1.0 - again / readings, f"{again} of {readings} readings repeated an earlier one"


def _justified(paper: _Paper) -> tuple[float, str]:
    """How probable the readings make what was named, a cause that was missed counted as none."""
    if not paper.named:
        return 0.0, "nothing was named"
    if not paper.read:
        return 0.0, UNREAD
    probable = _by_readings(paper)
    share = sum(min(one / ENOUGH, 1.0) for one in probable.values()) / max(len(probable), len(paper.key.causes))
    words = ", ".join(f"{_title(paper, name)} {one:.0%}" for name, one in probable.items())
    return share, f"by the readings taken: {words}"


def _by_readings(paper: _Paper) -> dict[str, float]:
    """Return how probable the readings make each cause named; nothing read makes nothing probable."""
    seen = paper.replayed.exercise.assessment
    evidence = tuple(one for one in seen.happened if isinstance(one, Evidence))
    if seen.problem is None or not evidence:
        return dict.fromkeys(paper.named, 0.0)
    belief = believe(seen.problem, evidence)
    known = {one.id for one in seen.problem.causes}
    return {one: belief.probability(one) if one in known else 0.0 for one in paper.named}


_PARTS = {
    "right-cause": _right_cause,
    "minutes": _minutes,
    "parts": _parts,
    "cautions": _cautions,
    "judged": _judged,
    "repeats": _repeats,
    "justified": _justified,
}
