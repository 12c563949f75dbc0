"""Serve a drill to a class in the browser: one process and one casebook a seat; the key is nowhere in it."""

from __future__ import annotations

import asyncio
import os
import socket
import ssl
import sys
from collections.abc import Callable, Sequence
from dataclasses import dataclass
from pathlib import Path
from typing import Any

from troubleshoot.classroom.addresses import addresses, certificate, fingerprint, qr_lines
from troubleshoot.classroom.class_folder import ServedClass, class_secret, note_class
from troubleshoot.classroom.name_list import read_names, with_codes, write_slips
from troubleshoot.classroom.seats import HAND_INS, SEATS
from troubleshoot.classroom.variants import drill_of_class
from troubleshoot.problems import TroubleshootError


class ServeRefused(TroubleshootError):
    """A class cannot be served so."""


@dataclass(frozen=True)
class ClassPlan:
    """How a class is served: drill, seats, folder, address, a list of names, TLS, and a QR code of the address."""

    drill: Path
    seats: int
    into: Path
    host: str
    port: int
    own_trees: Path | None = None
    names: Path | None = None
    tls: bool = False
    qr: bool = False


def serve(program: Sequence[str], plan: ClassPlan, say: Callable[[str], None]) -> None:
    """Serve a drill until interrupted; ServeRefused when that cannot be.

    `program` starts the screens of a seat; drill, folder and own trees are added to it.
    """
    drill = drill_of_class(plan.drill)
    people = read_names(plan.names) if plan.names is not None else ()
    server_class = _server_class()
    refuse_port(plan.host, plan.port)
    into, seats = plan.into, len(people) or plan.seats
    for folder in (into / SEATS, into / HAND_INS):
        folder.mkdir(parents=True, exist_ok=True)
    class_secret(into)
    where = addresses(plan.host, plan.port, plan.tls)
    if people:
        slips = write_slips(with_codes(people, into), drill.title, where, into)
        say(f"Slips with {len(people)} codes, to print and cut out: {slips}")
    command = seat_command(program, plan.drill.resolve(), into.resolve(), plan.own_trees)
    server = server_class(command, drill.seal, seats, into.resolve(), plan.host, plan.port)
    if plan.tls:
        server.tls = _certified(into, say)
    served = ServedClass(
        drill=drill.seal, title=drill.title, minutes=drill.minutes, clock=drill.clock_limit, seats=seats,
        process=os.getpid(),
    )  # fmt: skip

    def stands() -> None:
        """Say where the class is, once a browser that goes there is answered."""
        note_class(into, served)
        say(f"The class is at {' or '.join(where)} (Ctrl+C ends it). Hand-ins go to {into / HAND_INS}.")
        say(f"Who is where: troubleshoot drill board {into}")
        for line in qr_lines(where[0]) if plan.qr else ():
            say(line)

    try:
        asyncio.run(server.stand(stands))
    except KeyboardInterrupt:
        say("The class is over; everything is saved.")
    except OSError as problem:
        raise _port_problem(plan.host, plan.port, problem) from problem


def _certified(into: Path, say: Callable[[str], None]) -> ssl.SSLContext:
    """Return TLS with the class's own certificate, which is made when it is first wanted."""
    chain, key = certificate(into)
    context = ssl.SSLContext(ssl.PROTOCOL_TLS_SERVER)
    context.load_cert_chain(chain, key)
    say("The certificate is self-made: browsers warn of it once. Its SHA-256 fingerprint, to compare:")
    say(fingerprint(chain))
    return context


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
