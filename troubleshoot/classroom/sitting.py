"""A drill being sat, or practised: a case under the drill's rules, gone on with after a stop, and its hand-in."""

from __future__ import annotations

from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass, replace
from itertools import pairwise
from pathlib import Path
from typing import Literal

from troubleshoot.bench.answering import can_answer
from troubleshoot.bench.patients import FaultsPresent
from troubleshoot.bench.virtual_bench import VirtualBench
from troubleshoot.case.answering import known_check
from troubleshoot.case.case import Case, Clock, open_case, resume_case
from troubleshoot.case.errors import NotNow
from troubleshoot.case.events import CheckChosen, Event, Measured, ReadingTaken, Seated
from troubleshoot.case.settings import CaseSettings
from troubleshoot.case.view import CauseShown, OtherCheck
from troubleshoot.casebook.store import Casebook, CaseRow
from troubleshoot.classroom.drill_file import Drill, DrillRefused, HandedFile
from troubleshoot.classroom.drill_rules import DrillBench, DrillRules, PracticeBench, named
from troubleshoot.classroom.handed_files import READ_IN_FILES, Handed, Handing, files_for
from troubleshoot.classroom.sat_cases import sitting_of
from troubleshoot.classroom.trainee_trail import judged_in
from troubleshoot.knowledge.catalogue import Catalogue
from troubleshoot.problems import TroubleshootError

LONGEST_NAME = 60
"""Characters of a trainee's name."""
NOT_HERE = "cannot be measured here"
PAUSE = 600.0
"""Seconds without anything done that count as a pause, not as work."""


class FileBench:
    """The bench of a sitting: the readings of the drill file."""

    def __init__(self, drill: Drill) -> None:
        self._drill = drill

    def read(self, check_id: str) -> str | None:
        """Return what would be typed for a check; None when it cannot be measured."""
        return self._drill.readings.get(check_id)


class HandingBench:
    """A bench that hands out files for some checks: what is read in the file is the reading."""

    def __init__(self, told: DrillBench, handing: Handing) -> None:
        self.told, self.handing = told, handing

    def read(self, check_id: str) -> str | None:
        """Return what would be typed for a check, read in its file where one is handed out."""
        told = self.told.read(check_id)
        return told if told is None and check_id not in READ_IN_FILES else self.handing.text(check_id) or told

    def retest(self) -> Literal["gone", "partly", "still"]:
        """Return what a retest shows; only where repairs can be tried."""
        assert isinstance(self.told, VirtualBench)
        return self.told.retest()


