"""Every key in one table; bindings, the bottom line and the help screen are made from it."""

from __future__ import annotations

from dataclasses import dataclass

from textual.binding import Binding, BindingType


@dataclass(frozen=True)
class Action:
    """One thing a key does on one screen."""

    id: str
    key: str
    words: str
    screen: str
    help: str
    shown: bool = False
    """Whether the bottom line names it; at most five a screen, and help."""
    dialog: bool = False
    """Whether it opens another screen of the session, by the action `dialog`."""

    @property
    def does(self) -> str:
        """Return the action the key runs."""
        return f"dialog('{self.id}')" if self.dialog else self.id

    @property
    def cap(self) -> str:
        """Return what is printed on the key."""
        return CAPS.get(self.key, self.key)


CAPS = {
    "enter": "Enter",
    "escape": "Esc",
    "question_mark": "?",
    "exclamation_mark": "!",
    "space": "Space",
    "pagedown": "PgDn",
    "pageup": "PgUp",
    "up": "Up",
    "down": "Down",
    "left": "Left",
    "right": "Right",
    "slash": "/",
    "ctrl+p": "Ctrl+P",
    "ctrl+q": "Ctrl+Q",
    "ctrl+s": "Ctrl+S",
    "ctrl+w": "Ctrl+W",
    "f1": "F1",
    "f2": "F2",
    "f3": "F3",
    "f4": "F4",
    "f5": "F5",
    "f10": "F10",
}

EVERYWHERE = "everywhere"

