"""One open case: everything a face may ask of it or do to it."""

from __future__ import annotations

from collections.abc import Callable, Iterator, Mapping, Sequence
from contextlib import contextmanager
from typing import Protocol

import msgspec
from msgspec import UNSET

from troubleshoot import __version__
from troubleshoot.case import answering, explaining
from troubleshoot.case.assessing import Assessment, Compile
from troubleshoot.case.cache import CaseCache
from troubleshoot.case.cautioning import RUNNING, cautions_due
from troubleshoot.case.errors import NotNow
from troubleshoot.case.events import (
    Attached,
    CarSet,
    CautionAcknowledged,
    CheckChosen,
    CheckSkipped,
    ConcernsSet,
    Event,
    Fitted,
    FuelSmelt,
    HintGiven,
    LeakRepaired,
    Note,
    Opened,
    RankingAsked,
    ReadingCorrected,
    RecordingKept,
    RecordingSource,
    RepairMade,
    Retested,
    Seated,
    ToolsSet,
    Undone,
)
from troubleshoot.case.folding import last_to_undo
from troubleshoot.case.kept_events import decode, decode_all, encode
from troubleshoot.case.proposing import Proposal
from troubleshoot.case.rules import AtACar, Rules
from troubleshoot.case.settings import CaseSettings
from troubleshoot.case.stores import Memory, Store
from troubleshoot.case.view import CaseView, CautionShown, OtherCheck, WeightShown
from troubleshoot.casebook.refusing import CasebookDamaged
from troubleshoot.casebook.store import Casebook
from troubleshoot.knowledge.answers import InterpretedReading
from troubleshoot.knowledge.car import Car
from troubleshoot.knowledge.catalogue import Catalogue

Clock = Callable[[], float]
"""Gives the time in seconds since 1970 (UTC)."""


USUAL = CaseSettings()


class Bench(Protocol):
    """Something that answers checks in place of a person: a virtual engine, or readings from a file."""

    def read(self, check_id: str) -> str | None:
        """Return what would be typed for a check; None when it cannot be measured."""


