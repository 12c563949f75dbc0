"""What the driver of the virtual engine complains of, in the concerns of the trees; the worst first."""

from __future__ import annotations

from collections.abc import Sequence

COMPLAINT_CONCERNS: dict[str, str] = {
    "no start": "no-start",
    "slow crank": "no-crank",
    "no cold start": "cold-start",
    "no hot start": "hot-restart",
    "flooded": "floods-key-on",
    "will not idle": "stalls",
    "stalls cold": "cold-start",
    "stalls coming to stop": "stalls",
    "breaks up": "wont-rev",
    "lean top end": "lean-top",
    "surge": "idle-surge",
    "knock": "knock",
    "idle misfire": "misfire",
    "misfire at cruise": "misfire",
    "weak": "flat-spot",
    "tip-in stumble": "tip-in",
    "high idle": "high-idle",
    "hanging idle": "high-idle",
    "rich or smoke": "rich",
    "long cold crank": "cold-start",
    "long hot crank": "hot-restart",
    "stumbles cold": "cold-start",
    "dips coming to stop": "stalls",
    "low idle": "stalls",
    "not charging": "charging",
    "overcharging": "charging",
    "controller speed wrong": "rpm-signal",
    "no closed loop": "no-feedback",
    "trim at limit": "no-feedback",
    "heavy on fuel": "rich",
}
"""Complaint of the virtual engine -> concern of the trees, in the order in which a driver would name them."""

REPORTABLE = frozenset(COMPLAINT_CONCERNS.values())
"""The concerns that the virtual engine can give; it has no nose for fuel and does not pop, whine or run on."""

MOST_REPORTED = 3
"""A driver names no more than this many concerns at once."""


def concerns_of(complaints: Sequence[str]) -> tuple[str, ...]:
    """Return the concerns a driver with these complaints reports, at most three, the worst first."""
    found: list[str] = []
    heard = set(complaints)
    for complaint, concern in COMPLAINT_CONCERNS.items():
        if complaint in heard and concern not in found:
            found.append(concern)
    if "no-start" in found:
        keep = {"no-start", "no-crank", "floods-key-on"}
        found = [concern for concern in found if concern in keep]
    return tuple(found[:MOST_REPORTED])
