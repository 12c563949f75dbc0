"""Whole walks on the screens, with the real core and a small catalogue."""

from __future__ import annotations

from dataclasses import replace

import pytest

from troubleshoot.case.cautioning import STOP_PREFIX, cautions_shown
from troubleshoot.case.view import CautionShown
from troubleshoot.knowledge.catalogue import load_catalogue
from troubleshoot.tui.screens.caution import CautionScreen
from troubleshoot.tui.screens.session import SessionScreen
from troubleshoot.tui.screens.start import StartScreen
from troubleshoot.tui.screens.stop import StopScreen

BEGIN = ("e", "1", "y", "y")


async def test_three_keys_lead_to_the_first_check_of_an_example(screens) -> None:
    """One key opens the examples, a digit the case, the third acknowledges; the check is there."""
    async with screens() as (app, press):
        await press("e", "2")
        assert isinstance(app.screen, SessionScreen)
        text = await press()
        assert "Soot or a puff at the exhaust joints" in text


async def test_a_caution_stops_until_it_is_acknowledged(screens) -> None:
    """The check stays closed while its caution is unread; Enter is not enough, `y` is."""
    async with screens() as (app, press):
        text = await press("e", "1")
        assert isinstance(app.screen, CautionScreen)
        assert "WARNING" in text
        text = await press("enter", "3", "8")
        assert isinstance(app.screen, CautionScreen)
        text = await press("escape")
        assert "Fuel pressure at the moment" not in text
        assert "Read the caution" in text
        text = await press("enter", "y", "y")
        assert "Fuel pressure at the moment it leans out" in text


BATTERY = CautionShown(
    "battery", "DANGER", "Battery", "Gas explodes.", ("Rings off.", "Goggles on.", "No sparks."), "The maker's data.",
    ("A short welds a ring to your finger; the gas explodes in your face.", "Rings off, eye protection on.",
     "Ground lead off first and on last, positive post covered.", "No sparks near it, no cigarette, nobody leaning."),
)  # fmt: skip


async def test_one_hazard_a_card_each_rule_on_a_line_of_its_own(screens) -> None:
    """Never set as run-on text: five lines where they fit, and the next hazard only after this one was read."""
    for width, height in ((80, 24), (120, 40), (60, 20)):
        async with screens(width, height) as (app, press):
            shown = CautionScreen()
            other = replace(BATTERY, id="other", title="Other")
            shown.show((BATTERY, other), "Before: volts")
            app.push_screen(shown)
            text = await press()
            rules = [line.strip(" ┃") for line in text.splitlines()]
            assert not shown.unread() and "when you have read this" in text
            assert all(any(rule.startswith(f"· {one[:20]}") for rule in rules) for one in BATTERY.card[1:])
            assert "1 of 2" in text and "Other" not in text and "DANGER" in text
            assert "Gas explodes." in await press("f")
            assert "Gas explodes." not in await press("f")
            text = await press("y")
            assert "2 of 2" in text and "Other" in text
            await press("y")
            assert app.screen is not shown


async def test_a_smell_of_fuel_stops_at_a_caution(screens) -> None:
    async with screens() as (app, press):
        await press("e", "1")
        assert isinstance(app.screen, CautionScreen)
        await press("s")
        assert isinstance(app.screen, StopScreen)


@pytest.mark.parametrize(("width", "height"), [(60, 20), (80, 24)])
async def test_every_shipped_card_is_seen_whole_and_help_is_there(screens, width: int, height: int) -> None:
    """The longest question ahead and any card: nothing is cut above `I have read it`, and one press reads it."""
    trees = load_catalogue()
    stops = [STOP_PREFIX + name for name, concern in trees.concerns.items() if concern.stop]
    ahead = max((check.ask for check in trees.checks.values()), key=len)
    async with screens(width, height) as (app, press):
        for caution in cautions_shown(trees, [*trees.cautions, *stops]):
            shown = CautionScreen()
            shown.show((caution,), f"Before: {ahead} (the engine will turn)")
            app.push_screen(shown)
            text = await press()
            assert not shown.unread() and "I have read it" in text, caution.id
            assert len(caution.card) <= 4, caution.id
            for line in caution.card:
                assert " ".join(line.split()[:3]) in text, (caution.id, line)
            assert "full text" in await press("question_mark")
            await press("escape", "y")
            assert app.screen is not shown