ACTIONS: tuple[Action, ...] = (
    Action("help", "question_mark", "help", EVERYWHERE, "This page: every key of the screen you are on", True),
    Action("help", "f1", "help", EVERYWHERE, "The same, while you are typing into a form"),
    Action("search", "slash", "find", EVERYWHERE, "Find and do: what keys do, checks, causes, cases, calculations"),
    Action("search", "ctrl+p", "find", EVERYWHERE, "The same, while you are typing"),
    Action("leave", "ctrl+q", "quit", EVERYWHERE, "Leave the program; everything is already saved"),
    Action("leave", "f10", "quit", EVERYWHERE, "The same as Ctrl+Q"),
    # start
    Action("new", "n", "new case", "start", "Start a new case: your car, then what it does", True),
    Action("example", "x", "example", "start", "See a whole case in two minutes; an engine answers for you", True),
    Action("examples", "a", "more examples", "start", "Every invented car with every concern; you answer"),
    Action("drills", "p", "practise", "start", "Practise on the virtual engine; set, sit and mark drills"),
    Action("casebook", "c", "cases", "start", "All cases, open and closed", True),
    Action("calculators", "k", "calculators", "start", "The calculations, each as a form", True),
    Action("settings", "s", "settings", "start", "Units, colours, animations"),
    Action("quit", "q", "quit", "start", "Leave the program", True),
    Action("pick", "enter", "open case", "start", "Do what ▸ marks: open that case (or press its digit)"),
    # lists
    Action("pick", "enter", "choose", "list", "Choose the line marked ▸", True),
    Action("back", "escape", "back", "list", "One step back; nothing is changed", True),
    # concern and tools
    Action("done", "enter", "go on", "marks", "Go on with what is marked", True),
    Action("mark", "space", "mark", "marks", "Mark or unmark the line ▸ (or press its digit)", True),
    Action("back", "escape", "back", "marks", "One step back", True),
    # readings of a recording
    Action("done", "enter", "take them", "recording", "Take the readings that are marked", True),
    Action("mark", "space", "mark", "recording", "Mark or unmark the line ▸ (or press its digit)", True),
    Action("next", "right", "next picture", "recording", "Show the next quantity recorded", True),
    Action("previous", "left", "picture before", "recording", "Show the quantity before"),
    Action("back", "escape", "back", "recording", "One step back; nothing is taken", True),
    # pulls compared
    Action("pick", "enter", "choose", "compared", "Do what is marked ▸ (or press its digit)", True),
    Action("next", "right", "difference", "compared", "Show the difference, and the curves again", True),
    Action("previous", "left", "picture before", "compared", "Show the picture before"),
    Action("back", "escape", "back", "compared", "One step back; nothing is kept", True),
    # forms
    Action("done", "enter", "go on", "form", "Go on; a field that does not fit is marked and holds you", True),
    Action("back", "escape", "back", "form", "One step back", True),
    # forms with quantities
    Action("done", "enter", "go on", "measured", "Go on; a field that does not fit is marked and holds you", True),
    Action("units", "f2", "units", "measured", "US or metric units", True),
    Action("all", "f4", "all fields", "measured", "Every field, also those that nothing asked now depends on", True),
    Action("back", "escape", "back", "measured", "One step back", True),
    # session
    Action("take", "enter", "take", "session", "Take the reading typed, or the answer marked ▸", True),
    Action(
        "cannot",
        "u",
        "can't",
        "session",
        "Unable to measure this here: leave it out, with the reason",
        True,
        dialog=True,
    ),
    Action("undo", "b", "take back", "session", "Take back the last thing done", True),
    Action("change", "e", "change", "session", "Change an answer given earlier", True, dialog=True),
    Action("why", "w", "why", "session", "Why a cause is likely: what each reading says for it", dialog=True),
    Action("others", "o", "other checks", "session", "Do another check; all of them, sorted by worth", dialog=True),
    Action(
        "smell", "exclamation_mark", "fuel smell", "session", "I smell or see fuel: everything else stops", dialog=True
    ),
    Action("repaired", "m", "repair", "session", "I have repaired something; then test it again", dialog=True),
    Action("bench", "t", "take from bench", "session", "In the example: let the engine give the reading"),
    Action("note", "i", "note", "session", "Add a note, a photograph or a file to the case", dialog=True),
    Action("recording", "l", "log", "session", "Take readings from a recording: log, sound, capture", dialog=True),
    Action("comparison", "v", "before/after", "session", "Compare pulls before with pulls after", dialog=True),
    Action("facts", "d", "details", "session", "Change the car, what it does, or the tools at hand", dialog=True),
    Action("report", "g", "report", "session", "See the report as it stands, and write it to a file", dialog=True),
    Action("calculators", "k", "calculators", "session", "The calculations, each as a form", dialog=True),
    Action("finish", "f", "close", "session", "Close the case: proved, referred or left", dialog=True),
    Action("more", "pagedown", "read on", "session", "The next lines of what to do"),
    Action("less", "pageup", "read back", "session", "The lines before"),
    Action("back", "escape", "leave", "session", "Clear the entry; when it is empty, go to the start (saved)", True),
    # sitting: a drill that is sat, or practice
    Action("take", "enter", "take", "drill", "Let the bench give the reading, or do what is marked ▸", True),
    Action("others", "o", "checks", "drill", "Choose a check to do", True, dialog=True),
    Action(
        "repaired",
        "m",
        "repair",
        "drill",
        "Say what you would repair; in practice it is tested at once",
        True,
        dialog=True,
    ),
    Action("finish", "f", "hand in", "drill", "Hand the drill in; close, in practice", True, dialog=True),
    Action("cannot", "u", "can't", "drill", "Leave the check out, with the reason", dialog=True),
    Action("bench", "t", "take from bench", "drill", "The same as Enter: the bench gives the reading"),
    Action("judge", "j", "judge", "drill", "Say where the last number lies, if you have not"),
    Action("hint", "h", "hint", "drill", "The trainer's next hint, where there is one"),
    Action("why", "w", "ranking", "drill", "The ranking, where the drill gives it (asking may cost marks)"),
    Action(
        "smell", "exclamation_mark", "fuel smell", "drill", "I smell or see fuel: everything else stops", dialog=True
    ),
    Action("undo", "b", "take back", "drill", "Take back the last thing done; a reading stays"),
    Action("note", "i", "note", "drill", "Add a note", dialog=True),
    Action("calculators", "k", "calculators", "drill", "The calculations, each as a form", dialog=True),
    Action("more", "pagedown", "read on", "drill", "The next lines of what to do"),
    Action("less", "pageup", "read back", "drill", "The lines before"),
    Action("back", "escape", "leave", "drill", "Leave; everything is saved and can be gone on with", True),
    # caution
    Action("acknowledge", "y", "I have read it", "caution", "Acknowledge this caution and go on to the next", True),
    Action("whole", "space", "full text", "caution", "The full text of this caution, and its card again", True),
    Action("smell", "exclamation_mark", "fuel smell", "caution", "I smell or see fuel: everything else stops", True),
    Action("back", "escape", "not now", "caution", "Back without acknowledging; the check stays closed", True),
    # stop
    Action(
        "leak_repaired", "m", "leak repaired", "stop", "The leak is repaired and looked at again under pressure", True
    ),
    Action("mistake", "b", "by mistake", "stop", "No smell: the key was pressed by mistake", True),
    Action("back", "escape", "leave", "stop", "Leave the case as it is; it opens here again", True),
    # why
    Action("previous", "left", "cause before", "why", "The cause before", True),
    Action("next", "right", "next cause", "why", "The next cause (or its digit)", True),
    Action("back", "escape", "back", "why", "Back to the check", True),
    # report and other pages to read
    Action("write", "1", "text file", "report", "Write the report to a text file", True),
    Action("web_page", "2", "workshop page", "report", "Write it as a page to open in a browser and print", True),
    Action("customer", "3", "customer page", "report", "Write a page for the customer, in plain words, to print", True),
    Action("markdown", "4", "Markdown", "report", "Write it as Markdown"),
    Action("back", "escape", "back", "report", "One step back", True),
    # pages to read: the end of practice, a drill that was set or checked, a card
    Action("back", "escape", "back", "page", "One step back", True),
    Action("write", "1", "text file", "page", "Write a card to a text file"),
    # something that takes seconds
    Action("back", "escape", "back", "wait", "Go back without it", True),
    # the trainer's marks and board
    Action("pick", "enter", "open", "marks-table", "See why the trainee marked ▸ has these marks (or the digit)", True),
    Action("write", "g", "write pages", "marks-table", "Write the pages to print and the CSV where you work", True),
    Action("back", "escape", "back", "marks-table", "Back to the start", True),
    Action("grades", "r", "grade book", "marks-table", "Enter the marks in a grade book", True),
    Action("belief", "w", "belief", "board", "Show or hide how far readings point to what is wrong", True),
    Action("back", "escape", "back", "board", "Leave the board; the class goes on", True),
    # calculator
    Action("chart", "f3", "chart", "calculator", "Draw the curve of this calculation", True),
    Action("units", "f2", "units", "calculator", "US or metric units", True),
    Action("back", "escape", "back", "calculator", "Back to the list", True),
    # help
    Action("back", "escape", "back", "help", "Back to where you were", True),
    Action("back", "question_mark", "back", "help", "Back to where you were"),
)


