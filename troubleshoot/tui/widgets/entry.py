"""Where a reading is typed: what can begin a quantity begins one and all belongs to it then; letters are commands."""

from __future__ import annotations

from textual import events
from textual.content import Content
from textual.message import Message
from textual.reactive import reactive
from textual.widget import Widget

from troubleshoot.tui.plain import beside, literal, plain

LETTERS = frozenset("acrACR")
"""The letters that begin a word which a number may follow, as about, circa, roughly."""
LONGEST = 60


def continues(text: str, character: str, command: bool = False) -> bool:
    """Return whether a key belongs to the answer being typed: `38 psi`, `-3,1`, `45 ± 1`, `~40`, `about 40`.

    While the entry is empty a key that is a `command` of the screen is one, and a letter that begins no such word is
    none of it either: a `y` too many behind a caution leaves nothing. Once something stands there, all belongs to it.
    """
    begins = not command and (not character.isalpha() or character in LETTERS)
    return character.isprintable() and len(text) < LONGEST and (bool(text) or begins)


class Entry(Widget, can_focus=True):
    """One line for a quantity; speaks by `Changed` after each key, leaves Enter and Esc to the screen."""

    DEFAULT_CSS = "Entry { height: 1; }"
    HELP = "Type what you read: 38, 38 psi, ~38, 36-40, about 38. Enter takes it."

    text: reactive[str] = reactive("")
    """What has been typed."""

    class Changed(Message):
        """The text is another."""

        def __init__(self, entry: Entry) -> None:
            super().__init__()
            self.entry = entry

        @property
        def control(self) -> Entry:
            """Return the entry that speaks."""
            return self.entry

    def __init__(self, id: str | None = None) -> None:
        super().__init__(id=id)
        self.hint = ""
        self.selected = False
        """Whether the next key replaces the text, as after a refusal."""

    def select(self) -> None:
        """Let the next key that belongs to a quantity replace what stands there."""
        self.selected = True
        self.refresh()

    def show(self, hint: str, text: str = "") -> None:
        """Empty the entry (or fill it) and show what may be typed."""
        self.hint = hint
        self.set_reactive(Entry.text, text)
        self.selected = False
        self.refresh()

    def render(self) -> Content:
        """Write the sign, the text, a block where the next key goes, and the hint, at least its unit, at the right."""
        head = beside(
            plain("▸ ", "bold $accent"),
            plain(self.text, "bold $strong reverse" if self.selected else "bold $strong"),
            plain("▁", "$accent"),
        )
        for words in (self.hint, self.hint.split(",")[0]):
            hint = plain(words, "$quiet")
            gap = self.size.width - head.cell_length - hint.cell_length
            if gap >= 2:
                return beside(head, " " * gap, hint)
        return head

    def on_key(self, event: events.Key) -> None:
        """Add or take away a character; every other key is left to the screen."""
        text, character = self.text, event.character
        if self.selected and (event.key == "backspace" or (character and character.isprintable())):
            text = "" if event.key == "backspace" else str(character)
        elif event.key == "backspace" and text:
            text = text[:-1]
        elif event.key == "ctrl+u" and text:
            text = ""
        elif character and continues(text, character, event.key in self.screen.active_bindings):
            text += character
        else:
            return
        event.stop()
        self.selected, self.text = False, text
        self.post_message(self.Changed(self))

    def on_paste(self, event: events.Paste) -> None:
        """Take pasted words as if they had been typed; only the first line."""
        event.stop()
        for character in literal(event.text.strip()).split("\n")[0][:400]:
            if continues(self.text, character):
                self.text += character
        self.post_message(self.Changed(self))
