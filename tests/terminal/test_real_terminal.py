"""The program in a real terminal: start, answer, be killed, start again; the terminal stays usable."""

from __future__ import annotations

import os
import signal

import pytest

pytestmark = pytest.mark.slow


def to_the_first_check(pane) -> str:
    """Go from the start to the first check of an example car that shows its answers, past its cautions."""
    pane.press("a")
    pane.until("Example cars")
    pane.press("r", "e", "v")
    pane.until("Find: rev")
    pane.press("1")
    pane.until("Esc")
    return pane.once(
        lambda text: "LIKELY" in text and "Read the caution" not in text, "the first check did not come", past_caution
    )


def past_caution(text: str) -> str:
    """The key that goes on in a caution, and takes it as read."""
    return "y" if "I have read" in text or "read on" in text else ""


def answer(pane) -> None:
    """Answer the check on the screen: the first choice, or a number."""
    text = pane.screen()
    pane.press("1")
    if "1 " not in text.split("more")[-1]:
        pane.press("0")
    pane.press("Enter")
    pane.once(
        lambda text: "1 reading" in text,
        "the answer was not taken",
        lambda text: "Enter" if "Enter again" in text else past_caution(text),
    )


def test_killed_in_the_middle_nothing_is_lost(terminal, program) -> None:
    """kill -9 after an answer: the case is in the list, and the answer in the case."""
    pane = terminal()
    pane.run(*program)
    pane.until("OPEN CASES")
    to_the_first_check(pane)
    answer(pane)
    os.kill(pane.process_of("troubleshoot"), signal.SIGKILL)
    pane.until("Killed")
    pane.press("Enter")
    pane.run("stty", "sane")
    pane.run("clear")
    pane.run("printf", r"\033[?1000l\033[?1003l\033[?1006l\033[?25h\033[?1049l")
    pane.run(*program)
    text = pane.until("OPEN CASES", "▸ 1")
    assert "rev" in text
    pane.press("1")
    pane.once(lambda text: "1 reading" in text, "the reading is not in the case", past_caution)


def test_the_terminal_is_usable_after_leaving(terminal, program) -> None:
    """After q the shell is back: what is typed is seen, the cursor too, no mouse codes come."""
    pane = terminal()
    pane.run(*program)
    pane.until("OPEN CASES")
    pane.press("q")
    pane.until("ready$")
    pane.run("echo", "back", "again")
    assert "back again" in pane.until("back again")
    assert (
        pane.tmux("display-message", "-p", "-t", "a", "#{mouse_any_flag}#{alternate_on}#{cursor_flag}").strip() == "001"
    )


def test_it_starts_without_colour_and_narrow(terminal, program) -> None:
    """NO_COLOR and 40 by 15: no colour codes are sent, and the first check is reached."""
    pane = terminal(40, 15, NO_COLOR="1")
    pane.run(*program)
    pane.until("OPEN CASES")
    to_the_first_check(pane)
    coloured = pane.tmux("capture-pane", "-p", "-e", "-t", "a")
    assert "\x1b[31" not in coloured and "LIKELY" in coloured


def test_in_the_c_locale_every_sign_is_ascii(terminal, program) -> None:
    """LC_ALL=C: frames, rulers and marks are drawn in ASCII, and nothing falls out of line."""
    pane = terminal(120, 40, LC_ALL="C")
    pane.run(*program)
    assert pane.until("OPEN CASES").isascii()
    text = to_the_first_check(pane)
    assert text.isascii() and "?" * 3 not in text


def test_ctrl_c_does_not_break_the_terminal(terminal, program) -> None:
    """Ctrl+C says how to leave or does nothing; Ctrl+Q leaves from any screen."""
    pane = terminal()
    pane.run(*program)
    pane.until("OPEN CASES")
    pane.press("C-c")
    pane.press("n")
    pane.until("Concern")
    pane.press("C-q")
    pane.until("ready$")
