"""Which facts of a car matter for what it does: those that its checks' limits, and its causes, depend on."""

from __future__ import annotations

from collections.abc import Collection, Iterator

from troubleshoot.knowledge.car import CAR_FIELDS
from troubleshoot.knowledge.catalogue import Catalogue
from troubleshoot.knowledge.model import Check, Concern, Limit, Source


def fields_for(catalogue: Catalogue, concerns: Collection[str]) -> tuple[str, ...]:
    """Return the car fields that the trees of these concerns use, in the order of a car file.

    They are what the limits of a tree's own checks are worked out from, and what decides whether a check or a listed
    cause can be at all.
    """
    used: set[str] = set()
    for tree in (catalogue.concerns[one] for one in concerns):
        for name in _own_checks(tree):
            if name in catalogue.checks:
                used.update(_of_check(catalogue.checks[name]))
        for cause in tree.shows:
            if cause in catalogue.causes:
                used.update(catalogue.causes[cause].for_)
    return tuple(name for name in CAR_FIELDS if name in used)


def _own_checks(tree: Concern) -> Iterator[str]:
    yield from tree.items
    yield from (step.check for step in tree.steps.values() if step.check is not None)


def _of_check(check: Check) -> Iterator[str]:
    yield from check.for_
    for band in check.bands:
        if isinstance(band.to, Limit):
            if band.to.car is not None:
                yield band.to.car
            yield from (one.car for one in band.to.inputs.values() if isinstance(one, Source) and one.car is not None)
