"""Which cautions stop the session: each hazard once a case, and again when it has grown more dangerous."""

from __future__ import annotations

import re
from collections.abc import Iterable
from dataclasses import dataclass

from troubleshoot.case.assessing import Assessment, lasts
from troubleshoot.case.events import ReadingTaken
from troubleshoot.case.proposing import Proposal
from troubleshoot.case.view import CautionShown
from troubleshoot.knowledge.car import Car
from troubleshoot.knowledge.catalogue import Catalogue
from troubleshoot.knowledge.compiling import fits
from troubleshoot.knowledge.model import Check

RUNNING = frozenset({"cranking", "cold start", "idle", "held speed", "under load"})
"""Engine states in which something turns: a caution that was given at rest is given again."""

LEVELS = ("still", "live", "turning", "under load")
"""How dangerous an engine state is, the least first: what was read for one level is read again for a higher."""

DAY = 24 * 3600.0
"""Seconds after which a caution is read again."""

MOST_LINES = 4
"""Lines of a card under its signal word and title."""

SIGNALS = ("DANGER", "WARNING", "CAUTION", "NOTICE")
"""Signal words, the worst first."""

STOP_PREFIX = "stop-"
"""Marks the caution a concern itself begins with, as `stop-fuel-smell`."""


def caution_shown(catalogue: Catalogue, caution: str) -> CautionShown | None:
    """Return a caution to show; None when the trees do not know it."""
    if caution.startswith(STOP_PREFIX):
        concern = catalogue.concerns.get(caution.removeprefix(STOP_PREFIX))
        if concern is None or not concern.stop:
            return None
        # ANSI Z535.6 keeps DANGER for what kills and NOTICE for what only breaks things (from memory).
        signal = "DANGER" if concern.stops else "NOTICE"
        sentences = tuple(re.findall(r"[^.]+(?:\.|$)", concern.stop.replace("STOP. ", "STOP: ")))
        card = tuple(one.strip() for one in sentences if one.strip())
        return CautionShown(caution, signal, concern.title, concern.stop, (), "", card)
    known = catalogue.cautions.get(caution)
    if known is None:
        return None
    card = tuple(known.card or [known.happens, *known.avoid][:MOST_LINES])
    return CautionShown(caution, known.signal, known.title, known.happens, tuple(known.avoid), known.defer, card)


def cautions_shown(catalogue: Catalogue, cautions: Iterable[str], car: Car | None = None) -> tuple[CautionShown, ...]:
    """Return the cautions of a check or repair, each once; of a car, those that it can need."""
    found = (
        caution_shown(catalogue, one)
        for one in dict.fromkeys(cautions)
        if car is None or one not in catalogue.cautions or fits(car, catalogue.cautions[one].for_)
    )
    return tuple(one for one in found if one is not None)


def cautions_of_repair(catalogue: Catalogue, cause: str) -> tuple[str, ...]:
    """Return the cautions of repairing a cause."""
    known = catalogue.causes.get(cause)
    return () if known is None else tuple(dict.fromkeys([*known.repair.cautions, *known.cautions]))


def runs(check: Check) -> bool:
    """Return whether the engine turns while the check is made."""
    return check.state in RUNNING


@dataclass(frozen=True)
class CautionsDue:
    """The cautions to read and acknowledge before a step, the worst first, and what the engine does there."""

    cautions: tuple[CautionShown, ...]
    state: str

    @property
    def running(self) -> bool:
        """Whether the engine will turn."""
        return self.state in RUNNING


