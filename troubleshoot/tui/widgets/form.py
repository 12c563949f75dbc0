"""A form: one line a field, typed or chosen, with unit, range and what is wrong beside it."""

from __future__ import annotations

from dataclasses import dataclass

from textual import events
from textual.content import Content
from textual.message import Message
from textual.reactive import reactive
from textual.widget import Widget

from troubleshoot.tui.plain import beside, lines, literal, plain

LONGEST = 72
"""As many characters of a quantity are shown; more can be typed."""


@dataclass(frozen=True)
class FormField:
    """One field: its name, the words beside it, the value to begin with, and what may be entered."""

    name: str
    words: str
    value: str
    allowed: str = ""
    choices: tuple[str, ...] = ()


class FieldLine(Widget, can_focus=True):
    """One field on one line; the first key typed replaces what stood there, Backspace edits it."""

    DEFAULT_CSS = "FieldLine { height: auto; }"
    HELP = "Type a value, or step through the choices with Left and Right. Up and Down go to other fields."

    text: reactive[str] = reactive("", layout=True)
    problem: reactive[str] = reactive("", layout=True)

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
        super().__init__(id=f"field-{field.name}")
        self.field = field
        self.set_reactive(FieldLine.text, field.value)
        self.fresh = True
        self.touched = False
        """Whether the person changed it."""

    def show(self, field: FormField) -> None:
        """Show the same field with another value and range, as after a change of units."""
        self.field = field
        self.touched = False
        self.text = field.value
        self.problem = ""
        self.refresh(layout=True)

    def render(self) -> Content:
        """Write words, value and range; a problem stands on the line below with a sign."""
        return lines(*self._lines(max(self.content_size.width, 20)))

    def get_content_height(self, container: object, viewport: object, width: int) -> int:  # noqa: ARG002
        """Return how many lines the field takes."""
        return len(self._lines(max(width, 20)))

    def _lines(self, width: int) -> list[Content]:
        here = self.has_focus
        lead = plain("▸ " if here else "  ", "bold $accent")
        wide = width >= 64
        words_room = width * 11 // 20 if wide else width - 4
        words = plain(self.field.words, "bold $strong" if here else "").wrap(max(words_room - 2, 10))
        if self.field.choices:
            value = beside("‹ " if here else "", plain(self.text, "bold"), " ›" if here else "")
        else:
            value = beside(plain(self._shown(), "bold"), plain("▁" if here else "", "$accent"))
        others = [one for one in self.field.choices if one != self.text]
        allowed = f"or {', '.join(others)}" if others else self.field.allowed
        side = beside(value, plain(f"   {allowed}" if allowed else "", "$quiet"))
        if wide:
            room = max(width - words_room - 1, 8)
            right = side.wrap(room)
            shown = []
            for place in range(max(len(words), len(right))):
                left = words[place].rstrip() if place < len(words) else Content("")
                gap = " " * (words_room - 2 - left.cell_length + 1)
                tail = right[place].rstrip() if place < len(right) else Content("")
                shown.append(beside(lead if place == 0 else "  ", left, gap, tail))
        else:
            shown = [beside(lead if place == 0 else "  ", line.rstrip()) for place, line in enumerate(words)]
            shown += [beside("    ", line.rstrip()) for line in side.wrap(max(width - 4, 8))]
        if self.problem:
            shown += [beside("  ", line) for line in plain(f"! {self.problem}", "bold $error").wrap(max(width - 2, 10))]
        return shown

    def _shown(self) -> str:
        """Return the text, or the end of one that is longer than any quantity, so that it pushes nothing off."""
        return self.text if len(self.text) <= LONGEST or not self.field.allowed else f"…{self.text[1 - LONGEST :]}"

    def on_focus(self) -> None:
        """Show the mark; the next key replaces the value."""
        self.refresh(layout=True)

    def on_blur(self) -> None:
        """Take the mark away; who comes back begins anew."""
        if self.screen.focused is not self:
            self.fresh = True
        self.refresh(layout=True)

    def on_key(self, event: events.Key) -> None:
        """Edit the value, step through choices, or go to another field.

        Keys that come in one burst, as over a slow line, are all sent to the field that was in focus at its start;
        they belong to the one that is in focus now.
        """
        here = self.screen.focused
        (here if isinstance(here, FieldLine) else self).take_key(event)

    def take_key(self, event: events.Key) -> None:
        """Do what the key does in this field."""
        if event.key in ("up", "down"):
            event.stop()
            step = self.screen.focus_previous if event.key == "up" else self.screen.focus_next
            now = step("FieldLine")
            if isinstance(now, FieldLine):
                now.fresh = True
        elif self.field.choices:
            self._choose(event)
        elif event.key == "backspace":
            event.stop()
            self.become("" if event.key == "ctrl+u" else self.text[:-1])
        elif event.character and event.is_printable and len(self.text) < 200:
            event.stop()
            self.become(event.character if self.fresh else self.text + event.character)

    def on_paste(self, event: events.Paste) -> None:
        """Take the first pasted line."""
        event.stop()
        if not self.field.choices:
            words = literal(event.text.strip()).split("\n")[0][:200]
            self.become(words if self.fresh else self.text + words)

    def _choose(self, event: events.Key) -> None:
        choices = self.field.choices
        at = choices.index(self.text) if self.text in choices else 0
        if event.key in ("left", "right", "space"):
            event.stop()
            self.become(choices[(at + (-1 if event.key == "left" else 1)) % len(choices)])
        elif event.character and event.is_printable:
            event.stop()
            begins = [one for one in choices if one.casefold().startswith(event.character.casefold())]
            if begins:
                self.become(begins[(begins.index(self.text) + 1) % len(begins) if self.text in begins else 0])

    def become(self, text: str) -> None:
        """Hold another value, as if it had been typed."""
        self.fresh = False
        self.touched = True
        self.problem = ""
        self.text = text
        self.post_message(self.Changed(self))
