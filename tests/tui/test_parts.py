"""The parts of the screens by themselves: ruler, entry, bars, balance, lists, forms."""

from __future__ import annotations

from pathlib import Path

import pytest
from hypothesis import given
from hypothesis import strategies as st
from rich.cells import cell_len
from textual import events
from textual.app import App, ComposeResult

import troubleshoot.tui
from troubleshoot.case.view import BandShown
from troubleshoot.knowledge.car import WHOSE, Car
from troubleshoot.tui.actions import EVERYWHERE, actions_of
from troubleshoot.tui.car_form import car_fields, form_fields, read_car
from troubleshoot.tui.plain import bar, counted, percent
from troubleshoot.tui.screens.choice_screen import matching
from troubleshoot.tui.screens.start import ago
from troubleshoot.tui.screens.why import balance
from troubleshoot.tui.settings import ScreenSettings, read_settings, write_settings
from troubleshoot.tui.themes import in_ascii
from troubleshoot.tui.widgets.entry import continues
from troubleshoot.tui.widgets.form import FieldLine, FormField
from troubleshoot.tui.widgets.numbered import Row
from troubleshoot.tui.widgets.ruler import axis, figures, legends, marker, number, outward, scale_for

BANDS = (
    BandShown("low", "low", None, 46, False),
    BandShown("normal", "in limits", 46, 54, True),
    BandShown("high", "high", 54, None, False),
)


def test_what_is_sought_in_a_row_of_its_own_name_comes_first() -> None:
    """`batt` finds the weak battery before a row that has the battery in its small print."""
    rows = (Row("feed", "Controller feed sags", under="resistance in the battery feed"), Row("weak", "Battery weak"))
    assert [row.id for row in matching(rows, "batt")] == ["weak", "feed"]
    assert [row.id for row in matching(rows, "feed")] == ["feed"]


def test_the_ruler_of_a_pressure() -> None:
    """46 to 54 psi good, 38 ± 1 read: the mark stands left of the heavy part, under it the limits."""
    scale = scale_for(BANDS, (0, 120), 38, 100)
    assert scale is not None
    line, limits, top = axis(BANDS, scale), figures(BANDS, scale), marker(38, 1, "38 psi", scale)
    assert line.index("━") > top.index("▼") and "in limits" in line
    assert limits.split()[1:3] == ["46", "54"]
    assert abs(limits.index("46") - line.index("┿")) <= 1


@given(st.floats(-1000, 1000), st.floats(0.01, 500), st.one_of(st.none(), st.floats(-5000, 5000)), st.integers(16, 110))
def test_a_ruler_is_as_wide_as_asked_and_holds_every_limit(
    low: float, room: float, value: float | None, width: int
) -> None:
    """Whatever the limits and the reading: three lines within the width, every limit and the reading on them."""
    ends = ((None, low, False), (low, low + room, True), (low + room, None, False))
    bands = tuple(BandShown("a", "a", *one) for one in ends)
    scale = scale_for(bands, None, value, width)
    assert scale is not None
    assert len(axis(bands, scale)) == width and len(figures(bands, scale)) == width
    assert scale.low <= low < low + room <= scale.high
    if value is not None:
        assert scale.low <= value <= scale.high
        top = marker(value, room / 3, "shown", scale)
        assert top[scale.column(value)] == "▼" or "shown ▼" in top or "▼" in top
        assert len(top) <= width


@pytest.mark.parametrize("width", [30, 40, 54, 100])
def test_the_words_of_every_band_stand_over_it_before_anything_is_typed(width: int) -> None:
    """Two long names and a narrow left band: each stands in its band, or over it on one of two lines, whole."""
    bands = (
        BandShown("normal", "cables sound", None, 1.2, True),
        BandShown("high", "a cable or strap eats volts", 1.2, None, False),
    )
    scale = scale_for(bands, (0, 12), None, width)
    assert scale is not None
    upper, lower = legends(bands, scale)
    for band in bands:
        assert band.words in axis(bands, scale) or any(band.words in row for row in (upper, lower))
    right = next((row for row in (upper, lower, axis(bands, scale)) if bands[1].words in row), "")
    assert right.index(bands[1].words) + len(bands[1].words) > scale.column(1.2)
    assert max(len(upper), len(lower)) <= width


