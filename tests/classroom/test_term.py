"""Over a term: marks in one book, a course with a scale, what school systems take, variants, a drill on paper."""

from __future__ import annotations

import csv
import io
import json
import re
import sqlite3
import stat
import uuid

import pytest

from tests.classroom.conftest import Clock
from troubleshoot.case.settings import CaseSettings
from troubleshoot.casebook.gradebook import Grade, GradeBook
from troubleshoot.casebook.refusing import CasebookRefused
from troubleshoot.casebook.store import Casebook
from troubleshoot.classroom.board import seats_in
from troubleshoot.classroom.class_marks import mark_class, read_remarks, with_remarks, write_pages
from troubleshoot.classroom.course import Course, CourseRefused, Lesson, read_course, titles_of, usual_course
from troubleshoot.classroom.drill_file import drill_text, read_drill
from troubleshoot.classroom.drill_maker import DrillPlan, make_drills
from troubleshoot.classroom.handing_in import hand_in
from troubleshoot.classroom.key_file import write_key
from troubleshoot.classroom.name_list import Person
from troubleshoot.classroom.paper_drill import paper_checks, paper_drill
from troubleshoot.classroom.rubric import read_rubric
from troubleshoot.classroom.seats import seat_casebook
from troubleshoot.classroom.sitting import sit
from troubleshoot.classroom.step_replay import steps
from troubleshoot.classroom.story import read_plan, starters
from troubleshoot.classroom.term import beside_lines, book_lines, grades_of, school_csv, statements, trend_lines
from troubleshoot.classroom.variants import drill_for, key_for, keys_in, with_drawn_figures
from troubleshoot.classroom.yardstick import belief_in
from troubleshoot.problems import TroubleshootError

CHECKS = ("pressure-when-lean", "suction-vacuum")
RIGHT = "inlet-strainer-blocked"


@pytest.fixture
def found(tmp_path, sitting, work, lean, trees):
    """Two hand-ins, marked."""
    for place, (name, checks) in enumerate((("Anna", CHECKS), ("Bo", CHECKS[:1]))):
        text = hand_in(work(sitting(name, clock=Clock(3.0 * place)), checks, [RIGHT]))
        (tmp_path / f"{name}.handin.json").write_text(text, encoding="utf-8")
    return mark_class(sorted(tmp_path.glob("*.handin.json")), lean[1], read_rubric(), trees)


def grade(trainee="Anna", title="Hill", total=80.0, day="2026-11-25", **more):
    values = {"drill": f"seal-{title}", "passed": total >= 60, "hand_in": f"{trainee}{title}{day}{total}", **more}
    return Grade(trainee=trainee, title=title, total=total, day=day, **values)


def test_marks_are_entered_once_and_come_back_as_they_were(tmp_path, found):
    made = grades_of(found, "5b", [Person("anna", "17", "anna@school.example")])
    with GradeBook(tmp_path / "grades.sqlite") as book:
        assert book.enter(made) == 2 and book.enter(made) == 0
        kept = book.grades("5b")
        assert sorted(kept, key=lambda one: one.trainee.casefold()) == sorted(
            made, key=lambda one: one.trainee.casefold()
        )
        assert book.grades("5b", "Bo")[0].total == next(one.total for one in made if one.trainee == "Bo")
        assert book.grades("6c") == () and book.classes() == ("5b",)
    anna = next(one for one in kept if one.id == "17")
    assert anna.email == "anna@school.example" and anna.parts["right-cause"][1] == 40.0
    assert stat.S_IMODE((tmp_path / "grades.sqlite").stat().st_mode) == 0o600


def test_another_database_and_a_newer_book_are_refused_in_words(tmp_path):
    with sqlite3.connect(tmp_path / "other.sqlite") as other:
        other.execute("CREATE TABLE x (y)")
    other.close()
    (tmp_path / "text.sqlite").write_text("no database at all, but long enough to be looked at" * 20, encoding="utf-8")
    for name in ("other.sqlite", "text.sqlite"):
        before = (tmp_path / name).read_bytes()
        with pytest.raises(CasebookRefused):
            GradeBook(tmp_path / name)
        assert (tmp_path / name).read_bytes() == before
    GradeBook(tmp_path / "new.sqlite").close()
    with sqlite3.connect(tmp_path / "new.sqlite") as book:
        book.execute("PRAGMA user_version = 9")
    book.close()
    with pytest.raises(CasebookRefused):
        GradeBook(tmp_path / "new.sqlite")