async def test_help_is_there_on_a_caution_and_on_a_stop(screens) -> None:
    """`?` says what each key does, and comes back to the same card."""
    async with screens() as (app, press):
        await press("e", "1")
        assert "full text" in await press("question_mark")
        await press("escape")
        assert isinstance(app.screen, CautionScreen)
        while isinstance(app.screen, CautionScreen):
            await press("y")
        await press("s")
        assert "by mistake" in await press("question_mark")
        await press("escape")
        assert isinstance(app.screen, StopScreen)


@pytest.mark.parametrize("width", [1, 2, 6, 7, 20])
async def test_a_card_holds_at_any_width(screens, width: int) -> None:
    async with screens(width, 10) as (app, press):
        shown = CautionScreen()
        shown.show((BATTERY,), "Before: volts")
        app.push_screen(shown)
        await press("y", "f", "y", "escape")
        assert app.screen is not shown


async def test_from_the_concern_to_a_proved_cause(screens, workspace) -> None:
    """Pressure low, volts good, suction strong: the strainer; repaired, retested, closed as proved."""
    async with screens() as (_, press):
        await press(*BEGIN)
        text = await press("3", "8")
        assert "38 psi: below the set pressure" in text
        text = await press("enter")
        assert "Volts at the pump under load" in text
        await press(*"13.4", "enter", "c", *"vacuum", "enter")
        text = await press(*"12 inHg", "enter", "y")
        assert "Repair: Inlet strainer blocked" in text
        text = await press("1", "enter", "enter")
        assert "Is the concern still there?" in text.replace("\n", " ") or "Test it again" in text
        text = await press("1", "enter")
        assert "Close the case as proved" in text
        text = await press("enter")
        assert "PROVED" in text and "Inlet strainer blocked" in text
    assert workspace.cases()[0].state.startswith("proved")


async def test_a_case_goes_on_where_it_stopped(screens) -> None:
    """What was answered is there after the program was left and started again."""
    async with screens() as (_, press):
        await press(*BEGIN, "3", "8", "enter", "ctrl+q")
    async with screens() as (app, press):
        assert isinstance(app.screen, StartScreen)
        text = await press()
        assert "Goes lean at the top" in text
        text = await press("1")
        assert "1 reading" in text and "38" in text


async def test_undo_takes_back_the_last_answer(screens) -> None:
    """`b` brings the check back and takes the reading out of the ranking."""
    async with screens() as (_, press):
        before = await press(*BEGIN)
        await press("3", "8", "enter")
        after = await press("b")
        assert "Taken back: Fuel pressure at the moment it leans out" in after
        assert before.split("LIKELY")[1].splitlines()[:6] == after.split("LIKELY")[1].splitlines()[:6]


async def test_an_earlier_answer_can_be_changed(screens) -> None:
    """`e` lists the answers, a digit picks one, and another reading stands in its place."""
    async with screens() as (_, press):
        await press(*BEGIN, "3", "8", "enter")
        text = await press("e")
        assert "Fuel pressure at the moment it leans out" in text
        text = await press("1", "5", "0")
        assert "50 psi: as set" in text
        text = await press("enter")
        assert "as set" in text and "below the set pressure" not in text


async def test_letters_are_commands_first_and_units_after_a_digit(screens) -> None:
    """`b` alone steps back; the b of `2.6 bar` is typed."""
    async with screens() as (app, press):
        await press(*BEGIN)
        text = await press(*"2.6 bar")
        assert "▸ 2.6 bar" in text and "37.7" in text
        text = await press("escape")
        assert isinstance(app.screen, SessionScreen) and "2.6" not in text


async def test_a_refused_reading_keeps_the_text(screens) -> None:
    """What cannot be read is told in the message line, and the entry keeps what was typed."""
    async with screens() as (_, press):
        await press(*BEGIN)
        text = await press(*"3 volts", "enter")
        assert "▸ 3 volts" in text and "! " in text
        text = await press(*(["backspace"] * 6), "8", "enter")
        assert "Volts at the pump" in text