class Case:
    """One open case; every change is in its store before it is here."""

    def __init__(
        self,
        store: Store,
        catalogue: Catalogue,
        case_id: str,
        clock: Clock,
        settings: CaseSettings,
        events: Sequence[Event],
        *,
        rules: Rules | None = None,
        bench: Bench | None = None,
        proved: Mapping[str, int] | None = None,
        compile_for: Compile | None = None,
        left_out: Mapping[str, str] | None = None,
    ) -> None:
        """Take up a case with the events it has; `open_case` and `resume_case` are the ways in with a casebook.

        `proved` are causes that other cases proved. Those who drive many cases hand over what makes their problems,
        and the checks that cannot be had in them, with why.
        """
        self.store, self.catalogue, self.case_id = store, catalogue, case_id
        self.settings, self.rules, self.bench = settings, rules or AtACar(), bench
        self._clock = clock
        self._line: tuple[str, str, tuple[str, ...]] | None = None
        self._events: list[Event] = list(events)
        self._taught = dict(proved or {}) if settings.learn else {}
        self._cache = CaseCache(catalogue, settings, self._taught, compile_for, left_out)

    @property
    def events(self) -> tuple[Event, ...]:
        """Every event of the case in order, those taken back too."""
        return tuple(self._events)

    @property
    def assessment(self) -> Assessment:
        """What the case comes to now."""
        return self._cache.assessment(self._events)

    def now(self) -> float:
        """Return the time by the clock of the case, in seconds since 1970 (UTC)."""
        return self._clock()

    def view(self) -> CaseView:
        """Return everything a face shows."""
        return self.rules.shown(self._cache.view(self.case_id, self._events, self._clock()), self._events)

    def view_after(self, count: int) -> CaseView:
        """Return the case as it stood after its first `count` events, for a report or a replay."""
        return CaseCache(self.catalogue, self.settings, self._taught).view(self.case_id, self._events[:count])

    def start_with(
        self, car: Car, concerns: Sequence[str], tools: Sequence[str] | None = None, customer: str = ""
    ) -> None:
        """Set car, concerns and tools in one go."""
        answering.refuse_unknown_concerns(self.catalogue, concerns)
        answering.refuse_unknown_tools(self.catalogue, tools)
        self._happen(CarSet(car=msgspec.to_builtins(car)), headline=False)
        self._happen(ConcernsSet(concerns=tuple(concerns), customer=answering.clean(customer)), headline=False)
        self._happen(ToolsSet(tools=None if tools is None else tuple(tools)))

    def set_car(self, car: Car) -> None:
        """Enter or change the car."""
        self._happen(CarSet(car=msgspec.to_builtins(car)))

    def set_concerns(self, ids: Sequence[str], customer: str = "") -> None:
        """Enter or change what the customer says."""
        answering.refuse_unknown_concerns(self.catalogue, ids)
        self._happen(ConcernsSet(concerns=tuple(ids), customer=answering.clean(customer)))

    def set_tools(self, ids: Sequence[str] | None) -> None:
        """Enter or change the tools at hand; None means all."""
        answering.refuse_unknown_tools(self.catalogue, ids)
        self._happen(ToolsSet(tools=None if ids is None else tuple(ids)))

    def acknowledge(self, caution_id: str) -> None:
        """Note that a caution was read."""
        state = self._cache.state_next(self._events, self._clock())
        self._happen(CautionAcknowledged(caution=answering.clean(caution_id), running=state in RUNNING, state=state))

    def cautions_before(self, check_id: str) -> tuple[CautionShown, ...]:
        """Return the cautions that are to be read before a check is made now, the worst first."""
        due = cautions_due(self.assessment, self.catalogue, Proposal("check", check_id), self._clock())
        return () if due is None else due.cautions

    def understand(self, check_id: str, text: str) -> InterpretedReading:
        """Return what a typed answer says, storing nothing; ReadingRefused when it says nothing usable."""
        return answering.understand(self.assessment, self.catalogue, self.settings.units, check_id, text, sure=True)

    def take(self, check_id: str, text: str, sure: bool = False) -> None:
        """Take an answer: "38 psi", an outcome, or a choice's number; ReadingImplausible unless `sure`."""
        self._happen(answering.reading(self.assessment, self.catalogue, self.settings.units, check_id, text, sure))

    def take_from(self, check_id: str, text: str, source: RecordingSource) -> None:
        """Take an answer that was read from a recording."""
        made = answering.reading(self.assessment, self.catalogue, self.settings.units, check_id, text, sure=True)
        self._happen(msgspec.structs.replace(made, source=source))

    def keep_recording(self, kept: RecordingKept) -> None:
        """Keep what a recording was, beside the readings taken from it."""
        self._happen(kept)

    def skip(self, check_id: str, why: str = "") -> None:
        """Note that a check cannot or will not be done."""
        answering.known_check(self.catalogue, check_id)
        self._happen(CheckSkipped(check=check_id, why=answering.clean(why)))

    def choose(self, check_id: str) -> None:
        """Take up another check than the one proposed."""
        answering.known_check(self.catalogue, check_id)
        self._happen(CheckChosen(check=check_id))

    def undo(self) -> str:
        """Take the last thing back and return what it was, in words."""
        last = last_to_undo(self._events)
        if last is None:
            raise NotNow("There is nothing to take back.", "Change the car, concerns or tools instead.")
        self._happen(Undone())
        return answering.in_words(last, self.catalogue)

    def correct(self, index: int, text: str, sure: bool = False) -> None:
        """Put another answer (or "skipped") in the place of an earlier one, by its place in the event list."""
        made = answering.corrected(self.assessment, self.catalogue, self.settings.units, index, text, sure)
        self._happen(ReadingCorrected(index=index, reading=made))

    def repair(
        self, cause_id: str, minutes: float | None = None, parts: float | None = None, fitted: Fitted | None = None
    ) -> None:
        """Note that a cause was repaired; minutes and parts money as usual unless given."""
        known = answering.known_cause(self.catalogue, cause_id).repair
        spent = answering.amount(minutes, known.minutes, "minutes")
        money = answering.amount(parts, known.parts, "parts")
        said = UNSET if fitted is None else answering.cleaned(fitted)
        self._happen(RepairMade(cause=cause_id, minutes=spent, parts=money, fitted=said))

    def retest(self, result: str) -> None:
        """Note what the retest showed: gone, partly or still."""
        self._happen(Retested(result=answering.retest_result(result)))

    def smell_fuel(self) -> None:
        """Note that fuel was smelt or seen: everything else waits."""
        self._happen(FuelSmelt())

    def leak_repaired(self) -> None:
        """Note that the leak was repaired and looked at again under pressure."""
        self._happen(LeakRepaired())

    def note(self, text: str) -> None:
        """Keep free words."""
        self._happen(Note(text=answering.clean(text)))

    def attach(self, file: Attached) -> None:
        """Keep where a photograph or another file lies, with its hash."""
        self._happen(file)

    def seat(self, trainee: str, attempt: int = 1) -> None:
        """Note who sits down to a drill or to practice, and for which time."""
        self._happen(Seated(trainee=answering.clean(trainee).strip(), attempt=attempt))

    def judge(self, check_id: str, outcome: str) -> None:
        """Note how the person at a drill judges a reading just taken: the outcome of the check it lies in."""
        self._happen(answering.judged(answering.known_check(self.catalogue, check_id), check_id, outcome))

    def give_hint(self, hint: str) -> None:
        """Note that the trainer's next hint was told."""
        self._happen(HintGiven(hint=hint))

    def ask_ranking(self) -> None:
        """Ask to see what is likely; NotNow where the drill does not give it."""
        self._happen(RankingAsked())

    def again(self, event: Event) -> None:
        """Let an event happen that happened before, elsewhere or in a file; the rules hold for it as for any."""
        self._happen(event)

    def close(self, result: str, causes: Sequence[str] = ()) -> None:
        """End the case: proved, referred or left; a proved case names the causes last repaired unless given."""
        self._happen(answering.closed(self.assessment, result, causes))

    @contextmanager
    def all_or_nothing(self) -> Iterator[None]:
        """Let what happens inside the block stand together, or not at all where something in it fails."""
        before, line = len(self._events), self._line
        try:
            with self.store.all_or_nothing():
                yield
        except BaseException:
            del self._events[before:]
            self._line = line
            self._cache.forget()
            raise

    def why(self, cause_id: str) -> tuple[WeightShown, ...]:
        """Return how each reading speaks for or against a cause; NotNow where that is not to be seen."""
        if not self._tells():
            raise NotNow("The ranking is hidden here.", "Judge the readings yourself.")
        return self.reveal(cause_id)

    def reveal(self, cause_id: str) -> tuple[WeightShown, ...]:
        """Return the same where the answer may be told: to the marker, or when practice is over."""
        return explaining.why(self.assessment, self.catalogue, cause_id)

    def other_checks(self, appraised: bool = True) -> tuple[OtherCheck, ...]:
        """Return the checks not yet done: by worth, or by their words at once, or where the ranking is hidden."""
        appraised = appraised and self.rules.shows_ranking(self._events)
        return explaining.other_checks(self.assessment, self.catalogue, appraised)

    def would_change(self, check_id: str) -> tuple[tuple[str, str, float], ...]:
        """Return the outcomes that would put another cause first: words, that cause, the probability."""
        if not self.rules.shows_ranking(self._events):
            return ()
        return explaining.would_change(self.assessment, self.catalogue, check_id)

    def _tells(self) -> bool:
        return self.rules.shows_ranking(self._events) or self.assessment.state.closed is not None

    def _happen(self, event: Event, headline: bool = True) -> None:
        """Write what happens, if the rules allow it, then let it count."""
        event = msgspec.structs.replace(event, at=self._clock())
        for one in self.rules.written(event, self._events, self.assessment):
            made = one if one.at else msgspec.structs.replace(one, at=self._clock())
            self.store.append(self.case_id, encode(made), made.at, expected=len(self._events))
            self._events.append(made)
        if headline:
            self.settle()

    def settle(self) -> None:
        """Write the case's line in the list of cases afresh."""
        if isinstance(self.store, Memory):
            return
        line = self._cache.headline(self._events)
        if line != self._line:
            state, words, proved = line
            self.store.set_headline(self.case_id, words, state, proved)
            self._line = line


