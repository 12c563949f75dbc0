"""How far readings of a drill's car point to what is wrong with it: a trainee's, all there are, and a good path's.

What a trail has told of a cause is the gain in its log odds, ln p/(1-p), over what was believed before any reading.
A good path takes, again and again, the check that tells most of the causes set a minute of work, by somebody who
knows what is wrong; nothing says that no path is shorter.
"""

from __future__ import annotations

import math
from collections.abc import Callable, Sequence
from dataclasses import dataclass

from troubleshoot.bench.fault_causes import same_cause
from troubleshoot.case.assessing import put_in_place
from troubleshoot.case.available import available_checks
from troubleshoot.case.case import Case, case_in_memory
from troubleshoot.case.proposing import worths
from troubleshoot.classroom.key_file import Key
from troubleshoot.knowledge.car import car_from
from troubleshoot.knowledge.catalogue import Catalogue
from troubleshoot.reasoning.belief import believe
from troubleshoot.reasoning.events import Evidence
from troubleshoot.reasoning.worth import CheckWorth

SURE = 0.98
"""A probability beyond which no further gain is counted."""
TOLD_ENOUGH = 0.9
"""The share of all that the readings can tell at which a good path ends."""
LONGEST_PATH = 12
"""Checks of a good path at most."""


@dataclass(frozen=True)
class Told:
    """What some readings come to: the probability of each cause, and the minutes that taking them took."""

    checks: tuple[str, ...]
    probability: dict[str, float]
    minutes: float
    setups: int
    """How often something was set up for them."""
    needed: int
    """How many different set-ups they need."""


