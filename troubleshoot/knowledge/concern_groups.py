"""Concerns in the order they are listed in: safety first, then by what the car does."""

from __future__ import annotations

from collections.abc import Mapping

from troubleshoot.knowledge.model import GROUPS, Concern

UNGROUPED = "others"
"""The heading of concerns that name no group: a person's own trees."""


def grouped(concerns: Mapping[str, Concern]) -> dict[str, dict[str, Concern]]:
    """Return the concerns by id under the heading of their group, groups and ids in their order; none is left out."""
    found: dict[str, dict[str, Concern]] = {}
    for group in (*GROUPS, None):
        held = {name: one for name, one in concerns.items() if one.group == group}
        if held:
            found[group or UNGROUPED] = held
    return found


def in_order(concerns: Mapping[str, Concern]) -> dict[str, Concern]:
    """Return the concerns by id, group after group."""
    return {name: one for held in grouped(concerns).values() for name, one in held.items()}


def speaking_of(concerns: Mapping[str, Concern], about: str) -> dict[str, Concern]:
    """Return the concerns, in order, that hold every word: in id, title, the customer's words or other words for it."""
    words = about.casefold().split()
    return {
        name: one
        for name, one in in_order(concerns).items()
        if all(word in " ".join((name, one.title, one.says, *one.words)).casefold() for word in words)
    }
