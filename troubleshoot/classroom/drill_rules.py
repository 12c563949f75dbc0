"""What may be done and seen while a drill is sat, or practised alone: rules for a case."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, replace
from typing import Literal, Protocol, assert_never

import msgspec

from troubleshoot.case.assessing import Assessment
from troubleshoot.case.errors import NotNow, TimeUp
from troubleshoot.case.events import (
    Attached,
    CautionAcknowledged,
    CheckChosen,
    CheckSkipped,
    Closed,
    Event,
    FuelSmelt,
    HandedIn,
    HintGiven,
    Judged,
    LeakRepaired,
    Note,
    Opened,
    RankingAsked,
    ReadingCorrected,
    ReadingTaken,
    RecordingKept,
    RepairMade,
    Retested,
    Seated,
    Setting,
    Undone,
)  # fmt: skip
from troubleshoot.case.folding import last_to_undo, standing
from troubleshoot.case.kept_events import trail_hash
from troubleshoot.case.view import CaseView, Step
from troubleshoot.classroom.drill_file import Drill
from troubleshoot.classroom.trainee_trail import sat_trail
from troubleshoot.knowledge.answers import ReadingRefused
from troubleshoot.knowledge.catalogue import Catalogue

FREE = "Choose a check, or say what you would repair. When you are done, hand in."
TRY = "Choose a check, or repair something. When you are done, close."
NAMED = (
    "Noted what you would repair. Hand in, or name a second cause if the readings show two;"
    " one that is wrong costs marks."
)
UP = "The time by the clock is up."
_STAYS = (ReadingTaken, Retested, Seated, Judged, HandedIn, HintGiven)


class DrillBench(Protocol):
    """What answers the checks of a drill."""

    def read(self, check_id: str) -> str | None:
        """Return what would be typed for a check; None when it cannot be measured."""


class PracticeBench(DrillBench, Protocol):
    """A bench on which repairs can be tried."""

    def retest(self) -> Literal["gone", "partly", "still"]:
        """Return what a retest of the car shows in its present state."""


@dataclass(frozen=True)
class DrillRules:
    """The rules of one drill; `practice` is the bench where repairs are tried, None where the drill is sat."""

    drill: Drill
    catalogue: Catalogue
    bench: DrillBench
    practice: PracticeBench | None = None

    def written(self, event: Event, so_far: Sequence[Event], seen: Assessment) -> tuple[Event, ...]:
        """Return what is written when the person at the drill does this; TimeUp once only handing in is left."""
        up_at = self.ends(so_far)
        if up_at is not None and event.at > up_at and not isinstance(event, HandedIn | Closed):
            raise TimeUp(UP, "Hand in: what you have named counts.")
        match event:
            case Opened() | Setting() | Seated():
                if any(isinstance(one, Seated) for one in so_far):
                    raise NotNow("The drill sets the car, the concerns and the tools.", "Work with these.")
            case ReadingTaken(check=check, typed=typed):
                self._refuse_reading(check, typed)
            case ReadingCorrected():
                raise NotNow("At a drill an answer cannot be changed: the bench gave it.", "Go on from here.")
            case RepairMade(cause=cause):
                if cause in named(so_far):
                    raise NotNow("That has been repaired already.", f"Name another cause, or {self.ends_by}.")
                usual = self.catalogue.causes[cause].repair
                return (msgspec.structs.replace(event, minutes=usual.minutes, parts=usual.parts),)
            case Retested(result=result):
                wanted = isinstance(so_far[-1], RepairMade) and self.practice is not None
                if not wanted or result != (self.practice.retest() if self.practice is not None else ""):
                    raise NotNow("At a drill the bench retests by itself.", "Go on; nothing was noted.")
            case Undone():
                if isinstance(last_to_undo(so_far), _STAYS):
                    raise NotNow("At a drill a reading or a retest cannot be taken back.", "Go on from here.")
            case RankingAsked():
                if self.drill.ranking == "hidden":
                    raise NotNow("This drill does not show the ranking.", "Read, and judge for yourself.")
                return () if self.shows_ranking(so_far) else (event,)
            case HintGiven(hint=hint):
                if hint != self.next_hint(so_far):
                    raise NotNow("That is not the next hint.", "Ask for it.")
            case Closed(result=result):
                ends: Literal["referred", "left"] = "referred" if result == "referred" and not seen.repaired else "left"
                closed = Closed(result=ends)
                return (closed,) if self.practice is not None else (HandedIn(trail=trail_hash(so_far)), closed)
            case CheckSkipped() | CheckChosen() | FuelSmelt() | LeakRepaired():
                pass
            case CautionAcknowledged() | RecordingKept() | Note() | Judged():
                pass
            case Attached():
                raise NotNow("A drill takes no files.", "Write a note.")
            case HandedIn():
                raise NotNow("A sitting is handed in only as a whole.", "Hand in.")
            case never:
                assert_never(never)
        return (event,)

    @property
    def ends_by(self) -> str:
        """Return what ending it is called everywhere: a drill is handed in, practice is closed."""
        return "hand in" if self.practice is None else "close"

    def ends(self, so_far: Sequence[Event]) -> float | None:
        """Return when the minutes by the clock are up, in seconds since 1970; None where there is no limit."""
        limit = self.drill.clock_limit
        began = next((one.at for one in so_far if isinstance(one, Seated)), None)
        return None if limit is None or began is None else began + 60.0 * limit

    def _refuse_reading(self, check: str, typed: str) -> None:
        given = self.bench.read(check)
        if given is None:
            raise NotNow("This cannot be measured here.", "Leave it out and choose another check.")
        if typed.strip() != given:
            raise ReadingRefused("At a drill the reading comes from the bench.", "Take the bench's reading.")

    def next_hint(self, so_far: Sequence[Event]) -> str:
        """Return the trainer's next hint; empty when there is none left."""
        given = sum(isinstance(one, HintGiven) for one in so_far)
        return self.drill.hints[given] if given < len(self.drill.hints) else ""

    def shows_ranking(self, so_far: Sequence[Event]) -> bool:
        """Return whether the ranking may be seen now."""
        if self.drill.ranking == "asked":
            return any(isinstance(one, RankingAsked) for one in so_far)
        return self.drill.ranking == "shown"

    @property
    def conditions(self) -> str:
        """Return in words what is allowed and what is not at hand; empty when there is nothing to say."""
        drill, words = self.drill, []
        if drill.minutes is not None:
            words.append(f"Allowed: {drill.minutes:.0f} minutes of work.")
        if drill.clock_limit is not None:
            words.append(f"By the clock: {drill.clock_limit:.0f} minutes, then it is handed in as it stands.")
        if drill.money is not None:
            words.append(f"For parts: {drill.money:.0f}.")
        if drill.tools is not None:
            lacking = [tool.words for name, tool in sorted(self.catalogue.tools.items()) if name not in drill.tools]
            words.append(f"Not here: {'; '.join(lacking)}.")
        return " ".join(words)

    def shown(self, view: CaseView, so_far: Sequence[Event]) -> CaseView:
        """Return of a view what may be seen at the drill."""
        step = self._step(view, so_far)
        notices = view.notices
        if self.drill.minutes is not None and view.minutes > self.drill.minutes:
            notices = (*notices, f"The {self.drill.minutes:.0f} minutes allowed are used up.")
        behind = view.behind if step.kind == "caution" and self._chosen(view.behind) else None
        trail = sat_trail(view.trail, so_far, self.catalogue, self.drill.judge, self.practice is not None)
        view = replace(view, step=step, behind=behind, notices=notices, trail=trail)
        if self.shows_ranking(so_far):
            return view
        return replace(view, ranked=(), pairs=(), none=0.0, something_else=0.0, doubt="", doubt_check="")

    def _chosen(self, step: Step | None) -> bool:
        """Return whether a step is the person's own choice, or what the tool proposes may be seen."""
        if step is None or self.drill.ranking == "shown":
            return step is not None
        return step.check is not None and step.check.proposed_by == "person"

    def _step(self, view: CaseView, so_far: Sequence[Event]) -> Step:
        """Return the step without what the tool would propose where that is hidden."""
        step, behind = view.step, view.behind or view.step
        if step.kind in ("closed", "stop", "concern"):
            return step
        if step.kind == "retest":
            return step if self.practice is not None else Step("free", NAMED)
        if self.drill.ranking == "shown" or (step.caution and step.caution.id.startswith("stop-")):
            return step
        if self._chosen(behind):
            return step
        if self.practice is not None:
            return Step("free", self._turn(TRY))
        return Step("free", NAMED if named(so_far) else self._turn(FREE))

    def _turn(self, words: str) -> str:
        """Return the story, and what can be done."""
        return " ".join(filter(None, (self.drill.story, self.conditions, words)))


def named(events: Sequence[Event]) -> tuple[str, ...]:
    """Return the causes named (repaired) so far, in order."""
    return tuple(one.event.cause for one in standing(events) if isinstance(one.event, RepairMade))
