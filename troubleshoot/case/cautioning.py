"""Which cautions stop the session: each hazard once a case, and again when the engine first runs."""

from __future__ import annotations

from collections.abc import Iterable

from troubleshoot.case.assessing import Assessment
from troubleshoot.case.proposing import Proposal
from troubleshoot.case.view import CautionShown
from troubleshoot.knowledge.car import Car
from troubleshoot.knowledge.catalogue import Catalogue
from troubleshoot.knowledge.compiling import fits
from troubleshoot.knowledge.model import Check

RUNNING = frozenset({"cranking", "cold start", "idle", "held speed", "under load"})
"""Engine states in which something turns: a caution that was given at rest is given again."""

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
        return CautionShown(caution, signal, concern.title, concern.stop, (), "")
    known = catalogue.cautions.get(caution)
    if known is None:
        return None
    return CautionShown(caution, known.signal, known.title, known.happens, tuple(known.avoid), known.defer)


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


def cautions_due(
    seen: Assessment, catalogue: Catalogue, proposal: Proposal
) -> tuple[tuple[CautionShown, ...], bool] | None:
    """Return the cautions to acknowledge before this step, and whether the engine will run; None when none is due."""
    stops = [caution_shown(catalogue, STOP_PREFIX + concern) for concern in seen.state.concerns]
    unread = [stop for stop in stops if stop is not None and not _acknowledged(seen, stop.id, False)]
    if unread:
        return (min(unread, key=lambda one: SIGNALS.index(one.signal)),), False
    if proposal.kind == "check":
        check = catalogue.checks[proposal.id]
        wanted, running = tuple(check.cautions), runs(check)
    elif proposal.kind == "repair":
        wanted, running = cautions_of_repair(catalogue, proposal.id), False
    else:
        return None
    due = cautions_shown(catalogue, [one for one in wanted if not _acknowledged(seen, one, running)], seen.car)
    worst_first = tuple(sorted(due, key=lambda one: SIGNALS.index(one.signal)))
    return (worst_first, running) if due else None


def _acknowledged(seen: Assessment, caution: str, running: bool) -> bool:
    given = seen.state.acknowledged
    return (caution, True) in given or (not running and (caution, False) in given)