@dataclass(frozen=True)
class Sitting:
    """One open case of a drill that is sat, or of practice, with the rules it is under."""

    case: Case
    rules: DrillRules
    hand_in_at: Path | None = None
    """The file that the sitting is handed in as; None where nothing is handed in."""
    stamp: Callable[[str], str] | None = None
    """What the class that is served puts on a hand-in; None elsewhere."""

    @property
    def drill(self) -> Drill:
        """Return the drill."""
        return self.rules.drill

    @property
    def practice(self) -> PracticeBench | None:
        """Return the bench where repairs can be tried; None where the drill is sat."""
        return self.rules.practice

    @property
    def trainee(self) -> str:
        """Return who sits it."""
        return next((one.trainee for one in self.case.events if isinstance(one, Seated)), "")

    @property
    def attempt(self) -> int:
        """Return for which time they sit it."""
        return next((one.attempt for one in self.case.events if isinstance(one, Seated)), 1)

    @property
    def over(self) -> bool:
        """Return whether it was handed in or closed."""
        return self.case.assessment.state.closed is not None

    @property
    def ends_by(self) -> str:
        """Return what ending it is called."""
        return self.rules.ends_by

    @property
    def time_left(self) -> float | None:
        """Return the minutes left by the clock, negative once they are up; None where there is no limit."""
        ends = self.rules.ends(self.case.events)
        return None if ends is None else (ends - self.case.now()) / 60.0

    @property
    def ended_by_clock(self) -> bool:
        """Return whether it was over only once the minutes by the clock were up."""
        ends = self.rules.ends(self.case.events)
        return self.over and ends is not None and self.case.events[-1].at > ends

    @property
    def time_words(self) -> str:
        """Return the time left by the clock in words; empty where there is no limit."""
        left = self.time_left
        if left is None:
            return ""
        return f"{left:.0f} min left" if left >= 1.0 else f"{max(60.0 * left, 0.0):.0f} s left"

    @property
    def ranking_shown(self) -> bool:
        """Return whether the ranking may be seen now."""
        return self.rules.shows_ranking(self.case.events)

    @property
    def named(self) -> tuple[str, ...]:
        """Return the causes named (repaired) so far, in order."""
        return named(self.case.events)

    @property
    def unjudged(self) -> tuple[str, ...]:
        """Return the checks whose numbers are read and not judged yet, the one read last first."""
        if not self.drill.judge or self.over:
            return ()
        said = judged_in(self.case.events)
        read = [one for one in self.case.events if isinstance(one, ReadingTaken) and isinstance(one.answer, Measured)]
        return tuple(dict.fromkeys(one.check for one in reversed(read) if one.check not in said))

    @property
    def chosen(self) -> str:
        """Return the check that was chosen and is not done yet; empty when there is none."""
        view = self.case.view()
        step = view.behind or view.step
        return step.check.id if step.check is not None and step.check.proposed_by == "person" else ""

    def checks(self, appraised: bool = True) -> tuple[OtherCheck, ...]:
        """Return the checks that can be done and measured now."""
        found, bench = self.case.other_checks(appraised), self.rules.bench
        told = bench.told if isinstance(bench, HandingBench) else bench
        filed = self.rules.drill.read_in_files
        return tuple(one for one in found if one.available and (one.id in filed or told.read(one.id) is not None))

    def handed(self, check_id: str) -> Handed | None:
        """Return the file that the bench hands out for a check; None where it tells the reading.

        It gives the readings that are still to be taken of checks whose cautions have been read, and names the others.
        """
        bench = self.rules.bench
        found = bench.handing.handed(check_id) if isinstance(bench, HandingBench) else None
        if found is None:
            return None
        read = self.case.assessment.latest
        new = [one for one in found.recorded.readings if one.check == check_id or one.check not in read]
        waiting = [one.check for one in new if self.case.cautions_before(one.check)]
        ready = tuple(one for one in new if one.check not in waiting)
        return replace(found, recorded=replace(found.recorded, readings=ready), cautions_first=tuple(waiting))

    def handed_out(self) -> dict[str, Handed]:
        """Return the files handed out so far, by name: those of the checks chosen."""
        chosen = [one.check for one in self.case.events if isinstance(one, CheckChosen)]
        found = [self.handed(one) for one in dict.fromkeys(chosen)]
        return {one.name: one for one in found if one is not None}

    def candidates(self) -> tuple[CauseShown, ...]:
        """Return every cause that could be named for this car, by title, with no hint of how likely it is."""
        problem, known = self.case.assessment.problem, self.case.catalogue.causes
        wanted = [one.id for one in problem.causes if one.id in known and one.repair] if problem else []
        found = [CauseShown(one, known[one].title, known[one].term, 0.0, "", "") for one in wanted]
        return tuple(sorted(found, key=lambda one: one.title.casefold()))

    def next_hint(self) -> str:
        """Return the trainer's next hint and note that it was given; empty when there is none left."""
        hint = self.rules.next_hint(self.case.events)
        if hint:
            self.case.give_hint(hint)
        return hint

    def take(self, check_id: str) -> None:
        """Take the bench's reading of a check; NotNow where it cannot be measured."""
        known_check(self.case.catalogue, check_id)
        given = self.rules.bench.read(check_id)
        if given is None:
            raise NotNow("This cannot be measured here.", "Leave it out and choose another check.")
        self.case.take(check_id, given, sure=True)

    def repair(self, cause_id: str) -> None:
        """Repair (in a sitting: name) a cause; practice retests at once."""
        self.case.repair(cause_id)
        if self.practice is not None:
            self.case.retest(self.practice.retest())


def practised_files(bench: VirtualBench, drill: Drill, catalogue: Catalogue) -> Callable[[], Mapping[str, HandedFile]]:
    """Return what makes the files of a practised car in the state that its repairs have left."""
    handed = drill.handed if isinstance(drill.handed, dict) else {}
    whats = {one.what for one in handed.values()}
    kinds = {one if one in ("log", "sound") else "capture" for one in whats}
    job = bench.car.job
    made: dict[FaultsPresent, Mapping[str, HandedFile]] = {job.faults: handed}

    def now() -> Mapping[str, HandedFile]:
        left = bench.car.after(bench.repaired())
        if left not in made:
            answered = [name for name, read in drill.readings.items() if read is not None]
            made[left] = files_for(job, left, bench.car.readings[left], kinds, answered, catalogue)
        return made[left]

    return now


Practice = Callable[[Callable[[], tuple[str, ...]]], VirtualBench]
"""Puts a car on a bench where repairs can be tried, given what says which have been made."""