def test_no_ruler_without_limits() -> None:
    """Bands without a limit have no ruler; infinite plausible ends do no harm."""
    assert scale_for((BandShown("a", "a", None, None, True),), (0, 100), 5, 60) is None


@pytest.mark.parametrize("value", [1e308, -1e308, 1.7e308])
def test_no_ruler_for_a_number_of_another_world(value: float) -> None:
    """Pasted as a reading it ended the program; the answer is refused in words when it is taken."""
    assert scale_for(BANDS, None, value, 100) is None


@given(st.floats(-1e6, 1e6), st.floats(1e-3, 1e6))
def test_ends_reach_outward(low: float, room: float) -> None:
    """Rounded ends hold what they were given, and not much more than half as much again."""
    left, right = outward(low, low + room)
    assert left <= low and right >= low + room - 1e-9 * abs(low)
    assert right - left <= 2.01 * room + 1e-6


@pytest.mark.parametrize(
    ("value", "shown"),
    [
        (46.0, "46"), (13.45, "13.4"), (0.95, "0.95"), (4961.8, "4,962"), (-3.0, "-3"), (0.0, "0"),
        (0.01102, "0.011"), (0.0012, "0.0012"), (0.04331, "0.043"),
    ],
)  # fmt: skip
def test_limits_are_written_short(value: float, shown: str) -> None:
    """At most four figures, no needless noughts."""
    assert number(value) in {shown, shown.replace("13.4", "13.5")}


@pytest.mark.parametrize(
    ("typed", "kept"),
    [("38 psi", "38 psi"), ("b38", "38"), ("3,1 bar", "3,1 bar"), ("-5", "-5"), ("1/2 turn", "1/2 turn"), ("u", ""),
     ("45 ± 1 psi", "45 ± 1 psi"), ("psi 38", " 38"), ("--e", "--e"), (" 4", " 4"), ("/2", "2"), ("~40", "~40"),
     (" about 40", " about 40"), ("about 40", "about 40"), ("roughly 40", "roughly 40"), ("circa 40", "circa 40"),
     ("[bold]38", "[bold]38"), ("38-42", "38-42"), ("\x1b3", "3"), ("yy40", "40")],
)  # fmt: skip
def test_what_the_entry_takes(typed: str, kept: str) -> None:
    """While it is empty a command is one; a word that a number may follow begins the text, and a stray letter none."""
    commands = {action.cap for screen in ("session", EVERYWHERE) for action in actions_of(screen)}
    text = ""
    for character in typed:
        if continues(text, character, character in commands):
            text += character
    assert text == kept


@given(st.floats(0, 1), st.integers(1, 40))
def test_bars_grow_with_the_share(share: float, width: int) -> None:
    """A bar is never wider than its room, and a larger share never makes it shorter."""
    assert len(bar(share, width)) <= width
    assert len(bar(share / 2, width)) <= len(bar(share, width))
    assert bar(1, width) == "█" * width and bar(0, width) == ""


def test_a_probability_is_never_said_to_be_certain() -> None:
    """0 and 100 % are kept for what is exactly so."""
    assert [percent(share) for share in (0, 0.001, 0.38, 0.999, 1)] == ["0 %", "<1 %", "38 %", ">99 %", "100 %"]


@given(st.floats(-20, 20))
def test_the_balance_leans_to_its_side(log_odds: float) -> None:
    """Seventeen columns, filled on one side of the post only."""
    left, right = balance(log_odds).split("│")
    assert len(left) == len(right) == 8
    assert "█" not in (left if log_odds >= 0 else right)


def test_counts_and_times_in_words() -> None:
    """One reading, two readings; an hour ago, two days ago."""
    assert (counted(1, "reading"), counted(2, "reading")) == ("1 reading", "2 readings")
    assert (ago(5), ago(3600), ago(2 * 86400 + 5)) == ("just now", "1 hour ago", "2 days ago")


