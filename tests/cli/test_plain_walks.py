"""`ask` walked to its end by someone who answers whatever is asked as a car with a known fault would have it."""

from __future__ import annotations

import io
import sys
from collections.abc import Callable

import pytest

from troubleshoot.cli.app import run
from troubleshoot.knowledge.catalogue import Catalogue, load_catalogue
from troubleshoot.knowledge.signatures import signature_shares

CAR = "harrow-240"
MOST_ANSWERS = 400


class Person(io.TextIOBase):
    """Stands in for the keyboard: reads what has been printed and gives the answer to the last question."""

    def __init__(self, answer: Callable[[str], str], printed: Callable[[], str]) -> None:
        self.answer, self.printed = answer, printed
        self.seen = ""
        self.answers = 0

    def readline(self, _size: int | None = -1, /) -> str:
        self.seen += self.printed()
        self.answers += 1
        assert self.answers < MOST_ANSWERS, f"it never ends:\n{self.seen[-3000:]}"
        return self.answer(self.seen) + "\n"

    def isatty(self) -> bool:
        return False


@pytest.fixture
def trees() -> Catalogue:
    return load_catalogue()


@pytest.fixture
def walked(trees: Catalogue, capsys: pytest.CaptureFixture[str], monkeypatch: pytest.MonkeyPatch):
    """Return what walks a concern to its end with a cause present, or none, and gives back all that was printed."""

    def walk(concern: str, cause: str | None) -> str:
        person = Person(lambda seen: answer_of(trees, cause, seen), lambda: capsys.readouterr().out)
        monkeypatch.setattr(sys, "stdin", person)
        assert run(["ask", concern, "--car", CAR]) == 0
        return person.seen + capsys.readouterr().out

    return walk


def answer_of(trees: Catalogue, cause: str | None, seen: str) -> str:
    """Answer the last question that was printed as a car with this fault, repaired when the fault is."""
    prompt = seen.rstrip().splitlines()[-1]
    told = " ".join(seen.split())
    if "y when you have read it" in prompt or "y when it is made" in prompt:
        return "y"
    if "close as proved" in prompt or "c close" in prompt:
        return "c"
    if "g gone" in prompt:
        repaired = told.rsplit("REPAIR: ", 1)[-1]
        return "g" if cause is not None and repaired.startswith(trees.causes[cause].title) else "s"
    assert "Reading" in prompt, prompt
    asked = told.rsplit("CHECK: ", 1)[-1]
    check = max((one for one in trees.checks.values() if asked.startswith(one.ask)), key=lambda one: len(one.ask))
    if cause in check.moved_by:
        shares = signature_shares(check, cause)
        return check.outcomes[max(range(len(shares)), key=shares.__getitem__)]
    return check.normal or check.outcomes[0]


@pytest.mark.parametrize(
    ("concern", "cause"),
    [
        ("lean-top", "inlet-strainer-blocked"),
        ("wont-rev", "points-floating"),
        ("hot-restart", "check-valve-leaking"),
        ("charging", "alternator-weak"),
    ],
)
def test_the_fault_is_found_repaired_and_written_up(walked, trees: Catalogue, capsys, concern: str, cause: str) -> None:
    """The usual reading of the fault for every check leads to its repair and to a case that is closed as proved."""
    printed = walked(concern, cause)
    assert "Closed: proved by a clean retest." in printed
    case = printed.rsplit("troubleshoot report ", 1)[1].split()[0]
    assert run(["report", case]) == 0
    written = " ".join(capsys.readouterr().out.split())
    assert f"{trees.causes[cause].title} (proved)" in written


@pytest.mark.parametrize("concern", ["lean-top", "idle-surge"])
def test_a_sound_car_ends_with_nothing_found(walked, concern: str) -> None:
    """With every reading as it should be no repair is made that helps, and the case is closed without a cause."""
    printed = walked(concern, None)
    assert "proved by a clean retest" not in printed
    assert "Closed" in printed
