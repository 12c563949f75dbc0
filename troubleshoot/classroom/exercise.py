"""An exercise: an investigation whose readings come from a bench, with the ranking hidden, asked for or shown."""

from __future__ import annotations

import hashlib
from collections.abc import Callable, Sequence
from dataclasses import replace

from troubleshoot.bench.virtual_bench import VirtualBench
from troubleshoot.case import answering, explaining
from troubleshoot.case.case import Bench, Case, Clock, open_case, resume_case
from troubleshoot.case.errors import NotNow
from troubleshoot.case.events import Event, Note, ReadingTaken, RepairMade, Retested
from troubleshoot.case.folding import decode, encode, last_to_undo
from troubleshoot.case.settings import CaseSettings
from troubleshoot.case.view import CaseView, CauseShown, OtherCheck, Step, WeightShown
from troubleshoot.casebook.store import Casebook
from troubleshoot.classroom.drill_file import Drill
from troubleshoot.classroom.exercise_cases import TRAINEE
from troubleshoot.classroom.trainee_trail import ASKED, HANDED_IN, HINT, JUDGED, judged_in, sat_trail
from troubleshoot.knowledge.answers import InterpretedReading, ReadingRefused
from troubleshoot.knowledge.car import Car
from troubleshoot.knowledge.catalogue import Catalogue

FREE = "Choose a check, or say what you would repair. When you are done, end the exercise."
NAMED = (
    "Noted what you would repair. End the exercise to hand it in, or name a second cause if the readings show two;"
    " one that is wrong costs marks."
)


class SittingBench:
    """The bench of a sitting: the readings of the drill file."""

    def __init__(self, drill: Drill) -> None:
        self._drill = drill

    def read(self, check_id: str) -> str | None:
        """Return what would be typed for a check; None when it cannot be measured."""
        return self._drill.readings.get(check_id)


