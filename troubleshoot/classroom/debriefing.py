"""What is told when a drill is over: what it was, what the readings told, a good path, your own."""

from __future__ import annotations

from collections.abc import Iterator
from contextlib import suppress

from troubleshoot.bench.fault_causes import same_cause
from troubleshoot.calculations.units import QuantityRefused, System, read_quantity
from troubleshoot.case.events import CheckSkipped, HintGiven, ReadingTaken, RepairMade, Retested
from troubleshoot.case.shares import asked
from troubleshoot.case.trail import RETEST_WORDS
from troubleshoot.classroom.key_file import Key
from troubleshoot.classroom.sitting import Sitting
from troubleshoot.classroom.trainee_trail import judged_in
from troubleshoot.knowledge.answers import InterpretedReading, show_reading
from troubleshoot.knowledge.catalogue import Catalogue
from troubleshoot.proof.walk import NOT_MEASURED

SAYS_NOTHING = 0.2
"""Nats; a reading that speaks less than this for or against the cause is not told."""


def trail_words(sitting: Sitting) -> tuple[str, ...]:
    """Return what was done, one line each, with how each reading was judged."""
    catalogue, said = sitting.case.catalogue, judged_in(sitting.case.events)
    lines = []
    for one in sitting.case.assessment.state.done:
        event = one.event
        if isinstance(event, ReadingTaken) and event.check in catalogue.checks:
            read = sitting.case.assessment.understood.get(one.index)
            shown = read.shown if read is not None else event.typed
            words = f" ({read.words})" if read is not None and read.value is not None else ""
            judged = _judged(sitting, event.check, read, said.get(event.check))
            lines.append(f"{asked(catalogue.checks[event.check].ask)} {shown}{words}{judged}")
        elif isinstance(event, CheckSkipped) and event.check in catalogue.checks:
            lines.append(f"{catalogue.checks[event.check].ask}: left out, {event.why}".rstrip(", "))
        elif isinstance(event, RepairMade) and event.cause in catalogue.causes:
            what = "Repair" if sitting.practice is not None else "Named"
            lines.append(f"{what}: {catalogue.causes[event.cause].title}")
        elif isinstance(event, HintGiven):
            lines.append(f"Asked for a hint: {event.hint}")
        elif isinstance(event, Retested):
            lines.append(f"Retest: {RETEST_WORDS[event.result]}")
    return tuple(lines)


def _judged(sitting: Sitting, check: str, read: InterpretedReading | None, said: str | None) -> str:
    """Return how a number was judged, where that is asked for."""
    if not sitting.drill.judge or read is None or read.value is None:
        return ""
    if said is None:
        return "; not judged"
    words = dict(sitting.case.catalogue.checks[check].named_outcomes)
    return "; judged right" if said == read.outcome else f"; judged: {words.get(said, said)}"


def told_by(sitting: Sitting, key: Key) -> tuple[str, ...]:
    """Return what each reading taken says for or against each cause that was set, the strongest first."""
    lines = []
    problem = sitting.case.assessment.problem
    known = {one.id for one in problem.causes} if problem is not None else set()
    for cause in key.causes:
        if cause not in known:
            continue
        title = sitting.case.catalogue.causes[cause].title
        for weight in sitting.case.reveal(cause):
            if abs(weight.log_odds) >= SAYS_NOTHING:
                why = f" {weight.why}" if weight.why else ""
                lines.append(f"{asked(weight.title)} {weight.read}. {title}: {weight.words}.{why}")
    return tuple(lines)


def against_named(sitting: Sitting, key: Key) -> tuple[str, ...]:
    """Return, for each cause named that was not there, what the readings taken said against it."""
    problem = sitting.case.assessment.problem
    known = {one.id for one in problem.causes} if problem is not None else set()
    lines = []
    for cause in sitting.named:
        if cause not in known or any(same_cause(key.engine, cause, true) for true in key.causes):
            continue
        title = sitting.case.catalogue.causes[cause].title
        against = [one for one in sitting.case.reveal(cause) if one.log_odds <= -SAYS_NOTHING]
        lines += [f"{title}: {asked(one.title)} {one.read}, {one.words}." for one in against]
        if not against:
            lines.append(f"{title}: nothing you read spoke against it; what would have was not looked at.")
    return tuple(lines)


