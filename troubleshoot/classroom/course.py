"""A course: drills in their order, each with its aim, with a pass mark and a scale; one YAML file."""

from __future__ import annotations

from pathlib import Path
from typing import Annotated

from msgspec import Meta, Struct, field

from troubleshoot.classroom.story import starters
from troubleshoot.knowledge.findings import nearest
from troubleshoot.knowledge.forms import read_as
from troubleshoot.problems import TroubleshootError

Points = Annotated[float, Meta(ge=0, le=100)]


class CourseRefused(TroubleshootError):
    """The file is no course that can be used."""


class Lesson(Struct, frozen=True, kw_only=True, rename="kebab", forbid_unknown_fields=True):
    """One drill of a course: a starter by id or the title of one's own, and what is learnt by it."""

    drill: Annotated[str, Meta(min_length=1, max_length=80)]
    aim: str = ""


class Course(Struct, frozen=True, kw_only=True, rename="kebab", forbid_unknown_fields=True):
    """The drills of a course in their order; `scale` gives grades from the marks they begin at, as 90."""

    title: Annotated[str, Meta(min_length=1, max_length=80)]
    pass_mark: Points = 60.0
    scale: dict[str, Points] = field(default_factory=dict)
    drills: Annotated[list[Lesson], Meta(min_length=1)]

    def grade(self, total: float) -> str:
        """Return the grade of some marks by the scale; passed or not passed where there is none.

        >>> Course(title="x", scale={"A": 90, "B": 75}, drills=[Lesson(drill="y")]).grade(80)
        'B'
        """
        if not self.scale:
            return "passed" if total >= self.pass_mark else "not passed"
        reached = [(least, name) for name, least in self.scale.items() if total >= least]
        return max(reached)[1] if reached else "-"


def read_course(path: Path) -> Course:
    """Read a course; CourseRefused with every fault of the file, and for a starter that is not there."""
    course = read_as(path, Course, CourseRefused, "course", "Correct the file.")
    for one in course.drills:
        if one.drill[:2].isdigit() and one.drill not in starters():
            words = f"{path}: there is no starter drill {one.drill}{nearest(one.drill, starters())}."
            raise CourseRefused(words, "See `troubleshoot drill list`.")
    return course


def titles_of(course: Course) -> dict[str, str]:
    """Return the title of each drill of a course in its order, with its aim."""
    from troubleshoot.classroom.story import read_plan

    known = starters()
    found = {}
    for one in course.drills:
        plan = read_plan(known[one.drill]) if one.drill in known else None
        found[plan.title if plan is not None else one.drill] = one.aim or (plan.teaches if plan is not None else "")
    return found


USUAL = """\
# A course: drills in their order, each with its aim. A drill is a starter by its
# id, or the title of one of your own. The scale says from how many marks on each
# grade is given; without it there is passed and not passed.
title: First term
pass-mark: 60
scale: {A: 90, B: 75, C: 60, D: 40}
drills:
"""


def usual_course() -> str:
    """Return the text of a course over the starters, to be changed."""
    from troubleshoot.classroom.story import read_plan

    lines = []
    for name, path in starters().items():
        aim = read_plan(path).teaches.replace('"', "'")
        lines.append(f'  - drill: {name}\n    aim: "{aim}"\n')
    return USUAL + "".join(lines)
