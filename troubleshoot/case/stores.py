"""Where a case keeps what happens in it: a casebook, or memory for as long as the case is driven."""

from __future__ import annotations

from collections.abc import Sequence
from contextlib import AbstractContextManager, nullcontext
from typing import Protocol


class Store(Protocol):
    """Keeps the events of a case as they are written; `Casebook` is one."""

    def append(self, case_id: str, payload: bytes, at: float, expected: int | None = None) -> object:
        """Keep the next event of a case, safely before this returns; `expected` is how many it should have had."""

    def set_headline(self, case_id: str, headline: str, state: str, proved: Sequence[str] = ()) -> None:
        """Keep the line that stands for a case in a list of cases."""

    def events(self, case_id: str) -> list[bytes]:
        """Return the events of a case in order."""

    def all_or_nothing(self) -> AbstractContextManager[None]:
        """Make everything kept inside the block stand or fall together."""


class Memory:
    """Keeps the events of cases until the program ends, for those who drive many cases and need none of them later."""

    def __init__(self) -> None:
        self._events: dict[str, list[bytes]] = {}

    def append(self, case_id: str, payload: bytes, at: float, expected: int | None = None) -> None:  # noqa: ARG002
        """Keep the next event of a case."""
        self._events.setdefault(case_id, []).append(payload)

    def set_headline(self, case_id: str, headline: str, state: str, proved: Sequence[str] = ()) -> None:
        """Do nothing: nobody lists these cases."""

    def events(self, case_id: str) -> list[bytes]:
        """Return the events of a case in order."""
        return list(self._events.get(case_id, ()))

    def all_or_nothing(self) -> AbstractContextManager[None]:
        """Do nothing: what is kept in memory falls with whoever drives the case."""
        return nullcontext()