def open_case(
    casebook: Casebook,
    catalogue: Catalogue,
    clock: Clock,
    settings: CaseSettings = USUAL,
    bench: Bench | None = None,
    drill: str = "",
    proved: Mapping[str, int] | None = None,
    rules: Rules | None = None,
    left_out: Mapping[str, str] | None = None,
) -> Case:
    """Begin a new case in the casebook; `proved` are causes that closed cases elsewhere proved."""
    at = clock()
    opened = Opened(at=at, trees=catalogue.version, program=__version__, drill=drill)
    with casebook.all_or_nothing():
        case_id = casebook.new_case(at)
        casebook.append(case_id, encode(opened), at, expected=0)
    taught = casebook.proved(leave_out=case_id) if proved is None else proved
    return Case(
        casebook, catalogue, case_id, clock, settings, [opened],
        rules=rules, bench=bench, proved=taught, left_out=left_out,
    )  # fmt: skip


def resume_case(
    casebook: Casebook,
    catalogue: Catalogue,
    case_id: str,
    clock: Clock,
    settings: CaseSettings = USUAL,
    bench: Bench | None = None,
    proved: Mapping[str, int] | None = None,
    rules: Rules | None = None,
    left_out: Mapping[str, str] | None = None,
) -> Case:
    """Take up a case again by replaying its events."""
    taught = casebook.proved(leave_out=case_id) if proved is None else proved
    events = _events(casebook, case_id)
    return Case(
        casebook, catalogue, case_id, clock, settings, events,
        rules=rules, bench=bench, proved=taught, left_out=left_out,
    )  # fmt: skip


