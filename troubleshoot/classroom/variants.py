"""Variants of a drill: the same fault with other figures, one for each trainee, so that copying does not help."""

from __future__ import annotations

from collections.abc import Sequence
from pathlib import Path

import msgspec
import numpy as np

from troubleshoot.classroom.drill_file import Drill, read_drill
from troubleshoot.classroom.drill_maker import DrillPlan
from troubleshoot.classroom.key_file import Key, KeyRefused, key_files, read_key

SPREAD = 0.1
"""By how much of itself a severity may differ from what the trainer set."""
DRILLS = "*.drill.json"


def with_drawn_figures(plan: DrillPlan, seed: int) -> DrillPlan:
    """Return the plan with severities drawn about those set; the fault stays what it is."""
    rng = np.random.default_rng((seed, 11))

    def drawn(faults: dict[str, float]) -> dict[str, float]:
        return {
            name: round(float(min(max(one * rng.uniform(1.0 - SPREAD, 1.0 + SPREAD), 0.05), 1.0)), 3)
            for name, one in faults.items()
        }

    return msgspec.structs.replace(plan, faults=drawn(plan.faults), any_of=drawn(plan.any_of))


def drills_in(path: Path) -> list[Path]:
    """Return the drill files of a folder of variants in the order of their names; a file alone is itself."""
    return sorted(path.glob(DRILLS)) if path.is_dir() else [path]


def drill_for(path: Path, seat: str) -> Path:
    """Return the drill of a seat: of a folder of variants always the same one."""
    found = drills_in(path)
    return found[int(seat, 16) % len(found)] if seat and found else path


def drill_of_class(path: Path) -> Drill:
    """Return the drill that stands for a class, the first of its variants."""
    return read_drill(next(iter(drills_in(path)), path))


def keys_in(path: Path) -> list[Key]:
    """Return the key in a file, or those of a folder of variants; KeyRefused where there is none."""
    if not path.is_dir():
        return [read_key(path)]
    found = [read_key(one) for one in key_files(path)]
    if not found:
        raise KeyRefused(f"There is no key in {path}.", "Name the folder that has the keys of the variants.")
    return found


def key_for(text: str, keys: Sequence[Key]) -> Key:
    """Return the key of the drill that a hand-in says it sat; the first where it says none of them."""
    try:
        seal = msgspec.json.decode(text)["events"][0]["drill"]
    except (msgspec.MsgspecError, KeyError, IndexError, TypeError):
        seal = ""
    return next((one for one in keys if one.drill.seal == seal), keys[0])
