"""The commands of a term: enter marks in the grade book, look at it, write it out for a school's system."""

from __future__ import annotations

from pathlib import Path
from typing import TYPE_CHECKING

from troubleshoot.cli import output
from troubleshoot.cli.options import GlobalOptions
from troubleshoot.problems import TroubleshootError

if TYPE_CHECKING:
    from troubleshoot.classroom.class_marks import ClassMarks


def enter(wanted: GlobalOptions, found: ClassMarks, book: Path, class_name: str, names: Path | None) -> None:
    """Enter marks in a grade book."""
    from troubleshoot.casebook.gradebook import GradeBook
    from troubleshoot.classroom.name_list import read_names
    from troubleshoot.classroom.term import grades_of

    people = read_names(wanted.here / names) if names is not None else ()
    with GradeBook(wanted.here / book) as grades:
        new = grades.enter(grades_of(found, class_name, people))
    output.say(f"{len(found.marked)} marks entered in {wanted.here / book}, {new} of them new.")


def show_grades(
    wanted: GlobalOptions, book: Path, class_name: str | None, trainee: str | None, beside: str | None,
    course: Path | None, csv: Path | None, xapi: Path | None, home: str,
) -> None:  # fmt: skip
    """Show a grade book, or write it out."""
    from troubleshoot.casebook.gradebook import GradeBook
    from troubleshoot.classroom.course import read_course
    from troubleshoot.classroom.term import (
        beside_lines,
        book_lines,
        school_csv,
        statements,
        trend_lines,
        write_lines,
    )

    if not (wanted.here / book).is_file():
        raise TroubleshootError(f"There is no grade book {wanted.here / book}.", "`drill mark --book` makes one.")
    plan = read_course(wanted.here / course) if course is not None else None
    with GradeBook(wanted.here / book) as kept:
        found = kept.grades(class_name or "", trainee or "")
        other = kept.grades(beside) if beside is not None else ()
        classes = ", ".join(one or "(none named)" for one in kept.classes())
    if not found:
        raise TroubleshootError("The grade book has no such marks.", f"Its classes are: {classes or 'none yet'}.")
    if csv is not None:
        write_lines(wanted.here / csv, iter(school_csv(found, plan).splitlines()))
    if xapi is not None:
        write_lines(wanted.here / xapi, statements(found, home.rstrip("/")))
    for line in (*book_lines(found, plan), "", *trend_lines(found, plan)):
        output.data(line)
    if beside is not None:
        output.data()
        for line in beside_lines(found, other, (class_name or "all", beside)):
            output.data(line)