def cautions_due(seen: Assessment, catalogue: Catalogue, proposal: Proposal, now: float = 0.0) -> CautionsDue | None:
    """Return the cautions to acknowledge before this step, at a time in seconds since 1970; None when none is due.

    A hazard is read in full once a case, and again after a leak, at a more dangerous engine state, and after a day.
    """
    if seen.state.closed is not None or seen.state.smelt:
        return None
    stops = [caution_shown(catalogue, STOP_PREFIX + concern) for concern in seen.state.concerns]
    unread = [stop for stop in stops if stop is not None and not _acknowledged(seen, stop.id, "key off", now)]
    if unread:
        return CautionsDue((min(unread, key=lambda one: SIGNALS.index(one.signal)),), "key off")
    if proposal.kind == "check":
        wanted, state = tuple(catalogue.checks[proposal.id].cautions), str(catalogue.checks[proposal.id].state)
    elif proposal.kind == "repair":
        wanted, state = cautions_of_repair(catalogue, proposal.id), "key off"
    else:
        return None
    due = [
        one
        for one in wanted
        if not any(_acknowledged(seen, name, state, now) for name in (one, *_procedures(catalogue, one)))
        or (lasts(catalogue, one) and not seen.pressure_down)
    ]
    due = [one for one in due if not (lasts(catalogue, one) and _stays_closed(seen, catalogue, proposal))]
    due = [one for one in due if not set(_procedures(catalogue, one)) & set(due)]
    worst_first = sorted(cautions_shown(catalogue, due, seen.car), key=lambda one: SIGNALS.index(one.signal))
    return CautionsDue(tuple(worst_first), state) if worst_first else None


def _procedures(catalogue: Catalogue, caution: str) -> list[str]:
    """Return the procedures against a caution's hazard, whose cards say all that its own says: one hazard, one card."""
    if caution not in catalogue.cautions:
        return []
    hazard = catalogue.cautions[caution].hazard
    return [
        name
        for name in catalogue.cautions
        if lasts(catalogue, name) and catalogue.cautions[name].hazard == hazard and name != caution
    ]


def _stays_closed(seen: Assessment, catalogue: Catalogue, proposal: Proposal) -> bool:
    """Return whether no fuel line is opened for a check: what its set-up opened for the gauge is in place."""
    check = catalogue.checks.get(proposal.id) if proposal.kind == "check" else None
    return check is not None and check.setup in seen.in_place and "fuel line" not in check.opens


def _acknowledged(seen: Assessment, caution: str, state: str, now: float) -> bool:
    """Return whether a caution was read for an engine state as dangerous as this one, and not longer than a day ago."""
    return any(
        LEVELS.index(_level(one.state or ("idle" if one.running else "key off"))) >= LEVELS.index(_level(state))
        and now - one.at < DAY
        for one in seen.state.acknowledged.get(caution, ())
    )


def _level(state: str) -> str:
    if state in RUNNING:
        return "under load" if state == "under load" else "turning"
    return "still" if state == "key off" else "live"


_STATES = {
    "key off": "engine still", "key on": "key on", "cranking": "cranking", "cold start": "cold start",
    "idle": "idling", "held speed": "held at speed", "under load": "full load or road",
    "after stop": "hot, just stopped",
}  # fmt: skip


def new_here(seen: Assessment, catalogue: Catalogue, check: Check) -> str:
    """Return in one line what is done at this check that was not done at the one before; empty where all was."""
    last = next(
        (
            catalogue.checks[one.event.check]
            for one in reversed(seen.state.done)
            if isinstance(one.event, ReadingTaken) and one.event.check in catalogue.checks
        ),
        None,
    )
    now, before = _done_here(catalogue, check), _done_here(catalogue, last) if last is not None else []
    new = [one for one in now if one not in before]
    line = ", ".join(new)
    if seen.pressure_down:
        line = f"{line}, pressure was let down" if line else "pressure was let down"
    return line


def _done_here(catalogue: Catalogue, check: Check) -> list[str]:
    setup = catalogue.setups.get(check.setup or "")
    opens = dict.fromkeys([*check.opens, *(setup.opens if setup else ())])
    live = dict.fromkeys([*check.live, *(setup.live if setup else ())])
    hands = [f"hands {one}" for one in check.hands if one not in ("cabin", "engine bay", "clear")]
    return [_STATES[check.state], *hands, *(f"{one} open" for one in opens), *(f"{one} live" for one in live)]
