"""A tree as sheets that stand alone at the car: data and limits of this car, steps with how-to and drawing, repairs.

Unlike in the chart of a policy, every written step stands here once, under its number, whatever its odds.
"""

from __future__ import annotations

from collections.abc import Iterable, Iterator
from dataclasses import dataclass
from typing import NamedTuple

from troubleshoot.calculations.units import convert, display_unit, show_number, with_unit
from troubleshoot.case.cautioning import SIGNALS, cautions_of_repair, cautions_shown
from troubleshoot.case.view import CautionShown
from troubleshoot.knowledge.answers import System, limits_in_words
from troubleshoot.knowledge.bands import bands_for
from troubleshoot.knowledge.car import Car, car_unit, car_value
from troubleshoot.knowledge.catalogue import Catalogue
from troubleshoot.knowledge.compiling import checks_for, fits, how_often
from troubleshoot.knowledge.degrees import variants_of
from troubleshoot.knowledge.limits import LimitRefused
from troubleshoot.knowledge.model import Cause, Check, Step
from troubleshoot.reports.chart_words import outcomes_in_words

PRELIMINARY = ("preliminary-look", "changed-last")
"""Checks that are looked through before the first step; where the key stays off, a tree's own first step is."""
NAMED_THEN = 3
"""Causes named after an outcome that no step follows."""
SPEAKS = 2.0
"""A cause is named after an outcome that comes so many times as often with it as without."""
LEAST_MOVE = 0.4
"""A check that another cause's proof stands in for must be moved by at least this share."""
CLEAR = 0.6
"""An item of an inspection names one repair where its cause has this share of what an outcome speaks for."""
USUAL = 0.1
"""Seen as often as this on sound cars, an outcome that nothing speaks for is as good as normal."""
LEFT = 12
"""Causes named where every step was normal."""
NOT_CLEARED = (
    "None of these: NOT CLEARED. Nobody starts it; it is towed to someone equipped to test it under pressure, with "
    "these sheets filled in."
)
SYMBOLS = (
    "R red lead, B black lead; [ V ] [ A ] [ ohm ] a meter and what it is set to; (P) (vac) a gauge; (A) a clamp round "
    "one wire; o where to touch or look; --- a wire or a fuel line; ~~~ a soft hose; >pinch< pinched shut"
)
"""What the drawings are made of; `trees/README.md` says the same to those who draw."""

DATA = {
    "displacement": "Displacement", "rated-pressure": "Fuel pressure set",
    "idle-speed": "Idle speed, hot", "idle-mixture": "Idle mixture asked for",
    "base-timing": "Base timing", "mechanical-advance": "Mechanical advance, all in", "dwell": "Dwell",
    "plug-gap": "Plug gap", "coil-resistance": "Coil primary", "injector-resistance": "Injector",
    "injector-flow": "Injector, rated flow", "pump-flow": "Pump, rated flow", "pump-current": "Pump current",
    "suction-line": "Line, tank to pump", "sensor-distance": "Oxygen sensor, past where the pipes meet",
    "feedback-from": "Feedback begins", "thermostat": "Thermostat", "alternator": "Alternator, rated",
    "compression": "Cranking compression", "speed-limit": "Speed limit set",
}  # fmt: skip
"""Facts of a car that stand in its specification box beside the limits worked out from them."""
ONLY_ON = {"dwell": ("ignition", "points"), "suction-line": ("pump", "in line")}
"""Facts that only some cars have: the field and what it must be."""


class Way(NamedTuple):
    """What may be found at a step, and where it leads."""

    found: str
    goes: str


@dataclass(frozen=True)
class CheckSheet:
    """One step: a check, how it is made, and where each outcome leads; `like` is the step that tells how."""

    number: int
    ask: str
    term: str
    takes: str
    first: str
    do: tuple[str, ...]
    drawing: str
    like: int
    ways: tuple[Way, ...]
    cautions: str


