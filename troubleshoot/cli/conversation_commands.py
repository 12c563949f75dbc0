"""What can be asked or done beside the answer itself: why, other checks, back, change, note, report."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass

from troubleshoot.case.case import Case
from troubleshoot.case.view import CaseView
from troubleshoot.cli import output
from troubleshoot.cli.case_setup import lines, picked
from troubleshoot.cli.plain_lines import other_lines, ranking_lines, trail_lines, weight_lines, wrapped
from troubleshoot.problems import TroubleshootError

HELP = """\
A number with its unit, as 38 psi, or the number of a choice, answers a check.
  skip WHY        this check cannot be done
  back            take the last thing back
  change N TEXT   give another answer in place of line N of the trail (or: change N skipped)
  trail           what has been done
  ranking         all causes that are likely
  why [N]         why cause N stands where it does
  other           other checks, by worth
  choose N or ID  do that check now
  repair ID       a repair was made that was not proposed
  smell or stop   fuel is smelt or seen: everything else stops, at any question
  note TEXT       keep a note
  log FILE        readings from a log; capture FILE PROBE from a capture. Then, to take them, again with
                  their numbers behind it, or all: log FILE 1 3
  report          the record so far
  close           close the case as it is
  quit            leave; everything is saved"""


@dataclass(frozen=True)
class Turn:
    """One thing typed: the case, what was shown, and the words after the first."""

    case: Case
    view: CaseView
    rest: str
    word: str = ""


def aside(case: Case, view: CaseView, word: str, rest: str) -> bool:
    """Do what a word asks for; False when it is no such word."""
    act = _ACTS.get(word)
    if act is None or (word in ("c", "close") and _closes_itself(view)):
        return False
    act(Turn(case, view, rest, word))
    return True


def _closes_itself(view: CaseView) -> bool:
    return view.step.kind in ("refer", "healthy") or view.step.proved


def _skip(turn: Turn) -> None:
    if turn.view.step.check is None:
        raise TroubleshootError("There is no check to skip here.", "Type ? for what can be done.")
    if turn.view.step.check.cannot:
        lines(wrapped(turn.view.step.check.cannot, "Instead: "))
    turn.case.skip(turn.view.step.check.id, turn.rest)


def _back(turn: Turn) -> None:
    output.data(f"Taken back: {turn.case.undo()}.")


def _change(turn: Turn) -> None:
    number, _, text = turn.rest.partition(" ")
    found = [line for line in turn.view.trail if str(line.number) == number]
    if not found or not text.strip():
        raise TroubleshootError("Say which line of the trail and the new answer.", "As in: change 2 41 psi.")
    turn.case.correct(found[0].index, text.strip())
    output.data("Changed.")
    lines(list(ranking_lines(turn.case.view(), 3)))


def _trail(turn: Turn) -> None:
    lines(list(trail_lines(turn.view.trail)))


def _ranking(turn: Turn) -> None:
    lines(list(ranking_lines(turn.view, 12)))


def _why(turn: Turn) -> None:
    names = [cause.id for cause in turn.view.ranked]
    if not names:
        raise TroubleshootError("Nothing is ranked yet.", "Choose a concern first.")
    cause = picked(turn.rest or "1", names, "cause")
    title = next(one.title for one in turn.view.ranked if one.id == cause)
    lines(list(weight_lines(title, turn.case.why(cause))))


def _other(turn: Turn) -> None:
    lines(list(other_lines(turn.case.other_checks())))


def _choose(turn: Turn) -> None:
    names = [other.id for other in turn.case.other_checks()]
    turn.case.choose(turn.rest if turn.rest in turn.case.catalogue.checks else picked(turn.rest, names, "check"))


def _repair(turn: Turn) -> None:
    turn.case.repair(picked(turn.rest, [cause.id for cause in turn.view.ranked], "cause"))


def _recording(turn: Turn) -> None:
    from troubleshoot.cli.recording_taking import take_or_show

    take_or_show(turn.case, turn.word, turn.rest)


def _note(turn: Turn) -> None:
    if turn.rest:
        turn.case.note(turn.rest)
        output.data("Noted.")


def _report(turn: Turn) -> None:
    from troubleshoot.reports.case_report import report_of
    from troubleshoot.reports.case_text import as_text

    output.data(as_text(report_of(turn.case)))


def _close(turn: Turn) -> None:
    turn.case.close("left")


_ACTS: dict[str, Callable[[Turn], None]] = {
    "skip": _skip,
    "back": _back,
    "b": _back,
    "undo": _back,
    "change": _change,
    "trail": _trail,
    "ranking": _ranking,
    "why": _why,
    "w": _why,
    "other": _other,
    "o": _other,
    "choose": _choose,
    "repair": _repair,
    "note": _note,
    "log": _recording,
    "capture": _recording,
    "report": _report,
    "close": _close,
}
