"""Stories of drills: YAML files with everything a trainer decides; twelve come with the program."""

from __future__ import annotations

from pathlib import Path

from troubleshoot.classroom.drill_maker import DrillPlan, PlanRefused
from troubleshoot.knowledge.catalogue import shipped_trees
from troubleshoot.knowledge.findings import nearest
from troubleshoot.knowledge.forms import fit
from troubleshoot.knowledge.loading import read_document


def starter_folder() -> Path:
    """Return the folder of the drills that come with the program."""
    return shipped_trees() / "drills"


def starters() -> dict[str, Path]:
    """Return the starter drills by id, easiest first as their names are numbered."""
    return {path.stem: path for path in sorted(starter_folder().glob("*.yaml"))}


def read_plan(path: Path) -> DrillPlan:
    """Read a story; PlanRefused with every fault of the file."""
    document = read_document(path)
    plan = fit(document.value, DrillPlan, document) if document.value is not None else None
    if plan is None or document.findings:
        faults = "\n".join(str(one) for one in document.findings)
        raise PlanRefused(faults or f"{path} is no story of a drill.", "Correct the file.")
    return plan


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
