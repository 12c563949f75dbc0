"""Serve a drill to a class in the browser: one process and one casebook a seat; the key is nowhere in it."""

from __future__ import annotations

import asyncio
import ipaddress
import os
import secrets
import shlex
import socket
import subprocess
import sys
from collections.abc import Callable
from pathlib import Path
from typing import Any

from troubleshoot.classroom.drill_file import read_drill
from troubleshoot.classroom.seats import HAND_INS, SEAT_NAME, SEATS, seat_folder
from troubleshoot.problems import TroubleshootError

COOKIE = "troubleshoot-seat"
COOKIE_LASTS = 14 * 24 * 3600
"""Seconds for which a browser keeps its seat."""
STOPS_WITHIN = 5.0
"""Seconds that a seat's process has to end by itself."""


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
    drill: Path, seats: int, into: Path, host: str, port: int, own_trees: Path | None, say: Callable[[str], None]
) -> None:
    """Serve a drill until interrupted; ServeRefused when that cannot be."""
    read_drill(drill)
    server_class = _server_class()
    refuse_port(host, port)
    for folder in (into / SEATS, into / HAND_INS):
        folder.mkdir(parents=True, exist_ok=True)
    server = server_class(drill.resolve(), seats, into.resolve(), host, port, own_trees)
    say(f"The class is at http://{host}:{port} (Ctrl+C ends it). Hand-ins go to {into / HAND_INS}.")
    say(f"Who is where: troubleshoot drill board {into}")
    try:
        asyncio.run(server.stand())
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


def seat_command(drill: Path, into: Path, own_trees: Path | None) -> str:
    """Return the command line of a seat's process for the shell; which seat it is stands in its environment."""
    words = [sys.executable, "-m", "troubleshoot.tui.seat", str(drill), str(into)]
    if own_trees is not None:
        words.append(str(own_trees))
    return subprocess.list2cmdline(words) if os.name == "nt" else f"exec {shlex.join(words)}"


def _server_class() -> Any:
    """Return the server's class; ServeRefused where textual-serve is not installed."""
    try:
        import textual_serve.server  # noqa: F401 - only whether it is there
    except ImportError:
        raise ServeRefused(
            "A class needs textual-serve, which is not installed.",
            f"Install it: {sys.executable} -m pip install textual-serve",
        ) from None
    from troubleshoot.classroom.class_server import ClassServer

    return ClassServer


def seat_of(cookie: str | None) -> str:
    """Return the seat a browser's cookie names, or a new one for anything that is no seat's number."""
    return cookie if cookie is not None and SEAT_NAME.fullmatch(cookie) else secrets.token_hex(8)


def seat_environment(environment: dict[str, str], into: Path, seat: str) -> dict[str, str]:
    """Return what a seat's process is told: which seat it is, and to keep everything in the seat's folder."""
    folder = seat_folder(into, seat)
    folder.mkdir(parents=True, exist_ok=True)
    return {**environment, "TROUBLESHOOT_SEAT": seat, "TROUBLESHOOT_DATA": str(folder)}
