"""An exercise as plain questions and answers: a drill that is sat, or practice alone."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from dataclasses import dataclass

from troubleshoot.case.events import ReadingTaken
from troubleshoot.case.trail import RETEST_WORDS
from troubleshoot.case.view import OtherCheck
from troubleshoot.classroom.handing_in import finish
from troubleshoot.classroom.sitting import Sitting, real_minutes
from troubleshoot.cli import output
from troubleshoot.cli.case_setup import EndOfInput, Smelt, ask, lines, picked
from troubleshoot.cli.plain_lines import caution_lines, check_lines, minutes_words, ranking_lines, trail_lines, wrapped
from troubleshoot.problems import TroubleshootError

HELP = """\
ID or N          do that check (as numbered by list); the bench gives the reading
list [WORDS]     the checks that can be done, or those with these words in them
causes [WORDS]   the causes that can be named, or those with these words in them
repair ID or N   say what you would repair
skip ID WHY      leave a check out
trail            what has been done
time             minutes used
hint             the trainer's next hint, where there is one
ranking          what the tool holds likely, where the exercise shows it (may cost marks)
smell or stop    fuel is smelt or seen: everything else stops, at any question
note TEXT        keep a note
back             take the last thing back; a reading stays
judge            say where a number lies that was not judged yet
finish           finish the exercise; a sitting is handed in
quit             leave; everything is saved"""


@dataclass
class Talk:
    """One conversation: the exercise, and extra commands of practice."""

    exercise: Sitting
    extra: dict[str, Callable[[str], None]] | None = None

    def checks(self, words: str = "") -> list[OtherCheck]:
        """Return the checks that can be done, those with these words in id or question."""
        wanted = words.casefold()
        return [one for one in self.exercise.checks() if wanted in f"{one.id} {one.ask}".casefold()]


def talk(exercise: Sitting, extra: dict[str, Callable[[str], None]] | None = None) -> bool:
    """Hold the conversation; return whether the exercise was closed."""
    here = Talk(exercise, extra=extra)
    _introduce(exercise)
    try:
        _ask_again(here)
        while exercise.case.view().step.kind != "closed":
            try:
                _turn(here)
            except Smelt:
                if exercise.case.view().step.kind != "stop":
                    exercise.case.smell_fuel()
            except TroubleshootError as problem:
                output.data(str(problem))
    except EndOfInput:
        return False
    return True


def _introduce(exercise: Sitting) -> None:
    drill = exercise.drill
    output.data(f"DRILL: {drill.title}")
    lines(wrapped(drill.story))
    view = exercise.case.view()
    lines(wrapped(f"{view.car}: {'; '.join(view.concern_titles)}.", "Car: "))
    if exercise.rules.conditions:
        lines(wrapped(exercise.rules.conditions))
    output.data("Type ? for help, list for the checks.")


def _turn(here: Talk) -> None:
    exercise = here.exercise
    view = exercise.case.view()
    if view.step.kind == "stop":
        lines(wrapped(view.step.words, "STOP: "))
        if ask("y when the leak is repaired and looked at again:").casefold() in ("y", "yes"):
            exercise.case.leak_repaired()
        return
    if view.step.caution is not None and view.step.caution.id.startswith("stop-"):
        lines(list(caution_lines(view.step.caution)))
        if ask("y when you have read it:").casefold() in ("y", "yes"):
            exercise.case.acknowledge(view.step.caution.id)
        return
    answer = ask("What next?")
    word = answer.split(maxsplit=1)[0].casefold() if answer else ""
    rest = answer[len(word) :].strip()
    act = {**_ACTS, **{name: _extra(act) for name, act in (here.extra or {}).items()}}.get(word)
    if act is not None:
        act(here, rest)
    elif answer:
        _check(here, answer)


def _extra(act: Callable[[str], None]) -> Callable[[Talk, str], None]:
    return lambda _here, rest: act(rest)


def _ask_again(here: Talk) -> None:
    """Ask again what was asked when the exercise was last left: judgements, and the cautions of a chosen check."""
    _judge_waiting(here)
    chosen = here.exercise.chosen
    if chosen:
        lines(wrapped(f"{here.exercise.case.catalogue.checks[chosen].ask} [{chosen}]", "You had chosen: "))
        _do(here, chosen)


def _judge_waiting(here: Talk) -> None:
    exercise = here.exercise
    for waiting in exercise.unjudged:
        check = exercise.case.catalogue.checks[waiting]
        lines(wrapped(f"{check.ask}: {exercise.case.assessment.latest[waiting].shown}.", "READ: "))
        _judge(exercise, waiting, check.named_outcomes)


def _check(here: Talk, wanted: str) -> None:
    """Take up a check, read its cautions, take the bench's reading and judge it."""
    done = {one.check for one in here.exercise.case.events if isinstance(one, ReadingTaken)}
    if wanted in done:
        lines(wrapped("You have read that already; trail shows it."))
        return
    name = picked(wanted, [one.id for one in here.checks()], "check")
    here.exercise.case.choose(name)
    _do(here, name)


