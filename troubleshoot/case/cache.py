"""Works out what a case comes to, once after each event, and keeps the result until the next."""

from __future__ import annotations

from collections.abc import Mapping, Sequence

from troubleshoot.case.assessing import Assessment, Compile, assess, numbers_read
from troubleshoot.case.cautioning import cautions_due
from troubleshoot.case.events import Event, Opened
from troubleshoot.case.folding import fold
from troubleshoot.case.proposing import Proposal, propose, same_question
from troubleshoot.case.settings import CaseSettings
from troubleshoot.case.view import CaseView
from troubleshoot.case.viewing import view_of
from troubleshoot.casebook.learning import Learned, learned_rates, taught
from troubleshoot.knowledge.answers import ReadingContext, System
from troubleshoot.knowledge.car import Car
from troubleshoot.knowledge.catalogue import Catalogue
from troubleshoot.knowledge.compiling import compile_problem
from troubleshoot.reasoning.problem import Problem

MOST_TOLD = 3
"""So many causes that experience has changed are named; the rest is told as a number."""

HOUR = 3600.0
"""Seconds for which a view is kept while nothing happens: whether a caution is a day old is looked at again."""


class CaseCache:
    """Remembers the last problem, assessment and view, so that a key is answered quickly."""

    def __init__(
        self,
        catalogue: Catalogue,
        settings: CaseSettings,
        proved: Mapping[str, int],
        compile_for: Compile | None = None,
        left_out: Mapping[str, str] | None = None,
    ) -> None:
        self._catalogue, self._settings, self._proved = catalogue, settings, dict(proved)
        self._compile_for, self._left_out = compile_for or self._compile, left_out
        self._problem: tuple[Car, tuple[str, ...], Problem] | None = None
        self._assessed: tuple[int, Assessment] | None = None
        self._proposed: tuple[Assessment, Proposal] | None = None
        self._viewed: tuple[tuple[int, float], CaseView] | None = None

    def forget(self) -> None:
        """Forget what was worked out: events that were counted are not there after all."""
        self._assessed = self._proposed = self._viewed = None

    def assessment(self, events: Sequence[Event]) -> Assessment:
        """Return what these events come to."""
        if self._assessed is None or self._assessed[0] != len(events):
            before = self._assessed[1] if self._assessed else None
            units = self._settings.units
            found = assess(fold(events), self._catalogue, self._compile_for, units, before, self._left_out)
            self._assessed = (len(events), found)
        return self._assessed[1]

    def view(self, case_id: str, events: Sequence[Event], now: float | None = None) -> CaseView:
        """Return what is shown after these events, at a time; by default that of the last of them."""
        now = max((event.at for event in events), default=0.0) if now is None else now
        made_for = (len(events), now // HOUR)
        if self._viewed is None or self._viewed[0] != made_for:
            seen = self.assessment(events)
            context = reading_context(seen, self._catalogue, self._settings.units)
            proposal, extra = self.proposal(events), self._learning_notice(seen)
            self._viewed = (made_for, view_of(case_id, seen, proposal, self._catalogue, context, extra, now))
        return self._viewed[1]

    def proposal(self, events: Sequence[Event]) -> Proposal:
        """Return what is proposed after these events; an acknowledged caution does not change it."""
        seen = self.assessment(events)
        if self._proposed is None or not same_question(self._proposed[0], seen):
            self._proposed = (seen, propose(seen, self._catalogue))
        return self._proposed[1]

    def state_next(self, events: Sequence[Event], now: float) -> str:
        """Return what the engine does at the step that the cautions due now stand before."""
        due = cautions_due(self.assessment(events), self._catalogue, self.proposal(events), now)
        return due.state if due is not None else "key off"

    def headline(self, events: Sequence[Event]) -> tuple[str, str, tuple[str, ...]]:
        """Return the state of the case, its line in the list, and the causes it teaches: none of the bench."""
        seen = self.assessment(events)
        concerns = [
            self._catalogue.concerns[one].title for one in seen.state.concerns if one in self._catalogue.concerns
        ]
        words = " · ".join([seen.car.title, *concerns])
        closed = seen.state.closed
        if closed is None:
            return "open", words, ()
        proved = closed.causes if closed.result == "proved" else ()
        titles = [self._catalogue.causes[one].title for one in proved if one in self._catalogue.causes]
        invented = isinstance(events[0], Opened) and events[0].drill
        return closed.result, " · ".join([words, *titles]), () if invented else proved

    def _compile(self, car: Car, concerns: tuple[str, ...]) -> Problem:
        if self._problem is None or self._problem[:2] != (car, concerns):
            learned = learned_rates(self._rates(), self._proved) if self._proved else None
            made = compile_problem(
                self._catalogue, car, concerns, None, learned, self._settings.money_per_minute,
                taken=self._catalogue.checks,
            )  # fmt: skip
            self._problem = (car, concerns, made)
        return self._problem[2]

    def _rates(self) -> dict[str, float]:
        return {name: cause.rate for name, cause in self._catalogue.causes.items()}

    def _learning_notice(self, seen: Assessment) -> tuple[str, ...]:
        """Say what experience has changed of the causes that this car can have."""
        cases = sum(self._proved.values())
        if not cases or seen.problem is None:
            return ()
        what = "one proved cause" if cases == 1 else f"{cases} proved causes"
        changed = [one for one in taught(self._rates(), self._proved) if one.cause in seen.problem.cause_named]
        told = "; ".join(self._learned_words(one) for one in changed[:MOST_TOLD])
        return (f"Experience: {what} in your closed cases{f'. {told}' if told else ''}. --no-learning leaves it out.",)

    def _learned_words(self, one: Learned) -> str:
        before, after = (f"{100.0 * rate:.2g}" for rate in (one.before, one.after))
        return f"{self._catalogue.causes[one.cause].title}: met in {after} of 100 cars, without them {before}"


def reading_context(seen: Assessment, catalogue: Catalogue, system: System) -> ReadingContext:
    """Return what a new reading would be judged in."""
    return ReadingContext(seen.car, numbers_read(seen.state, catalogue), catalogue.checks, system)
