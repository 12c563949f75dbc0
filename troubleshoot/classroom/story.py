"""Stories of drills: YAML files with everything a trainer decides; twelve come with the program."""

from __future__ import annotations

from pathlib import Path

from troubleshoot.classroom.drill_maker import DrillPlan, PlanRefused
from troubleshoot.knowledge.catalogue import shipped_trees
from troubleshoot.knowledge.findings import nearest
from troubleshoot.knowledge.forms import read_as


def starter_folder() -> Path:
    """Return the folder of the drills that come with the program."""
    return shipped_trees() / "drills"


def starters() -> dict[str, Path]:
    """Return the starter drills by id, easiest first as their names are numbered."""
    return {path.stem: path for path in sorted(starter_folder().glob("*.yaml"))}


def read_plan(path: Path) -> DrillPlan:
    """Read a story; PlanRefused with every fault of the file."""
    return read_as(path, DrillPlan, PlanRefused, "story of a drill", "Correct the file.")


def plan_named(wanted: str, folder: Path) -> DrillPlan:
    """Return a starter drill by id, or the story in a file; PlanRefused when there is neither."""
    known = starters()
    if wanted in known:
        return read_plan(known[wanted])
    path = folder / wanted
    if not path.is_file():
        raise PlanRefused(
            f"There is no starter drill and no file {wanted[:60]}{nearest(wanted, known)}.",
            "See `troubleshoot drill list`.",
        )
    return read_plan(path)