def begin(
    casebook: Casebook, catalogue: Catalogue, clock: Clock, drill: Drill, trainee: str,
    settings: CaseSettings, practice: Practice | None = None, attempt: int = 1,
) -> Sitting:  # fmt: skip
    """Begin a drill: a new case with its car, concerns and tools, and the trainee's name."""
    with casebook.all_or_nothing():
        out = _not_to_be_had(drill, practice is not None)
        case = open_case(casebook, catalogue, clock, settings, drill=drill.seal, proved={}, left_out=out)
        sitting = _under_rules(case, drill, practice)
        case.start_with(drill.known_car, drill.concerns, drill.tools, drill.story)
        case.seat(trainee, attempt)
    return sitting


def take_up(
    casebook: Casebook, catalogue: Catalogue, clock: Clock, drill: Drill, case_id: str,
    settings: CaseSettings, practice: Practice | None = None,
) -> Sitting:  # fmt: skip
    """Go on with a drill."""
    out = _not_to_be_had(drill, practice is not None)
    case = resume_case(casebook, catalogue, case_id, clock, settings, proved={}, left_out=out)
    return _under_rules(case, drill, practice)


def _not_to_be_had(drill: Drill, practised: bool) -> dict[str, str]:
    """Return the checks that cannot be measured: in practice a repair may bring back what the engine can answer."""
    gone = [name for name, read in drill.readings.items() if read is None]
    return {name: NOT_HERE for name in gone if not practised or not can_answer(name)}


def _under_rules(case: Case, drill: Drill, practice: Practice | None) -> Sitting:
    tried: VirtualBench | HandingBench | None = None
    if practice is not None:
        tried = practice(lambda: named(case.events))
    bench: DrillBench = tried if tried is not None else FileBench(drill)
    if isinstance(drill.handed, dict):
        handed = drill.handed
        now = practised_files(tried, drill, case.catalogue) if isinstance(tried, VirtualBench) else lambda: handed
        made = HandingBench(bench, Handing(now, case.catalogue, drill.known_car.cylinders))
        bench, tried = made, made if tried is not None else None
    rules = DrillRules(drill, case.catalogue, bench, tried)
    case.rules, case.bench = rules, bench
    return Sitting(case, rules)


class NameRefused(TroubleshootError):
    """A sitting needs a name that can be read on the trainer's list."""


def clean_name(name: str) -> str:
    """Return a trainee's name as it can be kept; NameRefused when nothing is left of it."""
    plain = " ".join("".join(one if one.isprintable() else " " for one in name).split())
    if not plain or len(plain) > LONGEST_NAME:
        raise NameRefused("A sitting needs a name of at most 60 characters.", "Type the name the trainer knows.")
    return plain


def sit(
    casebook: Casebook,
    catalogue: Catalogue,
    clock: Clock,
    drill: Drill,
    name: str,
    settings: CaseSettings,
    again: bool = False,
) -> tuple[Sitting, bool]:
    """Return the sitting of this trainee, and whether it was begun before: the open one, else the one handed in.

    `again` begins another attempt where the last is handed in; each has its number.
    """
    refuse_unknown_checks(drill, catalogue)
    trainee = clean_name(name)
    before = sittings_of(casebook, drill, trainee)
    last = next((row for row in before if row.state == "open"), before[0] if before and not again else None)
    if last is not None:
        return take_up(casebook, catalogue, clock, drill, last.id, settings), True
    return begin(casebook, catalogue, clock, drill, trainee, settings, attempt=len(before) + 1), False


def refuse_unknown_checks(drill: Drill, catalogue: Catalogue) -> None:
    """Refuse a drill that was set with trees that have other checks or concerns than these."""
    gone = [one for one in drill.readings if one not in catalogue.checks]
    gone += [one for one in drill.concerns if one not in catalogue.concerns]
    if gone:
        raise DrillRefused(
            f"The drill was set with other trees: these have no {gone[0][:60]}.",
            "Use the program and trees of the trainer.",
        )


def sittings_of(casebook: Casebook, drill: Drill, trainee: str) -> list[CaseRow]:
    """Return the cases of this drill and trainee, the one touched last first."""
    return [row for row in casebook.cases() if sitting_of(casebook, row.id) == (drill.seal, trainee)]


def real_minutes(events: Sequence[Event]) -> float:
    """Return the minutes worked by the clock on the wall, pauses over ten minutes left out."""
    times = [one.at for one in events]
    gaps = [later - earlier for earlier, later in pairwise(times)]
    return sum(gap for gap in gaps if 0.0 < gap <= PAUSE) / 60.0
