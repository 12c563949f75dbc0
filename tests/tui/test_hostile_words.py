"""Whatever people type or files hold is shown literally: never as markup, never as a control code."""

from __future__ import annotations

import unicodedata
from dataclasses import replace

import pytest
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st
from textual.app import App, ComposeResult
from textual.content import Content

from troubleshoot.case.view import (
    BandShown,
    CaseView,
    CauseShown,
    CautionShown,
    CheckShown,
    ChoiceShown,
    RepairShown,
    Step,
    TrailLine,
    WeightShown,
)
from troubleshoot.tui.plain import literal, plain
from troubleshoot.tui.screens.caution import card_words
from troubleshoot.tui.screens.choice_screen import matching
from troubleshoot.tui.screens.why import page
from troubleshoot.tui.widgets.card import Card
from troubleshoot.tui.widgets.likely import likely_rows
from troubleshoot.tui.widgets.numbered import Numbered, Row
from troubleshoot.tui.widgets.trail import trail_lines
from troubleshoot.tui.widgets.words import laid_out

HOSTILE = [
    "[red]not red[/red]",
    "[/]",
    "[/red]",
    "[@click=app.exit]leave[/]",
    "[link=file:///etc/passwd]x[/link]",
    "\x1b[31mred\x1b[0m",
    "\x1b]0;title\x07",
    "a\x00b\x08c\x7f",
    "\u202eright to left\u202c",
    "\u2066isolated\u2069",
    "مرحبا بالعالم",
    "line one\nline two\r\nline three",
    "tab\tbed",
    "\ud800 lone",
    "wide 漢字 and e\u0301",
    "x" * 5000,
    "$error $primary {curly} %s \\",
]
words = st.one_of(st.sampled_from(HOSTILE), st.text(max_size=80))


@given(words)
def test_words_keep_every_printable_character(text: str) -> None:
    """What can be shown is kept as it is; what cannot is replaced and never passed on."""
    shown = literal(text)
    assert plain(text).plain == shown
    for letter in shown:
        assert letter == "\n" or unicodedata.category(letter) not in {"Cc", "Cf", "Cs"}
    if len(text) <= 300:
        assert {letter for letter in text if letter.isprintable()} <= set(shown)
    shown.encode("utf-8")


@given(words)
def test_brackets_are_words(text: str) -> None:
    """No bracket becomes a style: the content has no more spans than the one style it was given."""
    assert plain(text).spans == [] or plain(text).spans == ()
    assert len(plain(text, "bold").spans) <= 1


def hostile_case(text: str) -> CaseView:
    """Return a view with one text in every place a file or a person fills."""
    caution = CautionShown("c", text, text, text, (text, text), text)
    check = CheckShown(
        "check", text, text, text, (text, text), text, text, (text,), text, False, 5, 5, (caution,), "psi", (0, 100), 1,
        (BandShown("low", text, None, 40, False), BandShown("ok", text, 40, None, True)), (), text, text, text, "tree",
    )  # fmt: skip
    cause = CauseShown("cause", text, text, 0.6, text, text)
    line = TrailLine(1, 1, "reading", "check", text, text, text, True, 5, 0)
    return CaseView(
        "case", text, ("a",), (text,), Step("check", text, check=check), (cause, replace(cause, id="b")), (), 0.1, 0.1,
        (line,), 5, 0, text, "check", (text,),
    )  # fmt: skip


@given(words, st.integers(21, 90))
@settings(max_examples=60, deadline=None)
def test_no_line_runs_over(text: str, width: int) -> None:
    """Every part that wraps keeps within its columns, whatever the words."""
    view = hostile_case(text)
    weight = WeightShown("check", text, text, text, 1.0, text, text)
    for line in (
        *[line for _, line in likely_rows(view, width, 30)],
        *trail_lines(view.trail, width, 10),
        *[line for one in view.step.check.cautions for line in laid_out(card_words(one, whole=True), width)],
        *laid_out(page(view.ranked[0], (weight,), view), width),
    ):
        assert isinstance(line, Content)
        assert line.cell_length <= width + 1, line.plain


@given(words)
def test_any_words_may_be_sought(text: str) -> None:
    """Looking for anything finds a row that holds it, and never fails."""
    assert matching([Row("a", text)], text) == (Row("a", text),)


class Shown(App[None]):
    """An app with the parts of the session."""

    def compose(self) -> ComposeResult:
        yield Card(id="card")
        yield Numbered(id="rows")


@pytest.mark.parametrize("text", HOSTILE, ids=range(len(HOSTILE)))
async def test_the_parts_show_hostile_words(look, text: str) -> None:
    """A card and a list with hostile words are drawn, and brackets stand on the screen as they are."""
    view = hostile_case(text)
    repair = RepairShown("x", text, text, text, (text,), 5, 5, (), text, text)
    app = Shown()
    async with app.run_test(size=(80, 24)) as pilot:
        app.query_one(Card).show(view, ((text, text, 0.5),))
        app.query_one(Numbered).show([Row("a", text, text, text, text), Row("b", "ok")])
        await pilot.pause()
        seen = look(app)
        first = literal(text).split("\n")[0][:20].strip()
        if all(unicodedata.bidirectional(letter) not in {"R", "AL"} and letter != "�" for letter in first):
            assert first in seen
        app.query_one(Card).show(replace(view, step=Step("repair", text, repair=repair)))
        choices = replace(view.step.check, unit="", choices=(ChoiceShown("a", text, True),))
        app.query_one(Card).show(replace(view, step=Step("check", text, check=choices)))
        await pilot.pause()


@pytest.mark.parametrize("text", ["[red]", "[/]", "[@click=app.exit]x", "x" * 60])
async def test_hostile_words_typed_into_a_case(screens, workspace, text: str) -> None:
    """A name, a note and a reading of hostile words: shown as typed, kept in the case, told in the report."""
    keys = [{" ": "space"}.get(letter, letter) for letter in text]
    async with screens(120, 40) as (app, press):
        await press("n", "enter", "1")
        app.screen.query("FieldLine").first().become(text)
        await press("enter", "1", "enter", "enter", "y", "y")
        shown = await press("i", *keys[:20])
        assert text[:20] in shown
        shown = await press("enter")
        assert text[:20] in shown
        shown = await press("1", *keys[:10], "enter")
        assert "! " in shown or text.startswith("x")
        assert text[:20] in await press("escape", "g")
    assert text[:20] in workspace.cases()[0].headline


@settings(suppress_health_check=[HealthCheck.function_scoped_fixture], max_examples=25, deadline=None)
@given(st.lists(st.sampled_from(list("0123456789.,+-/ ±abcnsewyxkq[]?\\\"'")), min_size=1, max_size=12))
def test_any_keys_may_be_typed_into_the_entry(keys: list[str]) -> None:
    """From the first key that begins a quantity on, all that is typed stands there, whatever it is."""
    from troubleshoot.tui.actions import EVERYWHERE, actions_of
    from troubleshoot.tui.widgets.entry import continues

    commands = {action.cap for screen in ("session", EVERYWHERE) for action in actions_of(screen)}
    text = ""
    for key in keys:
        if continues(text, key, key in commands):
            text += key
    typed = "".join(keys)
    before = typed.removesuffix(text)
    assert typed.endswith(text) and all(one in commands or (one.isalpha() and one not in "acr") for one in before)
