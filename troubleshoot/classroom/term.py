"""A term in the grade book: marks entered, trends by part, one class beside another, and what school systems take."""

from __future__ import annotations

import csv
import hashlib
import io
import json
import uuid
from collections.abc import Iterator, Mapping, Sequence
from pathlib import Path
from statistics import fmean
from textwrap import wrap

from troubleshoot.case.kept_events import encode
from troubleshoot.casebook.gradebook import Grade, GradeBook
from troubleshoot.classroom.class_marks import ClassMarks
from troubleshoot.classroom.course import Course, titles_of
from troubleshoot.classroom.marks_table import plain_cell
from troubleshoot.classroom.name_list import Person, read_names
from troubleshoot.classroom.rubric import CRITERIA
from troubleshoot.problems import TroubleshootError

XAPI = "http://adlnet.gov/expapi"
"""The vocabulary of verbs and activities of xAPI (IEEE 9274.1.1)."""


def grades_of(found: ClassMarks, class_name: str, people: Sequence[Person]) -> list[Grade]:
    """Return what marked hand-ins come to in the grade book; id and e-mail are those of the list of names."""
    known = {one.name.casefold(): one for one in people}
    made = []
    for one in found.marked:
        marks = one.marks
        person = known.get(marks.trainee.casefold(), Person(marks.trainee))
        whole = [json.loads(encode(event)) for event in one.replayed.sitting.case.events]
        made.append(Grade(
            trainee=person.name, class_name=class_name, id=person.id, email=person.email,
            drill=found.key.drill.seal, title=found.key.drill.title, day=marks.day, attempt=marks.attempt,
            total=round(marks.total, 2), passed=marks.passed, found=marks.found, finished=marks.finished,
            minutes=round(marks.minutes, 1),
            parts={score.criterion: (round(score.points, 2), round(score.out_of, 2)) for score in marks.scores},
            remarks=marks.remarks, hand_in=hashlib.sha256(json.dumps(whole, sort_keys=True).encode()).hexdigest(),
        ))  # fmt: skip
    return made


def enter_grades(found: ClassMarks, book: Path, class_name: str, names: Path | None) -> int:
    """Enter marks in a grade book, which is made where there is none; return how many are new."""
    people = read_names(names) if names is not None else ()
    with GradeBook(book) as grades:
        return grades.enter(grades_of(found, class_name, people))


def kept_grades(book: Path, class_name: str = "", trainee: str = "") -> tuple[Grade, ...]:
    """Return the marks of a grade book; TroubleshootError where there is no book, or it has none of these."""
    if not book.is_file():
        raise TroubleshootError(f"There is no grade book {book}.", "`drill mark --book` makes one.")
    with GradeBook(book) as kept:
        found = kept.grades(class_name, trainee)
        classes = ", ".join(one or "(none named)" for one in kept.classes())
    if not found:
        raise TroubleshootError("The grade book has no such marks.", f"Its classes are: {classes or 'none yet'}.")
    return found


def counted(grades: Sequence[Grade]) -> list[Grade]:
    """Return the marks that count: of each trainee of a class and each drill the first attempt that was entered."""
    first: dict[tuple[str, str, str], Grade] = {}
    for one in sorted(grades, key=lambda grade: (grade.attempt, grade.day)):
        first.setdefault((one.class_name, one.trainee, one.title), one)
    return list(first.values())


def share(grades: Sequence[Grade], part: str) -> float | None:
    """Return the mean share of a part's points that was got, from 0 to 1; None where nobody was marked for it."""
    found = [points / most for one in grades for points, most in [one.parts.get(part, (0.0, 0.0))] if most > 0]
    return fmean(found) if found else None


def _ordered(grades: Sequence[Grade], course: Course | None) -> list[str]:
    titles = list(dict.fromkeys(one.title for one in sorted(grades, key=lambda grade: grade.day)))
    if course is None:
        return titles
    wanted = list(titles_of(course))
    return [*(one for one in wanted), *(one for one in titles if one not in wanted)]


def book_lines(grades: Sequence[Grade], course: Course | None = None) -> Iterator[str]:
    """Yield trainees against drills, with the mean of what each has done, its grade, and how many attempts."""
    counting, drills = counted(grades), _ordered(grades, course)
    aims = titles_of(course) if course is not None else {}
    for number, title in enumerate(drills, start=1):
        yield from wrap(
            f"{number:>2} {title}{f': {aims[title]}' if aims.get(title) else ''}", 79, subsequent_indent="   "
        )
    people = sorted({one.trainee for one in counting}, key=str.casefold)
    width = max([len("Trainee"), *(min(len(name), 20) for name in people)])
    yield f"{'Trainee':<{width}} " + "".join(f"{number:>5}" for number in range(1, len(drills) + 1)) + "   mean"
    for name in people:
        own = {one.title: one for one in counting if one.trainee == name}
        cells = "".join(f"{own[title].total:>5.0f}" if title in own else "    -" for title in drills)
        mean = fmean(one.total for one in own.values())
        again = sum(one.trainee == name for one in grades) - len(own)
        more = f", {again} further {'attempt' if again == 1 else 'attempts'}" if again else ""
        yield f"{name[:width]:<{width}} {cells} {mean:>6.0f}  {course.grade(mean) if course else ''}{more}".rstrip()
    done = [[one.total for one in counting if one.title == title] for title in drills]
    yield f"{'class':<{width}} " + "".join(f"{fmean(one):>5.0f}" if one else "    -" for one in done)


