"""The conversation in plain questions and answers, for screen readers, plain terminals and scripts: one loop for all.

At a car the tool proposes and the person answers; at a drill the person chooses and the bench answers.
"""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass
from pathlib import Path
from typing import TYPE_CHECKING

from troubleshoot.case.errors import TimeUp
from troubleshoot.case.events import ReadingTaken
from troubleshoot.case.shares import minutes_words
from troubleshoot.casebook.refusing import CaseMovedOn
from troubleshoot.classroom.example import ExampleBench
from troubleshoot.cli import output
from troubleshoot.cli.case_setup import HELPING, EndOfInput, Smelt, ask, lines, picked
from troubleshoot.cli.conversation_commands import Turn, act_on, help_lines, judge_in_turn
from troubleshoot.cli.plain_lines import (
    caution_lines,
    check_lines,
    ranking_lines,
    repair_lines,
    wrapped,
)
from troubleshoot.cli.waiting import waiting
from troubleshoot.knowledge.answers import ReadingImplausible
from troubleshoot.problems import TroubleshootError

if TYPE_CHECKING:
    from troubleshoot.case.case import Case
    from troubleshoot.case.view import CaseView
    from troubleshoot.classroom.sitting import Sitting


@dataclass(frozen=True)
class Talk:
    """One conversation: the case, and at a drill the sitting; `record` records a run of the car in practice."""

    case: Case
    sat: Sitting | None = None
    record: Callable[[str], None] | None = None

    def turn(self, word: str = "", rest: str = "") -> Turn:
        """Return one thing typed, with what is shown now."""
        return Turn(self.case, self.case.view(), word, rest, self.sat, self.record)

    @property
    def out_of_time(self) -> bool:
        """Whether the minutes by the clock are up, and the drill is not over yet."""
        left = self.sat.time_left if self.sat is not None and not self.sat.over else None
        return left is not None and left < 0

    @property
    def due(self) -> str:
        """What is asked for now; at a drill `choose` where the person is free, and `read` where the bench answers."""
        step = self.case.view().step
        if self.sat is None or step.kind in ("stop", "closed"):
            return step.kind
        if step.caution is not None and (step.caution.id.startswith("stop-") or self.sat.chosen):
            return "caution"
        return "read" if step.check is not None and self.sat.chosen else "choose"


def hold(here: Talk) -> bool:
    """Hold the conversation to its end; return whether the case was closed. Whatever was answered is saved."""
    try:
        if here.sat is not None:
            _introduce_drill(here.sat)
        else:
            _introduce(here.case)
        while here.due != "closed" and not here.out_of_time:
            _one_step(here)
    except EndOfInput:
        return False
    except TimeUp:
        pass  # what was typed came too late; the next line says so
    if here.out_of_time:
        _hand_in_as_it_stands(here)
    return True


def _hand_in_as_it_stands(here: Talk) -> None:
    from troubleshoot.classroom.handing_in import finish

    assert here.sat is not None
    output.data("The time by the clock is up. What you have named is handed in.")
    finish(here.sat)


def _introduce(case: Case) -> None:
    view = case.view()
    lines(wrapped(f"{view.car}; {', '.join(view.concern_titles)}.", f"Case {view.case}: "))
    for notice in view.notices:
        lines(wrapped(notice, "NOTICE: "))
    lines(list(ranking_lines(view, 3)))


def _introduce_drill(sitting: Sitting) -> None:
    """Say what the drill is, and ask again what was asked when it was last left."""
    drill, view = sitting.drill, sitting.case.view()
    output.data(f"DRILL: {drill.title}")
    lines(wrapped(drill.story))
    lines(wrapped(f"{view.car}: {'; '.join(view.concern_titles)}.", "Car: "))
    if sitting.rules.conditions:
        lines(wrapped(sitting.rules.conditions))
    output.data("Type ? for help, list for the checks.")
    judge_in_turn(sitting, sitting.unjudged)
    if sitting.chosen:
        lines(wrapped(f"{sitting.case.catalogue.checks[sitting.chosen].ask} [{sitting.chosen}]", "You had chosen: "))


