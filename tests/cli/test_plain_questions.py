"""`ask`: the whole walk as questions and answers, left and taken up again, with nothing lost."""

from __future__ import annotations

import re
from collections.abc import Callable
from pathlib import Path
from typing import Any

import pytest
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st

from troubleshoot.casebook.store import Casebook, default_path

Command = Callable[..., Any]

BEGIN = ("ask", "lean-top", "--car", "harrow-240")
THROUGH_CAUTIONS = "y\n" * 8
"""More than any check has; a y too many at a check is refused and changes nothing."""
TO_THE_PRESSURE = f"{THROUGH_CAUTIONS}choose pressure-at-idle\n{THROUGH_CAUTIONS}"
"""Past whatever the tree looks at first, to the check these answers are for."""


def case_in(out: str) -> str:
    found = re.search(r"^Case (\S+):", out, re.MULTILINE)
    assert found
    return found[1]


def test_a_whole_case_in_plain_lines(command: Command) -> None:
    """From the concern through check, repair and retest to the closed case; a refused answer is asked again."""
    first = command(*BEGIN, answers=f"{TO_THE_PRESSURE}nonsense\n38 psi\n")
    assert first.code == 0
    assert "CHECK: Fuel pressure at idle" in first.out
    assert '"nonsense" cannot be read. Type a number in psi.' in first.out
    assert "Read: 38 psi, below the set pressure." in first.out
    assert "LIKELY:" in first.out
    case = case_in(first.out)
    assert f"To go on: troubleshoot ask --case {case}" in first.out
    second = command(
        "ask",
        "--case",
        case,
        answers=f"choose suction-vacuum\n{THROUGH_CAUTIONS}12 inHg\nrepair inlet-strainer-blocked\ng\nc\n",
    )
    assert second.code == 0
    assert "the pump is starved" in second.out
    assert "RETEST:" in second.out
    assert "The concern is gone. Close the case as proved" in second.out
    assert "Closed: proved by a clean retest." in second.out
    listed = command("cases")
    assert "proved" in listed.out
    assert "Inlet strainer blocked" in listed.out
    report = command("report", case)
    assert "CAUSE       Inlet strainer blocked (proved)" in report.out


def test_a_closed_case_is_opened_again_as_on_the_screens(command: Command) -> None:
    begun = command("ask", "lean-top", "--car", "tarn-six-160", answers="close\n")
    case = case_in(begun.out)
    assert "\nClosed." in command("ask", "--case", case, answers="\n").out
    opened = command("ask", "--case", case, answers="back\nquit\n").out
    assert "Taken back: closing the case." in opened and "Saved. To go on" in opened
    command("ask", "--case", case, answers="close\n")
    assert "STOP: " in command("ask", "--case", case, answers="smell\nquit\n").out


def test_from_nothing_but_answers(command: Command) -> None:
    """Concern, car, what differs, tools: all asked, wrong answers asked again, before a case is begun."""
    ran = command("ask", answers="lean-tip\nlean-top\n9999\nharrow-240\nspeed limit = 5200\nlimit = 3\n\n1\n")
    assert ran.code == 0
    assert "did you mean lean-top?" in ran.out
    assert "9999 is no car of the list" in ran.out
    assert "A car has no 'limit'" in ran.out
    assert case_in(ran.out)
    with Casebook(default_path()) as book:
        (row,) = book.cases()
        events = b"\n".join(book.events(row.id))
    assert b'"speed-limit":5200' in events


def test_no_answer_begins_nothing(command: Command) -> None:
    ran = command("ask", answers="")
    assert ran.code == 0
    assert "nothing is saved" in ran.out
    assert not default_path().exists() or not Casebook(default_path()).cases()


def test_quit_and_help_at_every_question(command: Command) -> None:
    """`quit` leaves and `?` helps at each prompt, also before a case has begun: they are no car and no tool."""
    before = ("", "lean-top\n", "lean-top\nharrow-240\n", "lean-top\nharrow-240\n\n")
    for answers in before:
        ran = command("ask", answers=f"{answers}?\nquit\n1\n1\n1\n")
        assert ran.code == 0
        assert "quit leaves; what is asked here is saved once all of it is answered." in " ".join(ran.out.split())
        assert "Nothing was begun, so nothing is saved." in ran.out
        assert "A car has no" not in ran.out
    assert not default_path().exists() or not Casebook(default_path()).cases()
    asked_twice = command(*BEGIN, answers=f"{TO_THE_PRESSURE}160 psi\nquit\n")
    assert asked_twice.code == 0
    assert "y if it really reads that:" in asked_twice.out + asked_twice.err
    assert "Saved. To go on: troubleshoot ask --case" in asked_twice.out


@pytest.mark.parametrize("word", ["smell", "stop", "Stop!", "fuel smell"])
def test_a_smell_of_fuel_stops_at_a_caution_and_at_a_question(command: Command, word: str) -> None:
    """Nobody who smells fuel reads a caution to its end first, or is told which words are understood."""
    caution = command("ask", "wont-rev", "--car", "harrow-240", answers=f"{word}\nquit\n")
    assert caution.out.count("STOP: ") == 1 and "Type ?" not in caution.out.split("STOP: ")[1]
    check = command("ask", "wont-rev", "--car", "harrow-240", answers=f"y\ny\ny\ny\ny\ny\n{word}\n{word}\nquit\n")
    assert "STOP: " in check.out
    before = command("ask", answers=f"{word}\n")
    assert "DANGER: " in before.out and "STOP" in before.out and before.code == 0