def test_the_form_of_a_car_has_every_field() -> None:
    """Nothing of the car is missing from the form, every number has a unit and a range."""
    assert [field.name for field in car_fields()] == list(Car.__struct_encode_fields__)
    numbers = [field for field in car_fields() if not field.choices and field.name not in WHOSE]
    assert all(field.unit and field.high > field.low for field in numbers)


@pytest.mark.parametrize("system", ["us", "metric"])
def test_an_untouched_form_changes_nothing(system: str) -> None:
    """Looking at a car in other units does not change a figure of it."""
    assert len(form_fields(Car(), system)) == len(car_fields())
    assert read_car(Car(), {}, system) == (Car(), {})


def test_a_car_is_read_in_the_units_typed() -> None:
    """A number alone is in the unit shown, a unit typed wins (1 in³ = 16.387064 cm³, exact by the inch)."""
    typed = {"displacement": "5.0 L", "cylinders": "6", "injectors": "2", "title": "Mine", "sweeps-at-key-on": "yes"}
    car, wrong = read_car(Car(), typed, "us")
    assert wrong == {} and car.displacement == pytest.approx(5000 / 16.387064, abs=0.01)
    assert (car.cylinders, car.injectors, car.title, car.sweeps_at_key_on) == (6, 2, "Mine", True)
    metric, wrong = read_car(Car(), {"rated-pressure": "4"}, "metric")
    assert wrong == {} and metric.rated_pressure == pytest.approx(4 / 0.06894757, abs=0.01)


@pytest.mark.parametrize(
    ("field", "text"),
    [("displacement", "2"), ("displacement", "red"), ("rated-pressure", "nan"),
     ("rated-pressure", "45 V"), ("title", "  "), ("title", "x" * 61), ("injectors", "2.5"), ("altitude", "1e999")],
)  # fmt: skip
def test_a_field_that_does_not_fit_is_named(field: str, text: str) -> None:
    """The field is named with a sentence, and the car stays as it was."""
    car, wrong = read_car(Car(), {field: text}, "us")
    assert car == Car() and set(wrong) == {field} and wrong[field]


def test_a_figure_that_is_emptied_stays_as_it_stood() -> None:
    """Nobody needs to know every figure of a car."""
    assert read_car(Car(), {"altitude": " ", "displacement": ""}, "us") == (Car(), {})


def test_a_range_in_other_units_is_short_and_holds_only_what_is_taken() -> None:
    """20 to 600 l/h are 5.283 to 158.5 gal/h (1 gal = 3.785411784 l, NIST SP 811); 5.28 would be refused."""
    flow = next(one for one in form_fields(Car(), "us") if one.name == "pump-flow")
    assert flow.allowed == "5.29 to 158 gal/h"
    for system in ("us", "metric"):
        for field in form_fields(Car(), system):
            for end in field.allowed.split(" to ") if field.allowed else ():
                assert read_car(Car(), {field.name: end}, system)[1] == {}, (field.name, end)


def test_settings_are_kept_and_a_broken_file_means_the_usual(tmp_path) -> None:
    """What is written is read again; anything unreadable is passed over."""
    path = tmp_path / "deep" / "settings.json"
    write_settings(path, ScreenSettings(units="metric", theme="bright-sun"))
    assert read_settings(path) == (ScreenSettings(units="metric", theme="bright-sun"), "")
    for broken in (b"", b"{", b'{"units": 3}', b"\xff\xfe", b"[]"):
        path.write_bytes(broken)
        kept, words = read_settings(path)
        assert kept == ScreenSettings()
        assert "cannot be read" in words