def case_in_memory(
    catalogue: Catalogue,
    car: Car,
    concerns: Sequence[str],
    settings: CaseSettings = USUAL,
    *,
    compile_for: Compile | None = None,
    left_out: Mapping[str, str] | None = None,
    rules: Rules | None = None,
    bench: Bench | None = None,
) -> Case:
    """Begin a case that nobody keeps, without a clock; see `Case` for what may be handed over."""
    case = Case(
        Memory(), catalogue, "", lambda: 0.0, settings, [Opened(trees=catalogue.version, program=__version__)],
        rules=rules, bench=bench, compile_for=compile_for, left_out=left_out,
    )  # fmt: skip
    case.start_with(car, concerns)
    return case


def _events(casebook: Casebook, case_id: str) -> list[Event]:
    payloads = casebook.events(case_id)
    try:
        return decode_all(payloads)
    except (msgspec.MsgspecError, UnicodeError) as problem:
        place = next(place for place in range(len(payloads)) if not _readable(payloads[place]))
        raise CasebookDamaged(
            f"Event {place + 1} of case {case_id} cannot be read: {problem}.",
            "It may be from a later version of the program; use that one. The case was left as it is.",
        ) from problem


def _readable(payload: bytes) -> bool:
    try:
        decode(payload)
    except (msgspec.MsgspecError, UnicodeError):
        return False
    return True