@dataclass(frozen=True)
class RepairSheet:
    """One repair: what confirms it, the work, and the retest."""

    number: int
    title: str
    term: str
    takes: str
    confirm: str
    do: tuple[str, ...]
    retest: str
    cautions: str


@dataclass(frozen=True)
class ChartSheets:
    """A tree for one car. `normal` are lines for the case that every step was normal; cautions are numbered from 1."""

    title: str
    says: str
    meaning: str
    stop: str
    car: str
    specification: tuple[tuple[str, str], ...]
    preliminary: tuple[str, ...]
    checks: tuple[CheckSheet, ...]
    repairs: tuple[RepairSheet, ...]
    normal: tuple[str, ...]
    cautions: tuple[CautionShown, ...]


def chart_sheets(catalogue: Catalogue, car: Car, concern: str, system: System) -> ChartSheets:
    """Return a concern's tree as sheets for one car; KeyError for a concern that is not there."""
    return _Sheets(catalogue, car, concern, system).made()


class _Sheets:
    """Numbers the steps that this car can come to, and says each of them."""

    def __init__(self, catalogue: Catalogue, car: Car, concern: str, system: System) -> None:
        self.catalogue, self.car, self.system = catalogue, car, system
        self.tree = catalogue.concerns[concern]
        self.possible = checks_for(catalogue, car, [concern])
        self.signatures = catalogue.signatures
        heard = self.tree.shows if self.tree.stops else catalogue.causes
        self.causes = {name: one for name, one in catalogue.causes.items() if name in heard and fits(car, one.for_)}
        self.inspection = self.tree.kind == "inspection"
        self.steps = dict(self._items()) if self.inspection else self.tree.steps
        met = self._met()
        steps = [name for name in self.steps if name in met]
        self.checks = [name for name in steps if self.steps[name].check]
        self.repairs = list(dict.fromkeys(str(self.steps[one].repair) for one in steps if one not in self.checks))
        self.number = {name: at + 1 for at, name in enumerate(self.checks)}
        self.repaired = {cause: len(self.checks) + at + 1 for at, cause in enumerate(self.repairs)}
        shown = cautions_shown(catalogue, self._caution_ids(), car)
        self.cautions = tuple(sorted(shown, key=lambda one: SIGNALS.index(one.signal)))

    def made(self) -> ChartSheets:
        """All of it."""
        tree = self.tree
        return ChartSheets(
            tree.title,
            tree.says,
            tree.meaning,
            tree.stop,
            self.car.title,
            tuple(self._specification()),
            tuple(self._preliminary()),
            tuple(self._check_sheet(name) for name in self.checks),
            tuple(self._repair_sheet(cause) for cause in self.repairs),
            tuple(self._normal()),
            self.cautions,
        )

    def _items(self) -> Iterator[tuple[str, Step]]:
        """The items of an inspection as steps: each goes on to the next, or to the repair that an outcome asks for."""
        items = [name for name in self.tree.items if name in self.possible]
        found = set[str]()
        for at, name in enumerate(items):
            check = self.possible[name]
            after = {check.normal or "": f"item {at + 2}"} if at + 1 < len(items) else {}
            for outcome in check.outcomes:
                likely = self._likely(name, outcome) if outcome != check.normal else {}
                first = next(iter(likely), "")
                if first and likely[first] >= CLEAR * sum(likely.values()):
                    after[outcome] = first
                    found.add(first)
            yield f"item {at + 1}", Step(check=name, next=after)
        yield from ((cause, Step(repair=cause)) for cause in sorted(found, key=list(self.causes).index))

    def _resolved(self, name: str | None) -> str | None:
        """The step itself, or where a step that this car cannot have passes on to; None past the end."""
        passed = set[str]()
        while name is not None and name in self.steps and name not in passed:
            step = self.steps[name]
            if step.check in self.possible or step.repair in self.causes:
                return name
            passed.add(name)
            name = step.next.get(self.catalogue.checks[step.check].normal or "") if step.check else None
        return None

    def _met(self) -> set[str]:
        met, waiting = set[str](), [next(iter(self.steps), None)]
        while waiting:
            name = self._resolved(waiting.pop())
            if name is not None and name not in met:
                met.add(name)
                waiting += self.steps[name].next.values()
        return met

    def _check_of(self, name: str) -> Check:
        return self.catalogue.checks[str(self.steps[name].check)]

    def _caution_ids(self) -> Iterator[str]:
        for name in self.checks:
            yield from self._check_of(name).cautions
        for cause in self.repairs:
            yield from cautions_of_repair(self.catalogue, cause)

    def _numbered(self, cautions: Iterable[str]) -> str:
        """Return the worst signal word and the numbers of some cautions, as `DANGER 1 4`; empty for none."""
        mine = set(cautions)
        met = [(at + 1, one.signal) for at, one in enumerate(self.cautions) if one.id in mine]
        return f"{met[0][1]} {' '.join(str(number) for number, _ in met)}" if met else ""

    def _specification(self) -> Iterator[tuple[str, str]]:
        yield "Engine", f"{self.car.cylinders} cylinders; ignition {self.car.ignition}; fuel {self.car.fuel}"
        for name, said in DATA.items():
            unit = car_unit(name)
            field, kind = ONLY_ON.get(name, ("", ""))
            if unit and (not field or car_value(self.car, field) == kind):
                to = display_unit(unit, self.system)
                yield said, with_unit(show_number(convert(car_value(self.car, name), unit, to), 3), to)
        for check in dict.fromkeys(str(self.steps[name].check) for name in self.checks):
            limits = self._limits(check)
            if limits:
                yield self.catalogue.checks[check].ask, limits

    def _limits(self, check: str) -> str:
        known = self.catalogue.checks[check]
        try:
            return limits_in_words(bands_for(known, self.car, None, self.catalogue.checks), known, self.system)
        except LimitRefused:
            return ""

    def _preliminary(self) -> Iterator[str]:
        for name in PRELIMINARY[:1] if self.inspection else PRELIMINARY:
            known = self.catalogue.checks.get(name)
            if self.tree.stops and name == PRELIMINARY[0]:
                known = self._check_of(self.checks[0]) if self.checks else None
                name = str(self.steps[self.checks[0]].check) if self.checks else name
            at = next((self.number[one] for one in self.checks if self.steps[one].check == name), 0)
            if known is not None:
                yield f"{known.ask}{f' (step {at})' if at else ''}"
                yield from () if at else known.do

    def _check_sheet(self, name: str) -> CheckSheet:
        step, check = self.steps[name], self._check_of(name)
        like = next(self.number[one] for one in self.checks if self.steps[one].check == step.check)
        own = like == self.number[name]
        setup = self.catalogue.setups.get(check.setup or "")
        told = dict(outcomes_in_words(check, self.catalogue, self.car, self.system))
        takes = f"{check.minutes:.3g} min; {check.state}"
        return CheckSheet(
            self.number[name],
            check.ask,
            check.term if own else "",
            takes,
            setup.words if setup and own else "",
            tuple(check.do) if own else (),
            check.drawing.rstrip() if own else "",
            0 if own else like,
            tuple(Way(_found(check, one, told), self._goes(name, one)) for one in check.outcomes),
            self._numbered(check.cautions),
        )

    def _goes(self, name: str, outcome: str) -> str:
        step, check = self.steps[name], self._check_of(name)
        then = self._resolved(step.next.get(outcome))
        if then in self.number:
            return f"go to {self.number[then]}"
        if then is not None:
            cause = str(self.steps[then].repair)
            return f"REPAIR {self.repaired[cause]}: {self.causes[cause].title}"
        if outcome == check.normal:
            return "see “Every step normal”"
        likely = self._likely(str(step.check), outcome)
        if not likely and self.signatures.usual(str(step.check))[check.outcomes.index(outcome)] > USUAL:
            return "go on as if normal"
        if self.inspection:
            said = ", or ".join(self.causes[cause].title for cause in likely)
            return f"put it right ({said}), then go on" if said else "put it right, then go on"
        said = "; ".join(self._pointed(cause) for cause in likely)
        return f"likeliest: {said}; else go on as if normal" if said else "take it again, then go on as if normal"

    def _pointed(self, cause: str) -> str:
        """A cause as a place to go: its repair, or the check that confirms it."""
        title = self.causes[cause].title
        return f"{title} ({self.repaired[cause]})" if cause in self.repaired else f"{title} ({self._confirm(cause)})"

    def _confirm(self, cause: str) -> str:
        """The check that proves a cause, or where it cannot be made yet the one that it moves most."""
        proof, not_yet = self.causes[cause].proof.check, ""
        here = [name for name in self.tree.items if name in self.possible] or list(self.possible)
        check = proof if proof in here else max(here, key=lambda one: self._moves(one, cause))
        if proof and check != proof and self._moves(check, cause) < LEAST_MOVE:
            check, not_yet = proof, "only once it runs again: "
        limits = self._limits(check)
        return f"{not_yet}{self.catalogue.checks[check].ask}{f', normal {limits}' if limits else ''}"

    def _moves(self, check: str, cause: str) -> float:
        """How much more often than usual some outcome of a check comes with a cause that is clear."""
        if cause not in self.possible[check].moved_by:
            return 0.0
        pairs = zip(self.signatures.of(check, cause), self.signatures.usual(check), strict=True)
        return max(often - usual for often, usual in pairs)

    def _likely(self, check: str, outcome: str) -> dict[str, float]:
        """What an outcome speaks for, the likeliest first, with a weight."""
        at = self.catalogue.checks[check].outcomes.index(outcome)
        usual, moved = self.signatures.usual(check)[at], self.signatures.moved(check, self.car)
        found = {}
        for cause, known in self.causes.items():
            variants = variants_of(known)
            each = zip(variants, moved.get(cause, (None,) * len(variants)), strict=True)
            often = sum(one.weight * (usual if shares is None else shares[at]) for one, shares in each)
            if often > SPEAKS * usual:
                found[cause] = often * self._usual_share(cause, known)
        return dict(sorted(found.items(), key=lambda one: -one[1])[:NAMED_THEN])

    def _usual_share(self, cause: str, known: Cause) -> float:
        return known.rate * how_often(self.tree.shows, cause, known)

    def _repair_sheet(self, cause: str) -> RepairSheet:
        known = self.causes[cause]
        return RepairSheet(
            self.repaired[cause],
            known.title,
            known.term,
            f"{known.repair.minutes:.3g} min",
            self._confirm(cause),
            tuple(known.repair.do),
            known.proof.words,
            self._numbered(cautions_of_repair(self.catalogue, cause)),
        )

    def _normal(self) -> Iterator[str]:
        """What no step here looks at, the commonest first, each with what confirms it; how an inspection ends."""
        if self.inspection:
            yield "Every item right, or put right and looked at again: passed. Sign these sheets and keep them."
            return
        left = sorted(
            (one for one in self.causes if one in self.tree.shows and one not in self.repaired),
            key=lambda one: -self._usual_share(one, self.causes[one]),
        )
        for cause in left[:LEFT]:
            yield f"{self.causes[cause].title}: {self._confirm(cause)}"
        yield NOT_CLEARED if self.tree.stops else "None of these: send the car on, with these sheets filled in."


def _found(check: Check, outcome: str, told: dict[str, str]) -> str:
    """What is found, in words: what is seen, or the band and its limits."""
    if outcome not in told:
        return outcome.replace("-", " ")
    return f"{outcome.replace('-', ' ')} ({told[outcome]})" if check.kind.measured else told[outcome]
