"""The grade book, a list of names, and a drill on paper, on the screens."""

from __future__ import annotations

from collections.abc import Mapping
from pathlib import Path
from typing import TYPE_CHECKING, Any

from textual.app import App

from troubleshoot.classroom.class_marks import ClassMarks
from troubleshoot.classroom.drill_file import read_drill
from troubleshoot.classroom.name_list import names_csv, read_names
from troubleshoot.classroom.paper_drill import paper_drill, paper_file
from troubleshoot.classroom.term import book_lines, enter_grades, kept_grades, trend_lines
from troubleshoot.file_writing import write_whole
from troubleshoot.problems import TroubleshootError
from troubleshoot.tui.screens.drill_files import DRILL, choose_file
from troubleshoot.tui.screens.form_screen import FormScreen, System
from troubleshoot.tui.screens.page import PageScreen
from troubleshoot.tui.widgets.form import FormField

if TYPE_CHECKING:
    from troubleshoot.tui.screens.home import HomeScreen

BOOK, NAMES = ".sqlite", ".csv"


async def show_grades(home: HomeScreen) -> None:
    """Show a grade book: trainees against drills, and each part of the marks over the drills."""
    words = "Marks are entered from Mark what was handed in, by g."
    path = await choose_file(home.app, "Which grade book?", words, BOOK)
    if path is None:
        return
    found = kept_grades(path)
    told: list[str] = []
    for name in sorted({one.class_name for one in found}):
        mine = [one for one in found if one.class_name == name]
        told += [f"{name or 'No class named'}:", *book_lines(mine), " ", *trend_lines(mine), " "]
    await home.app.push_screen_wait(PageScreen(f"Grade book {path.name}", told, path.with_suffix(".txt")))


async def enter_marks(app: App[Any], found: ClassMarks) -> str:
    """Ask for book, class and list of names, enter the marks, and return in words what came of it."""
    here = Path.cwd()
    books, lists = sorted(here.glob(f"*{BOOK}")), sorted(here.glob(f"*{NAMES}"))
    fields = [
        FormField("book", "Grade book", books[0].name if books else f"grades{BOOK}", "made where there is none"),
        FormField("class", "Class", "", "as 5b-2026"),
        FormField("names", "List of names", "", f"for ids, as {lists[0].name}" if lists else "for ids; may be empty"),
    ]

    def reads(changed: Mapping[str, str], _: System) -> tuple[object, Mapping[str, str]]:
        """Enter the marks, so that what cannot be is said beside the field."""
        kept = {one.name: changed.get(one.name, one.value).strip() for one in fields}
        names = here / kept["names"] if kept["names"] else None
        try:
            new = enter_grades(found, here / kept["book"], kept["class"], names)
        except TroubleshootError as refused:
            return None, {"book": str(refused)}
        return f"{len(found.marked)} marks entered in {kept['book']}, {new} of them new.", {}

    done = await app.push_screen_wait(FormScreen("Grade book", "The first attempt counts.", lambda _: fields, reads))
    return str(done or "")


async def list_names(home: HomeScreen) -> None:
    """Show a list of names, or make one; serving the class by it gives each a code for a seat."""
    path = await choose_file(home.app, "Names of which class?", "A file with a name a line.", NAMES, new="A new list")
    if path is None:
        return
    if not path.exists():
        typed = await home.app.push_screen_wait(names_form(path))
        if typed is None:
            return
    people = read_names(path)
    rows = [f"- {'  '.join(part for part in (one.name, one.id, one.email) if part)}" for one in people]
    serve = f"troubleshoot drill serve DRILL --host 0.0.0.0 --names {path.name}"
    told = [
        f"{len(people)} names in {path}:",
        *rows,
        "A code for each, on slips to cut out, come with the class:",
        f"- {serve}",
    ]
    await home.app.push_screen_wait(PageScreen("Names of a class", told))


def names_form(path: Path) -> FormScreen:
    """Return the form for the names of a new list."""

    def reads(changed: Mapping[str, str], _: System) -> tuple[object, Mapping[str, str]]:
        """Write the list; one that cannot be read again is taken back."""
        names = [one.strip() for one in changed.get("names", "").split(";") if one.strip()]
        try:
            write_whole(path, names_csv(names), new=True)
            return len(read_names(path)), {}
        except TroubleshootError as refused:
            path.unlink(missing_ok=True)
            return None, {"names": str(refused)}
        except OSError as refused:
            return None, {"names": f"{path} cannot be written: {refused.strerror}."}

    words = "Ids and e-mails can be written into the file afterwards."
    return FormScreen(path.name, words, lambda _: [FormField("names", "Names", "", "Anna Berg; Bo Lind")], reads)


async def write_paper(home: HomeScreen) -> None:
    """Write a drill as one page to print where one works."""
    path = await choose_file(home.app, "Which drill?", "For a class without computers.", DRILL)
    if path is None:
        return
    page = Path.cwd() / paper_file(path)
    text = paper_drill(read_drill(path), home.workspace.catalogue)
    try:
        write_whole(page, text, new=True)
    except FileExistsError:
        raise TroubleshootError(f"{page} is there already.", "Move that one away.") from None
    except OSError as refused:
        raise TroubleshootError(f"{page} cannot be written: {refused.strerror}.", "Start elsewhere.") from refused
    told = (
        f"To print, from a browser: {page}",
        "- story and list of checks for each trainee",
        "- the answer sheet for each trainee",
        "- the cards with the readings, to cut out, for you alone",
    )
    await home.app.push_screen_wait(PageScreen("A drill on paper", told))
