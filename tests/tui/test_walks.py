"""Whole walks on the screens, with the real core and a small catalogue."""

from __future__ import annotations

from troubleshoot.tui.screens.session import SessionScreen
from troubleshoot.tui.screens.start import StartScreen

BEGIN = ("a", "1", "y", "y")


async def test_three_keys_lead_to_the_first_check_of_an_example(screens) -> None:
    """One key opens the examples, a digit the case, the third acknowledges; the check is there."""
    async with screens() as (app, press):
        await press("a", "2")
        assert isinstance(app.screen, SessionScreen)
        text = await press()
        assert "Soot or a puff at the exhaust joints" in text


async def test_from_the_concern_to_a_proved_cause(screens, workspace) -> None:
    """Pressure low, volts good, suction strong: the strainer; repaired, retested, closed as proved."""
    async with screens() as (_, press):
        await press(*BEGIN)
        text = await press("3", "8")
        assert "38 psi: below the set pressure" in text
        text = await press("enter")
        assert "Volts at the pump under load" in text
        await press(*"13.4", "enter", "o", *"vacuum", "enter")
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


async def test_another_check_is_chosen_by_worth(screens) -> None:
    """`o` lists the others; the one chosen is asked next, as the person's own choice."""
    async with screens() as (_, press):
        await press(*BEGIN)
        text = await press("o")
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
    """`g` shows the report; 1, 2 and 4 write it; a folder that cannot be written is told in words."""
    monkeypatch.chdir(tmp_path)
    async with screens() as (app, press):
        await press(*BEGIN, "3", "8", "enter")
        assert "CONCERN" in await press("g")
        await press("1", "2", "4")
        assert {file.suffix for file in tmp_path.glob("case-*")} == {".txt", ".html", ".md"}
        app.screen.folder = tmp_path / "nowhere"
        assert "cannot be written" in await press("1")


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