class Yardstick:
    """What can be read in a drill, and how much of it some readings have told."""

    def __init__(self, key: Key, catalogue: Catalogue) -> None:
        """Read every check of the drill once; readings that cannot be had with its tools are left out."""
        self.key, self.catalogue = key, catalogue
        self._begun = self._begin()
        problem = self._begun.assessment.problem
        assert problem is not None  # a drill names concerns that these trees have; replaying has seen to it
        self.problem = problem
        self._chosen: dict[tuple[str, ...], float] = {}
        self._evidence = self._read_all()
        self.before = self.told_by(())
        self.whole = self.told_by(tuple(self._evidence))
        self.good = self._good_path()

    def _begin(self) -> Case:
        drill = self.key.drill
        case = case_in_memory(self.catalogue, car_from(drill.car), drill.concerns)
        if drill.tools is not None:
            case.set_tools(drill.tools)
        return case

    def _read_all(self) -> dict[str, Evidence]:
        """Return each check's evidence, with every other reading known that its limits may rest on."""
        case, readings = self._begin(), self.key.drill.readings
        can = available_checks(case.assessment, self.catalogue)
        for check in sorted(can):
            read = readings.get(check)
            if read is not None:
                case.take(check, read, sure=True)
        self._outcomes = {name: one.outcome for name, one in case.assessment.latest.items()}
        return {one.check: one for one in case.assessment.happened if isinstance(one, Evidence)}

    def outcome(self, check: str) -> str:
        """Return the outcome that a check of the drill comes to; empty for one that cannot be read."""
        return self._outcomes.get(check, "")

    def told_by(self, checks: Sequence[str]) -> Told:
        """Return what the readings of these checks come to, taken in this order; others are passed over."""
        taken = tuple(name for name in dict.fromkeys(checks) if name in self._evidence)
        belief = believe(self.problem, tuple(self._evidence[name] for name in taken))
        in_place: set[str] = set()
        minutes, setups, needed = 0.0, 0, set()
        for name in taken:
            check = self.catalogue.checks[name]
            minutes += check.minutes
            if check.setup and check.setup in self.catalogue.setups:
                needed.add(check.setup)
                if check.setup not in in_place:
                    setups += 1
                    minutes += self.catalogue.setups[check.setup].minutes
            put_in_place(self.catalogue, name, in_place)
        known = {one.id: belief.probability(one.id) for one in self.problem.causes}
        return Told(taken, known, minutes, setups, len(needed))

    def probability(self, told: Told, cause: str) -> float:
        """Return how probable readings make a cause, or one that no reading separates from it."""
        alike = [p for name, p in told.probability.items() if same_cause(self.key.engine, name, cause)]
        return max(alike, default=0.0)

    def gain(self, told: Told, cause: str) -> float:
        """Return what readings have told of a cause, in nats; negative where they speak against it."""
        return _log_odds(self.probability(told, cause)) - _log_odds(self.probability(self.before, cause))

    def progress(self, told: Told) -> float:
        """Return how much of what can be told of the causes set some readings have told, from 0 to 1."""
        shares = []
        for cause in self.key.causes:
            most = max(self.gain(self.whole, cause), self.gain(self.good, cause))
            here = self.gain(told, cause)
            shares.append(min(max(here / most, 0.0), 1.0) if most > 0.1 else float(bool(told.checks)))
        return sum(shares) / len(shares)

    def support(self, told: Told, cause: str) -> float:
        """Return how probable readings make a cause, as a share of the most that could be had, from 0 to 1."""
        most = max(self.probability(self.whole, cause), self.probability(self.good, cause))
        return min(self.probability(told, cause) / most, 1.0) if most > 0 else 0.0

    def choice(self, checks: Sequence[str], place: int) -> float:
        """Return how good the check at a place was: what it could save, whole or a minute, as a share of the best."""
        path = tuple(checks[: place + 1])
        if path not in self._chosen:
            self._chosen[path] = self._choice(path, place)
        return self._chosen[path]

    def _choice(self, checks: Sequence[str], place: int) -> float:
        case, readings = self._begin(), self.key.drill.readings
        for name in checks[:place]:
            case.take(name, readings[name] or "", sure=True)
        can = available_checks(case.assessment, self.catalogue) & self._evidence.keys()
        found = {one.check: one for one in worths(case.assessment, can | {checks[place]})}
        if checks[place] not in found:
            return 0.0
        mine, shares = found[checks[place]], []
        for measure in (_saves, _saves_a_minute):
            best = max(map(measure, found.values()))
            shares.append(measure(mine) / best if best > 0 else 1.0)
        return max(shares)

    def _good_path(self) -> Told:
        """Return the readings that tell most a minute, until they have told nearly all that can be told."""
        path: tuple[str, ...] = ()
        now = self.before
        aim = {cause: TOLD_ENOUGH * self.gain(self.whole, cause) for cause in self.key.causes}
        while len(path) < LONGEST_PATH and any(self.gain(now, cause) < most for cause, most in aim.items()):
            tried = [self.told_by((*path, name)) for name in self._evidence if name not in path]
            step = max(tried, key=lambda one: self._rate(now, one), default=None)
            if step is None or self._rate(now, step) <= 0:
                break
            path, now = step.checks, step
        return now

    def _rate(self, now: Told, then: Told) -> float:
        """Return what a step tells a minute, with nothing for more than is aimed at."""
        causes = self.key.causes
        ends = {cause: max(self.gain(self.whole, cause), self.gain(now, cause)) for cause in causes}
        told = sum(min(self.gain(then, one), ends[one]) - min(self.gain(now, one), ends[one]) for one in causes)
        return told / max(then.minutes - now.minutes, 0.5)


def _saves(one: CheckWorth) -> float:
    return max(one.saves, 0.0)


def _saves_a_minute(one: CheckWorth) -> float:
    return _saves(one) / max(one.costs, 1.0)


def _log_odds(probability: float) -> float:
    held = min(max(probability, 1.0 - SURE), SURE)
    return math.log(held / (1.0 - held))


_MADE: dict[tuple[str, str, str], Yardstick] = {}


def yardstick_of(key: Key, catalogue: Catalogue) -> Yardstick:
    """Return the yardstick of a drill, made once: it takes about a second."""
    which = (key.drill.seal, " ".join(key.causes), catalogue.version)
    if which not in _MADE:
        _MADE.clear()
        _MADE[which] = Yardstick(key, catalogue)
    return _MADE[which]


def belief_in(keys: Sequence[Key], catalogue: Catalogue) -> Callable[[str, Sequence[str]], float | None]:
    """Return what says how probable some readings of a drill make what is wrong: of two faults, the less probable."""
    of_drill, made = {key.drill.seal: key for key in keys}, dict[str, Yardstick]()

    def believed(seal: str, checks: Sequence[str]) -> float | None:
        """Return the probability after the readings of these checks; None for a drill that no key is of."""
        if seal not in of_drill:
            return None
        yardstick = made.setdefault(seal, made.get(seal) or Yardstick(of_drill[seal], catalogue))
        told = yardstick.told_by(checks)
        return min(yardstick.probability(told, cause) for cause in of_drill[seal].causes)

    return believed
