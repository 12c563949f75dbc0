"""The commands of a term: enter marks in the grade book, look at it, write it out for a school's system."""

from __future__ import annotations

from pathlib import Path
from typing import TYPE_CHECKING

from troubleshoot.cli import output
from troubleshoot.cli.options import GlobalOptions

if TYPE_CHECKING:
    from troubleshoot.classroom.class_marks import ClassMarks


def enter(wanted: GlobalOptions, found: ClassMarks, book: Path, class_name: str, names: Path | None) -> None:
    """Enter marks in a grade book."""
    from troubleshoot.classroom.term import enter_grades

    new = enter_grades(found, wanted.here / book, class_name, wanted.here / names if names is not None else None)
    output.say(f"{len(found.marked)} marks entered in {wanted.here / book}, {new} of them new.")


def show_grades(
    wanted: GlobalOptions, book: Path, class_name: str | None, trainee: str | None, beside: str | None,
    course: Path | None, csv: Path | None, xapi: Path | None, home: str,
) -> None:  # fmt: skip
    """Show a grade book, or write it out."""
    from troubleshoot.classroom.course import read_course
    from troubleshoot.classroom.term import (
        beside_lines,
        book_lines,
        kept_grades,
        school_csv,
        statements,
        trend_lines,
        write_lines,
    )

    found = kept_grades(wanted.here / book, class_name or "", trainee or "")
    plan = read_course(wanted.here / course) if course is not None else None
    if csv is not None:
        write_lines(wanted.here / csv, iter(school_csv(found, plan).splitlines()))
    if xapi is not None:
        write_lines(wanted.here / xapi, statements(found, home.rstrip("/")))
    for line in (*book_lines(found, plan), "", *trend_lines(found, plan)):
        output.data(line)
    if beside is not None:
        output.data()
        for line in beside_lines(found, kept_grades(wanted.here / book, beside), (class_name or "all", beside)):
            output.data(line)
