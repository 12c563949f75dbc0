"""The sizes and directions a cause comes in, and what a check reads in each of them.

A cause has degrees (mild, clear, gross) and, where it says so, ways (rich or lean). A car has one degree and one way of
it, and all checks see the same. A signature is written once for all of them, by degree, by way, or by way and then by
degree; `leaves` finds the places where outcomes stand, `written_for` what holds for one way.

What an author leaves out is derived. A figure without a degree is the clear one. The next degree towards mild moves a
share of every abnormal outcome's frequency one band towards normal (`BAND_MOVES`; of what is seen, `LOOK_MOVES` goes to
normal, for the eye depends less on size). The next degree towards gross moves the same share one band outwards, where
there is one, and takes it from normal for the side that the cause moves to. What a cause expects as a number holds for
every degree that does not say its own. A way that a signature does not name leaves the check alone.
"""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from typing import Any, NamedTuple

import msgspec

from troubleshoot.knowledge.model import DEGREES, Cause, Check, Expects, Frequency

BAND_MOVES = 0.4
"""The share of a band's frequency that the next degree moves by one band."""

LOOK_MOVES = 0.1
"""The same for an outcome that is seen and not measured."""

WHY, EXPECTS = "why", "expects"
"""The keys of a signature that are no outcome, degree or way."""

Leaf = Mapping[str, Frequency] | Expects
"""Where a signature ends: outcomes with how often, or the number to expect."""


class Variant(NamedTuple):
    """One form of a cause: its degree, its way (none where the cause has no ways), and how often it takes this form."""

    degree: str
    way: str | None
    weight: float


def variants_of(cause: Cause | None) -> tuple[Variant, ...]:
    """Return the forms of a cause, way by way from mild to gross; None stands for a cause that has only one."""
    if cause is None:
        return (Variant("clear", None, 1.0),)
    ways: Mapping[str, float] | Mapping[None, float] = cause.ways or {None: 1.0}
    return tuple(
        Variant(degree, way, share * cause.degrees[degree])
        for way, share in ways.items()
        for degree in DEGREES
        if cause.degrees.get(degree, 0.0) > 0.0 and share > 0.0
    )


def leaves(signature: Mapping[str, Any], yaml_path: tuple[str, ...] = ()) -> Iterator[tuple[tuple[str, ...], Leaf]]:
    """Return every place of a signature where outcomes or an expected number stand, with its yaml_path."""
    groups = groups_of(signature)
    for name, inner in groups.items():
        yield from leaves(inner, (*yaml_path, name))
    if EXPECTS in signature:
        yield (*yaml_path, EXPECTS), msgspec.convert(signature[EXPECTS], Expects)
    named = outcomes_of(signature)
    if named or not (groups or EXPECTS in signature):
        yield yaml_path, named


def ways_named(signature: Mapping[str, Any]) -> tuple[str, ...]:
    """Return the ways that a signature names, in its order."""
    return tuple(name for name in groups_of(signature) if name not in DEGREES)


def expects_number(signature: Mapping[str, Any]) -> bool:
    """Return whether a signature says anywhere which number to expect, which depends on the car."""
    return EXPECTS in signature or any(expects_number(inner) for inner in groups_of(signature).values())


def written_for(signature: Mapping[str, Any], way: str | None) -> dict[str, Leaf]:
    """Return what a signature says in one way, by degree; empty where this way leaves the check alone."""
    if ways_named(signature):
        inner = groups_of(signature).get(way) if way is not None else None
        return {} if inner is None else written_for(inner, None)
    by_degree = {name: inner for name, inner in groups_of(signature).items() if name in DEGREES}
    if not by_degree:
        return {"clear": _leaf(signature)}
    return {degree: _leaf(inner) for degree, inner in by_degree.items()}


def groups_of(signature: Mapping[str, Any]) -> dict[str, Mapping[str, Any]]:
    """Return the degrees or ways of a signature with what stands under them."""
    return {name: inner for name, inner in signature.items() if isinstance(inner, dict) and name != EXPECTS}


def outcomes_of(signature: Mapping[str, Any]) -> dict[str, Any]:
    """Return the outcomes that stand at this level of a signature."""
    return {
        name: value for name, value in signature.items() if name not in (WHY, EXPECTS) and not isinstance(value, dict)
    }


def _leaf(signature: Mapping[str, Any]) -> Leaf:
    return msgspec.convert(signature[EXPECTS], Expects) if EXPECTS in signature else outcomes_of(signature)


def milder(check: Check, shares: tuple[float, ...]) -> tuple[float, ...]:
    """Return the outcomes of the next milder degree: a share of each moves one step towards normal."""
    if check.normal not in check.outcomes:
        return shares
    normal, moves = check.outcomes.index(check.normal), _moves(check)
    found = list(shares)
    for at, share in enumerate(shares):
        if at != normal:
            found[at] -= moves * share
            found[_next_inwards(check, at, normal)] += moves * share
    return tuple(found)


def grosser(check: Check, shares: tuple[float, ...]) -> tuple[float, ...]:
    """Return the outcomes of the next grosser degree: a share of each moves one step outwards, where there is one."""
    if check.normal not in check.outcomes:
        return shares
    normal, moves = check.outcomes.index(check.normal), _moves(check)
    abnormal = 1.0 - shares[normal]
    if not abnormal > 0.0:
        return shares
    found = list(shares)
    for at, share in enumerate(shares):
        if at == normal:
            continue
        outer = at + (1 if at > normal else -1)
        if check.kind.graded and 0 <= outer < len(shares):
            found[at] -= moves * share
            found[outer] += moves * share
        # Normal gives to the outcome next to it on each side as the cause moves to that side.
        gained = moves * shares[normal] * share / abnormal
        found[normal] -= gained
        found[_first_outwards(check, at, normal)] += gained
    return tuple(max(0.0, share) for share in found)


def _moves(check: Check) -> float:
    return BAND_MOVES if check.kind.graded else LOOK_MOVES


def _next_inwards(check: Check, at: int, normal: int) -> int:
    return at + (1 if at < normal else -1) if check.kind.graded else normal


def _first_outwards(check: Check, at: int, normal: int) -> int:
    return normal + (1 if at > normal else -1) if check.kind.graded else at
