"""Turn the catalogue into a problem for reasoning: what can be wrong with this car, given what was complained of."""

from __future__ import annotations

from collections.abc import Collection, Mapping, Sequence

from troubleshoot.knowledge.car import Car, car_value
from troubleshoot.knowledge.catalogue import Catalogue
from troubleshoot.knowledge.findings import nearest
from troubleshoot.knowledge.frequencies import frequency
from troubleshoot.knowledge.model import Check, Concern, Conditions
from troubleshoot.knowledge.signatures import Signatures
from troubleshoot.problems import TroubleshootError
from troubleshoot.reasoning import problem as reasoning

SOMETHING_ELSE = "something-else"
"""The cause in every problem that stands for whatever is not listed."""
SOMETHING_ELSE_RATE = 0.03
SOMETHING_ELSE_SHOWS = 0.5
REFERRAL_MINUTES = 240.0
GROUP_SHARE = 0.1
"""What checks that look at the same thing have in common.

Set by the proof in closed loop, on 120 cases kept for work on the trees: the tool says too little even with nothing
taken off (expected calibration error 0.08 with 0, 0.09 with 0.5), so little may be. It is not nothing, because the
gauges of the proof are independent, and on a car one gauge that reads high does so twice.
"""
EVIDENCE_POWER = 1.4
"""The power of every reading, set so that what the tool says is right as often as it says.

A signature is written over all severities and many cars, so it says less of one car than its readings do together.
On 235 cases kept for work on the trees the expected calibration error was 0.085 with 1, 0.063 with 1.3 and 0.045 with
1.6, with the true cause first as often and two or three checks fewer; the middle is kept, for real cars scatter more.
"""
LEAST_SHOWS = 0.002
"""How often a cause shows a concern that its tree does not list it for."""


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
    signatures: Signatures | None = None,
    repairs: bool = True,
) -> reasoning.Problem:
    """Return the problem of a car with these concerns (none: every cause it can have), the tools at hand, and rates.

    `tools` None means all of them. `rates` replaces base rates by cause id, as closed cases teach them. `only` keeps
    just these checks, where no next one is asked for. Those who compile many problems save work by handing over the
    `signatures` of this catalogue, and by leaving the `repairs` out where only belief is asked for.
    TroubleshootError for a concern that is not in the catalogue.
    """
    trees = [_concern(catalogue, one) for one in concerns]
    causes = causes_for(catalogue, car, concerns)
    chosen = checks_for(catalogue, car, concerns, tools, only)
    known = signatures or Signatures(catalogue.checks, catalogue.causes)
    shows = {cause: tuple(how_often(tree.shows, cause) for tree in trees) for cause in causes}
    return reasoning.Problem(
        causes=tuple(
            reasoning.Cause(
                cause,
                _rate(catalogue, cause, rates),
                shows[cause],
                cause if repairs and cause != SOMETHING_ELSE else None,
            )
            for cause in causes
        ),
        checks=tuple(_check(identifier, check, shows, catalogue, known) for identifier, check in chosen.items()),
        repairs=tuple(_repair(catalogue, cause) for cause in causes if repairs and cause != SOMETHING_ELSE),
        concerns=tuple(concerns),
        leak=tuple(frequency(tree.reported_anyway) for tree in trees),
        setups=tuple(
            reasoning.Setup(one, setup.minutes, frozenset(setup.undone_by)) for one, setup in catalogue.setups.items()
        ),
        most_at_once=max((tree.most_at_once for tree in trees), default=2),
        money_per_minute=money_per_minute,
        something_else=SOMETHING_ELSE,
        referral_minutes=_referral(catalogue),
        group_share=GROUP_SHARE,
        evidence_power=EVIDENCE_POWER,
    )


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
) -> dict[str, Check]:
    """Return the checks that can be made: on this car, with these tools, in an engine state that can be had."""
    looked_at = (
        catalogue.checks if only is None else {one: catalogue.checks[one] for one in catalogue.checks if one in only}
    )
    ruled_out = {state for concern in concerns for state in _concern(catalogue, concern).rules_out}
    return {
        identifier: check
        for identifier, check in looked_at.items()
        if check.state not in ruled_out
        and (check.bands or check.choices)
        and (tools is None or set(check.tools) <= set(tools))
        and fits(car, check.for_)
    }


def _concern(catalogue: Catalogue, identifier: str) -> Concern:
    tree = catalogue.concerns.get(identifier)
    if tree is None:
        hint = nearest(identifier, catalogue.concerns)
        known = ", ".join(sorted(catalogue.concerns))
        raise TroubleshootError(f"There is no concern {identifier[:60]}{hint}.", f"Use one of: {known}.")
    return tree


def how_often(shows: Mapping[str, float | str], cause: str) -> float:
    """Return how often a cause shows a concern by its tree; something-else and what is not listed have their own."""
    if cause == SOMETHING_ELSE:
        return SOMETHING_ELSE_SHOWS
    return max(frequency(shows[cause]), LEAST_SHOWS) if cause in shows else LEAST_SHOWS


def _rate(catalogue: Catalogue, cause: str, rates: Mapping[str, float] | None) -> float:
    if rates and cause in rates:
        return min(max(rates[cause], 1e-6), 0.999)
    known = catalogue.causes.get(cause)
    return known.rate if known is not None else SOMETHING_ELSE_RATE


def _referral(catalogue: Catalogue) -> float:
    known = catalogue.causes.get(SOMETHING_ELSE)
    return known.repair.minutes if known is not None else REFERRAL_MINUTES


def _check(
    identifier: str, check: Check, causes: Collection[str], catalogue: Catalogue, signatures: Signatures
) -> reasoning.Check:
    moved_by = {cause: shares for cause, shares in signatures.moved(identifier).items() if cause in causes}
    moved_by[SOMETHING_ELSE] = signatures.broad(identifier)
    return reasoning.Check(
        identifier,
        check.outcomes,
        check.normal if check.normal in check.outcomes else None,
        signatures.usual(identifier),
        moved_by,
        check.minutes,
        check.parts,
        check.setup if check.setup in catalogue.setups else None,
        check.looks_at,
    )


def _repair(catalogue: Catalogue, cause: str) -> reasoning.Repair:
    repair = catalogue.causes[cause].repair
    return reasoning.Repair(cause, repair.minutes, repair.parts, {cause: repair.cures}, frozenset(repair.undoes))
