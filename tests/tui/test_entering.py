"""Cases and cars entered and changed on the screens, in both systems of units."""

from __future__ import annotations

from troubleshoot.tui.screens.start import StartScreen

BEGIN = ("a", "1", "y", "y")


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
        text = await press("3", "enter", "y", "y")
        assert "Fuel pressure at the moment" in text
        await press("escape")
        text = await press("n", "1", "enter", "1", "enter")
        assert "2 [x]" in text and "3 [ ]" in text, "the tools are those of the last case"
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
        await press("y", "y", "y", "escape", "n", "1", "enter", "1", "down", *"CD 34", "enter", "enter")
    assert [(car.title, car.plate) for car in workspace.kept_cars().values()] == [("Wagon", "CD 34")]


async def test_only_the_fields_that_matter_are_asked(screens) -> None:
    """A concern about fuel asks for the pressure and not for the spark; F4 shows every field."""
    async with screens(80, 50) as (_, press):
        text = await press("n", "1", "enter", "1")
        assert "Fuel pressure the" in text and "Spark plug gap" not in text
        await press("f4")
        text = await press("up")
        assert "more fields" in text or "Usual cranking compression" in text


async def test_units_are_changed_before_the_other_fields_are_drawn(screens) -> None:
    """F4 and F2 in one go: the fields that come are in the units that were asked for."""
    async with screens(80, 50) as (app, press):
        await press("n", "1", "enter", "1")
        for key in ("f4", "f2"):
            app.simulate_key(key)
        await press()
        assert app.is_running


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
        assert "! " in text and "outside 9 to 100 psi" in text.replace("\n", " ")
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
        await press("1", "enter", "o")
        text = await press(*"suction")
        text = await press(*["backspace"] * 7, *"vacuum")
        assert "Vacuum between" in text


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
