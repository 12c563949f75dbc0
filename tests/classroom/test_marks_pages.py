"""The pages and the table of a class: what separated those who found it, names shown as text, a file each."""

from __future__ import annotations

from dataclasses import replace

import pytest

from tests.classroom.conftest import by_numbers
from troubleshoot.classroom.class_marks import ClassMarks, write_pages
from troubleshoot.classroom.marks_pages import class_page, trainee_page
from troubleshoot.classroom.marks_table import class_figures, marks_csv, table_lines

SOUND = ("pressure-when-lean", "pump-volts-under-load", "suction-vacuum")
RIGHT = "inlet-strainer-blocked"


@pytest.fixture(scope="module")
def lean(lean):
    """The drill of the long hill where three readings tell all there is to tell."""
    key = by_numbers(lean[1])
    return key.drill, key


def test_the_class_pages_say_what_separated_and_escape_names(sitting, work, marked, lean, trees):
    found = marked(work(sitting("<b>Ann</b>"), SOUND, [RIGHT]))
    lost = marked(work(sitting("=Bo"), SOUND[:1], ["filter-blocked"]))
    figures = class_figures([found.marks, lost.marks], trees)
    assert (figures.found, figures.proved, figures.trainees) == (1, 1, 2)
    assert {one.check for one in figures.separating} == set(SOUND[1:])
    assert figures.wrong_turns == ((trees.causes["filter-blocked"].title, 1),)
    assert [(one.proved, one.others) for one in figures.separating] == [(1, 0), (1, 0)]
    page = class_page([found, lost], lean[1], trees) + trainee_page(found, trees)
    against = trainee_page(lost, trees)
    assert "What you named that was not it" in against and "nothing you read spoke against it" in against
    assert len(marks_csv([]).split(",")) == len(set(marks_csv([]).strip().split(",")))
    assert "<b>Ann</b>" not in page and "&lt;b&gt;Ann" in page
    assert "'=Bo" in marks_csv([lost.marks])
    assert all(len(line) <= 79 for line in table_lines([found.marks, lost.marks]))


def test_hand_ins_of_one_name_from_two_folders_have_a_page_each(tmp_path, sitting, work, marked, lean, trees):
    """Two classes may each have an Ann, and somebody may be called class: nobody's page is written over."""
    files = (("Ann", "red/hill-Ann"), ("Anna", "blue/hill-Ann"), ("Cy", "red/class"))
    both = [
        replace(marked(work(sitting(name), SOUND, [RIGHT])).marks, file=f"{file}.handin.json") for name, file in files
    ]
    one = marked(work(sitting("Ann"), SOUND, [RIGHT]))
    found = ClassMarks(lean[1], tuple(replace(one, marks=marks) for marks in both), ())
    assert write_pages(found, trees, tmp_path / "pages") == 4
    pages = {path.name: path.read_text(encoding="utf-8") for path in (tmp_path / "pages").iterdir()}
    assert set(pages) == {"hill-Ann.html", "hill-Ann-2.html", "class-2.html", "class.html"}
    assert "<b>Anna</b>" in pages["hill-Ann-2.html"] and "found it" in pages["class.html"]
