"""The one table of what can be typed in a conversation beside an answer: at a car, at a drill, and in practice."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from dataclasses import dataclass
from pathlib import Path
from typing import TYPE_CHECKING, Literal

from troubleshoot.case.cache import reading_context
from troubleshoot.case.errors import TimeUp
from troubleshoot.case.events import Fitted
from troubleshoot.case.shares import asked, minutes_words
from troubleshoot.case.trail import RETEST_WORDS
from troubleshoot.case.viewing import bands_shown
from troubleshoot.cli import conversation_details as details
from troubleshoot.cli import output
from troubleshoot.cli.case_setup import ask, lines, picked
from troubleshoot.cli.plain_lines import other_lines, ranking_lines, trail_lines, weight_lines, wrapped
from troubleshoot.problems import TroubleshootError

if TYPE_CHECKING:
    from troubleshoot.case.case import Case
    from troubleshoot.case.view import CaseView, OtherCheck
    from troubleshoot.classroom.sitting import Sitting

Place = Literal["car", "drill", "practice"]
"""Where the conversation is held."""


@dataclass(frozen=True)
class Turn:
    """One thing typed: the case, what was shown, the first word and those after it; the sitting where one is sat.

    `record` records a run of the car on the bench, where one practises.
    """

    case: Case
    view: CaseView
    word: str
    rest: str
    sat: Sitting | None = None
    record: Callable[[str], None] | None = None

    @property
    def place(self) -> Place:
        """Where the conversation is held."""
        if self.sat is None:
            return "car"
        return "drill" if self.sat.practice is None else "practice"

    @property
    def sitting(self) -> Sitting:
        """The drill that is sat or practised; only for what is done there."""
        assert self.sat is not None
        return self.sat

    def checks(self, words: str = "") -> list[OtherCheck]:
        """Return the checks of the drill that can be done, those with these words in id or question."""
        wanted = words.casefold()
        return [one for one in self.sitting.checks() if wanted in f"{one.id} {one.ask}".casefold()]


@dataclass(frozen=True)
class Command:
    """What some first words do, how it is written in the help, and where it is to be had."""

    words: tuple[str, ...]
    act: Callable[[Turn], None]
    form: str
    says: str
    at: tuple[Place, ...]


def act_on(turn: Turn) -> bool:
    """Do what a word asks for; False when it is no such word, or answers the step itself."""
    if turn.place == "car" and turn.word in ("c", "close") and not turn.rest and _closes_itself(turn.view):
        return False
    found = next((one for one in COMMANDS if turn.word in one.words and turn.place in one.at), None)
    if found is not None:
        found.act(turn)
    return found is not None


def help_lines(place: Place) -> list[str]:
    """Return what can be typed there."""
    rows = [(one.form, one.says) for one in COMMANDS if place in one.at]
    rows += [("smell or stop", "fuel is smelt or seen: everything else stops, at any question")]
    rows += [("quit", "leave; everything is saved")]
    return [*wrapped(_ANSWERS[place]), *(line for form, says in rows for line in wrapped(says, f"  {form:<18} "))]


_DRILL = "ID or N, as numbered by list, does that check; the bench gives the reading."
_ANSWERS: dict[Place, str] = {
    "car": "A number with its unit, as 38 psi, or the number of a choice, answers a check.",
    "drill": _DRILL,
    "practice": _DRILL,
}


def judge_in_turn(sitting: Sitting, checks: Sequence[str], *, said: bool = True) -> None:
    """Ask in which band each of these readings lies, until one is named or it is put off."""
    for name in checks:
        case = sitting.case
        check, read = case.catalogue.checks[name], case.assessment.latest[name]
        if said:
            lines(wrapped(f"{asked(check.ask)} {read.shown}.", "READ: "))
        bands = bands_shown(check, reading_context(case.assessment, case.catalogue, case.settings.units), read.value)
        words = ", ".join(f"{number} {one.words} ({one.limits})" for number, one in enumerate(bands, start=1))
        _judge(sitting, name, f"Where does it lie: {words}? (Enter: later)", check.outcomes)


def _judge(sitting: Sitting, check: str, question: str, outcomes: Sequence[str]) -> None:
    while True:
        answer = ask(question)
        if not answer:
            output.data("Not judged yet; judge asks again.")
            return
        try:
            sitting.case.judge(check, picked(answer, outcomes, "band"))
        except TimeUp:
            raise
        except TroubleshootError as problem:
            output.data(str(problem))
        else:
            return


def _closes_itself(view: CaseView) -> bool:
    return view.step.kind in ("refer", "healthy") or view.step.proved


def _skip(turn: Turn) -> None:
    if turn.view.step.check is None:
        raise TroubleshootError("There is no check to skip here.", "Type ? for what can be done.")
    if turn.view.step.check.cannot:
        lines(wrapped(turn.view.step.check.cannot, "Instead: "))
    turn.case.skip(turn.view.step.check.id, turn.rest)


def _leave_out(turn: Turn) -> None:
    name, _, why = turn.rest.partition(" ")
    turn.case.skip(picked(name, [one.id for one in turn.checks()], "check"), why)
    output.data("Left out.")


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
    if turn.sat is not None:
        turn.case.ask_ranking()
    lines(list(ranking_lines(turn.case.view(), 12)))


def _why(turn: Turn) -> None:
    names = [cause.id for cause in turn.view.ranked]
    if not names:
        raise TroubleshootError("Nothing is ranked yet.", "Choose a concern first.")
    cause = picked(turn.rest or "1", names, "cause")
    title = next(one.title for one in turn.view.ranked if one.id == cause)
    lines(list(weight_lines(title, turn.case.why(cause))))


def _other(turn: Turn) -> None:
    lines(list(other_lines(turn.case.other_checks())))


def _list(turn: Turn) -> None:
    numbers = {one.id: number for number, one in enumerate(turn.checks(), start=1)}
    found = turn.checks(turn.rest)
    for one in found:
        said = f"{one.ask} ({one.state}; {minutes_words(one.minutes)}) [{one.id}]"
        lines(wrapped(said, f"  {numbers[one.id]:>3} "))
    if not found:
        output.data("No check that can be done has these words.")


def _causes(turn: Turn) -> None:
    for number, one in enumerate(turn.sitting.candidates(), start=1):
        if turn.rest.casefold() in f"{one.id} {one.title} {one.term}".casefold():
            lines(wrapped(f"{one.title} [{one.id}]", f"  {number:>3} "))


def _choose(turn: Turn) -> None:
    names = [other.id for other in turn.case.other_checks()]
    turn.case.choose(turn.rest if turn.rest in turn.case.catalogue.checks else picked(turn.rest, names, "check"))


def _repair(turn: Turn) -> None:
    cause, _, words = turn.rest.partition(":")
    fitted = Fitted(words=words.strip()) if words.strip() else None
    turn.case.repair(picked(cause.strip(), [one.id for one in turn.view.ranked], "cause"), fitted=fitted)


def _name(turn: Turn) -> None:
    cause = picked(turn.rest, [one.id for one in turn.sitting.candidates()], "cause")
    turn.sitting.repair(cause)
    title, practice = turn.case.catalogue.causes[cause].title, turn.sitting.practice
    if practice is None:
        lines(wrapped(f"{title}. Name a second cause if you think there are two, or type hand in.", "NAMED: "))
    else:
        lines(wrapped(f"{title}. Retest: {RETEST_WORDS[practice.retest()]}.", "REPAIRED: "))


def _recording(turn: Turn) -> None:
    from troubleshoot.cli.recording_taking import take_or_show

    take_or_show(turn.case, turn.word, turn.rest, turn.sat.handed_out() if turn.sat is not None else None)
    if turn.sat is not None:
        judge_in_turn(turn.sat, turn.sat.unjudged)


def _trace(turn: Turn) -> None:
    if turn.record is not None:
        turn.record(turn.rest)


def _note(turn: Turn) -> None:
    if turn.rest:
        turn.case.note(turn.rest)
        output.data("Noted.")


def _attach(turn: Turn) -> None:
    from troubleshoot.case.attached import described

    turn.case.attach(described(Path(turn.rest).expanduser()))
    output.data("Attached.")


def _time(turn: Turn) -> None:
    from troubleshoot.classroom.sitting import real_minutes

    limit = turn.sitting.drill.minutes
    of = f" of {limit:.0f}" if limit is not None else ""
    used = f"{turn.view.minutes:.0f}{of} minutes used in the workshop"
    left = f", {turn.sitting.time_words}" if turn.sitting.time_words else ""
    output.data(f"{used}; {real_minutes(turn.case.events):.0f} by the clock{left}.")


def _hint(turn: Turn) -> None:
    hint = turn.sitting.next_hint()
    lines(wrapped(hint, "HINT: ") if hint else ["There is no further hint."])


def _judge_waiting(turn: Turn) -> None:
    if not turn.sitting.unjudged:
        output.data("Nothing waits.")
    judge_in_turn(turn.sitting, turn.sitting.unjudged)


def _end(turn: Turn) -> None:
    from troubleshoot.classroom.handing_in import finish

    named = "; ".join(turn.case.catalogue.causes[one].title for one in turn.sitting.named) or "nothing"
    said = "You have named" if turn.sitting.practice is None else "You have repaired"
    if ask(f"{said}: {named}. y to {turn.sitting.ends_by}:").casefold() in ("y", "yes"):
        finish(turn.sitting)


_CAR: tuple[Place, ...] = ("car",)
_ENDING = ("close", "hand-in", "finish", "end")
_SAT: tuple[Place, ...] = ("drill", "practice")
_ALL: tuple[Place, ...] = ("car", "drill", "practice")

COMMANDS = (
    Command(("list",), _list, "list [WORDS]", "the checks that can be done, or those with these words in them", _SAT),
    Command(("causes",), _causes, "causes [WORDS]", "the causes that can be named, or those with these words", _SAT),
    Command(("skip",), _skip, "skip WHY", "this check cannot be done", _CAR),
    Command(("skip",), _leave_out, "skip ID WHY", "leave a check out", _SAT),
    Command(("back", "b", "undo"), _back, "back", "take the last thing back; at a drill a reading stays", _ALL),
    Command(
        ("change",), _change, "change N TEXT",
        "give another answer in place of line N of the trail (or: change N skipped)", _CAR,
    ),
    Command(("trail",), _trail, "trail", "what has been done", _ALL),
    Command(("ranking",), _ranking, "ranking", "all causes that are likely; at a drill it may cost marks", _ALL),
    Command(("why", "w"), _why, "why [N]", "why cause N stands where it does, where the ranking is shown", _ALL),
    Command(("other", "others", "o"), _other, "other", "other checks, by worth", _CAR),
    Command(("choose",), _choose, "choose N or ID", "do that check now", _CAR),
    Command(("repair",), _repair, "repair ID: WHAT", "a repair was made; after the colon what was fitted", _CAR),
    Command(("repair", "name"), _name, "repair ID or N", "say what you would repair", _SAT),
    Command(("judge",), _judge_waiting, "judge", "say where a number lies that was not judged yet", _SAT),
    Command(("hint",), _hint, "hint", "the trainer's next hint, where there is one", _SAT),
    Command(("time",), _time, "time", "minutes used", _SAT),
    Command(("trace",), _trace, "trace [RUN]", "record a run of the car, as trace pull", ("practice",)),
    Command(("note",), _note, "note TEXT", "keep a note", _ALL),
    Command(("attach",), _attach, "attach FILE", "a photograph or another file belongs to the case", _CAR),
    Command(
        ("log", "sound", "capture"), _recording, "log FILE",
        "readings from a log; sound FILE from a sound; capture FILE PROBE from a capture. Then, to take them, again"
        " with their numbers behind it, or all: log FILE 1 3", _ALL,
    ),
    Command(
        ("compare",), lambda turn: details.compare_pulls_of(turn.case), "compare", "pulls before against pulls after",
        _CAR,
    ),
    Command(
        ("drawing",), lambda turn: details.show_drawing(turn.case), "drawing", "the drawing of the check", _ALL
    ),
    Command(
        ("calc",), lambda turn: details.work_out(turn.case, turn.rest), "calc [NAME]",
        "the calculations; NAME name=value works one out", _ALL,
    ),
    Command(("car",), lambda turn: details.change_car(turn.case), "car", "change the car", _CAR),
    Command(
        ("concerns",), lambda turn: details.change_concerns(turn.case), "concerns", "change what the car does", _CAR
    ),
    Command(("tools",), lambda turn: details.change_tools(turn.case), "tools", "change which tools are at hand", _CAR),
    Command(
        ("report",), lambda turn: details.report(turn.case, turn.rest), "report [FILE]",
        "the record so far, or written to FILE.html to print, FILE.md or FILE.txt; report customer FILE.html: the"
        " customer's page", _CAR,
    ),
    Command(
        ("close",), lambda turn: details.close(turn.case, turn.rest), "close [HOW]",
        "close the case: proved, referred (handed on) or left; left if not said", _CAR,
    ),
    Command(("hand", *_ENDING), _end, "hand in", "hand the drill in, with what you have named", ("drill",)),
    Command(_ENDING, _end, "close", "close the practice; you are told what it was", ("practice",)),
)  # fmt: skip
"""Every command, in the order of the help."""