POLICY_WORDS = {
    "the tool": "as the program goes",
    "two steps ahead": "looking two steps ahead",
    "authored order": "as the trees are written",
    "by what can be read": "by the readings that tell most",
}
"""The policies of the proof, as a person reads them."""


def best_title(key: Key) -> str:
    """Return the heading over the best path: its minutes, and whose it is."""
    words = POLICY_WORDS.get(key.best_policy, key.best_policy)
    return f"A good path ({key.best_minutes:.0f} minutes{f', {words}' if words else ''})"


def best_path(key: Key, catalogue: Catalogue, units: System = "us") -> tuple[str, ...]:
    """Return the best policy's steps in words, for a person of that system; what gave no reading is no part of it."""
    lines, repaired = [], False
    for step in key.best_trail:
        name, found, rest = step.partition(": ")
        if name.startswith("repair "):
            cause = name.removeprefix("repair ")
            title = catalogue.causes[cause].title if cause in catalogue.causes else cause
            lines.append(f"Repair: {title}: {rest}")
            repaired = True
        elif rest == NOT_MEASURED:
            continue
        elif found and name in catalogue.checks:
            told = _told(name, rest, key, catalogue)
            read = rest if repaired else _as_read(name, rest, key)
            lines.append(f"{asked(catalogue.checks[name].ask)} {_outcome(name, read, catalogue, units)}{told}")
        else:
            lines.append(step)
    return tuple(lines)


def _as_read(check: str, rest: str, key: Key) -> str:
    """Return a reading of a policy's trail, of before any repair, as the instrument of the drill shows it."""
    shown = key.drill.readings.get(check)
    _, outcome, end = rest.rpartition(" (")
    return f"{shown}{outcome}{end}" if shown is not None and outcome and shown != end.rstrip(")") else rest


def _told(check: str, rest: str, key: Key, catalogue: Catalogue) -> str:
    """Return why the fault gives this reading, or else what the check is looked at for."""
    known = catalogue.checks[check]
    why = [str(known.moved_by.get(cause, {}).get("why", "")).strip() for cause in key.causes]
    said = " ".join(dict.fromkeys(one for one in why if one))
    if not said or rest.endswith(f"({known.normal})"):
        said = known.why.strip()
    return f". {said}" if said else ""


def _outcome(check: str, rest: str, catalogue: Catalogue, units: System) -> str:
    """Return a reading of a policy's trail as a person of that system reads it, with its outcome in words."""
    known = catalogue.checks[check]
    read, _, outcome = rest.removesuffix(")").rpartition(" (")
    said = dict(known.named_outcomes).get(outcome)
    if said is None:
        return rest
    with suppress(QuantityRefused):
        read = show_reading(known, read_quantity(read, known.unit).value, None, units) if known.reading else said
    return said if read in (said, outcome) else f"{read} ({said})"


def debrief_lines(sitting: Sitting, key: Key) -> Iterator[str]:
    """Yield what is told at the end of practice, as headings and lines that begin with a dash."""
    catalogue = sitting.case.catalogue
    title = {name: catalogue.causes[name].title for name in key.causes if name in catalogue.causes}
    yield f"It was: {'; '.join(title.get(name, name) for name in key.causes)}."
    for name in key.causes:
        if name in catalogue.causes:
            yield f"- {catalogue.causes[name].happens.strip()}"
    told = told_by(sitting, key)
    yield "What your readings told:" if told else "You took no reading that tells for or against it."
    yield from (f"- {line}" for line in told)
    against = against_named(sitting, key)
    if against:
        yield (
            "What you repaired that was not it:" if sitting.practice is not None else "What you named that was not it:"
        )
        yield from (f"- {line}" for line in against)
    yield f"{best_title(key)}:"
    yield from (f"- {line}" for line in best_path(key, catalogue, sitting.case.settings.units))
    yield f"Your path ({sitting.case.assessment.minutes:.0f} minutes):"
    yield from (f"- {line}" for line in trail_words(sitting))
