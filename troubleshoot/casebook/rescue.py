"""Everything that can still be read of a damaged casebook, in a new one, with a list of what could not."""

from __future__ import annotations

import math
import re
from dataclasses import dataclass, field
from pathlib import Path
from zlib import crc32

from troubleshoot.casebook.raw_pages import RawPages, Value
from troubleshoot.casebook.refusing import CasebookRefused, no_file
from troubleshoot.casebook.store import LATEST, Casebook, Kept

_CASE_ID = re.compile(r"\d{4}-\d\d-\d\d-\d{1,9}")
STATES = ("open", "proved", "referred", "left")


@dataclass
class _Found:
    """What was found of one case: its line, its events by place, what it proved."""

    opened: float = 0.0
    touched: float = 0.0
    headline: str = ""
    state: str = "open"
    length: int | None = None
    events: dict[int, tuple[bytes, float]] = field(default_factory=dict)
    proved: set[str] = field(default_factory=set)

    def first_part(self) -> list[tuple[bytes, float]]:
        """Return the events up to the first that is missing."""
        kept: list[tuple[bytes, float]] = []
        while len(kept) in self.events:
            kept.append(self.events[len(kept)])
        return kept

    def later(self) -> tuple[bytes, ...]:
        """Return the events after the first that is missing; they may build on it, so that they are only told."""
        first = len(self.first_part())
        return tuple(self.events[number][0] for number in sorted(self.events) if number > first)


@dataclass(frozen=True)
class Rescued:
    """How many cases and events came back, a sentence for everything that did not, and what was read after a gap."""

    cases: int
    events: int
    lost: tuple[str, ...]
    later: dict[str, tuple[bytes, ...]]
    """By case that came back: events that can be read but follow one that cannot."""


def rescue(damaged: Path, to: Path) -> Rescued:
    """Write a new casebook `to` with all that can be read of a damaged one, which is left as it is.

    Every event that comes back has the checksum it was written with. A case whose middle is lost comes back up to
    there; what can be read after it is in `later`. Cases deleted not long ago can come back too, for their pages may
    still hold them.
    CasebookRefused when `to` is there already or nothing at all can be read; OSError for the disk's own refusals.
    """
    if to.exists():
        raise CasebookRefused(f"{to} is there already.", "Name a new file to put the rescued cases in.")
    if damaged.exists() and not damaged.is_file():
        raise no_file(damaged)
    pages = RawPages(damaged)
    found = _gather(pages)
    whole = {case_id: one for case_id, one in found.items() if 0 in one.events}
    lost = [_lost(case_id, one) for case_id, one in sorted(found.items()) if _incomplete(one)]
    if pages.cut_off:
        lost.append(f"{damaged} is cut short: {pages.cut_off} pages are gone, perhaps with cases not named here.")
    if not whole:
        raise CasebookRefused(f"No case can be read of {damaged}.", "Take your last copy; weekly ones lie beside it.")
    events = 0
    with Casebook(to) as book, book.all_or_nothing():
        for case_id, one in sorted(whole.items()):
            kept = one.first_part()
            events += len(kept)
            state = one.state if one.state in STATES else "open"
            book.restore(
                Kept(
                    case_id, one.opened or kept[0][1], one.headline or "Rescued", state, kept, tuple(sorted(one.proved))
                )
            )
    later = {case_id: one.later() for case_id, one in sorted(whole.items()) if one.later()}
    return Rescued(len(whole), events, tuple(lost), later)


def _gather(pages: RawPages) -> dict[str, _Found]:
    found: dict[str, _Found] = {}
    for row in pages.rows():
        case_id = row[0] if row else None
        if not isinstance(case_id, str) or not _CASE_ID.fullmatch(case_id):
            continue
        match row:
            case (_, int(number), at, bytes(payload), *rest):
                if 0 <= number < 10_000_000 and (not rest or rest[0] == crc32(payload)):
                    found.setdefault(case_id, _Found()).events[number] = (payload, _time(at))
            case (_, opened, touched, str(headline), str(state), *rest) if _time(touched) or _time(opened):
                one = found.setdefault(case_id, _Found())
                if _time(touched) >= one.touched:
                    one.opened, one.touched, one.headline, one.state = _time(opened), _time(touched), headline, state
                    one.length = rest[0] if rest and isinstance(rest[0], int) and 0 <= rest[0] < 10_000_000 else None
            case (_, str(cause)):
                found.setdefault(case_id, _Found()).proved.add(cause)
            case _:
                continue
    return found


def _time(value: Value) -> float:
    known = isinstance(value, int | float) and math.isfinite(value) and 0 <= value < LATEST
    return float(value) if known and isinstance(value, int | float) else 0.0


def _incomplete(one: _Found) -> bool:
    kept = len(one.first_part())
    return not kept or kept < len(one.events) or (one.length is not None and kept < one.length)


def _lost(case_id: str, one: _Found) -> str:
    kept = len(one.first_part())
    had = max([one.length or 0, *(number + 1 for number in one.events)])
    named = f"{case_id} ({one.headline})" if one.headline else case_id
    if not had:
        return f"Case {named}: none of its events could be read."
    return f"Case {named}: {kept} of its {had} events came back; nothing is built on what came after."
