"""Turn the catalogue into a problem for reasoning: what can be wrong with this car, given what was complained of."""

from __future__ import annotations

import math
from collections.abc import Collection, Mapping, Sequence
from typing import NamedTuple

from troubleshoot.knowledge.against import against_checks, against_id
from troubleshoot.knowledge.car import Car, car_value
from troubleshoot.knowledge.catalogue import Catalogue
from troubleshoot.knowledge.degrees import Variant, variants_of
from troubleshoot.knowledge.findings import nearest
from troubleshoot.knowledge.frequencies import frequency
from troubleshoot.knowledge.model import Cause, Check, Concern, Conditions, Frequency, Showing
from troubleshoot.problems import TroubleshootError
from troubleshoot.reasoning import problem as reasoning

SOMETHING_ELSE = "something-else"
"""The cause in every problem that stands for whatever is not listed."""
SOMETHING_ELSE_RATE = 0.03
SOMETHING_ELSE_SHOWS = 0.5
REFERRAL_MINUTES = 240.0
MISTAKES = 0.03
"""How often a reading is grossly wrong: the wrong unit, scale, terminal or choice.

From memory: of a hundred readings taken in a workshop two or three are like that. So one reading can never make a
certainty: with three outcomes a wrong one counts at most a hundred to one.
"""
MILD_IS_HEARD = 0.5
"""How much less often a mild cause shows a concern than a clear one; a gross one shows it as if it had two chances."""
REFERRAL_CURES = 0.5
"""How often those whom a converted car is sent on to find it, from memory; else it comes back and is sent on again."""
MOST_KEPT = 6
"""Problems that a catalogue remembers: cases, drills and their marking ask for the same one many times.

Each is some 6 MB, and with what has been worked out on it in a case 10 to 80.
"""
LEAST_SHOWS = 0.002
"""How often a cause shows a concern that its tree does not list it for: readings can raise it."""


def fits(car: Car, conditions: Conditions) -> bool:
    """Return whether a car meets every condition of a `for:`."""
    for name, allowed in conditions.items():
        try:
            value = car_value(car, name)
        except KeyError:
            return False
        if value not in allowed or (isinstance(value, bool) and not any(one is value for one in allowed)):
            return False
    return True


def compile_problem(
    catalogue: Catalogue,
    car: Car,
    concerns: Sequence[str],
    tools: Collection[str] | None = None,
    rates: Mapping[str, float] | None = None,
    money_per_minute: float = 1.0,
    only: Collection[str] | None = None,
    repairs: bool = True,
    taken: Collection[str] = (),
    listed_only: bool = False,
) -> reasoning.Problem:
    """Return the problem of a car with these concerns (none: every cause it can have), the tools at hand, and rates.

    `tools` None means all of them. `rates` replaces base rates by cause id, as closed cases teach them. `only` keeps
    just these checks, where no next one is asked for. Those who ask for belief only save work by leaving the `repairs`
    out. `taken` are checks that have been read, or may have been: they count whatever the engine can do now. Every
    cause that the car can have stays possible, those that no concern lists at a small share; `listed_only` leaves
    these out, for plans on paper.
    TroubleshootError for a concern that is not in the catalogue.
    """
    asked = _Asked(
        car,
        tuple(concerns),
        None if tools is None else frozenset(tools),
        frozenset((rates or {}).items()),
        money_per_minute,
        None if only is None else frozenset(only),
        repairs,
        frozenset(taken),
        listed_only,
    )
    kept = catalogue.problems
    found = kept.pop(asked, None) or _compiled(catalogue, asked)
    kept[asked] = found
    if len(kept) > MOST_KEPT:
        kept.pop(next(iter(kept)), None)  # another thread may have been here
    return found


class _Asked(NamedTuple):
    """What a problem is compiled for; the catalogue keeps it by this."""

    car: Car
    concerns: tuple[str, ...]
    tools: frozenset[str] | None
    rates: frozenset[tuple[str, float]]
    money_per_minute: float
    only: frozenset[str] | None
    repairs: bool
    taken: frozenset[str]
    listed_only: bool


