"""The ids that a shell completes: of cars, cases, concerns, causes, checks, tools and starter drills."""

from __future__ import annotations

from collections.abc import Callable, Iterable

from troubleshoot.cli.options import GlobalOptions

MOST_CASES = 100
"""Of the casebook, those touched last."""


def _cases(wanted: GlobalOptions) -> Iterable[str]:
    with wanted.open_casebook(writable=False) as book:
        return [row.id for row in book.cases(most=MOST_CASES)]


def _stories(_: GlobalOptions) -> Iterable[str]:
    from troubleshoot.classroom.story import starters

    return starters()


IDS: dict[str, Callable[[GlobalOptions], Iterable[str]]] = {
    "CAR": lambda wanted: wanted.catalogue().cars,
    "CASE": _cases,
    "CAUSE": lambda wanted: wanted.catalogue().causes,
    "CHECK": lambda wanted: wanted.catalogue().checks,
    "CONCERN": lambda wanted: wanted.catalogue().concerns,
    "FILE or CONCERN": lambda wanted: wanted.catalogue().concerns,
    "STORY": _stories,
    "TOOL": lambda wanted: wanted.catalogue().tools,
}
"""What the help calls a value -> the ids that it can be."""
