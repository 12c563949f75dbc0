"""Serve a drill to a class in the browser: one process and one casebook a seat; the key is nowhere in it."""

from __future__ import annotations

import asyncio
import ipaddress
import os
import socket
import sys
from collections.abc import Callable, Sequence
from pathlib import Path
from typing import Any

from troubleshoot.classroom.drill_file import read_drill
from troubleshoot.classroom.seats import HAND_INS, SEATS
from troubleshoot.problems import TroubleshootError


class ServeRefused(TroubleshootError):
    """A class cannot be served so."""


def is_loopback(host: str) -> bool:
    """Return whether an address can be reached from this computer only."""
    if host == "localhost":
        return True
    try:
        return ipaddress.ip_address(host).is_loopback
    except ValueError:
        return False


def serve(
    program: Sequence[str],
    drill: Path,
    seats: int,
    into: Path,
    host: str,
    port: int,
    own_trees: Path | None,
    say: Callable[[str], None],
) -> None:
    """Serve a drill until interrupted; ServeRefused when that cannot be.

    `program` starts the screens of a seat; drill, folder and own trees are added to it.
    """
    seal = read_drill(drill).seal
    server_class = _server_class()
    refuse_port(host, port)
    for folder in (into / SEATS, into / HAND_INS):
        folder.mkdir(parents=True, exist_ok=True)
    command = seat_command(program, drill.resolve(), into.resolve(), own_trees)
    server = server_class(command, seal, seats, into.resolve(), host, port)

    def stands() -> None:
        """Say where the class is, once a browser that goes there is answered."""
        say(f"The class is at http://{host}:{port} (Ctrl+C ends it). Hand-ins go to {into / HAND_INS}.")
        say(f"Who is where: troubleshoot drill board {into}")

    try:
        asyncio.run(server.stand(stands))
    except KeyboardInterrupt:
        say("The class is over; everything is saved.")
    except OSError as problem:
        raise _port_problem(host, port, problem) from problem


def refuse_port(host: str, port: int) -> None:
    """Refuse an address that cannot be listened on."""
    try:
        family = socket.AF_INET6 if ":" in host else socket.AF_INET
        with socket.socket(family, socket.SOCK_STREAM) as trial:
            if os.name == "posix":
                trial.setsockopt(socket.SOL_SOCKET, socket.SO_REUSEADDR, 1)
            trial.bind((host, port))
    except OSError as problem:
        raise _port_problem(host, port, problem) from problem


def _port_problem(host: str, port: int, problem: OSError) -> ServeRefused:
    return ServeRefused(
        f"{host}:{port} cannot be listened on: {problem.strerror or problem}.", "Choose another --port or --host."
    )


def seat_command(program: Sequence[str], drill: Path, into: Path, own_trees: Path | None) -> tuple[str, ...]:
    """Return the words that start a seat's process; which seat it is stands in its environment."""
    return (*program, str(drill), str(into), *([] if own_trees is None else [str(own_trees.resolve())]))


def _server_class() -> Any:
    """Return the server's class; ServeRefused where textual-serve is not installed."""
    try:
        import aiohttp  # noqa: F401 - only whether it is there
        import textual_serve  # noqa: F401 - only whether it is there
    except ImportError:
        raise ServeRefused(
            "A class needs textual-serve, which is not installed.",
            f"Install it: {sys.executable} -m pip install textual-serve",
        ) from None
    from troubleshoot.classroom.class_server import ClassServer

    return ClassServer