@pytest.mark.parametrize("system", ["us", "metric"])
def test_every_calculation_reads_its_own_form(system: str) -> None:
    """What a form begins with is understood again, in either system, as the same figure within its rounding."""
    from troubleshoot.calculations.registry import calculations
    from troubleshoot.calculations.units import convert
    from troubleshoot.tui.calculation_form import entered, form_fields

    for one in calculations():
        texts = {field.name: field.value for field in form_fields(one, system)}
        given, wrong, _ = entered(one, texts, system)
        assert wrong == {}, one.name
        for field in one.inputs:
            if isinstance(field.default, float | int):
                read = given[field.name]
                assert convert(read.value, read.unit, field.unit) == pytest.approx(field.default, rel=2e-3, abs=1e-6)


async def test_keys_of_one_burst_go_to_the_field_they_were_meant_for() -> None:
    """Over a slow line several keys come at once; none may end up in the field that was left."""

    class Fields(App[None]):
        def compose(self) -> ComposeResult:
            for name in ("one", "two", "three"):
                yield FieldLine(FormField(name, name, "7"))

    async with Fields().run_test() as pilot:
        fields = list(pilot.app.query(FieldLine))
        fields[0].focus()
        await pilot.pause()
        for key in ("5", "0", "down", "down", "1", "6"):
            fields[0].editor.post_message(events.Key(key, key if len(key) == 1 else None))
        await pilot.pause()
        assert [field.text for field in fields] == ["50", "7", "16"]


async def test_a_quantity_without_end_pushes_nothing_off_the_screen() -> None:
    """Of 10,000 figures typed or pasted the field shows the last, on a few lines."""

    class Fields(App[None]):
        def compose(self) -> ComposeResult:
            yield FieldLine(FormField("one", "one", "7", "1 to 16"))

    async with Fields().run_test(size=(80, 24)) as pilot:
        field = pilot.app.query_one(FieldLine)
        field.focus()
        field.editor.post_message(events.Paste("9" * 9_999 + "1"))
        await pilot.pause()
        assert field.size.height <= 4
        assert len(field.text) == 200


async def test_a_field_is_edited_like_any_line_of_text() -> None:
    """Left, Home, Delete, Ctrl+U and a selection do what they do everywhere; typing replaces what was selected."""

    class Fields(App[None]):
        def compose(self) -> ComposeResult:
            yield FieldLine(FormField("one", "one", "300 in³", "40 to 700"))

    async with Fields().run_test(size=(80, 24)) as pilot:
        field = pilot.app.query_one(FieldLine)
        field.focus()
        await pilot.pause()
        await pilot.press(*"302")
        assert field.text == "302"
        await pilot.press("left", "backspace", "5")
        assert field.text == "352"
        await pilot.press("home", "delete", "4", "end", "0")
        assert field.text == "4520"
        await pilot.press("ctrl+u", "7")
        assert field.text == "7"
        assert field.touched


async def test_a_field_says_what_is_wrong_when_it_is_left() -> None:
    class Fields(App[None]):
        def compose(self) -> ComposeResult:
            yield FieldLine(
                FormField("one", "one", "7", "1 to 16", wrong=lambda text: "" if text < "5" else "too many")
            )
            yield FieldLine(FormField("two", "two", "7", "1 to 16"))

    async with Fields().run_test(size=(80, 24)) as pilot:
        one = pilot.app.query_one("#field-one", FieldLine)
        one.focus()
        await pilot.press("9", "down")
        assert one.problem == "too many"
        await pilot.press("up", "3", "down")
        assert one.problem == ""


def test_every_sign_of_a_frame_or_a_bar_has_an_ascii_sign_as_wide() -> None:
    """Unicode's box drawing and block elements, and every sign the program's own files hold."""
    held = {
        one
        for path in Path(troubleshoot.tui.__file__).parent.rglob("*.py")
        for one in path.read_text(encoding="utf-8")
        if not one.isascii()
    }
    for sign in {*map(chr, range(0x2500, 0x2580)), *(one for one in held if cell_len(one) == 1)}:
        plain = in_ascii(sign)
        assert plain.isascii() and cell_len(plain) == cell_len(sign), sign
    assert not [one for one in map(chr, range(0x2500, 0x2580)) if in_ascii(one) == "?"]
