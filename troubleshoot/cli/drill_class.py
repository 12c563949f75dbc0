"""The commands of a class: serve a drill to browsers, show who is where, print a card for a real engine."""

from __future__ import annotations

import time
from pathlib import Path
from typing import TYPE_CHECKING

from troubleshoot.cli import output
from troubleshoot.cli.options import GlobalOptions
from troubleshoot.cli.waiting import waiting

if TYPE_CHECKING:
    from troubleshoot.classroom.serving import ClassPlan


def print_card(wanted: GlobalOptions, cause: str, car: str, severity: float | None) -> None:
    """Print the card of a cause."""
    from troubleshoot.classroom.plant_card import card_lines, plant_card

    with waiting("Computing the readings"):
        card = plant_card(cause, car, severity, wanted.catalogue(), wanted.units)
    for line in card_lines(card):
        output.data(line)


def print_plantable(wanted: GlobalOptions) -> None:
    """Print what may be set on a real engine, by id and title."""
    from troubleshoot.classroom.plant_card import plantable

    found = plantable(wanted.catalogue())
    width = max((len(name) for name, _ in found), default=0)
    for name, title in found:
        output.data(f"{name:<{width}}  {title}")
    output.say(f"{len(found)} faults can be set; `troubleshoot drill plant NAME` prints the card of one.")


def serve_class(wanted: GlobalOptions, plan: ClassPlan) -> None:
    """Serve a drill until interrupted."""
    from troubleshoot.classroom.addresses import is_loopback
    from troubleshoot.classroom.serving import serve

    if not is_loopback(plan.host):
        who = (
            "anyone with a code can"
            if plan.names is not None
            else "there are no passwords: anyone who can open the page can"
        )
        output.say(
            f"WARNING: {plan.host} can be reached by others, and {who} take a seat. Use a network that only the class"
            " is on."
        )
        if not plan.tls:
            output.say("What is typed goes over the network as it is; --tls hides it.")
    serve(wanted.seat_program, plan, output.say)


def show_board(wanted: GlobalOptions, into: Path, watch: float | None, key: Path | None) -> None:
    """Show who is where, once or again and again until interrupted; with the key, how right they are."""
    from troubleshoot.classroom.board import board_lines, seats_in

    catalogue = wanted.catalogue()
    titles = {name: one.ask for name, one in catalogue.checks.items()}
    believed = None
    if key is not None:
        from troubleshoot.classroom.variants import keys_in
        from troubleshoot.classroom.yardstick import belief_in

        believed = belief_in(keys_in(wanted.here / key), catalogue)
    while True:
        for line in board_lines(seats_in(wanted.here / into, believed), wanted.clock(), titles):
            output.data(line)
        if watch is None:
            return
        time.sleep(watch)
        output.data()
