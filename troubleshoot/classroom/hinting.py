"""Hints by stages for practice: where to look, which check tells most, and at last which causes are left."""

from __future__ import annotations

import msgspec

from troubleshoot.bench.fault_causes import same_cause
from troubleshoot.classroom.drill_file import sealed
from troubleshoot.classroom.key_file import Key
from troubleshoot.classroom.yardstick import Yardstick
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
    """Return the system to look at, the checks that tell most, and the causes that are left after them."""
    seen = Yardstick(key, catalogue)
    known = [catalogue.causes[one] for one in key.causes if one in catalogue.causes]
    systems = " and ".join(dict.fromkeys(one.system for one in known))
    hints = [f"Look at this side of the car: {systems}."]
    for name in seen.good.checks[:CHECKS_TOLD]:
        check = catalogue.checks[name]
        hints.append(f"This check tells much here: {check.ask}. {check.why.strip()}")
    for cause in key.causes:
        likely = sorted(seen.good.probability, key=lambda name: -seen.good.probability[name])
        others = [name for name in likely if not any(same_cause(key.engine, name, one) for one in key.causes)]
        left = sorted([cause, *others[: LEFT - 1]], key=lambda name: _title(name, catalogue))
        hints.append(f"It is one of these: {'; '.join(_title(name, catalogue) for name in left)}.")
    return tuple(hints)


def _title(cause: str, catalogue: Catalogue) -> str:
    return catalogue.causes[cause].title if cause in catalogue.causes else cause