def _compiled(catalogue: Catalogue, asked: _Asked) -> reasoning.Problem:
    car, concerns, repairs, rates = asked.car, asked.concerns, asked.repairs, dict(asked.rates)
    trees = [_concern(catalogue, one) for one in concerns]
    listed = causes_for(catalogue, car, concerns)
    others = () if asked.listed_only else tuple(one for one in causes_for(catalogue, car, ()) if one not in listed)
    causes = (*listed[:-1], *others, SOMETHING_ELSE)
    chosen = checks_for(catalogue, car, concerns, asked.tools, asked.only, asked.taken)
    among, made = frozenset(causes), against_checks(chosen)
    return reasoning.Problem(
        causes=tuple(_cause(catalogue, cause, trees, rates, repairs, cause not in listed) for cause in causes),
        checks=tuple(_check(identifier, check, among, catalogue, car) for identifier, check in chosen.items()),
        repairs=_repairs(catalogue, causes) if repairs else (),
        concerns=concerns,
        leak=tuple(frequency(tree.reported_anyway) for tree in trees),
        setups=tuple(
            reasoning.Setup(one, setup.minutes, frozenset(setup.undone_by)) for one, setup in catalogue.setups.items()
        ),
        most_at_once=max((tree.most_at_once for tree in trees), default=2),
        money_per_minute=asked.money_per_minute,
        something_else=SOMETHING_ELSE,
        referral_minutes=_referral(catalogue, listed, asked.money_per_minute),
        referral_cures=REFERRAL_CURES,
        mistakes=MISTAKES,
        comparisons=tuple(
            reasoning.Comparison(
                _check(against_id(one), made[against_id(one)], among, catalogue, car), one, check.against.check
            )
            for one, check in chosen.items()
            if check.against is not None and check.against.check in chosen
        ),
    )


def _cause(
    catalogue: Catalogue,
    cause: str,
    trees: Sequence[Concern],
    rates: Mapping[str, float] | None,
    repairs: bool,
    incidental: bool,
) -> reasoning.Cause:
    known = catalogue.causes.get(cause)
    shows = tuple(how_often(tree.shows, cause, known) for tree in trees)
    return reasoning.Cause(
        cause,
        _rate(catalogue, cause, rates),
        shows,
        work_of(catalogue, cause) if repairs and cause != SOMETHING_ELSE else None,
        tuple(
            reasoning.Variant(one.degree, one.way or "", one.weight, _heard(one, trees, cause, shows))
            for one in variants_of(known if cause != SOMETHING_ELSE else None)
        ),
        incidental,
    )


def _heard(form: Variant, trees: Sequence[Concern], cause: str, shows: tuple[float, ...]) -> tuple[float, ...] | None:
    """Return how often each concern is shown in one form, None where that is as the cause itself says.

    What stands in `shows` is of the clear degree; a concern that names the ways of the cause has its own for this way.
    """
    own = tuple(
        _of_way(said, form.way) if isinstance(said := tree.shows.get(cause), dict) else one
        for tree, one in zip(trees, shows, strict=True)
    )
    if form.degree == "mild":
        return tuple(MILD_IS_HEARD * one for one in own)
    if form.degree == "gross":
        return tuple(1.0 - (1.0 - one) ** 2 for one in own)
    return None if own == shows else own


def causes_for(catalogue: Catalogue, car: Car, concerns: Sequence[str]) -> tuple[str, ...]:
    """Return the causes this car can have that show any of the concerns, something-else last."""
    listed = {cause for concern in concerns for cause in _concern(catalogue, concern).shows}
    named = [
        identifier
        for identifier, cause in catalogue.causes.items()
        if identifier != SOMETHING_ELSE and (not concerns or identifier in listed) and fits(car, cause.for_)
    ]
    return (*named, SOMETHING_ELSE)


def checks_for(
    catalogue: Catalogue,
    car: Car,
    concerns: Sequence[str],
    tools: Collection[str] | None = None,
    only: Collection[str] | None = None,
    taken: Collection[str] = (),
) -> dict[str, Check]:
    """Return the checks that can be made: on this car, with these tools, in an engine state that can be had.

    Those already `taken` stay, for a concern rules out what can be read from now on and nothing that has been read.
    """
    looked_at = (
        catalogue.checks if only is None else {one: catalogue.checks[one] for one in catalogue.checks if one in only}
    )
    ruled_out = {state for concern in concerns for state in _concern(catalogue, concern).rules_out}
    return {
        identifier: check
        for identifier, check in looked_at.items()
        if (check.state not in ruled_out or identifier in taken)
        and check.outcomes
        and (tools is None or set(check.tools) <= set(tools) or identifier in taken)
        and fits(car, check.for_)
    }


