"""The table of keys: what is bound, named at the foot, and explained in the help are the same."""

from __future__ import annotations

import importlib
import inspect
import pkgutil
import re
from pathlib import Path
from unittest.mock import patch

import pytest
from textual.geometry import Size
from textual.screen import Screen

import troubleshoot.tui.screens as screens_package
from troubleshoot.tui.actions import ACTIONS, EVERYWHERE, actions_of, beside_ranking, bindings_of, bottom_line_of
from troubleshoot.tui.app import TroubleshootApp
from troubleshoot.tui.screens.help import help_words
from troubleshoot.tui.widgets.lines import KeyLine, keys_width

ROOT = Path(__file__).parents[2]
NAMES = sorted({action.screen for action in ACTIONS} - {EVERYWHERE})


def all_screens() -> list[type[Screen]]:
    """Return every screen class of the program."""
    found = []
    for module in pkgutil.iter_modules(screens_package.__path__):
        loaded = importlib.import_module(f"{screens_package.__name__}.{module.name}")
        found += [
            one
            for _, one in inspect.getmembers(loaded, inspect.isclass)
            if issubclass(one, Screen) and one.__module__ == loaded.__name__ and hasattr(one, "NAME")
        ]
    return found


@pytest.mark.parametrize("name", NAMES)
def test_the_bottom_line_holds_five_keys_and_fits(name: str) -> None:
    """At most five keys and help, and the line fits 80 columns with its margins."""
    shown = [(action.cap, action.words) for action in bottom_line_of(name)]
    assert len([cap for cap, _ in shown if cap not in ("?", "F1")]) <= 5
    assert keys_width(shown) <= 78


@pytest.mark.parametrize("name", NAMES)
def test_no_key_does_two_things_on_one_screen(name: str) -> None:
    """A key stands once a screen, and not also everywhere; help itself closes the help."""
    own = [action.key for action in actions_of(name)]
    everywhere = [] if name == "help" else [action.key for action in actions_of(EVERYWHERE)]
    assert len(set(own + everywhere)) == len(own + everywhere)


def test_a_key_means_one_thing_from_the_start_to_the_report() -> None:
    """A letter or sign does the same wherever it does something; `?` closes the help that it opened."""
    done: dict[str, set[str]] = {}
    for action in (one for one in ACTIONS if one.screen != "help"):
        if len(action.cap) == 1:
            done.setdefault(action.cap, set()).add(SAME.get(action.id, action.id))
    assert {key: ids for key, ids in done.items() if len(ids) > 1} == {}


SAME = {"leak_repaired": "repaired", "mistake": "undo", "belief": "why", "write": "report"}
"""A leak repaired is a repair, a stop by mistake is taken back, belief ranks for a class, pages are its report."""


@pytest.mark.parametrize("page", ["README.md", "troubleshoot/classroom/README.md"])
def test_every_key_that_a_page_names_is_one_of_the_screens(page: str) -> None:
    """What stands as `x` in the prose is on the table of keys, with a capital or a sign as it is printed there."""
    text = (Path(__file__).parents[2] / page).read_text(encoding="utf-8")
    named = set(re.findall(r"`([a-z!?/]|Enter|Esc|Space|Ctrl\+[A-Z]|F[0-9]+)`", text))
    assert named <= {action.cap for action in ACTIONS}, named


NAMED = (
    ("README.md", "press `{}`: an invented car", "example"),
    ("README.md", "`{}` says you have read a caution", "acknowledge"),
    ("README.md", "`{}` says why", "why"),
    ("README.md", "`{}` shows every key", "help"),
    ("README.md", "`{}` takes the last", "undo"),
    ("README.md", "`{}` for your car", "new"),
    ("troubleshoot/classroom/README.md", "press `{}`, and choose", "drills"),
    ("troubleshoot/tui/screens/case_screen.py", "{} takes it back.", "undo"),
    ("troubleshoot/tui/session_dialogs.py", "{} takes that back.", "undo"),
)
KEY_IN_PROSE = re.compile(r"[Pp]ress `?([a-z0-9!?])`?(?![a-z])|`([a-z!?])` (?:[a-z]+s|for) ")


def test_prose_names_the_keys_of_the_table() -> None:
    """What the pages and messages say a key does, the key does; and no page names a key that there is not."""
    for place, words, action in NAMED:
        text = " ".join((ROOT / place).read_text("utf-8").split())
        key = next(one.cap for one in ACTIONS if one.id == action)
        assert words.format(key) in text, (place, words, key)
    caps = {one.cap for one in ACTIONS} | set("123456789")
    pages = [*ROOT.glob("*.md"), *(ROOT / "troubleshoot").rglob("*.md"), *(ROOT / "troubleshoot/tui").rglob("*.py")]
    named = [(page.name, *found) for page in pages for found in KEY_IN_PROSE.findall(page.read_text("utf-8"))]
    assert len(named) > 5
    assert [one for one in named if not caps & set(one[1:])] == []


def test_only_keys_that_every_terminal_sends() -> None:
    """Letters, Enter, Esc, arrows, page keys, Space, function keys and Ctrl+Q; no Alt, no Ctrl with Enter."""
    sent = {
        "enter",
        "escape",
        "space",
        "left",
        "right",
        "up",
        "down",
        "pageup",
        "pagedown",
        "question_mark",
        "exclamation_mark",
        "ctrl+q",
        "ctrl+p",
        "slash",
    }
    sent |= {f"f{number}" for number in range(1, 11)}
    assert {action.key for action in ACTIONS if len(action.key) > 1} <= sent


@pytest.mark.parametrize("screen", all_screens(), ids=lambda one: one.__name__)
def test_every_bound_action_exists(screen: type[Screen]) -> None:
    """Each key of a screen leads to a method of that screen, or to a dialog of the session."""
    from troubleshoot.tui.session_dialogs import DIALOGS

    for action in actions_of(screen.NAME):
        if action.dialog:
            assert action.id in DIALOGS
        else:
            assert hasattr(screen, f"action_{action.id}"), action.id


def test_every_key_is_explained_in_the_help() -> None:
    """The help of any screen names every action of the program with its sentence."""
    said = "\n".join(
        " ".join(part.plain for part in one) if isinstance(one, tuple) else one.plain for one in help_words("session")
    )
    for action in ACTIONS:
        if action.screen != "help":
            assert action.help in said and action.cap in said


def test_the_table_is_what_is_bound() -> None:
    """Bindings are made from the table, those of the program too."""
    assert [one.key for one in bindings_of("session")] == [action.key for action in actions_of("session")]
    assert bindings_of(EVERYWHERE) == TroubleshootApp.BINDINGS
    assert {action.id for action in beside_ranking()} == {"why", "others", "smell", "repaired"}


@pytest.mark.parametrize("name", [one for one in NAMES if one not in ("marks-table", "board")])
def test_the_way_out_is_named_on_the_narrowest_screen(name: str) -> None:
    """At 40 columns, margins off, other keys give way first; the way out is Esc, or q at the start."""
    line = KeyLine(name)
    with patch.object(KeyLine, "size", Size(38, 1)):
        named = {action.cap for action in line.shown()}
    assert named & {"Esc", "q"}
