"""Hints by stages for practice: where to look, which check tells much, and at last which causes are left."""

from __future__ import annotations

import msgspec

from troubleshoot.bench.fault_causes import same_cause
from troubleshoot.classroom.drill_file import sealed
from troubleshoot.classroom.key_file import Key
from troubleshoot.knowledge.catalogue import Catalogue

CHECKS_TOLD = 2
"""Checks of a good path that hints name."""
LEFT = 3
"""Causes among which the last hint leaves what is wrong."""


def with_hints(key: Key, catalogue: Catalogue) -> Key:
    """Return the key of a practice with a hint for each stage; each tells more than the one before."""
    hints = staged_hints(key, catalogue)
    return msgspec.structs.replace(key, drill=sealed(msgspec.structs.replace(key.drill, hints=hints)))


def staged_hints(key: Key, catalogue: Catalogue) -> tuple[str, ...]:
    """Return the system to look at, checks of a good path that the fault moves, and the causes left at last."""
    known = [catalogue.causes[one] for one in key.causes if one in catalogue.causes]
    systems = " and ".join(dict.fromkeys(one.system for one in known))
    hints = [f"Look at this side of the car: {systems}."]
    for name in _telling(key, catalogue)[:CHECKS_TOLD]:
        check = catalogue.checks[name]
        hints.append(f"This check tells much here: {check.ask}. {check.why.strip()}")
    for cause in key.causes:
        left = sorted([cause, *_beside(cause, key, catalogue)], key=lambda name: catalogue.causes[name].title)
        hints.append(f"It is one of these: {'; '.join(catalogue.causes[name].title for name in left)}.")
    return tuple(hints)


def _telling(key: Key, catalogue: Catalogue) -> list[str]:
    """Return the checks of the good path that what is wrong moves, in their order."""
    names = [step.partition(": ")[0] for step in key.best_trail]
    checks = [name for name in names if name in catalogue.checks]
    return [name for name in checks if any(one in catalogue.checks[name].moved_by for one in key.causes)]


def _beside(cause: str, key: Key, catalogue: Catalogue) -> list[str]:
    """Return causes that show the same concerns, those of the same system and the commonest first."""
    system = catalogue.causes[cause].system
    shown = {name for concern in key.drill.concerns for name in catalogue.concerns[concern].shows}
    others = [
        name for name in shown & catalogue.causes.keys()
        if not any(same_cause(key.engine, name, one) for one in key.causes)
    ]  # fmt: skip
    others.sort(key=lambda name: (catalogue.causes[name].system != system, -catalogue.causes[name].rate, name))
    return others[: LEFT - 1]