async def test_a_hardly_possible_reading_needs_a_second_enter(screens) -> None:
    """300 psi is doubted once and taken at the second Enter."""
    async with screens() as (_, press):
        await press(*BEGIN)
        text = await press(*"300", "enter")
        assert "outside what this can be" in text.replace("\n", " ") and "▸ 300" in text
        text = await press("enter")
        assert "1 reading" in text


async def test_a_check_left_out_says_what_may_stand_in(screens) -> None:
    """`n` asks why not, shows what to do instead, and the check is not asked again."""
    async with screens() as (_, press):
        await press(*BEGIN)
        text = await press("n")
        assert "Use the delivery into a can" in text and "The tool is not here" in text
        text = await press("1")
        assert "skipped" in text and "Fuel pressure at the moment it leans out: skipped" in " ".join(text.split())


async def test_the_smell_of_fuel_ends_everything_else(screens) -> None:
    """`s` stops; only the repaired leak, or a slip of the finger taken back, leads on."""
    async with screens() as (app, press):
        await press(*BEGIN)
        text = await press("s")
        assert isinstance(app.screen, StopScreen) and "DANGER" in text
        await press("3", "enter", "n", "c")
        assert isinstance(app.screen, StopScreen)
        await press("escape")
        assert isinstance(app.screen, StartScreen)
        await press("1")
        assert isinstance(app.screen, StopScreen)
        await press("m")
        while isinstance(app.screen, CautionScreen):
            await press("y")
        assert isinstance(app.screen, SessionScreen)
        await press("s", "b")
        assert isinstance(app.screen, SessionScreen)


async def test_a_choice_is_marked_by_its_digit_and_taken_by_enter(screens) -> None:
    """A digit alone stores nothing; fuel found by looking stops like fuel smelt."""
    async with screens() as (app, press):
        text = await press("e", "2", "2")
        assert "Enter takes: Soot or a puff" in text and "0 readings" in text
        await press("3", "enter")
        assert isinstance(app.screen, StopScreen)


async def test_another_check_is_chosen_by_worth(screens) -> None:
    """`c` lists the others; the one chosen is asked next, as the person's own choice."""
    async with screens() as (_, press):
        await press(*BEGIN)
        text = await press("c")
        assert "Injector duty at the top of the run" in text
        text = await press(*"duty", "enter")
        assert "Injector duty at the top of the run" in text and "You chose this check" in text


async def test_why_shows_what_each_reading_says(screens) -> None:
    """`w` opens the leading cause; a digit another one."""
    async with screens() as (_, press):
        await press(*BEGIN, "3", "8", "enter")
        text = await press("w")
        assert "Why: " in text and "Fuel pressure at the moment it leans out" in text
        other = await press("2")
        assert other.splitlines()[0] != text.splitlines()[0]


async def test_a_new_case_is_entered_step_by_step_and_esc_goes_back(screens, workspace) -> None:
    """Concern, car, form, tools; Esc leads back step by step, to the concerns with their marks."""
    async with screens() as (_, press):
        assert "Goes lean at the top" in await press("n")
        assert "[x]" in await press("1")
        assert "Which car?" in await press("enter")
        assert "What to call the car" in await press("1")
        assert "Tools at hand" in await press("enter")
        assert "What to call the car" in await press("escape")
        assert "1 [x] Goes lean" in await press("escape", "escape")
        await press("enter", "1", "enter")
        text = await press("enter", "y", "y")
        assert "Fuel pressure at the moment" in text
    assert len(workspace.cases()) == 1


async def test_a_car_once_entered_is_kept_listed_and_edited(screens, workspace) -> None:
    """It is first on the list the next time, by name, plate and owner; what is changed there is kept."""
    async with screens() as (_, press):
        await press("n", "1", "enter", "1", *"Wagon", "down", *"AB 12", "down", *"Miller", "enter", "enter")
        while "I have read it" in await press("y"):
            pass
        await press("escape")
        text = await press("n", "1", "enter")
        assert "1 Wagon" in text and "AB 12" in text and "Miller" in text
        await press("1", "down", "down", "down", *"52 000", "enter", "enter")
    assert [(car.title, car.mileage) for car in workspace.kept_cars().values()] == [("Wagon", "52 000")]