def _one_step(here: Talk) -> None:
    """Show the step that is due, take one answer, and say what came of it; a smell of fuel stops at any question."""
    case, view, due = here.case, here.case.view(), here.due
    if here.sat is None:
        output.data()
    if due != "choose":
        lines(list(_step_lines(view)))
    file = _handed_out(here.sat) if due == "read" and here.sat is not None else ""
    while case.view() == view and not here.out_of_time:
        try:
            if file:
                asked = f"Read it (log, sound or capture {file}; all behind it takes the readings), or skip ID WHY:"
                if _answered(here, due, ask(asked)):
                    return
            elif due == "read":
                _read_from_bench(here.sat)
            elif _answered(here, due, ask(_prompt(view, due, here.sat.time_words if here.sat is not None else ""))):
                return
        except Smelt:
            if view.step.kind == "stop":
                return
            case.smell_fuel()
        except TimeUp:
            raise
        except CaseMovedOn as moved:  # nothing answered here can be taken any more
            output.data(str(moved))
            raise EndOfInput from moved
        except TroubleshootError as problem:
            output.data(str(problem))


def _prompt(view: CaseView, due: str, time_left: str = "") -> str:
    asked = _PROVED_PROMPT if view.step.proved else _PROMPTS[due]
    if time_left:
        asked = f"({time_left}) {asked}"
    return f"m to measure it, {asked}" if view.step.measure and due == "retest" else asked


_PROVED_PROMPT = "c close as proved, s still there after all:"
_PROMPTS = {
    "caution": "y when you have read it (stop: fuel is smelt):",
    "check": "Reading (skip WHY when it cannot be done):",
    "choose": "What next?",
    "repair": "y when it is made:",
    "retest": "g gone, p partly better, s still there:",
    "refer": "c close as handed on, o other checks:",
    "healthy": "c close, o other checks:",
    "stop": "y when the leak is repaired and looked at again:",
    "concern": "Numbers of the concerns:",
}


_ENDINGS = {"healthy": "NOTHING WRONG FOUND", "refer": "HAND ON"}
"""What the steps without a check or a repair are called, where their kind is no word for a person."""


def _step_lines(view: CaseView) -> list[str]:
    step = view.step
    if step.cautions:
        each = [*caution_lines(step.cautions[0]), "  full: its whole text"]
        ahead = view.behind
        what = ahead.check.ask if ahead and ahead.check else ahead.repair.title if ahead and ahead.repair else ""
        many = f" (1 of {len(step.cautions)})" if len(step.cautions) > 1 else ""
        before = wrapped(what, f"BEFORE{many}: ") if what else []
        return [*before, *each, *(wrapped(step.words, "  ") if step.words else [])]
    if step.check:
        return list(check_lines(step.check, step.words))
    if step.kind == "repair" and step.repair:
        return list(repair_lines(step.repair, step.words))
    if step.measure:
        return [*wrapped(step.words, "RETEST: "), *wrapped(step.measure[1], "  Can be measured: ")]
    put_right = [line for one in view.to_put_right for line in wrapped(one, "  - ")]
    return [*wrapped(step.words, f"{_ENDINGS.get(step.kind, step.kind.upper())}: "), *put_right]


def _answered(here: Talk, due: str, answer: str) -> bool:
    """Act on an answer; False when the same question is to be asked again."""
    word = answer.split(maxsplit=1)[0].casefold() if answer else ""
    turn = here.turn(word, answer[len(word) :].strip())
    if word in HELPING:
        lines(help_lines(turn.place))
        return False
    if not _names_an_outcome(here.case, due, answer) and act_on(turn):
        return False
    return _by_kind(here, due, answer, word)


def _names_an_outcome(case: Case, due: str, answer: str) -> bool:
    """Return whether this is an answer of the check: a hose that is `sound` is no recording."""
    check = case.view().step.check
    return due == "check" and check is not None and answer.casefold() in case.catalogue.checks[check.id].outcomes


def _by_kind(here: Talk, due: str, answer: str, word: str) -> bool:
    case, step, yes = here.case, here.case.view().step, word in ("y", "yes", "ok")
    match due:
        case "caution" if yes:
            case.acknowledge(step.cautions[0].id)
        case "caution" if word == "full":
            lines(list(caution_lines(step.cautions[0], whole=True)))
            return False
        case "stop" if yes:
            case.leak_repaired()
        case "caution" if here.sat is not None and word in ("n", "no"):
            output.data("The caution waits; the check was not done.")
            return False
        case "caution" | "choose" if here.sat is not None and answer:
            return _choose(here.turn(rest=answer))
        case "check" | "repair" | "retest" if not answer and isinstance(case.bench, ExampleBench):
            return _from_engine(case, case.bench, due)
        case "check" if step.check and answer:
            return _take(case, step.check.id, answer)
        case "repair" if step.repair and yes:
            case.repair(step.repair.cause)
        case "retest":
            return _retest(case, word)
        case "refer" | "healthy" if word in ("c", "close"):
            case.close("referred" if due == "refer" else "left")
        case "concern" if answer:
            case.set_concerns([picked(one, list(case.catalogue.concerns), "concern") for one in answer.split()])
        case _:
            output.data("Type ? for what can be answered here.")
            return False
    return True


