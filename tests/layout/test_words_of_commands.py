"""What `--help` says is whole, and whatever is switched off in the code says why."""

from __future__ import annotations

import re
from pathlib import Path

import pytest
import typer.core

from troubleshoot.cli.app import COMMANDS, run
from troubleshoot.cli.lazy_group import CommandPlace, real_command

ROOT = Path(__file__).parents[2]
SOURCES = sorted(path for folder in ("troubleshoot", "tests", "scripts") for path in (ROOT / folder).rglob("*.py"))

SWITCHED_OFF = re.compile(r"#\s*(noqa|type:\s*ignore)(?P<which>[^#]*)(?P<rest>.*)$")
OF_THE_BASE = "noqa: ARG002"
"""An argument a method does not use is one that the method it stands for is given; the rule says no more than that."""


def all_commands(command: typer.core.TyperCommand | typer.core.TyperGroup) -> list[typer.core.TyperCommand]:
    """Return a command and those below it, leaving out the calculations, which have tests of their own."""
    below = getattr(command, "commands", {})
    return [command, *(found for one in below.values() for found in all_commands(one))]


@pytest.mark.parametrize("place", COMMANDS, ids=lambda place: place.name)
def test_the_list_of_commands_says_what_the_command_says_of_itself(place: CommandPlace) -> None:
    own = " ".join((real_command(place).help or "").split("\n\n")[0].split())
    assert own.startswith(place.summary.rstrip("."))


@pytest.mark.parametrize("place", COMMANDS, ids=lambda place: place.name)
def test_every_option_and_argument_is_explained(place: CommandPlace) -> None:
    """So that a command that the README leaves out can be used from its help alone."""
    for command in all_commands(real_command(place)):
        assert command.help, command.name
        for one in command.params:
            assert getattr(one, "help", None), f"{place.name} {command.name}: {one.name}"


@pytest.mark.parametrize("group", ["", "tree", "drill", "cases", "calc"])
def test_no_line_of_a_list_of_commands_is_cut_short(group, monkeypatch, capsys):
    """At 80 columns every command of a group says in whole words what it does."""
    monkeypatch.setenv("COLUMNS", "80")
    assert run([*group.split(), "--help"]) == 0
    listed = capsys.readouterr().out.split("Commands:")[1]
    assert "..." not in listed


def test_every_rule_switched_off_says_why() -> None:
    """A `noqa` or `type: ignore` names its rule and, after a dash, the reason."""
    bare = []
    for path in SOURCES:
        for number, line in enumerate(path.read_text(encoding="utf-8").splitlines(), start=1):
            found = SWITCHED_OFF.search(line)
            if not found or path == Path(__file__) or line.rstrip().endswith(OF_THE_BASE):
                continue
            if not re.match(r"(: ?[A-Z0-9, ]+|\[[a-z-]+\]) *(- |# )\w", found["which"] + found["rest"]):
                bare.append(f"{path.relative_to(ROOT)}:{number}")
    assert not bare


def test_every_test_left_out_says_why() -> None:
    """`skip`, `skipif` and `xfail` give their reason."""
    bare = []
    for path in SOURCES:
        text = path.read_text(encoding="utf-8")
        for found in re.finditer(r"(?:mark|pytest)\.(skip|skipif|xfail)\b(?P<call>\([^\n]*)?", text):
            call = found["call"] or ""
            plain = found[1] == "skip" and re.match(r'\(f?"', call)
            if path != Path(__file__) and not plain and "reason=" not in text[found.start() : found.start() + 300]:
                bare.append(f"{path.relative_to(ROOT)}: {found[0]}")
    assert not bare
