"""Change an answer given earlier: the same check asked again, with what was said before."""

from __future__ import annotations

from textual import on
from textual.app import ComposeResult
from textual.containers import VerticalScroll
from textual.widgets import Static

from troubleshoot.case.case import Case
from troubleshoot.case.view import TrailLine
from troubleshoot.knowledge.answers import ReadingImplausible
from troubleshoot.problems import TroubleshootError
from troubleshoot.tui.actions import bindings_of
from troubleshoot.tui.plain import lines, plain
from troubleshoot.tui.screens.answer_once import OnceScreen
from troubleshoot.tui.widgets.entry import Entry
from troubleshoot.tui.widgets.lines import HeadLine, KeyLine, MessageLine, tell, tell_problem
from troubleshoot.tui.widgets.numbered import Numbered, Row

SKIPPED = "skipped"


class CorrectScreen(OnceScreen[bool]):
    """One earlier answer; True when it was changed."""

    CSS_PATH = "../styles/choice.tcss"
    BINDINGS = bindings_of("list")
    NAME = "list"

    def __init__(self, case: Case, line: TrailLine) -> None:
        super().__init__()
        self.case, self.line = case, line
        self.check = case.catalogue.checks[line.check]
        self.sure_of = ""

    def compose(self) -> ComposeResult:
        """Lay out the check, what was said, and the way to answer it again."""
        said = ", ".join(word for word in (self.line.answer, self.line.verdict) if word)
        yield HeadLine("Change an answer", id="head")
        yield Static(
            lines(plain(self.check.ask, "bold $strong"), plain(f"was: {said}", "$quiet"), ""), id="words", markup=False
        )
        if self.check.reading is not None:
            yield Entry(id="entry")
            yield Static(id="echo", markup=False)
        with VerticalScroll(id="rows", can_focus=False):
            yield Numbered(id="list")
        yield MessageLine()
        yield KeyLine("list")

    def on_mount(self) -> None:
        """Ask again."""
        rows = [] if self.check.kind.measured else [Row(*one) for one in self.check.named_outcomes]
        numbered = self.query_one(Numbered)
        if self.check.reading is not None:
            self.query_one(Entry).show("a number, with its unit")
            self.query_one(Entry).focus()
            numbered.show([Row(SKIPPED, "It could not be measured: leave it out")], at=-1)
            tell(self, "Type what it should be, then Enter. Tab, then Enter, leaves it out.")
        else:
            numbered.show([*rows, Row(SKIPPED, "It could not be told: leave it out")], at=0)
            numbered.focus()

    @on(Entry.Changed)
    def echo(self, changed: Entry.Changed) -> None:
        """Say how the text is understood."""
        try:
            read = self.case.understand(self.line.check, changed.entry.text)
        except TroubleshootError as refused:
            words = refused.sentence
        else:
            words = f"{read.shown}: {read.warning or read.words}"
        self.query_one("#echo", Static).update(plain(words if changed.entry.text else ""))

    @on(Numbered.Taken)
    def action_pick(self) -> None:
        """Put the answer in the place of the earlier one; a second key, typed before that was done, does nothing."""
        if not self.is_active:
            return
        entry = self.query_one(Entry) if self.check.reading is not None else None
        numbered = self.query_one(Numbered)
        if entry is not None and not numbered.has_focus:
            self.correct(entry.text)
        else:
            self.correct(numbered.marked.id if numbered.marked else SKIPPED)

    def correct(self, text: str) -> None:
        """Correct the answer; one that is hardly possible is taken at the second Enter."""
        try:
            self.case.correct(self.line.index, text, sure=bool(text) and text == self.sure_of)
        except ReadingImplausible as doubted:
            self.sure_of = text
            tell_problem(self, TroubleshootError(doubted.sentence, "Enter again takes it all the same."))
        except TroubleshootError as refused:
            tell_problem(self, refused)
        else:
            self.dismiss(True)

    def action_back(self) -> None:
        """Leave the answer as it was."""
        self.dismiss(False)