def actions_of(screen: str) -> tuple[Action, ...]:
    """Return the actions of a screen, in the order of the table."""
    return tuple(action for action in ACTIONS if action.screen == screen)


def bindings_of(screen: str) -> list[BindingType]:
    """Return the key bindings of a screen; those of `everywhere` belong to the program."""
    return [Binding(action.key, action.does, action.words, show=False) for action in actions_of(screen)]


def modal_bindings_of(screen: str) -> list[BindingType]:
    """Return the key bindings of a screen that shuts out those of the program, and help with them."""
    helping = [action for action in actions_of(EVERYWHERE) if action.id == "help"]
    return [*bindings_of(screen), *(Binding(one.key, "app.help", one.words, show=False) for one in helping)]


BESIDE = ("why", "others", "smell", "repaired")
"""Actions of the session that the ranking names at its foot, since the bottom line holds only five."""


def beside_ranking() -> tuple[Action, ...]:
    """Return the actions named at the foot of the ranking."""
    return tuple(action for action in actions_of("session") if action.id in BESIDE)


TYPED = ("form", "measured", "calculator")
"""Screens on which `?` is a character that may be typed, so that F1 is the key for help."""


def bottom_line_of(screen: str) -> tuple[Action, ...]:
    """Return what the bottom line names: the screen's own shown actions and help."""
    own = tuple(action for action in actions_of(screen) if action.shown)
    if screen == "help":
        return own
    key = "f1" if screen in TYPED else "question_mark"
    return (*own, *(action for action in actions_of(EVERYWHERE) if action.id == "help" and action.key == key))