class Exercise(Case):
    """One open case of a drill or of practice; `practice` is the car where repairs can be tried."""

    drill: Drill
    casebook: Casebook
    practice: VirtualBench | None = None

    @property
    def trainee(self) -> str:
        """Return who sits it."""
        notes = (one.text for one in self.events if isinstance(one, Note))
        return next((text.removeprefix(TRAINEE) for text in notes if text.startswith(TRAINEE)), "")

    @property
    def ranking_shown(self) -> bool:
        """Return whether the ranking may be seen now."""
        if self.drill.ranking == "asked":
            return any(isinstance(one, Note) and one.text == ASKED for one in self.events)
        return self.drill.ranking == "shown"

    @property
    def conditions(self) -> str:
        """Return in words what is allowed and what is not at hand; empty when there is nothing to say."""
        drill, words = self.drill, []
        if drill.minutes is not None:
            words.append(f"Allowed: {drill.minutes:.0f} minutes.")
        if drill.money is not None:
            words.append(f"For parts: {drill.money:.0f}.")
        if drill.tools is not None:
            lacking = [tool.words for name, tool in sorted(self.catalogue.tools.items()) if name not in drill.tools]
            words.append(f"Not here: {'; '.join(lacking)}.")
        return " ".join(words)

    @property
    def named(self) -> tuple[str, ...]:
        """Return the causes named (repaired) so far, in order."""
        return tuple(one.event.cause for one in self.assessment.state.done if isinstance(one.event, RepairMade))

    def view(self) -> CaseView:
        """Return what a face shows, without what the exercise hides."""
        view = super().view()
        step = self._step(view)
        notices = view.notices
        if self.drill.minutes is not None and view.minutes > self.drill.minutes:
            notices = (*notices, f"The {self.drill.minutes:.0f} minutes allowed are used up.")
        behind = view.behind if step.kind == "caution" and self._chosen(view.behind) else None
        trail = sat_trail(view.trail, self.events, self.catalogue, self.drill.judge, self.practice is not None)
        if self.ranking_shown:
            return replace(view, step=step, behind=behind, notices=notices, trail=trail)
        return replace(
            view, step=step, behind=behind, notices=notices, trail=trail, ranked=(), pairs=(), none=0.0,
            something_else=0.0, doubt="", doubt_check="",
        )  # fmt: skip

    def _chosen(self, step: Step | None) -> bool:
        """Return whether a step is the person's own choice, or what the tool proposes may be seen."""
        if step is None or self.drill.ranking == "shown":
            return step is not None
        return step.check is not None and step.check.proposed_by == "person"

    def _step(self, view: CaseView) -> Step:
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
        waiting = self.named and self.practice is None
        return Step("free", NAMED if waiting else " ".join((self.drill.story, self.conditions, FREE)))

    @property
    def unjudged(self) -> str:
        """Return the check whose number was read last and is not judged yet; empty when there is none."""
        readings = [one for one in self.events if isinstance(one, ReadingTaken) and one.value is not None]
        if not self.drill.judge or not readings or readings[-1].check in judged_in(self.events):
            return ""
        return readings[-1].check

    def candidates(self) -> tuple[CauseShown, ...]:
        """Return every cause that could be named for this car, by title, with no hint of how likely it is."""
        problem = self.assessment.problem
        known = self.catalogue.causes
        wanted = [one.id for one in problem.causes if one.id in known and one.repair] if problem else []
        found = [CauseShown(one, known[one].title, known[one].term, 0.0, "", "") for one in wanted]
        return tuple(sorted(found, key=lambda one: one.title.casefold()))

    def ask_ranking(self) -> None:
        """Ask to see the ranking; NotNow where the drill does not give it."""
        if self.drill.ranking == "hidden":
            raise NotNow("This exercise does not show the ranking.", "Read, and judge for yourself.")
        if not self.ranking_shown:
            super().note(ASKED)

    def next_hint(self) -> str:
        """Return the trainer's next hint and note that it was given; empty when there is none left."""
        given = sum(isinstance(one, Note) and one.text.startswith(HINT) for one in self.events)
        if given >= len(self.drill.hints):
            return ""
        hint = self.drill.hints[given]
        super().note(f"{HINT}{hint}")
        return hint

    def take(self, check_id: str, text: str, sure: bool = False) -> None:  # noqa: ARG002
        """Take the bench's reading of a check; any other text is refused."""
        given = self._given(check_id)
        if given is None:
            raise NotNow("This cannot be measured here.", "Leave it out and choose another check.")
        if text.strip() != given:
            raise ReadingRefused("In an exercise the reading comes from the bench.", "Take the bench's reading.")
        super().take(check_id, given, sure=True)

    def _given(self, check_id: str) -> str | None:
        answering.known_check(self.catalogue, check_id)
        return self.bench.read(check_id) if self.bench is not None else None

    def judge(self, check_id: str, outcome: str) -> None:
        """Note how the person judges a reading just taken: the outcome of the check it falls in."""
        check = answering.known_check(self.catalogue, check_id)
        if outcome not in check.outcomes:
            raise ReadingRefused(f"{outcome[:40]!r} is no outcome of this check.", f"Use {', '.join(check.outcomes)}.")
        super().note(f"{JUDGED}{check_id}: {outcome}")

    def repair(self, cause_id: str, minutes: float | None = None, parts: float | None = None) -> None:
        """Repair (in a sitting: name) a cause, at the usual minutes and parts; practice retests at once."""
        del minutes, parts
        if cause_id in self.named:
            raise NotNow("That has been repaired already.", "Name another cause, or end the exercise.")
        super().repair(cause_id)
        if self.practice is not None:
            super().retest(self.practice.retest())

    def retest(self, result: str) -> None:
        """Refuse a retest by hand; the bench retests by itself."""
        raise NotNow("In an exercise the bench retests by itself.", f"Go on; {result[:10]!r} was not noted.")

    def undo(self) -> str:
        """Take the last thing back; what was read has been read, and a repair that was tried has been tried."""
        last = last_to_undo(self.events)
        if isinstance(last, ReadingTaken | Retested) or (isinstance(last, Note) and last.text.startswith(_OWN)):
            raise NotNow("In an exercise a reading or a retest cannot be taken back.", "Go on from here.")
        return super().undo()

    def correct(self, index: int, text: str, sure: bool = False) -> None:  # noqa: ARG002
        """Refuse a change of an answer: the bench gave it."""
        raise NotNow("In an exercise an answer cannot be changed: the bench gave it.", "Go on from here.")

    def note(self, text: str) -> None:
        """Keep free words, marked so that they cannot pass for the exercise's own notes."""
        super().note(f"note: {text}" if text.startswith(_OWN) or text == ASKED else text)

    def why(self, cause_id: str) -> tuple[WeightShown, ...]:
        """Return how the readings speak for a cause, where the ranking may be seen."""
        if not self.ranking_shown and self.assessment.state.closed is None:
            raise NotNow("The ranking is hidden in this exercise.", "Judge the readings yourself.")
        return super().why(cause_id)

    def reveal(self, cause_id: str) -> tuple[WeightShown, ...]:
        """Return how the readings speak for a cause when the answer may be told: to the marker, or after practice."""
        return super().why(cause_id)

    def would_change(self, check_id: str) -> tuple[tuple[str, str, float], ...]:
        """Return what would change the ranking, where it may be seen."""
        return super().would_change(check_id) if self.ranking_shown else ()

    def other_checks(self) -> tuple[OtherCheck, ...]:
        """Return the checks not yet done: by worth where the ranking may be seen, else by their words."""
        if self.ranking_shown:
            return super().other_checks()
        found = explaining.other_checks(self.assessment, self.catalogue)
        bare = [replace(one, saves=0.0, worth=0.0) for one in found]
        return tuple(sorted(bare, key=lambda one: (not one.available, one.ask.casefold())))

    def set_car(self, car: Car) -> None:  # noqa: ARG002
        """Refuse another car."""
        raise NotNow("The exercise sets the car.", "Work on this one.")

    def set_concerns(self, ids: Sequence[str], customer: str = "") -> None:  # noqa: ARG002
        """Refuse other concerns."""
        raise NotNow("The exercise sets what the customer says.", "Work from these concerns.")

    def set_tools(self, ids: Sequence[str] | None) -> None:  # noqa: ARG002
        """Refuse other tools."""
        raise NotNow("The exercise sets the tools.", "Work with these.")

    def close(self, result: str, causes: Sequence[str] = ()) -> None:
        """End the exercise; a sitting seals its trail, and never counts as a proved case."""
        del causes
        if self.practice is None:
            super().note(f"{HANDED_IN}{trail_hash(self.events)}")
        super().close("referred" if result == "referred" and not self.named else "left")


