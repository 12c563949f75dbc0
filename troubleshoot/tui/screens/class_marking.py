"""Mark what was handed in, on the screens: a line a trainee, each to be opened; pages and CSV to be written."""

from __future__ import annotations

from collections.abc import Iterator
from pathlib import Path
from typing import TYPE_CHECKING

from textual import work

from troubleshoot.classroom.class_marks import ClassMarks, hand_in_files, mark_class, write_pages
from troubleshoot.classroom.debriefing import against_named, told_by
from troubleshoot.classroom.handing_in import FileThere
from troubleshoot.classroom.key_file import key_stem
from troubleshoot.classroom.marks_pages import Marked
from troubleshoot.classroom.marks_table import answer_words, class_figures, marks_csv, table_lines
from troubleshoot.classroom.rubric import read_rubric
from troubleshoot.classroom.step_replay import step_lines
from troubleshoot.classroom.variants import keys_in
from troubleshoot.file_writing import write_whole
from troubleshoot.knowledge.catalogue import Catalogue
from troubleshoot.problems import TroubleshootError
from troubleshoot.tui.actions import bindings_of
from troubleshoot.tui.screens.choice_screen import ChooseScreen
from troubleshoot.tui.screens.drill_files import choose_hand_ins, choose_key
from troubleshoot.tui.screens.page import PageScreen
from troubleshoot.tui.screens.term import enter_marks
from troubleshoot.tui.screens.waiting import Told, wait_for
from troubleshoot.tui.widgets.lines import tell, tell_problem
from troubleshoot.tui.widgets.numbered import Numbered, Row

if TYPE_CHECKING:
    from troubleshoot.tui.screens.home import HomeScreen

LONGEST_NAME = 14
"""Characters of a name in the table on the screen."""


async def mark_hand_ins(home: HomeScreen) -> None:
    """Ask for the key and the folder, mark, and show the class until the trainer leaves."""
    path = await choose_key(home.app, "Which drill?", "By its key, or the folder of its variants.")
    folder = await choose_hand_ins(home.app) if path is not None else None
    if path is None or folder is None:
        return
    keys, rubric, catalogue = keys_in(path), read_rubric(), home.workspace.catalogue
    files = hand_in_files([folder])

    def make(told: Told) -> ClassMarks:
        """Replay and mark each."""
        return mark_class(files, keys, rubric, catalogue, lambda done, of: told(f"{done} of {of} marked", done, of))

    found = await wait_for(home.app, keys[0].drill.title, "Replaying each hand-in step by step", make)
    if found is not None:
        await home.app.push_screen_wait(MarksScreen(found, catalogue, Path.cwd() / key_stem(path)))


class MarksScreen(ChooseScreen, inherit_bindings=False):
    """The marks of a class, best first."""

    BINDINGS = bindings_of("marks-table")
    NAME = "marks-table"

    def __init__(self, found: ClassMarks, catalogue: Catalogue, stem: Path) -> None:
        self.found, self.catalogue, self.stem = found, catalogue, stem
        head, *table = table_lines(found.marks, LONGEST_NAME)
        rows = [Row(str(place), line) for place, line in enumerate(table)]
        figures = class_figures(found.marks, catalogue)
        words = f"It was: {answer_words(found.key, catalogue)}. {figures.words}."
        refused = "".join(f"\nRefused: {one}" for one in found.refused)
        super().__init__(
            f"Marks: {found.key.drill.title}", rows, f"{words}{refused}\n\n    {head}", "Nothing was marked."
        )

    def act_on(self, row: Row) -> None:
        """A digit opens a trainee."""
        self.open(row)

    def action_pick(self) -> None:
        """Open the trainee marked ▸."""
        row = self.query_one(Numbered).marked
        if row is not None:
            self.open(row)

    def open(self, row: Row) -> None:
        """Show why one trainee has these marks."""
        one = self.found.marked[int(row.id)]
        self.app.push_screen(PageScreen(one.marks.trainee, tuple(trainee_lines(one, self.catalogue))))

    @work
    async def action_grades(self) -> None:
        """Enter the marks in a grade book."""
        said = await enter_marks(self.app, self.found)
        if said:
            tell(self, said)

    def action_write(self) -> None:
        """Write the pages and the CSV where one works; neither where some of it is there already."""
        pages, csv = Path(f"{self.stem}-marks"), Path(f"{self.stem}-marks.csv")
        try:
            if csv.exists():
                raise FileThere(f"{csv} is there already.", "Move it away, or start from a folder of your own.")
            count = write_pages(self.found, self.catalogue, pages)
            write_whole(csv, marks_csv(self.found.marks), private=True, new=True)
        except OSError as refused:
            advice = "Move it away, or start from a folder of your own."
            tell_problem(self, TroubleshootError(f"{refused.filename} cannot be written: {refused.strerror}.", advice))
        except TroubleshootError as refused:
            tell_problem(self, refused)
        else:
            tell(self, f"{count} pages to print in {pages.name}, and {csv.name}, in {csv.parent}")


def trainee_lines(one: Marked, catalogue: Catalogue) -> Iterator[str]:
    """Yield why a trainee has these marks: part by part, the path, what the readings told."""
    marks, key = one.marks, one.key
    late = "" if marks.finished else "; not handed in"
    yield f"{marks.total:.0f} of 100{late}. {marks.minutes:.0f} minutes, {marks.real_minutes:.0f} by the clock."
    if marks.remarks:
        yield f"To look at: {'; '.join(marks.remarks)}."
    yield "How it was marked:"
    for score in marks.scores:
        yield f"- {score.title}: {score.points:.0f} of {score.out_of:.0f}; {score.why}."
    for words, count, points in marks.penalties:
        yield f"- {words}: {count}, {points:.0f} off."
    yield "Step by step, with the belief in what is wrong after each:"
    yield from (f"- {line.strip()}" for line in step_lines(one.replayed, key, catalogue))
    told = told_by(one.replayed.sitting, key)
    if told:
        yield "What these readings told:"
        yield from (f"- {line}" for line in told)
    against = against_named(one.replayed.sitting, key)
    if against:
        yield "Named, and not it:"
        yield from (f"- {line}" for line in against)