async def test_only_the_fields_that_matter_are_asked(screens) -> None:
    """A concern about fuel asks for the pressure and not for the spark; F4 shows every field."""
    async with screens(80, 50) as (_, press):
        text = await press("n", "1", "enter", "1")
        assert "Fuel pressure the" in text and "Spark plug gap" not in text
        await press("f4")
        text = await press("up")
        assert "more fields" in text or "Usual cranking compression" in text


async def test_leaving_the_entry_of_a_case_leaves_nothing_behind(screens, workspace) -> None:
    """Esc at the first step comes back to the start, and the casebook is empty."""
    async with screens() as (app, press):
        await press("n", "escape")
        assert isinstance(app.screen, StartScreen)
    assert workspace.cases() == ()


async def test_a_wrong_field_is_marked_and_holds(screens) -> None:
    """A fuel pressure of 2 is refused beside its field, and the form keeps what was typed."""
    async with screens() as (_, press):
        await press("n", "enter", "1", *["down"] * 6, "2")
        text = await press("enter")
        assert "! " in text and "outside 9 psi to 100 psi" in text.replace("\n", " ")
        text = await press(*"40", "enter")
        assert "Tools at hand" in text


async def test_the_details_of_an_open_case_can_be_changed(screens) -> None:
    """`d` changes car, concern and tools; the readings stay."""
    async with screens() as (_, press):
        await press(*BEGIN, "3", "8", "enter")
        text = await press("d", "1", *"Other", "enter")
        assert text.startswith(" Other · Goes lean") and "1 reading" in text
        text = await press("d", "2", "2", "enter")
        assert "Surges at idle" in text
        text = await press("d", "3")
        assert "[x] fuel gauge" in text
        await press("1", "enter", "c")
        text = await press(*"suction")
        text = await press(*["backspace"] * 7, *"vacuum")
        assert "Vacuum between" in text


async def test_a_closed_case_leaves_the_list_of_open_ones(screens) -> None:
    """`f` closes; the case is in the casebook and not at the start; `b` opens it again."""
    async with screens() as (_, press):
        await press(*BEGIN)
        text = await press("f", "3")
        assert "The case is closed" in text
        text = await press("escape")
        assert "None yet" in text
        text = await press("c")
        assert "Bench Six" in text and "left" in text
        await press("1")
        assert "Fuel pressure at the moment" in await press("b")


async def test_the_report_is_written_in_three_forms(screens, tmp_path, monkeypatch) -> None:
    """`p` shows the report; w, h and m write it; a folder that cannot be written is told in words."""
    monkeypatch.chdir(tmp_path)
    async with screens() as (app, press):
        await press(*BEGIN, "3", "8", "enter")
        assert "CONCERN" in await press("p")
        await press("w", "h", "m")
        assert {file.suffix for file in tmp_path.glob("case-*")} == {".txt", ".html", ".md"}
        app.screen.folder = tmp_path / "nowhere"
        assert "cannot be written" in await press("w")


async def test_a_calculation_is_found_by_its_fields_too(screens) -> None:
    """The list is wanted as the command `calc WORDS` seeks: in fields and use, not in titles alone."""
    async with screens() as (_, press):
        found = await press("k", *"chassis")
        assert "Voltage drop in a wire run" in found and "Dwell" not in found


async def test_a_calculation_answers_while_it_is_typed(screens) -> None:
    """30° of dwell at 4500 rpm lasts 2.222 ms, 30/(3·4500) s; a wrong field is marked."""
    async with screens() as (_, press):
        await press("k", *"dwell")
        text = await press("space", *"time", "enter")
        assert "Still needed" in text
        text = await press("3", "0", "down", *"4500")
        assert "2.222 ms" in text
        text = await press("f3")
        assert "Dwell time against engine speed" in text
        text = await press(*" volts")
        assert "! " in text


async def test_a_locked_or_broken_casebook_is_told_in_words(tmp_path, look) -> None:
    """A casebook that cannot be read gives a sentence on the start screen, never a traceback."""
    from troubleshoot.tui.app import TroubleshootApp
    from troubleshoot.tui.workspace import Workspace

    path = tmp_path / "casebook.sqlite"
    path.write_bytes(b"this is no casebook" * 400)
    app = TroubleshootApp(Workspace(None, path))
    async with app.run_test(size=(80, 24)) as pilot:
        await pilot.pause()
        assert "! " in look(app)
        await pilot.press("c")
        await pilot.pause()
        assert "! " in look(app)


