"""A hand-in step by step: what was done, and after each reading what was to be believed of what is wrong."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass

from troubleshoot.bench.fault_causes import same_cause
from troubleshoot.case.events import CheckSkipped, HintGiven, Judged, Note, RankingAsked, ReadingTaken, RepairMade
from troubleshoot.case.shares import percent
from troubleshoot.classroom.key_file import Key
from troubleshoot.classroom.replaying import Replayed
from troubleshoot.classroom.yardstick import yardstick_of
from troubleshoot.knowledge.catalogue import Catalogue


@dataclass(frozen=True)
class Step:
    """One step of a hand-in; `belief` is that in what is wrong after it, `leads` the likeliest cause then."""

    minute: float
    """By the clock, since the sitting began."""
    words: str
    belief: float
    leads: str
    lead: float


def steps(replayed: Replayed, key: Key, catalogue: Catalogue) -> Iterator[Step]:
    """Yield the steps of a hand-in in their order."""
    yardstick = yardstick_of(key, catalogue)
    latest = replayed.sitting.case.assessment.latest
    checks: list[str] = []
    begun = replayed.events[0].at
    for event in replayed.events:
        match event:
            case ReadingTaken(check=check, typed=typed):
                checks.append(check)
                read = latest.get(check)
                where = f" ({read.words})" if read is not None and read.value is not None else ""
                shown = read.words if read is not None and read.value is None else typed
                words = f"{_ask(catalogue, check)}: {shown}{where}"
            case Judged(check=check, outcome=outcome):
                said = dict(catalogue.checks[check].named_outcomes).get(outcome, outcome)
                read = latest.get(check)
                right = read is not None and read.outcome == outcome
                words = f"judged: {said}{'' if right else ' (it is not)'}"
            case RepairMade(cause=cause):
                right = any(same_cause(key.engine, cause, one) for one in key.causes)
                words = f"named: {catalogue.causes[cause].title}{'' if right else ' (not it)'}"
            case CheckSkipped(check=check):
                words = f"left out: {_ask(catalogue, check)}"
            case HintGiven(hint=hint):
                words = f"hint: {hint}"
            case RankingAsked():
                words = "looked at the ranking"
            case Note(text=text):
                words = f"note: {text}"
            case _:
                continue
        told = yardstick.told_by(checks)
        belief = min(yardstick.probability(told, one) for one in key.causes)
        leads, lead = max(told.probability.items(), key=lambda one: one[1])
        title = catalogue.causes[leads].title if leads in catalogue.causes else leads
        yield Step((event.at - begun) / 60.0, words, belief, title, lead)


def _ask(catalogue: Catalogue, check: str) -> str:
    return catalogue.checks[check].ask if check in catalogue.checks else check


def step_lines(replayed: Replayed, key: Key, catalogue: Catalogue) -> Iterator[str]:
    """Yield the steps as lines: number, minute by the clock, belief in what is wrong, what was done, what leads."""
    for number, one in enumerate(steps(replayed, key, catalogue), start=1):
        head = f"{number:>3}. {one.minute:>4.0f} min  {percent(one.belief):>5}"
        yield f"{head}  {one.words}; likeliest: {one.leads} {percent(one.lead)}"
