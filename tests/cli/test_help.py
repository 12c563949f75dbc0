"""What `--help` says of every command: an example that runs, plain words for what is typed, units, ids to complete."""

from __future__ import annotations

import os
import re
import shlex
import subprocess
import sys
from typing import Any

import pytest

from troubleshoot.calculations.registry import calculations
from troubleshoot.cli.app import COMMANDS
from troubleshoot.cli.calc_options import example_of
from troubleshoot.cli.examples import EXAMPLES
from troubleshoot.cli.lazy_group import real_command

PYTHON = re.compile(r"<(?!us\|metric)[^>|]*>|list\[|\bNone\b|x[<>]=|\bTrue\b|\bFalse\b|pathlib|\{[a-z]")


def paths(command: Any, path: str) -> list[str]:
    """Return the words of a command and of those below it, leaving out the calculations."""
    below = getattr(command, "commands", {})
    return [path, *(one for name, found in below.items() for one in paths(found, f"{path} {name}"))]


EVERY = ["", *(path for place in COMMANDS for path in paths(real_command(place), place.name))]


@pytest.mark.parametrize("path", EVERY)
def test_help_has_an_example_and_no_word_of_python(command, path: str) -> None:
    found = command(*path.split(), "--help")
    assert found.code == 0
    assert f"For example:\n    troubleshoot {path}".rstrip() in found.out or "--casebook" in found.out
    assert not PYTHON.search(found.out), found.out
    assert "--units" in found.out


def test_every_example_is_of_a_command() -> None:
    assert set(EXAMPLES) == set(EVERY)


@pytest.mark.parametrize("typed", [one for each in EXAMPLES.values() for one in each])
def test_every_example_is_understood(command, typed: str) -> None:
    """A file or case that is not there is another matter; an unknown option or a wrong number of words is not."""
    found = command(*shlex.split(typed), "--help")
    assert found.code == 0
    assert "For example:" in found.out


@pytest.mark.parametrize("one", calculations(), ids=lambda one: one.name)
def test_the_example_of_a_calculation_works_it_out(command, one) -> None:
    found = command(*shlex.split(example_of(one)))
    assert found.code == 0, found.err
    assert found.out.strip()


def test_units_may_stand_before_or_behind_the_command(command) -> None:
    before = command("--units", "metric", "cars", "tarn-six-160").out
    assert before == command("cars", "tarn-six-160", "--units", "metric").out
    rank = ("rank", "lean-top", "--car", "tarn-six-160")
    assert command("--units", "metric", *rank).out == command(*rank, "--units", "metric").out


def test_a_sentence_of_the_other_spelling(command) -> None:
    """An American may write practice, and the summary is the same."""
    assert command("practice", "--help").out == command("practise", "--help").out


def test_a_command_typed_wrong_is_answered_with_the_nearest(command) -> None:
    """As for the ids of the trees and the commands of a group."""
    assert "Did you mean 'rank'?" in command("ragk").err
    assert "Did you mean 'concerns'?" in command("concern").err


def test_a_calculation_in_the_other_spelling(command) -> None:
    """Its name and its options may be written as in America; its help has the option of the units as every other."""
    ours = "calc fuel-vapour-pressure --reid-vapour-pressure 9 --fuel-temperature 80F"
    assert command(*ours.replace("vapour", "vapor").split()).out == command(*ours.split()).out
    found = command("calc", "vapor-margin", "--help").out
    assert "--units <us|metric>             The units shown and typed." in found and not PYTHON.search(found)


@pytest.mark.parametrize(
    ("typed", "said"),
    [
        ("practise --ranking loud", "Invalid value for '--ranking': 'loud' is not one of 'hidden', 'asked', 'shown'."),
        ("--units si concerns", "Invalid value for '--units': 'si' is not one of 'us', 'metric'."),
        ("practise --level hard", "Invalid value for '--level': it should be a whole number"),
        ("practise --seed -4", "Invalid value for '--seed': it should be at least 0"),
    ],
)
def test_an_option_that_does_not_fit_is_refused_in_plain_words(command, typed: str, said: str) -> None:
    ran = command(*typed.split())
    assert ran.code == 2 and said in ran.err


@pytest.mark.parametrize(
    ("typed", "wanted"),
    [
        ("rank le", "lean-top"),
        ("rank lean-top --car ta", "tarn-six-160"),
        ("causes inlet-s", "inlet-strainer-blocked"),
        ("checks pressure-w", "pressure-when-lean"),
        ("drill plant filter-b", "filter-blocked"),
        ("drill new --from 06", "06-lean-on-the-long-hill"),
        ("calc dwell-t", "dwell-time"),
        ("report 20", "CASE"),
        ("cases show 20", "CASE"),
        ("ask --case 20", "CASE"),
    ],
)
def test_ids_are_completed(command, tmp_path, typed: str, wanted: str) -> None:
    """As bash asks: the words typed so far, and which of them is being typed."""
    command(
        "--casebook", str(tmp_path / "casebook.sqlite"), "ask", "lean-top", "--car", "tarn-six-160", answers="quit\n"
    )
    words = f"troubleshoot {typed}"
    done = subprocess.run(
        [sys.executable, "-m", "troubleshoot"],
        env={
            **os.environ,
            "TROUBLESHOOT_DATA": str(tmp_path),
            "_TROUBLESHOOT_COMPLETE": "complete_bash",
            "COMP_WORDS": words,
            "COMP_CWORD": str(len(words.split()) - 1),
        },
        capture_output=True,
        text=True,
        timeout=120,
        check=False,
    )
    completed = done.stdout.split()
    assert any(one.startswith("20") if wanted == "CASE" else one == wanted for one in completed), done