def test_a_smell_of_fuel_stops_before_car_and_tools_are_asked(command: Command) -> None:
    """Whoever smells fuel reads STOP next, not a list of cars."""
    ran = command("ask", answers="fuel-smell\nquit\n")
    assert ran.out.index("DANGER: STOP.") < ran.out.index("Which car?")


def test_a_customers_word_finds_the_concern(command: Command) -> None:
    """Grouped with safety first; what is typed in place of a number is looked for (words are common practice)."""
    ran = command("ask", answers="sputter, bog\nhesitates\nvapor\nquit\n")
    assert re.search(r"safety:\s+1 I smell fuel", ran.out)
    assert "sputter is no concern of the list" in ran.out
    assert re.search(r"By hesitates may be meant:\n +\d+ It stumbles or falls flat", ran.out)
    for word, found in {
        "sputter": "misfire", "bog": "tip-in", "backfire": "popping", "hesitate": "tip-in", "tach": "rpm-signal",
        "vapour": "hot-restart", "vapor": "hot-restart", "carburettor": "popping", "carburetor": "popping",
    }.items():  # fmt: skip
        assert found in command("concerns", word).out, word


def test_what_can_be_asked_beside_the_answer(command: Command) -> None:
    begun = command(*BEGIN, answers=f"{TO_THE_PRESSURE}38 psi\ntrail\n")
    number = re.search(r"^ +(\d+) Fuel pressure at idle", begun.out, re.MULTILINE)
    assert number
    asides = ["?", "why", "why 2", "why 999", "other", "trail", "ranking", "note it hums"]
    changes = [f"change {number[1]} 57 psi", "back", "change 2 3", "skip no meter", "report", "smell", "y", "close"]
    ran = command("ask", "--case", case_in(begun.out), answers="\n".join([*asides, *changes]) + "\n")
    assert ran.code == 0
    for words in (
        "give another answer in place of line N",
        "WHY: ",
        "999 is no cause of the list",
        "saves",
        "Noted.",
        "Changed.",
        "Taken back: the change of an answer.",
        "Say which line of the trail and the new answer.",
        "CONCERN     Goes lean at the top of the run",
        "STOP: Key off",
        "Closed.",
    ):
        assert words in ran.out, words


def test_an_implausible_reading_is_taken_only_when_sure(command: Command) -> None:
    ran = command(*BEGIN, answers=f"{TO_THE_PRESSURE}900 psi\nn\n900 psi\ny\n")
    assert "outside what this can be" in ran.out
    assert ran.out.count("y if it really reads that:") == 2
    assert "Read: 900 psi" in ran.out


def test_an_unknown_case_is_a_sentence(command: Command) -> None:
    command(*BEGIN)
    ran = command("ask", "--case", "none-such")
    assert (ran.code, ran.out) == (2, "")
    assert "There is no case 'none-such'" in ran.err


@settings(max_examples=12, deadline=None, suppress_health_check=[HealthCheck.function_scoped_fixture])
@given(
    answers=st.lists(
        st.text(st.characters(exclude_characters="\n\r", exclude_categories=["Cs"]), max_size=12)
        | st.sampled_from(
            ["y", "1", "2", "38 psi", "back", "why", "other", "skip", "smell", "g", "s", "c", "choose 1", "repair 1"]
        ),
        max_size=25,
    )
)
def test_no_answers_break_the_conversation(command: Command, answers: list[str]) -> None:
    ran = command(*BEGIN, answers="\n".join(answers) + "\n")
    assert ran.code == 0, ran.err
    assert ran.err == ""
    assert "Saved. To go on" in ran.out or "For the record" in ran.out


def test_escape_sequences_in_what_was_typed_are_shown_not_sent(command: Command, tmp_path: Path) -> None:
    ran = command(*BEGIN, answers="note \x1b[2Jgone\x07\nreport\n")
    assert "\x1b" not in ran.out
    assert "\\x1b[2Jgone\\x07" in ran.out


def test_everything_the_screens_do_has_its_word(command: Command, tmp_path) -> None:
    """Car, concerns and tools changed, a calculation, the drawing, a written report, how the case ended."""
    begun = command(*BEGIN, answers="y\n" * 8)
    said = ["car", "cylinders = 6", "", "concerns", "lean-top idle-surge", "tools", "1"]
    said += ["calc", "calc dwell-time nonsense=1", "calc dwell-time dwell-angle=30 'engine-speed=5000 rpm'"]
    said += ["drawing", "report case.html", "report customer page.html", "close nowhere"]
    ran = command("ask", "--case", case_in(begun.out), answers="\n".join([*said, "close referred"]) + "\n")
    assert ran.code == 0
    for words in (
        "The car is changed.",
        "What the car does is changed.",
        "The tools at hand are changed.",
        "dwell-time: ",
        "2 ms",  # 30 degrees at 2500 turns of the distributor: 30 / (6 * 2500) s
        "A case does not end as nowhere.",
        "Closed: handed on.",
    ):
        assert words in ran.out, (words, ran.out[-3000:])
    assert (tmp_path / "case.html").read_text(encoding="utf-8").rstrip().endswith("</html>")
    assert "What you told us" in (tmp_path / "page.html").read_text(encoding="utf-8")


@pytest.mark.slow
def test_the_example_is_proved_by_enter_alone(command: Command) -> None:
    """As on the screens: y for a caution, and Enter for everything else."""
    ran = command("ask", "--example", answers="y\n\n" * 40)
    assert ran.code == 0 and "Read: " in ran.out
    assert "Computing the engine" in ran.err
    assert "proved" in ran.out.splitlines()[-2].casefold(), ran.out[-1500:]