def trend_lines(grades: Sequence[Grade], course: Course | None = None) -> Iterator[str]:
    """Yield each part of the marks over the drills in their order, in percent of what could be had."""
    counting = counted(grades)
    drills = [title for title in _ordered(grades, course) if any(one.title == title for one in counting)]
    yield f"{'Part, % of what could be had':<28}" + "".join(f"{number:>5}" for number in range(1, len(drills) + 1))
    for part, words in CRITERIA.items():
        found = [share([one for one in counting if one.title == title], part) for title in drills]
        if any(one is not None for one in found):
            yield f"{words:<28}" + "".join(f"{one * 100:>5.0f}" if one is not None else "    -" for one in found)


def beside_lines(ours: Sequence[Grade], theirs: Sequence[Grade], names: tuple[str, str]) -> Iterator[str]:
    """Yield one class beside another, drill by drill that both have done: mean, passed, found."""
    first, second = counted(ours), counted(theirs)
    shared = [title for title in _ordered(ours, None) if any(one.title == title for one in second)]
    if not shared:
        yield f"{names[0]} and {names[1]} have no drill in common."
        return
    yield f"{'Drill':<30} {names[0][:20]:>20} {names[1][:20]:>20}"
    for title in shared:
        yield f"{title[:30]:<30} {_figures(first, title):>20} {_figures(second, title):>20}"
    yield "Each: mean marks, passed of so many."


def _figures(grades: Sequence[Grade], title: str) -> str:
    own = [one for one in grades if one.title == title]
    return f"{fmean(one.total for one in own):.0f}, {sum(one.passed for one in own)} of {len(own)}"


def school_csv(grades: Sequence[Grade], course: Course | None = None) -> str:
    """Return the marks as CSV, one row a mark, with the columns that school systems ask for."""
    out = io.StringIO()
    writer = csv.writer(out, lineterminator="\n")
    writer.writerow([
        "id", "email", "name", "class", "assignment", "date", "attempt", "score", "max-score", "grade", "passed",
        *CRITERIA, "minutes", "remarks",
    ])  # fmt: skip
    for one in grades:
        passed = one.total >= course.pass_mark if course is not None else one.passed
        writer.writerow([
            *(plain_cell(text) for text in (one.id, one.email, one.trainee, one.class_name, one.title)), one.day,
            one.attempt, f"{one.total:.1f}", "100", course.grade(one.total) if course is not None else "",
            "yes" if passed else "no", *(f"{one.parts[part][0]:.1f}" if part in one.parts else "" for part in CRITERIA),
            f"{one.minutes:.0f}", plain_cell("; ".join(one.remarks)),
        ])  # fmt: skip
    return out.getvalue()


def statements(grades: Sequence[Grade], home: str) -> Iterator[str]:
    """Yield an xAPI statement for each mark as one line of JSON; `home` is the school's address on the web."""
    for one in grades:
        verb = "passed" if one.passed else "failed"
        actor: dict[str, object] = {"objectType": "Agent", "name": one.trainee}
        if one.email:
            actor["mbox"] = f"mailto:{one.email}"
        else:
            actor["account"] = {"homePage": home, "name": one.id or one.trainee}
        statement: Mapping[str, object] = {
            "id": str(uuid.uuid5(uuid.NAMESPACE_URL, f"{home}/{one.hand_in}")),
            "actor": actor,
            "verb": {"id": f"{XAPI}/verbs/{verb}", "display": {"en": verb}},
            "object": {
                "id": f"{home}/drills/{one.drill[:16]}",
                "definition": {"type": f"{XAPI}/activities/assessment", "name": {"en": one.title}},
            },
            "result": {
                "score": {"scaled": round(one.total / 100.0, 4), "raw": one.total, "min": 0, "max": 100},
                "success": one.passed,
                "completion": one.finished,
                "duration": f"PT{one.minutes:.0f}M",
            },
            "timestamp": f"{one.day}T00:00:00Z",
        }
        yield json.dumps(statement, ensure_ascii=False)


def write_lines(path: Path, lines: Iterator[str]) -> None:
    """Write lines to a file that is not there yet, for its owner alone."""
    from troubleshoot.file_writing import write_whole

    write_whole(path, "".join(f"{line}\n" for line in lines), private=True, new=True)
