"""The events of a case as the reasoning takes them in."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import replace

from troubleshoot.case.events import Event, LeakRepaired, RepairMade, Retested
from troubleshoot.case.folding import CaseState
from troubleshoot.reasoning.events import Evidence, Happening, Repaired
from troubleshoot.reasoning.events import Retested as Retest
from troubleshoot.reasoning.problem import Problem

REMAINS = {"gone": 0.0, "partly": 0.5, "still": 1.0}
LEAK_CAUSE = "fuel-leak"
"""The cause that repairing a leak cures, where the concerns can come from it."""


def _agree(one: Evidence, other: Evidence) -> bool:
    """Return whether two readings of a check lie in the same outcome."""
    return one.shares.index(max(one.shares)) == other.shares.index(max(other.shares))


def happened_of(state: CaseState, evidence: Mapping[int, Evidence], problem: Problem | None) -> tuple[Happening, ...]:
    """Return the case as the reasoning takes it in; between two repairs the last reading of a check stands.

    One that says the same as the reading before it is grossly wrong only where both are.
    """
    if problem is None:
        return ()
    made: list[Happening] = []
    epoch: dict[str, int] = {}
    for one in state.done:
        event: Event = one.event
        if one.index in evidence:
            read = evidence[one.index]
            if read.check in epoch:
                before = made[epoch[read.check]]
                twice = isinstance(before, Evidence) and _agree(before, read) and read.mistake is None
                made[epoch[read.check]] = replace(read, mistake=problem.mistakes**2) if twice else read
            else:
                epoch[read.check] = len(made)
                made.append(read)
        elif isinstance(event, RepairMade | LeakRepaired):
            repaired = problem.cause_named.get(event.cause if isinstance(event, RepairMade) else LEAK_CAUSE)
            if repaired is not None and repaired.repair is not None:
                made.append(Repaired(repaired.repair))
                epoch = {}
        elif isinstance(event, Retested):
            made.append(Retest(REMAINS[event.result]))
    return tuple(made)
