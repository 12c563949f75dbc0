"""Change the facts of an open case: the car, what it does, the tools at hand."""

from __future__ import annotations

from collections.abc import Callable, Mapping
from typing import TYPE_CHECKING

from troubleshoot.knowledge.car import Car
from troubleshoot.tui.screens.new_case import car_screen, concern_screen, tools_screen

if TYPE_CHECKING:
    from troubleshoot.tui.screens.case_screen import CaseScreen


def change_car(session: CaseScreen) -> None:
    """Show the form of the car as it stands."""

    def filled(car: object) -> None:
        if isinstance(car, Car):
            with session.changing("The car is changed."):
                was = session.case.assessment.car
                session.case.set_car(car)
                if was.title in {one.title for one in session.workspace.kept_cars().values()}:
                    session.workspace.keep_car(car, was)

    session.app.push_screen(car_screen(session.workspace, session.case.assessment.car, session.view.concerns), filled)


def change_concern(session: CaseScreen) -> None:
    """Show the concerns with the marks as they stand."""
    screen = concern_screen(session.workspace, session.view.concerns)

    def marked(done: str | None) -> None:
        if done is not None:
            order = tuple(name for name in session.workspace.catalogue.concerns if name in screen.marked)
            with session.changing("What the car does is changed."):
                session.case.set_concerns(order)

    session.app.push_screen(screen, marked)


def change_tools(session: CaseScreen) -> None:
    """Show the tools with the marks as they stand."""
    at_hand = session.case.assessment.state.tools
    screen = tools_screen(
        session.workspace, at_hand if at_hand is not None else tuple(session.workspace.catalogue.tools)
    )

    def marked(done: str | None) -> None:
        if done is not None:
            if session.case.bench is None:
                session.workspace.keep_tools(screen.marked)
            with session.changing("The tools at hand are changed."):
                session.case.set_tools(sorted(screen.marked))

    session.app.push_screen(screen, marked)


CHANGES: Mapping[str, Callable[[CaseScreen], None]] = {
    "car": change_car,
    "concern": change_concern,
    "tools": change_tools,
}
