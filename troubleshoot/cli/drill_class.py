"""The commands of a class: serve a drill to browsers, show who is where, print a card for a real engine."""

from __future__ import annotations

import time
from pathlib import Path

from troubleshoot.cli import output
from troubleshoot.cli.options import GlobalOptions
from troubleshoot.cli.waiting import waiting


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


def serve_class(wanted: GlobalOptions, drill: Path, seats: int, into: Path, host: str, port: int) -> None:
    """Serve a drill until interrupted."""
    from troubleshoot.classroom.serving import is_loopback, serve

    if not is_loopback(host):
        output.say(
            f"WARNING: {host} can be reached by others, and there are no passwords: anyone who can open the page can"
            " take a seat. Use a network that only the class is on."
        )
    serve(wanted.seat_program, wanted.here / drill, seats, wanted.here / into, host, port, wanted.trees, output.say)


def show_board(wanted: GlobalOptions, into: Path, watch: float | None) -> None:
    """Show who is where, once or again and again until interrupted."""
    from troubleshoot.classroom.board import board_lines, seats_in

    while True:
        for line in board_lines(seats_in(wanted.here / into), wanted.clock()):
            output.data(line)
        if watch is None:
            return
        time.sleep(watch)
        output.data()
