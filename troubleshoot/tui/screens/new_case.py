"""Enter a new case: which car, what it does, which tools are at hand; Esc goes one step back."""

from __future__ import annotations

from collections.abc import Collection
from typing import Any

import msgspec
from textual.app import App

from troubleshoot.case.case import Case
from troubleshoot.knowledge.car import Car
from troubleshoot.knowledge.car_needs import fields_for
from troubleshoot.knowledge.concern_groups import in_order
from troubleshoot.tui.car_form import following, form_fields, read_car
from troubleshoot.tui.screens.choice_screen import ChooseScreen
from troubleshoot.tui.screens.form_screen import MeasuredFormScreen
from troubleshoot.tui.screens.tick_screen import MarkScreen
from troubleshoot.tui.widgets.numbered import Row
from troubleshoot.tui.workspace import Workspace

OWN, KEPT = "own", "kept "

OFFERED_FIRST = (
    "harrow-240 wont-rev",
    "harrow-240 idle-surge",
    "tarn-six-160-electronic floods-key-on",
    "tarn-six-160 lean-top",
)
"""The four concerns a conversion is known for, each on a car that can well have it; they head the examples."""


def cars_screen(workspace: Workspace) -> ChooseScreen:
    """Return the list of cars to begin from: those entered before, a new one, the invented ones."""
    rows = [Row(f"{KEPT}{name}", car.title, car.plate, whose(car)) for name, car in workspace.kept_cars().items()]
    rows.append(Row(OWN, "Another car" if rows else "My car", under="a common conversion; change what differs"))
    rows += [Row(name, car.title, "invented", car.about) for name, car in workspace.catalogue.cars.items()]
    words = "A car once entered stays on this list. What is asked of it next can be changed."
    return ChooseScreen("Which car?", rows, words, narrows=True)


def whose(car: Car) -> str:
    """Return whose car it is, its mileage and what is worth remembering, in one line."""
    return " · ".join(word for word in (car.owner, car.mileage, car.about) if word)


def car_named(workspace: Workspace, name: str) -> Car:
    """Return the car of a row of that list."""
    if name == OWN:
        return Car()
    if name.startswith(KEPT):
        return workspace.kept_cars()[name.removeprefix(KEPT)]
    return workspace.catalogue.cars[name]


ASKED_ALWAYS = ("title", "plate", "owner", "mileage", "cylinders", "ignition")
"""What is asked of every car, whatever it does."""


def car_screen(workspace: Workspace, car: Car, concerns: Collection[str]) -> MeasuredFormScreen:
    """Return the form of a car, first what matters for its concerns; the units chosen there hold from then on."""
    needed = fields_for(workspace.catalogue, concerns)
    first = (*ASKED_ALWAYS, *(name for name in needed if name not in ASKED_ALWAYS), "about")
    form = MeasuredFormScreen(
        "The car",
        "What the checks need of this car. What you do not know stays as it stands, which is common. "
        "Up and Down go to other fields, Left and Right step through choices, F4 shows every field, Enter goes on.",
        lambda system: form_fields(car, system, first),
        lambda changed, system: read_car(car, changed, system),
        workspace.settings.units,
    )
    form.first = len(first)
    form.follows = lambda name, text, system: following(car, name, text, system)
    form.keep_units = lambda system: workspace.keep(msgspec.structs.replace(workspace.settings, units=system))
    return form


def concern_screen(workspace: Workspace, marked: Collection[str] = ()) -> MarkScreen:
    """Return the concerns to mark, in the customer's words."""
    rows = [
        Row(name, one.title, one.group or "", one.says, also=" ".join(one.words))
        for name, one in in_order(workspace.catalogue.concerns).items()
    ]
    words = "What does the car do? Mark all that hold, by digit or Space."
    return MarkScreen("Concern", rows, marked, words, least=1)


def common_tools(workspace: Workspace) -> set[str]:
    """Return the tools that most people have."""
    return {name for name, tool in workspace.catalogue.tools.items() if tool.common}


def tools_screen(workspace: Workspace, at_hand: Collection[str] | None = None) -> MarkScreen:
    """Return the tools to mark; to begin with those of the last case are, or the common ones."""
    tools = workspace.catalogue.tools
    marked = common_tools(workspace) if at_hand is None else at_hand
    rows = [Row(name, tool.words) for name, tool in tools.items()]
    words = "What is at hand? Checks that need more are listed but not proposed. The marks stay for the next case."
    return MarkScreen("Tools at hand", rows, marked, words)


async def enter_case(app: App[Any], workspace: Workspace) -> Case | None:
    """Walk through concern, car and tools; None when left at the first step. The case begins at the end.

    A concern that is a danger begins at once, so that its STOP is read before anything else is asked.
    """
    car, step = Car(), 0
    kept: Car | None = None
    marked: Collection[str] = ()
    while True:
        if step == 0:
            concerns = concern_screen(workspace, marked)
            if await app.push_screen_wait(concerns) is None:
                return None
            marked, step = concerns.marked, 1
            if any(workspace.catalogue.concerns[name].stops for name in marked):
                return begin(workspace, car, marked, common_tools(workspace))
        elif step == 1:
            name = await app.push_screen_wait(cars_screen(workspace))
            car, step = (car_named(workspace, name), 2) if name is not None else (car, 0)
            kept = car if name is not None and name.startswith(KEPT) else None
        elif step == 2:
            filled = await app.push_screen_wait(car_screen(workspace, car, marked))
            car, step = (filled, 3) if isinstance(filled, Car) else (car, 1)
        else:
            tools = tools_screen(workspace, workspace.settings.tools)
            if await app.push_screen_wait(tools):
                if car not in workspace.catalogue.cars.values() and car != Car():
                    workspace.keep_car(car, kept)
                workspace.keep_tools(tools.marked)
                return begin(workspace, car, marked, tools.marked)
            step = 2


def begin(workspace: Workspace, car: Car, concerns: Collection[str], tools: Collection[str] | None) -> Case:
    """Open the case in the casebook."""
    case = workspace.open_case()
    order = [name for name in workspace.catalogue.concerns if name in concerns]
    case.start_with(car, order, None if tools is None else sorted(tools))
    return case


def example_screen(workspace: Workspace) -> ChooseScreen:
    """Return the example cars, each with each concern; one digit and the case is open."""
    trees = [(name, one) for name, one in workspace.catalogue.concerns.items() if one.kind == "tree"]
    rows = [
        Row(f"{car} {concern}", f"{made.title}: {one.title.lower()}", under=one.says)
        for car, made in sorted(workspace.catalogue.cars.items(), key=lambda one: (len(one[1].title), one[0]))
        for concern, one in trees
    ]
    place = {row: at for at, row in enumerate(OFFERED_FIRST)}
    rows.sort(key=lambda row: place.get(row.id, len(place)))
    return ChooseScreen("Example cars", rows, "Invented cars; answer as you like.", "No trees are found.", narrows=True)
