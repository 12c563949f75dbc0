"""The rubric: what a drill is marked by and how much each part weighs; a trainer may edit it."""

from __future__ import annotations

from pathlib import Path
from typing import Annotated

from msgspec import Meta, Struct, structs

from troubleshoot.knowledge.catalogue import shipped_trees
from troubleshoot.knowledge.forms import read_as
from troubleshoot.problems import TroubleshootError

Weight = Annotated[float, Meta(ge=0, le=1000)]

Points = Annotated[float, Meta(ge=0, le=100)]

CRITERIA: dict[str, str] = {
    "right-cause": "Right cause, with proof",
    "first-checks": "Choice of first checks",
    "information": "Information a minute",
    "set-ups": "Set-ups",
    "judged": "Readings judged",
    "sound-parts": "Sound parts left alone",
}
"""The parts of a mark, by their names in the rubric, with their words in a table."""


class RubricRefused(TroubleshootError):
    """The rubric cannot be used to mark with."""


class Rubric(Struct, frozen=True, kw_only=True, rename="kebab", forbid_unknown_fields=True):
    """Weights of the parts; the whole is scaled to 100.

    Points are taken off once for `asking` to see the ranking, for each `hint`, and for each reading `repeat`ed.
    """

    title: str = "Rubric"
    right_cause: Weight = 0.0
    first_checks: Weight = 0.0
    information: Weight = 0.0
    set_ups: Weight = 0.0
    judged: Weight = 0.0
    sound_parts: Weight = 0.0
    asking: Points = 0.0
    hint: Points = 0.0
    repeat: Points = 0.0
    pass_mark: Points = 60.0

    def weights(self, judge: bool) -> dict[str, float]:
        """Return the weight of each part, the judging of readings left out where a drill does not ask for it."""
        whole = {name.replace("_", "-"): value for name, value in structs.asdict(self).items()}
        return {name: whole[name] for name in CRITERIA if judge or name != "judged"}


def usual_rubric() -> Path:
    """Return the file of the rubric that comes with the program."""
    return shipped_trees() / "drills" / "rubrics" / "usual.yaml"


def read_rubric(path: Path | None = None) -> Rubric:
    """Read a rubric, the usual one when none is named; RubricRefused with every fault of the file."""
    where = path or usual_rubric()
    rubric = read_as(where, Rubric, RubricRefused, "rubric", "Correct the rubric, or leave --rubric out.")
    if sum(rubric.weights(judge=False).values()) <= 0:
        raise RubricRefused(
            f"The weights of {where} add to zero.", f"Give weight to at least one of {', '.join(CRITERIA)}."
        )
    return rubric