def test_the_first_attempt_counts_and_further_ones_are_counted():
    grades = [grade(total=30.0), grade(total=95.0, attempt=2, day="2026-11-26"), grade("Bo", total=70.0)]
    lines = list(book_lines(grades))
    anna = next(line for line in lines if line.startswith("Anna"))
    assert re.search(r"Anna\s+30\s+30\s.*1 further attempt", anna)
    assert next(line for line in lines if line.startswith("class")).split()[-1] == "50"


def test_trends_and_an_earlier_class_are_worked_out_by_hand():
    """Means of the shares: 20 and 40 of 40 are 75 %; marks 60 and 80 are 70."""
    ours = [
        grade(total=60.0, parts={"right-cause": (20.0, 40.0)}),
        grade("Bo", total=80.0, parts={"right-cause": (40.0, 40.0)}),
        grade(title="Smoke", total=50.0, day="2026-12-01", parts={"right-cause": (10.0, 40.0)}),
    ]  # fmt: skip
    lines = list(trend_lines(ours))
    assert lines[1].split()[-2:] == ["75", "25"] and lines[1].startswith("Right cause")
    beside = list(beside_lines(ours, [grade("Old", total=40.0)], ("5b", "5a")))
    assert "70, 2 of 2" in beside[1] and "40, 0 of 1" in beside[1] and not any("Smoke" in one for one in beside)


def test_a_course_orders_and_grades(tmp_path):
    path = tmp_path / "course.yaml"
    path.write_text(usual_course(), encoding="utf-8")
    course = read_course(path)
    assert [one.drill for one in course.drills] == list(starters())
    assert list(titles_of(course)) == [read_plan(one).title for one in starters().values()]
    assert all(titles_of(course).values())
    assert [course.grade(one) for one in (100, 90, 89.9, 60, 41, 3)] == ["A", "A", "B", "C", "D", "-"]
    assert Course(title="x", drills=[Lesson(drill="y")]).grade(60) == "passed"
    path.write_text("title: x\npass-mark: 120\ndrills: [{drill: 01-silent}]\n", encoding="utf-8")
    with pytest.raises(CourseRefused, match="100"):
        read_course(path)
    path.write_text("title: x\ndrills: [{drill: 01-silent}]\n", encoding="utf-8")
    with pytest.raises(CourseRefused, match="no starter drill"):
        read_course(path)


def test_school_systems_get_id_and_e_mail_and_no_formula():
    rows = list(csv.DictReader(io.StringIO(school_csv([grade("=1+1", id="17", email="a@b.example", class_name="5b")]))))
    assert rows[0]["id"] == "17" and rows[0]["email"] == "a@b.example" and rows[0]["name"].startswith("'=")
    assert rows[0]["score"] == "80.0" and rows[0]["passed"] == "yes"


def test_statements_are_those_of_the_standard():
    """xAPI 1.0.3 / IEEE 9274.1.1: actor with one identifier, verb and object by IRI, scaled from -1 to 1, UUID."""
    for one in statements([grade(email="a@b.example"), grade("Bo", total=10.0)], "http://school.example"):
        said = json.loads(one)
        assert uuid.UUID(said["id"])
        assert ("mbox" in said["actor"]) != ("account" in said["actor"])
        assert said["actor"].get("mbox", "mailto:").startswith("mailto:")
        assert (
            said["verb"]["id"]
            == f"http://adlnet.gov/expapi/verbs/{'passed' if said['result']['success'] else 'failed'}"
        )
        assert said["object"]["id"].startswith("http") and -1 <= said["result"]["score"]["scaled"] <= 1
        assert re.fullmatch(r"PT\d+M", said["result"]["duration"])