_OWN = (TRAINEE, JUDGED, HANDED_IN, HINT)


def trail_hash(events: Sequence[Event]) -> str:
    """Return a hash over a trail, so that a change to any part of it shows."""
    digest = hashlib.sha256()
    for event in events:
        digest.update(encode(decode(encode(event))) + b"\n")
    return digest.hexdigest()


def begin(
    casebook: Casebook, catalogue: Catalogue, clock: Clock, drill: Drill, trainee: str,
    settings: CaseSettings, practice: Callable[[Exercise], VirtualBench] | None = None,
) -> Exercise:  # fmt: skip
    """Begin an exercise: a new case with the drill's car, concerns and tools, and the trainee's name."""
    with casebook.all_or_nothing():
        opened = open_case(casebook, catalogue, clock, settings, drill=drill.seal, proved={})
        exercise = _exercise(opened, casebook, catalogue, clock, settings, drill, practice)
        exercise.start_with(drill.known_car, drill.concerns, drill.tools, drill.story)
        Case.note(exercise, f"{TRAINEE}{answering.clean(trainee).strip()}")
    return exercise


def take_up(
    casebook: Casebook, catalogue: Catalogue, clock: Clock, drill: Drill, case_id: str,
    settings: CaseSettings, practice: Callable[[Exercise], VirtualBench] | None = None,
) -> Exercise:  # fmt: skip
    """Go on with an exercise."""
    found = resume_case(casebook, catalogue, case_id, clock, settings)
    return _exercise(found, casebook, catalogue, clock, settings, drill, practice)


def _exercise(
    found: Case, casebook: Casebook, catalogue: Catalogue, clock: Clock, settings: CaseSettings,
    drill: Drill, practice: Callable[[Exercise], VirtualBench] | None,
) -> Exercise:  # fmt: skip
    exercise = Exercise(casebook, catalogue, found.case_id, clock, settings, found.events)
    exercise.casebook = casebook
    exercise.drill = drill
    bench: Bench = SittingBench(drill)
    if practice is not None:
        exercise.practice = practice(exercise)
        bench = exercise.practice
    exercise.bench = bench
    return exercise


__all__ = [
    "ASKED",
    "HANDED_IN",
    "HINT",
    "JUDGED",
    "Exercise",
    "InterpretedReading",
    "SittingBench",
    "begin",
    "judged_in",
    "take_up",
    "trail_hash",
]  # fmt: skip
