"""What the ids of a decision tree are called: titles, limits on this car, cautions."""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from dataclasses import dataclass, field

from troubleshoot.case.cautioning import SIGNALS, cautions_of_repair, cautions_shown
from troubleshoot.knowledge.answers import System, band_in_words
from troubleshoot.knowledge.bands import bands_for
from troubleshoot.knowledge.car import Car
from troubleshoot.knowledge.catalogue import Catalogue
from troubleshoot.knowledge.limits import LimitRefused
from troubleshoot.knowledge.model import Check


@dataclass(frozen=True)
class ChartWords:
    """What a chart is called and how its ids are said; `notes` are lines below the title.

    `repairs` says the ids of repairs where they may also be ids of checks; `outcomes` says by check and outcome what
    is read or seen then; `cautions` gives by kind and id of a step its cautions, the worst first.
    `silent` says that a second fault may be there that nobody hears, so that the chance of nothing wrong after a repair
    is not the chance that the complaint is cured.
    """

    title: str
    concern: str
    words: Mapping[str, str]
    notes: tuple[str, ...] = ()
    repairs: Mapping[str, str] = field(default_factory=dict)
    outcomes: Mapping[tuple[str, str], str] = field(default_factory=dict)
    cautions: Mapping[tuple[str, str], tuple[str, ...]] = field(default_factory=dict)
    silent: bool = False

    def said(self, kind: str, name: str) -> str:
        """The words for the id of a check or a repair, or the id."""
        own = self.repairs.get(name) if kind == "repair" else None
        return own or self.words.get(name, name)

    def outcome(self, check: str, outcome: str) -> str:
        """An outcome of a check as it is told apart at the car: its id, and what is read or seen then."""
        found = self.outcomes.get((check, outcome))
        return f"{outcome} ({found})" if found else outcome


def tree_words(catalogue: Catalogue, car: Car, concern: str, system: System) -> ChartWords:
    """Return the words of a concern's tree for one car; KeyError for a concern that is not there."""
    tree = catalogue.concerns[concern]
    words = {name: check.ask for name, check in catalogue.checks.items()}
    repairs = {name: cause.title for name, cause in catalogue.causes.items()}
    outcomes = {
        (name, outcome): told
        for name, check in catalogue.checks.items()
        for outcome, told in outcomes_in_words(check, catalogue, car, system)
    }
    asked = {("check", name): check.cautions for name, check in catalogue.checks.items()}
    asked |= {("repair", name): list(cautions_of_repair(catalogue, name)) for name in catalogue.causes}
    shown = {step: cautions_shown(catalogue, cautions, car) for step, cautions in asked.items()}
    cautions = {
        step: tuple(f"{one.signal}: {one.title}" for one in sorted(found, key=lambda one: SIGNALS.index(one.signal)))
        for step, found in shown.items()
    }
    notes = (*([tree.stop] if tree.stop else []), f"Car: {car.title}.")
    return ChartWords(tree.title, tree.says, words, notes, repairs, outcomes, cautions, silent=True)


def outcomes_in_words(check: Check, catalogue: Catalogue, car: Car, system: System) -> Iterator[tuple[str, str]]:
    """Yield each outcome with its limits on this car, or with what is seen; a limit that rests on readings has none."""
    if not check.kind.measured:
        yield from check.named_outcomes
    try:
        bands = bands_for(check, car, None, catalogue.checks)
    except LimitRefused:
        return
    for band in bands:
        told = band_in_words(band, check, system)
        if told:
            yield band.outcome, told