def test_each_has_the_same_fault_with_other_figures(tmp_path, trees):
    plan = DrillPlan(title="Leak", faults={"vacuum-leak": 0.8})
    plans = [with_drawn_figures(plan, seed) for seed in (1, 2)]
    first, second = make_drills(plans, [1, 2], trees)
    assert first.key.causes == second.key.causes and first.drill.seal != second.drill.seal
    assert all(abs(one.faults["vacuum-leak"] - 0.8) <= 0.081 for one in plans)
    read = [name for name, text in first.drill.readings.items() if text and re.match(r"-?\d", text)]
    assert sum(first.drill.readings[name] != second.drill.readings.get(name) for name in read) > len(read) / 2
    text = json.dumps({"events": [{"drill": second.drill.seal}]})
    assert key_for(text, [first.key, second.key]) is second.key
    for number in (1, 2, 3):
        (tmp_path / f"{number}.drill.json").touch()
    seats = [f"{number:016x}" for number in range(6)]
    assert [drill_for(tmp_path, one).name[0] for one in seats] == ["1", "2", "3"] * 2


def test_a_class_of_variants_is_sat_watched_and_marked_by_its_folder(tmp_path, trees, work):
    """Each seat sits its own figures; the folder of keys marks all, and says on the board how right each is."""
    plans = [with_drawn_figures(DrillPlan(title="Strainer", faults={RIGHT: 0.9}), seed) for seed in (1, 2)]
    made = make_drills(plans, [1, 2], trees)
    folder, into = tmp_path / "var", tmp_path / "class"
    folder.mkdir()
    for number, one in enumerate(made, start=1):
        (folder / f"var-{number}.drill.json").write_text(drill_text(one.drill), encoding="utf-8")
        write_key(folder / f"var-{number}.key", one.key)
    files = []
    for place, seat in enumerate(("0" * 16, "0" * 15 + "1")):
        seat_casebook(into, seat).parent.mkdir(parents=True)
        with Casebook(seat_casebook(into, seat)) as book:
            mine = read_drill(drill_for(folder, seat))
            sat, _ = sit(book, trees, Clock(7.0 * place), mine, f"T{place}", CaseSettings(learn=False))
            text = hand_in(work(sat, CHECKS, [RIGHT]))
        files.append(tmp_path / f"T{place}.handin.json")
        files[-1].write_text(text, encoding="utf-8")
    marked = mark_class(files, keys_in(folder), read_rubric(), trees)
    assert not marked.refused and all(one.marks.found for one in marked.marked)
    assert len({one.key.drill.seal for one in marked.marked}) == 2
    assert all(one.belief is not None and one.belief > 0.2 for one in seats_in(into, belief_in(keys_in(folder), trees)))
    assert len(mark_class(files, keys_in(folder)[:1], read_rubric(), trees).refused) == 1


def test_a_hand_in_is_gone_through_step_by_step(found, lean, trees):
    one = next(one for one in found.marked if one.marks.trainee == "Anna")
    told = list(steps(one.replayed, lean[1], trees))
    assert [step.words.split(":")[0] for step in told if "judged" not in step.words][-1] == "named"
    assert all(0 <= step.belief <= 1 and step.belief <= step.lead for step in told)
    assert told[-1].belief > told[0].belief * 0.5 and told[-1].minute >= told[0].minute


def test_the_trainer_s_own_words_stand_on_the_page(tmp_path, found, trees):
    (tmp_path / "words.txt").write_text("Anna: Well begun: <b>go on</b>\n  and retest.\n", encoding="utf-8")
    remarked = with_remarks(found, read_remarks(tmp_path / "words.txt"))
    assert write_pages(remarked, trees, tmp_path / "pages") == 3
    page = (tmp_path / "pages" / "Anna.html").read_text(encoding="utf-8")
    assert "Well begun: &lt;b&gt;go on" in page and "and retest." in page
    assert 'class="write"' in (tmp_path / "pages" / "Bo.html").read_text(encoding="utf-8")
    (tmp_path / "words.txt").write_text("Zoe: hello\n", encoding="utf-8")
    with pytest.raises(TroubleshootError, match="zoe"):
        with_remarks(found, read_remarks(tmp_path / "words.txt"))


def test_a_drill_on_paper_has_a_card_for_each_check_and_no_answer(lean, trees):
    drill, _ = lean
    page, checks = paper_drill(drill, trees), paper_checks(drill, trees)
    assert len(checks) == sum(one is not None for one in drill.readings.values())
    assert page.count('class="card"') == len(checks)
    assert page.index("Answer sheet") < page.index("Cards for the trainer")
    before = page[: page.index("Cards for the trainer")]
    assert drill.readings["pressure-when-lean"] not in before and drill.readings["pressure-when-lean"] in page
    assert RIGHT not in page and drill.story[:30] in page
