"""The card of a fault for a real training engine, on the screen."""

from __future__ import annotations

from pathlib import Path
from typing import TYPE_CHECKING

from troubleshoot.classroom.drill_maker import CARS
from troubleshoot.classroom.plant_card import card_lines, plant_card
from troubleshoot.tui.screens.choice_screen import ChooseScreen
from troubleshoot.tui.screens.page import PageScreen
from troubleshoot.tui.screens.waiting import wait_for
from troubleshoot.tui.widgets.numbered import Row

if TYPE_CHECKING:
    from troubleshoot.tui.screens.home import HomeScreen


async def show_card(home: HomeScreen) -> None:
    """Ask for the fault and the car, then show the card; one that must not be set says so."""
    catalogue = home.workspace.catalogue
    faults = [
        Row(name, one.title, "not to be set" if one.plant.never else "", one.term)
        for name, one in sorted(catalogue.causes.items(), key=lambda pair: pair[1].title.casefold())
    ]
    cause = await home.app.push_screen_wait(ChooseScreen("Which fault?", faults, narrows=True))
    if cause is None:
        return
    car = CARS[0]
    if not catalogue.causes[cause].plant.never:
        cars = [Row(name, catalogue.cars[name].title, under=catalogue.cars[name].about) for name in CARS]
        chosen = await home.app.push_screen_wait(ChooseScreen("Readings for which car?", cars))
        if chosen is None:
            return
        car = chosen
    card = await wait_for(
        home.app, catalogue.causes[cause].title, "Computing what should be found",
        lambda _: plant_card(cause, car, None, catalogue, home.workspace.settings.units),
    )  # fmt: skip
    if card is not None:
        file = Path.cwd() / f"{cause}.card.txt"
        await home.app.push_screen_wait(
            PageScreen("Card for a real engine", tuple(card_lines(card, min(76, home.app.size.width - 4))), file)
        )
