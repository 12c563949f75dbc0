"""A form: one line a field, typed or chosen, with unit, range and what is wrong beside it."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass

from textual import events, on
from textual.app import ComposeResult
from textual.content import Content
from textual.message import Message
from textual.reactive import reactive
from textual.validation import ValidationResult, Validator
from textual.widget import Widget
from textual.widgets import Input, Static

from troubleshoot.tui.plain import beside, literal, plain

LONGEST = 200
"""Characters that a field takes; a quantity needs twenty."""


@dataclass(frozen=True)
class FormField:
    """One field: its name, the words beside it, the value to begin with, and what may be entered.

    `wrong` says what is wrong with a text, or nothing; it is asked when the field is left.
    """

    name: str
    words: str
    value: str
    allowed: str = ""
    choices: tuple[str, ...] = ()
    wrong: Callable[[str], str] | None = None


class _Fits(Validator):
    """Asks the field itself whether a text fits."""

    def __init__(self, wrong: Callable[[str], str]) -> None:
        super().__init__()
        self.wrong = wrong

    def validate(self, value: str) -> ValidationResult:
        """Return the field's own words of what is wrong."""
        problem = self.wrong(value)
        return self.failure(problem) if problem else self.success()


def between_fields(editor: Widget, event: events.Key) -> bool:
    """Do what a key does in every field, and return whether it did: Up and Down go to other fields.

    Keys that come in one burst, as over a slow line, are all sent to the field that was in focus at its start; they
    belong to the one that is in focus now.
    """
    here = editor.screen.focused
    if here is not editor and isinstance(here, TypedValue | ChosenValue):
        here.post_message(events.Key(event.key, event.character))
    elif event.key in ("up", "down"):
        step = editor.screen.focus_previous if event.key == "up" else editor.screen.focus_next
        step("TypedValue, ChosenValue")
    else:
        return False
    event.stop()
    event.prevent_default()
    return True


class TypedValue(Input):
    """The toolkit's own line of text: it is selected when it is entered, so that typing replaces it."""

    DEFAULT_CSS = "TypedValue { width: 1fr; height: 1; background: $background; }"
    HELP = "Type a value. Up and Down go to other fields."

    def check_action(self, action: str, parameters: tuple[object, ...]) -> bool | None:
        """Leave Enter to the screen."""
        return False if action == "submit" else super().check_action(action, parameters)

    def on_key(self, event: events.Key) -> None:
        """Go to another field; every other key is the toolkit's."""
        between_fields(self, event)

    def on_paste(self, event: events.Paste) -> None:
        """Take the first pasted line, without what would move the cursor."""
        event.stop()
        event.prevent_default()
        self.replace(literal(event.text.strip()).split("\n")[0][:LONGEST], *self.selection)


class ChosenValue(Widget, can_focus=True):
    """A value to be chosen by Left and Right, Space or first letters."""

    DEFAULT_CSS = "ChosenValue { width: 1fr; height: auto; }"
    HELP = "Step through the choices with Left and Right or their first letter. Up and Down go to other fields."

    value: reactive[str] = reactive("")

    class Changed(Message):
        """Another choice stands there."""

        def __init__(self, chosen: ChosenValue) -> None:
            super().__init__()
            self.chosen = chosen

    def __init__(self, choices: tuple[str, ...], value: str) -> None:
        super().__init__()
        self.choices = choices
        self.set_reactive(ChosenValue.value, value)

    def render(self) -> Content:
        """Write the choice between the signs that step it, and the others."""
        here = self.has_focus
        others = ", ".join(one for one in self.choices if one != self.value)
        value = plain(self.value, "bold reverse" if here else "bold")
        return beside(
            "‹" if here else "", value, "›" if here else "", plain(f"   or {others}" if others else "", "$quiet")
        )

    def on_focus(self) -> None:
        """Show the signs."""
        self.refresh()

    def on_blur(self) -> None:
        """Take the signs away."""
        self.refresh()

    def on_key(self, event: events.Key) -> None:
        """Step through the choices, or say which keys do."""
        if between_fields(self, event):
            return
        at = self.choices.index(self.value) if self.value in self.choices else 0
        if event.key in ("left", "right", "space"):
            event.stop()
            self._take(self.choices[(at + (-1 if event.key == "left" else 1)) % len(self.choices)])
        elif event.character and event.is_printable:
            event.stop()
            begins = [one for one in self.choices if one.casefold().startswith(event.character.casefold())]
            if begins:
                self._take(begins[(begins.index(self.value) + 1) % len(begins) if self.value in begins else 0])

    def on_click(self) -> None:
        """A click steps on."""
        at = self.choices.index(self.value) if self.value in self.choices else -1
        self._take(self.choices[(at + 1) % len(self.choices)])

    def _take(self, value: str) -> None:
        self.value = value
        self.post_message(self.Changed(self))


