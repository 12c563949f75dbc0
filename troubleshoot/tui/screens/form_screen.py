"""Fill in a form: a field that does not fit is marked and holds the person, what was typed stays."""

from __future__ import annotations

from collections.abc import Callable, Mapping, Sequence
from typing import Literal

from textual import on
from textual.app import ComposeResult
from textual.containers import VerticalScroll
from textual.widgets import Static

from troubleshoot.problems import TroubleshootError
from troubleshoot.tui.actions import bindings_of
from troubleshoot.tui.plain import plain
from troubleshoot.tui.screens.answer_once import OnceScreen
from troubleshoot.tui.widgets.form import FieldLine, FormField
from troubleshoot.tui.widgets.lines import HeadLine, KeyLine, MessageLine, tell, tell_problem

System = Literal["us", "metric"]
Fields = Callable[[System], Sequence[FormField]]
"""The fields of a form in US or metric units."""
Reads = Callable[[Mapping[str, str], System], tuple[object, Mapping[str, str]]]
"""From what stands in the fields that were changed: the result, or what is wrong by field name."""


class FormScreen(OnceScreen[object]):
    """A title, some words, and fields; the result is what `reads` makes of them."""

    CSS_PATH = "../styles/form.tcss"
    BINDINGS = bindings_of("form")
    NAME = "form"

    first = 0
    """How many fields are shown until all are asked for; 0 for all."""

    def __init__(self, title: str, words: str, fields: Fields, reads: Reads, system: System = "us") -> None:
        super().__init__()
        self.head, self.words, self.fields, self.reads, self.system = title, words, fields, reads, system

    def compose(self) -> ComposeResult:
        """Lay out title, words and a line a field."""
        yield HeadLine(self.head, id="head")
        yield Static(plain(self.words), id="words", markup=False)
        with VerticalScroll(id="fields", can_focus=False):
            for field in list(self.fields(self.system))[: self.first or None]:
                yield FieldLine(field)
        yield MessageLine()
        yield KeyLine(self.NAME)

    def on_mount(self) -> None:
        """Begin in the first field."""
        self.query_one("#words").display = bool(self.words)
        for line in self.query(FieldLine):
            line.focus()
            break

    def action_done(self) -> None:
        """Go on with what stands in the fields, or mark what does not fit."""
        changed = {line.field.name: line.text for line in self.query(FieldLine) if line.touched}
        result, wrong = self.reads(changed, self.system)
        if not wrong:
            self.dismiss(result)
            return
        first: FieldLine | None = None
        for line in self.query(FieldLine):
            line.problem = wrong.get(line.field.name, "")
            first = first or (line if line.problem else None)
        if first is not None:
            first.focus().select()
            tell_problem(self, TroubleshootError(f"{first.field.words}: {first.problem}"))
        else:
            tell_problem(self, TroubleshootError("; ".join(wrong.values())))

    def action_back(self) -> None:
        """Leave without a result."""
        self.dismiss(None)


class MeasuredFormScreen(FormScreen, inherit_bindings=False):
    """A form with quantities in it, which can be shown in US or metric units."""

    BINDINGS = bindings_of("measured")
    NAME = "measured"
    keep_units: Callable[[System], None] | None = None
    """What remembers the units chosen, so that the next screens have them too."""
    follows: Callable[[str, str, System], Mapping[str, str]] | None = None
    """From a field's name and text: what stands now in fields that follow it and were not set by hand."""

    @on(FieldLine.Changed)
    def keep_up(self, changed: FieldLine.Changed) -> None:
        """Let the fields that follow another one follow it."""
        self.follow(changed.field)

    def follow(self, leader: FieldLine) -> None:
        """Let the fields that follow this one show what it makes of them, unless they were set by hand."""
        if self.follows is None:
            return
        found = self.follows(leader.field.name, leader.text, self.system)
        for line in self.query(FieldLine):
            if line.field.name in found and not line.touched:
                line.fill(found[line.field.name])

    def action_all(self) -> None:
        """Show the fields that were left out because nothing asked now depends on them."""
        fields = list(self.fields(self.system))[self.first :] if self.first else []
        self.first = 0
        if fields:
            self.query_one("#fields").mount(*(FieldLine(field) for field in fields))
        tell(self, f"{len(fields)} more fields below." if fields else "Every field is shown.")

    def action_units(self) -> None:
        """Show the other units; fields that were changed keep what was typed."""
        self.system = "metric" if self.system == "us" else "us"
        fresh = {field.name: field for field in self.fields(self.system)}
        for line in self.query(FieldLine):
            if not line.touched:
                line.show(fresh[line.field.name])
        for line in self.query(FieldLine):
            if line.touched:
                self.follow(line)
        try:
            if self.keep_units is not None:
                self.keep_units(self.system)
        except TroubleshootError as refused:
            tell_problem(self, refused)