def _concern(catalogue: Catalogue, identifier: str) -> Concern:
    tree = catalogue.concerns.get(identifier)
    if tree is None:
        hint = nearest(identifier, catalogue.concerns)
        known = ", ".join(sorted(catalogue.concerns))
        raise TroubleshootError(f"There is no concern {identifier[:60]}{hint}.", f"Use one of: {known}.")
    return tree


def how_often(shows: Mapping[str, Showing], cause: str, known: Cause | None) -> float:
    """Return how often a cause shows a concern by its tree; something-else and what is not listed have their own.

    Where the tree says it of each way, the mean over the ways of the `known` cause as often as they come.
    """
    if cause == SOMETHING_ELSE:
        return SOMETHING_ELSE_SHOWS
    said = shows.get(cause, LEAST_SHOWS)
    if not isinstance(said, dict):
        return max(frequency(said), LEAST_SHOWS)
    ways = known.ways if known is not None and known.ways else dict.fromkeys(said, 1.0)
    return math.fsum(share * _of_way(said, way) for way, share in ways.items()) / math.fsum(ways.values())


def _of_way(said: Mapping[str, Frequency], way: str | None) -> float:
    """Return how often one way shows the concern; a way that is not named hardly shows it."""
    return max(frequency(said[way]), LEAST_SHOWS) if way is not None and way in said else LEAST_SHOWS


def _rate(catalogue: Catalogue, cause: str, rates: Mapping[str, float] | None) -> float:
    if rates and cause in rates:
        return min(max(rates[cause], 1e-6), 0.999)
    known = catalogue.causes.get(cause)
    return known.rate if known is not None else SOMETHING_ELSE_RATE


def _referral(catalogue: Catalogue, listed: Sequence[str], money_per_minute: float) -> float:
    """Return what a referral costs in minutes: another's search, and the repair that still has to be made.

    The repair is taken as dear as those of the listed causes are, each as often as the cause is met.
    """
    known = catalogue.causes.get(SOMETHING_ELSE)
    search = known.repair.minutes if known is not None else REFERRAL_MINUTES
    causes = [catalogue.causes[one] for one in listed if one in catalogue.causes and one != SOMETHING_ELSE]
    met = sum(cause.rate for cause in causes)
    costs = sum(one.rate * (one.repair.minutes + one.repair.parts / (money_per_minute or 1.0)) for one in causes)
    return search + (costs / met if met else 0.0)


def _check(identifier: str, check: Check, causes: Collection[str], catalogue: Catalogue, car: Car) -> reasoning.Check:
    moved = catalogue.signatures.moved(identifier, car)
    moved_by: dict[str, reasoning.Outcomes | tuple[reasoning.Outcomes | None, ...]] = {
        cause: shares for cause, shares in moved.items() if cause in causes
    }
    moved_by[SOMETHING_ELSE] = catalogue.signatures.broad(identifier)
    return reasoning.Check(
        identifier,
        check.outcomes,
        check.normal if check.normal in check.outcomes else None,
        catalogue.signatures.usual(identifier),
        moved_by,
        check.minutes,
        check.parts,
        check.setup if check.setup in catalogue.setups else None,
        frozenset(one.outcome for one in check.choices if one.shows is not None),
    )


def work_of(catalogue: Catalogue, cause: str) -> str:
    """Return the cause after which the work that puts this one right is named; mostly its own name."""
    known = catalogue.causes.get(cause)
    return known.repair.same_work_as or cause if known is not None else cause


def _repairs(catalogue: Catalogue, causes: Sequence[str]) -> tuple[reasoning.Repair, ...]:
    """Return the repairs; one for several causes takes what each of them takes, as often as it is met."""
    works: dict[str, list[str]] = {}
    for cause in causes:
        if cause != SOMETHING_ELSE:
            works.setdefault(work_of(catalogue, cause), []).append(cause)
    return tuple(_repair(work, {one: catalogue.causes[one] for one in some}) for work, some in works.items())


def _repair(work: str, causes: Mapping[str, Cause]) -> reasoning.Repair:
    met = sum(cause.rate for cause in causes.values())
    return reasoning.Repair(
        work,
        sum(cause.rate * cause.repair.minutes for cause in causes.values()) / met,
        sum(cause.rate * cause.repair.parts for cause in causes.values()) / met,
        {identifier: cause.repair.cures for identifier, cause in causes.items()},
        frozenset(setup for cause in causes.values() for setup in cause.repair.undoes),
    )
