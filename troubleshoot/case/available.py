"""Which checks can be made now: the tools at hand, the states the engine gets to, and what was read already."""

from __future__ import annotations

from troubleshoot.case.assessing import Assessment
from troubleshoot.knowledge.answers import InterpretedReading
from troubleshoot.knowledge.catalogue import Catalogue
from troubleshoot.knowledge.hazards import opens_running
from troubleshoot.knowledge.model import Check, Concern


def concerns_named(seen: Assessment, catalogue: Catalogue) -> list[Concern]:
    """Return the concerns in the order they were named, those that are a danger before all others."""
    known = [catalogue.concerns[one] for one in seen.state.concerns if one in catalogue.concerns]
    return sorted(known, key=lambda concern: not concern.stops)


def available_checks(seen: Assessment, catalogue: Catalogue) -> frozenset[str]:
    """Return the checks that can be done now: for this car, with these tools, in a state the engine can be in."""
    if seen.problem is None:
        return frozenset()
    ruled_out, tools = _ruled_out(seen, catalogue), seen.state.tools
    have = None if tools is None else frozenset(tools)
    left = seen.problem.check_named.keys() - seen.taken - seen.skipped.keys()
    return frozenset(
        name
        for name, check in ((name, catalogue.checks[name]) for name in left)
        if check.state not in ruled_out
        and (have is None or have.issuperset(check.tools))
        and not (check.not_after and _told_by(seen, check))
        and not _kept_shut(seen, catalogue, check)
    )


def missing_for(seen: Assessment, catalogue: Catalogue, name: str) -> tuple[str, ...]:
    """Return in words what stands in the way of a check: tools, an engine state, or what was read."""
    check = catalogue.checks[name]
    tools = seen.state.tools
    lacking = [] if tools is None else [tool for tool in check.tools if tool not in tools]
    words = [catalogue.tools[tool].words if tool in catalogue.tools else tool for tool in lacking]
    if check.state in _ruled_out(seen, catalogue):
        words.append(f"an engine that gets to: {check.state}")
    if _kept_shut(seen, catalogue, check):
        words.append("an engine that does not spit back")
    words += [f"anything to see, after “{one.words}”" for one in _told_by(seen, check)]
    return tuple(words)


def _told_by(seen: Assessment, check: Check) -> tuple[InterpretedReading, ...]:
    """Return the readings after which this check tells nothing more: a correction, where feedback never comes in."""
    read = {other: seen.latest.get(other) for other in check.not_after if other in seen.taken}
    return tuple(one for other, one in read.items() if one is not None and one.outcome in check.not_after[other])


def _kept_shut(seen: Assessment, catalogue: Catalogue, check: Check) -> bool:
    shut = {opened for concern in concerns_named(seen, catalogue) for opened in concern.keeps_shut}
    return bool(shut) and opens_running(check, catalogue.setups.get(check.setup or ""), shut)


def _ruled_out(seen: Assessment, catalogue: Catalogue) -> frozenset[str]:
    """Return the engine states that cannot be had with these concerns."""
    return frozenset(state for concern in concerns_named(seen, catalogue) for state in concern.rules_out)
