"""The whole walk as plain questions and answers: for screen readers, plain terminals and scripts."""

from __future__ import annotations

from troubleshoot.classroom.exercise_cases import refuse_open_exercise
from troubleshoot.cli import output
from troubleshoot.cli.asked import Asked
from troubleshoot.cli.asking_aside import HELP, aside
from troubleshoot.cli.car_choice import car_asked_for, changed_car
from troubleshoot.cli.case_setup import (
    HELPING,
    EndOfInput,
    ask,
    ask_car,
    ask_concerns,
    ask_tools,
    concern_named,
    lines,
    picked,
)
from troubleshoot.cli.plain_lines import (
    caution_lines,
    check_lines,
    minutes_words,
    ranking_lines,
    repair_lines,
    wrapped,
)
from troubleshoot.investigation.refusing import ReadingImplausible
from troubleshoot.investigation.view import CaseView
from troubleshoot.investigation.walk import Investigation, open_case, resume_case
from troubleshoot.knowledge.car import Car
from troubleshoot.knowledge.catalogue import Catalogue
from troubleshoot.problems import TroubleshootError


def converse(
    wanted: Asked,
    case: str | None,
    concerns: list[str] | None = None,
    car: str | None = None,
    differs: list[str] | None = None,
) -> int:
    """Hold the conversation to its end and return the exit code; whatever was answered is saved."""
    catalogue = wanted.catalogue()
    with wanted.open_casebook() as book:
        if case is not None:
            refuse_open_exercise(book, case)
            walk = resume_case(book, catalogue, case, wanted.clock, wanted.settings())
        else:
            output.data("Plain questions and answers. Type ? for help at any time.")
            try:
                this_car, chosen, tools = _what_to_look_at(wanted, catalogue, concerns, car, differs)
            except EndOfInput:
                output.data("Nothing was begun, so nothing is saved.")
                return output.DONE
            walk = open_case(book, catalogue, wanted.clock, wanted.settings())
            walk.start_with(this_car, chosen, tools)
        _walk(walk)
    return output.DONE


def _what_to_look_at(
    wanted: Asked, catalogue: Catalogue, concerns: list[str] | None, car: str | None, differs: list[str] | None
) -> tuple[Car, list[str], list[str] | None]:
    """Return car, concerns and tools; what was not given is asked."""
    chosen = [concern_named(catalogue, one) for one in concerns or ()] or ask_concerns(catalogue)
    for one in chosen:
        if catalogue.concerns[one].stops:
            lines(wrapped(catalogue.concerns[one].stop, "DANGER: "))
    if car is None:
        return ask_car(catalogue), chosen, ask_tools(catalogue)
    return changed_car(car_asked_for(catalogue, car, wanted.here), differs or []), chosen, None


def _walk(walk: Investigation) -> None:
    view = walk.view()
    output.data(f"Case {view.case}: {view.car}; {', '.join(view.concern_titles)}.")
    for notice in view.notices:
        lines(wrapped(notice, "NOTICE: "))
    lines(list(ranking_lines(view, 3)))
    try:
        while walk.view().step.kind != "closed":
            _one_step(walk)
        lines(wrapped(walk.view().step.words))
        output.data(f"For the record: troubleshoot report {walk.case_id}")
    except EndOfInput:
        output.data(f"Saved. To go on: troubleshoot ask --case {walk.case_id}")
    except KeyboardInterrupt:
        output.data(f"\nTo go on: troubleshoot ask --case {walk.case_id}")
        raise


def _one_step(walk: Investigation) -> None:
    """Show the step that is due, take one answer, and say what came of it."""
    view = walk.view()
    output.data()
    lines(list(_step_lines(view)))
    while True:
        asked = _PROVED_PROMPT if view.step.proved else _PROMPTS[view.step.kind]
        answer = ask(f"m to measure it, {asked}" if view.step.measure else asked)
        try:
            if _answered(walk, view, answer):
                return
        except TroubleshootError as problem:
            output.data(str(problem))
        if walk.view() != view:
            return