class FieldLine(Widget):
    """One field of a form: words, value, range, and a line for what is wrong."""

    DEFAULT_CSS = """
    FieldLine { layout: grid; height: auto; grid-size: 3; grid-rows: auto; grid-columns: 11fr 16 7fr; }
    FieldLine { grid-gutter: 0 1; border-left: blank; padding-left: 1; }
    FieldLine:focus-within { border-left: outer $accent; }
    FieldLine:focus-within .words { text-style: bold; }
    FieldLine Static { height: auto; }
    FieldLine .problem { column-span: 3; display: none; text-style: bold; }
    FieldLine.wrong .problem { display: block; }
    FieldLine.free TypedValue, FieldLine ChosenValue { column-span: 2; }
    FieldLine.free .allowed { display: none; }
    """

    problem: reactive[str] = reactive("")

    class Changed(Message):
        """The field holds another value."""

        def __init__(self, field: FieldLine) -> None:
            super().__init__()
            self.field = field

        @property
        def control(self) -> FieldLine:
            """Return the field that speaks."""
            return self.field

    def __init__(self, field: FormField) -> None:
        super().__init__(id=f"field-{field.name}", classes="" if field.allowed else "free")
        self.field = field
        self.touched = False
        """Whether the person changed it."""
        self.editor: TypedValue | ChosenValue
        if field.choices:
            self.editor = ChosenValue(field.choices, field.value)
        else:
            checked = [_Fits(field.wrong)] if field.wrong is not None else None
            self.editor = TypedValue(
                literal(field.value), max_length=LONGEST, compact=True, validators=checked, validate_on=["blur"]
            )
        self._settled = self.editor.value

    def compose(self) -> ComposeResult:
        """Lay out words, value and range, and a line for what is wrong."""
        yield Static(plain(self.field.words), classes="words", markup=False)
        yield self.editor
        yield Static(plain(self.field.allowed), classes="allowed", markup=False)
        yield Static(classes="problem", markup=False)

    @property
    def text(self) -> str:
        """What stands in the field."""
        return self.editor.value

    def show(self, field: FormField) -> None:
        """Show the same field with another value and range, as after a change of units."""
        self.field, self.touched, self.problem = field, False, ""
        self.fill(field.value)
        self.range(field)

    def range(self, field: FormField) -> None:
        """Show another range, and leave what was typed."""
        self.field = field
        for shown in self.query(".allowed").results(Static):  # none yet in a field that was only now put in
            shown.update(plain(field.allowed))

    def fill(self, text: str) -> None:
        """Hold another value without its counting as typed."""
        self._settled = self.editor.value = text

    def become(self, text: str) -> None:
        """Hold another value, as if it had been typed."""
        self.fill(text)
        self._typed()

    def focus(self, scroll_visible: bool = True) -> FieldLine:
        """Put the cursor in the field."""
        self.editor.focus(scroll_visible)
        return self

    def select(self) -> None:
        """Select what stands in the field, so that typing replaces it."""
        if isinstance(self.editor, TypedValue):
            self.editor.action_select_all()

    def watch_problem(self, problem: str) -> None:
        """Show or take away the line of what is wrong."""
        self.set_class(bool(problem), "wrong")
        if self.is_mounted:
            self.query_one(".problem", Static).update(plain(f"! {problem}"))

    def on_descendant_blur(self) -> None:
        """Say what is wrong with what was typed."""
        if self.touched and self.field.wrong is not None:
            self.problem = self.field.wrong(self.text)

    @on(Input.Changed)
    @on(ChosenValue.Changed)
    def keep(self, changed: Message) -> None:
        """Say that the field holds another value, once it really does."""
        changed.stop()
        if self.editor.value != self._settled:
            self._settled = self.editor.value
            self._typed()

    def _typed(self) -> None:
        self.touched, self.problem = True, ""
        self.post_message(self.Changed(self))