async def test_the_ranking_can_be_hidden(tmp_path, workspace, look) -> None:
    """A session without ranking shows no causes, and `w` says why not."""
    from troubleshoot.tui.app import TroubleshootApp
    from troubleshoot.tui.screens.new_case import begin

    app = TroubleshootApp(workspace)
    async with app.run_test(size=(120, 40)) as pilot:
        case = begin(workspace, workspace.catalogue.cars["bench-six"], ["surge"], None)
        await app.push_screen(SessionScreen(workspace, case, ranking=False))
        await pilot.press("w")
        await pilot.pause()
        text = look(app)
        assert "LIKELY" not in text and "change the lead" not in text and "The ranking is hidden" in text
        assert "Exhaust leak" not in text


class Answers:
    """A bench that answers one check and cannot do the others."""

    def read(self, check_id: str) -> str | None:
        return "38 psi" if check_id == "pressure-when-lean" else None


async def test_the_bench_gives_the_reading(tmp_path, workspace, look) -> None:
    """`t` takes the reading from the bench of a drill, and leaves out what it cannot measure."""
    from troubleshoot.tui.app import TroubleshootApp
    from troubleshoot.tui.screens.new_case import begin

    app = TroubleshootApp(workspace)
    async with app.run_test(size=(80, 24)) as pilot:
        case = begin(workspace, workspace.catalogue.cars["bench-six"], ["lean-top"], None)
        case.bench = Answers()
        await app.push_screen(SessionScreen(workspace, case))
        await pilot.press("y", "y", "t")
        await pilot.pause()
        assert "38" in look(app) and "1 reading" in look(app)
        await pilot.press("t")
        await pilot.pause()
        assert case.view().trail[-1].kind == "skipped"


async def test_two_concerns_are_found_by_typing_and_both_marked(screens) -> None:
    """Space marks what is wanted and brings the whole list back; Enter takes the one wanted last along."""
    async with screens() as (app, press):
        text = await press("n", *"lean", "space")
        assert "[x]" in text and "1 marked" in text and "Type to find" in text
        await press(*"surge", "enter", "1", "enter", "enter")
        for _ in range(6):
            await press("y")
        concerns = app.screen.case.view().concern_titles
        assert len(concerns) == 2 and any("lean" in one for one in concerns)


async def test_units_chosen_at_the_car_hold_from_then_on(screens, workspace) -> None:
    """F2 on the form of the car is the setting: the case and the next start are in the same units."""
    async with screens() as (_, press):
        assert "bar" in await press("n", "enter", "1", "f2")
        assert workspace.settings.units == "metric"
        await press("escape", "escape", "escape")
        assert "in bar" in await press(*BEGIN)


async def test_metric_units_from_the_setting_to_the_ruler(screens) -> None:
    """In metric the limits stand in bar (1 psi = 0.06894757 bar), a number alone is bar, and psi may still be typed."""
    async with screens(120, 40) as (_, press):
        await press("s", "right", "enter")
        text = await press(*BEGIN)
        assert "in bar" in text and "3.17" in text and "3.72" in text
        low = await press(*"2.62")
        assert "2.62 bar: below the set pressure" in low
        await press("escape")
        same = await press(*"38 psi")
        assert "below the set pressure" in same and "2.62" in same
        columns = [next(line.index("▼") for line in text.splitlines() if "▼" in line) for text in (low, same)]
        assert columns[0] == columns[1]


async def test_typing_replaces_a_reading_that_was_refused(screens) -> None:
    """`5600 rpm` where psi is asked is refused and selected: a digit begins anew, and `~` begins an estimate."""
    async with screens() as (_, press):
        await press(*BEGIN, *"5600 rpm", "enter")
        text = await press(*"38")
        assert "▸ 38▁" in text and "5600" not in text.split("▸ 38▁")[1].splitlines()[0]
        await press("escape")
        assert "~38" in await press(*"~38")