_PROVED_PROMPT = "c close as proved, s still there after all:"
_PROMPTS = {
    "caution": "y when you have read it:",
    "check": "Reading (skip WHY when it cannot be done):",
    "repair": "y when it is made:",
    "retest": "g gone, p partly better, s still there:",
    "refer": "c close as handed on, o other checks:",
    "sound": "c close, o other checks:",
    "stop": "y when the leak is mended and looked at again:",
    "concern": "Numbers of the concerns:",
}


_ENDINGS = {"sound": "FINISHED", "refer": "HAND ON"}
"""What the steps without a check or a repair are called, where their kind is no word for a person."""


def _step_lines(view: CaseView) -> list[str]:
    step = view.step
    if step.cautions:
        each = [line for caution in step.cautions for line in caution_lines(caution)]
        ahead = view.behind
        what = ahead.check.ask if ahead and ahead.check else ahead.repair.title if ahead and ahead.repair else ""
        before = wrapped(what, "BEFORE: ") if what else []
        return [*before, *each, *(wrapped(step.words, "  ") if step.words else [])]
    if step.check:
        return list(check_lines(step.check, step.words))
    if step.kind == "repair" and step.repair:
        return list(repair_lines(step.repair, step.words))
    if step.measure:
        return [*wrapped(step.words, "RETEST: "), *wrapped(step.measure[1], "  Can be measured: ")]
    put_right = [line for one in view.to_put_right for line in wrapped(one, "  - ")]
    return [*wrapped(step.words, f"{_ENDINGS.get(step.kind, step.kind.upper())}: "), *put_right]


def _answered(walk: Investigation, view: CaseView, answer: str) -> bool:
    """Act on an answer; False when the same question is to be asked again."""
    word = answer.split(maxsplit=1)[0].casefold() if answer else ""
    if word in HELPING:
        lines(HELP.splitlines())
        return False
    if aside(walk, view, word, answer[len(word) :].strip()):
        return False
    return _by_kind(walk, view, answer, word)


def _by_kind(walk: Investigation, view: CaseView, answer: str, word: str) -> bool:
    step, yes = view.step, word in ("y", "yes", "ok")
    if step.cautions and yes:
        for caution in step.cautions:
            walk.acknowledge(caution.id)
        return True
    if step.kind == "check" and step.check and answer:
        return _take(walk, step.check.id, answer)
    if step.kind == "repair" and step.repair and yes:
        walk.repair(step.repair.cause)
        return True
    if step.kind == "stop" and yes:
        walk.leak_mended()
        return True
    if step.kind == "retest":
        return _retest(walk, view, word)
    if step.kind in ("refer", "sound") and word in ("c", "close"):
        walk.close("referred" if step.kind == "refer" else "left")
        return True
    if step.kind == "concern" and answer:
        walk.set_concerns([picked(one, list(walk.catalogue.concerns), "concern") for one in answer.split()])
        return True
    output.data("Type ? for what can be answered here.")
    return False


def _retest(walk: Investigation, view: CaseView, word: str) -> bool:
    if view.step.measure and word in ("m", "measure"):
        walk.choose(view.step.measure[0])
        return True
    if view.step.proved and word in ("c", "close", "y", "yes"):
        walk.close("proved")
        return True
    result = {"g": "gone", "gone": "gone", "p": "partly", "partly": "partly", "s": "still", "still": "still"}.get(word)
    if result is None:
        output.data("Type g, p or s.")
        return False
    walk.retest(result)
    _say_ranking(walk)
    return True


def _take(walk: Investigation, check: str, answer: str) -> bool:
    try:
        understood = walk.understand(check, answer)
        walk.take(check, answer)
    except ReadingImplausible as problem:
        output.data(str(problem))
        if ask("y if it really reads that:").casefold() not in ("y", "yes"):
            return False
        walk.take(check, answer, sure=True)
    words = f", {understood.words}" if understood.value is not None else ""
    warning = f"; {understood.warning}" if understood.warning else ""
    lines(wrapped(f"{understood.shown}{words}{warning}.", "Read: "))
    _say_ranking(walk)
    return True


def _say_ranking(walk: Investigation) -> None:
    view = walk.view()
    lines(list(ranking_lines(view, 3)))
    output.data(f"So far {minutes_words(view.minutes)}, {view.readings} reading{'' if view.readings == 1 else 's'}.")