def _do(here: Talk, name: str) -> None:
    """Read the cautions of a check that was chosen, take the bench's reading and judge it."""
    exercise = here.exercise
    while (caution := exercise.case.view().step.caution) is not None:
        lines(list(caution_lines(caution)))
        if ask("y when you have read it:").casefold() not in ("y", "yes"):
            output.data("The caution waits; the check was not done.")
            return
        exercise.case.acknowledge(caution.id)
    check = exercise.case.view().step.check
    if check is None:
        return
    lines(list(check_lines(check, "")))
    read = exercise.case.bench.read(name) if exercise.case.bench is not None else None
    if read is None:
        output.data("This cannot be measured here. Left out.")
        exercise.case.skip(name, "cannot be measured")
        return
    exercise.take(name)
    shown = next((one.words for one in check.choices if one.outcome == read), "")
    shown = shown or exercise.case.assessment.latest[name].shown
    lines(wrapped(f"{shown}. So far {minutes_words(exercise.case.view().minutes)}.", "READ: "))
    if name in exercise.unjudged:
        _judge(exercise, name, [(band.outcome, band.words) for band in check.bands])
    if exercise.ranking_shown:
        lines(list(ranking_lines(exercise.case.view(), 3)))


def _judge(exercise: Sitting, check: str, outcomes: Sequence[tuple[str, str]]) -> None:
    """Ask in which band the reading lies, until one is named or it is put off."""
    names = [outcome for outcome, _ in outcomes]
    words = ", ".join(f"{number} {said}" for number, (_, said) in enumerate(outcomes, start=1))
    while True:
        answer = ask(f"Where does it lie: {words}? (Enter: later)")
        if not answer:
            output.data("Not judged yet; judge asks again.")
            return
        try:
            exercise.case.judge(check, picked(answer, names, "band"))
        except TroubleshootError as problem:
            output.data(str(problem))
        else:
            return


def _list(here: Talk, rest: str) -> None:
    everything = [one.id for one in here.checks()]
    found = here.checks(rest)
    for one in found:
        number = everything.index(one.id) + 1
        lines(wrapped(f"{one.ask} ({one.state}; {minutes_words(one.minutes)}) [{one.id}]", f"  {number:>3} "))
    if not found:
        output.data("No check that can be done has these words.")


def _causes(here: Talk, rest: str) -> None:
    found = here.exercise.candidates()
    for number, one in enumerate(found, start=1):
        if rest.casefold() in f"{one.id} {one.title} {one.term}".casefold():
            lines(wrapped(f"{one.title} [{one.id}]", f"  {number:>3} "))


def _repair(here: Talk, rest: str) -> None:
    exercise = here.exercise
    cause = picked(rest, [one.id for one in exercise.candidates()], "cause")
    exercise.repair(cause)
    title = exercise.case.catalogue.causes[cause].title
    if exercise.practice is None:
        lines(wrapped(f"{title}. Name a second cause if you think there are two; close hands in.", "NAMED: "))
        return
    lines(wrapped(f"{title}. Retest: {RETEST_WORDS[exercise.practice.retest()]}.", "REPAIRED: "))


def _skip(here: Talk, rest: str) -> None:
    name, _, why = rest.partition(" ")
    here.exercise.case.skip(picked(name, [one.id for one in here.checks()], "check"), why)
    output.data("Left out.")


def _time(here: Talk, _rest: str) -> None:
    used, limit = here.exercise.case.view().minutes, here.exercise.drill.minutes
    of = f" of {limit:.0f}" if limit is not None else ""
    output.data(
        f"{used:.0f}{of} minutes used in the workshop; {real_minutes(here.exercise.case.events):.0f} by the clock."
    )


def _hint(here: Talk, _rest: str) -> None:
    hint = here.exercise.next_hint()
    lines(wrapped(hint, "HINT: ") if hint else ["There is no further hint."])


def _ranking(here: Talk, _rest: str) -> None:
    here.exercise.case.ask_ranking()
    lines(list(ranking_lines(here.exercise.case.view(), 12)))


def _note(here: Talk, rest: str) -> None:
    if rest:
        here.exercise.case.note(rest)
        output.data("Noted.")


def _finish(here: Talk, _rest: str) -> None:
    named = [here.exercise.case.catalogue.causes[one].title for one in here.exercise.named]
    words = "; ".join(named) if named else "no cause"
    if ask(f"You name: {words}. y to finish:").casefold() in ("y", "yes"):
        finish(here.exercise)


_ACTS: dict[str, Callable[[Talk, str], None]] = {
    "?": lambda _here, _rest: lines(HELP.splitlines()),
    "help": lambda _here, _rest: lines(HELP.splitlines()),
    "list": _list,
    "causes": _causes,
    "repair": _repair,
    "skip": _skip,
    "trail": lambda here, _rest: lines(list(trail_lines(here.exercise.case.view().trail))),
    "time": _time,
    "hint": _hint,
    "ranking": _ranking,
    "note": _note,
    "back": lambda here, _rest: output.data(f"Taken back: {here.exercise.case.undo()}."),
    "judge": lambda here, _rest: _judge_waiting(here) if here.exercise.unjudged else output.data("Nothing waits."),
    "finish": _finish,
}
_ACTS |= {"close": _finish, "end": _finish, "name": _repair}