def _choose(turn: Turn) -> bool:
    """Take up a check of a drill; its cautions and the bench's reading follow."""
    if any(isinstance(one, ReadingTaken) and one.check == turn.rest for one in turn.case.events):
        lines(wrapped("You have read that already; trail shows it."))
        return False
    turn.case.choose(picked(turn.rest, [one.id for one in turn.checks()], "check"))
    return True


def _handed_out(sitting: Sitting) -> str:
    """Write the file that the bench hands out for the check chosen where one works; return its name, empty if none."""
    handed = sitting.handed(sitting.chosen)
    if handed is None:
        return ""
    from troubleshoot.classroom.handed_files import content_of

    path = Path.cwd() / handed.name
    if not path.exists():
        try:
            path.write_bytes(content_of(handed.file))
        except OSError:
            output.data(f"{handed.name} cannot be written here; it can be read all the same.")
    lines(wrapped(f"The bench hands you {handed.name} ({handed.recorded.kind}).", "FILE: "))
    return handed.name


def _read_from_bench(sitting: Sitting | None) -> None:
    """Take the bench's reading of the check that was chosen, and let it be judged."""
    assert sitting is not None
    case, name = sitting.case, sitting.chosen
    try:
        sitting.take(name)
    except TroubleshootError as problem:
        output.data(f"{problem.sentence} Left out.")
        case.skip(name, "cannot be measured")
        return
    shown, minutes = case.assessment.latest[name].shown, minutes_words(case.view().minutes)
    lines(wrapped(f"{shown}. So far {minutes}.", "READ: "))
    judge_in_turn(sitting, [one for one in sitting.unjudged if one == name], said=False)
    if sitting.ranking_shown:
        lines(list(ranking_lines(case.view(), 3)))


def _from_engine(case: Case, engine: ExampleBench, due: str) -> bool:
    """Let the engine of the example answer the check, or make the repair, or say what is left of the concern."""
    step = case.view().step
    if not engine.ready:
        with waiting("Computing the engine, some seconds"):
            engine.computed()
    if step.check is not None:
        read = engine.read(step.check.id)
        if read is None:
            case.skip(step.check.id, "cannot be measured")
            return True
        return _take(case, step.check.id, read)
    if due == "repair" and step.repair is not None:
        case.repair(step.repair.cause)
        return True
    return _retest(case, "c" if step.proved else engine.retest())


def _retest(case: Case, word: str) -> bool:
    step = case.view().step
    if step.measure and word in ("m", "measure"):
        case.choose(step.measure[0])
        return True
    if step.proved and word in ("c", "close", "y", "yes"):
        case.close("proved")
        return True
    result = {"g": "gone", "gone": "gone", "p": "partly", "partly": "partly", "s": "still", "still": "still"}.get(word)
    if result is None:
        output.data("Type g, p or s.")
        return False
    case.retest(result)
    _say_ranking(case)
    return True


def _take(case: Case, check: str, answer: str) -> bool:
    try:
        understood = case.understand(check, answer)
        case.take(check, answer)
    except ReadingImplausible as problem:
        lines(wrapped(str(problem)))
        if ask("y if it really reads that:").casefold() not in ("y", "yes"):
            return False
        case.take(check, answer, sure=True)
    words = f", {understood.words}" if understood.value is not None else ""
    warning = f"; {understood.warning}" if understood.warning else ""
    lines(wrapped(f"{understood.shown}{words}{warning}.", "Read: "))
    _say_ranking(case)
    return True


def _say_ranking(case: Case) -> None:
    view = case.view()
    lines(list(ranking_lines(view, 3)))
    output.data(f"So far {minutes_words(view.minutes)}, {view.readings} reading{'' if view.readings == 1 else 's'}.")
