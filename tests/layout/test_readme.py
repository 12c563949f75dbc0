"""The README shows what the program really does."""

from __future__ import annotations

import re
import shlex
import subprocess
import sys
from pathlib import Path

import pytest

from troubleshoot.cli.app import COMMANDS
from troubleshoot.cli.lazy_group import CommandPlace, real_command

ROOT = Path(__file__).parents[2]
PAGES = ("README.md", "trees/README.md", "troubleshoot/classroom/README.md", "troubleshoot/proof/README.md")


def test_every_link_of_the_readme_leads_somewhere() -> None:
    for target in re.findall(r"\]\(([^)#:]+)\)", (ROOT / "README.md").read_text(encoding="utf-8")):
        assert (ROOT / target).exists(), target


def test_the_readme_can_be_read_in_a_few_minutes() -> None:
    """About 900 words in all."""
    assert len((ROOT / "README.md").read_text(encoding="utf-8").split()) < 1000


@pytest.mark.slow
def test_the_readme_shows_real_runs() -> None:
    """The commands and the session screen in the README are what the program prints today."""
    done = subprocess.run(
        [sys.executable, "scripts/write_readme.py", "--check"], cwd=ROOT, capture_output=True, text=True, check=False
    )
    assert done.returncode == 0, done.stderr


@pytest.mark.parametrize("place", COMMANDS, ids=lambda place: place.name)
def test_every_command_is_named_where_a_newcomer_reads(place: CommandPlace) -> None:
    """In the README, or on the page of its room that the README links."""
    pages = [(ROOT / name).read_text(encoding="utf-8") for name in PAGES]
    assert any(f"troubleshoot {place.name}" in page for page in pages)


def command_lines() -> list[str]:
    """Return what the README and the pages it links have people type behind `troubleshoot`."""
    page = "\n".join((ROOT / name).read_text(encoding="utf-8") for name in PAGES)
    found = re.findall(r"`troubleshoot ([a-z][^`]*)`|^(?: |\$)*troubleshoot ([a-z].*)$", page, re.MULTILINE)
    return sorted({first or second for first, second in found})


def test_the_readme_has_people_type_something() -> None:
    assert len(command_lines()) > 20


@pytest.mark.parametrize("line", command_lines())
def test_every_command_line_of_the_readme_can_be_typed(line: str) -> None:
    """Its command, options and number of names are understood; nothing is run."""
    name, *rest = shlex.split(line, comments=True)
    command = real_command(next(place for place in COMMANDS if place.name == name))
    while rest and hasattr(command, "resolve_command"):
        context = command.make_context(name, [], resilient_parsing=True)
        name, command, rest = command.resolve_command(context, rest)
    command.make_context(name, rest, resilient_parsing=not rest)


def test_the_readme_opens_with_the_whole_job() -> None:
    """The first paragraph names the whole job."""
    first = (ROOT / "README.md").read_text(encoding="utf-8").split("\n\n")[1]
    for word in ("baseline", "convert", "rev", "surges", "floods", "lean", "start", "measurement", "repair", "retest"):
        assert word in first
