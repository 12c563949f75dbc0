"""What is wrong in a tree file: where it stands, what it is, and what to do about it."""

from __future__ import annotations

import difflib
from collections.abc import Iterable
from typing import Literal

from msgspec import Struct

Level = Literal["error", "notice"]


class Finding(Struct, frozen=True, order=True):
    """One fault in one place; a `notice` is worth knowing and does not fail the run."""

    file: str
    line: int
    column: int
    what: str
    advice: str
    code: str
    level: Level = "error"

    def __str__(self) -> str:
        """Return the finding as `file:line:column: what — what to do`."""
        return f"{self.file}:{self.line}:{self.column}: {self.what} — {self.advice}"


def in_order(findings: Iterable[Finding]) -> tuple[Finding, ...]:
    """Return the findings once each, sorted by file, line and column."""
    return tuple(sorted(set(findings)))


def nearest(word: str, known: Iterable[str]) -> str:
    """Return a hint such as ` (did you mean lean-top?)`, or nothing when no known word is close."""
    close = difflib.get_close_matches(word[:80], list(known), n=1, cutoff=0.6)
    return f" (did you mean {close[0]}?)" if close else ""
