"""The whole case as plain questions and answers: for screen readers, plain terminals and scripts."""

from __future__ import annotations

from troubleshoot.case.case import Case, open_case, resume_case
from troubleshoot.case.view import CaseView
from troubleshoot.classroom.sat_cases import refuse_open_sitting
from troubleshoot.cli import output
from troubleshoot.cli.car_choice import car_asked_for, changed_car
from troubleshoot.cli.case_setup import (
    HELPING,
    EndOfInput,
    Smelt,
    ask,
    ask_car,
    ask_concerns,
    ask_tools,
    concern_named,
    lines,
    picked,
)
from troubleshoot.cli.conversation_commands import HELP, aside
from troubleshoot.cli.options import GlobalOptions
from troubleshoot.cli.plain_lines import (
    caution_lines,
    check_lines,
    minutes_words,
    ranking_lines,
    repair_lines,
    wrapped,
)
from troubleshoot.knowledge.answers import ReadingImplausible
from troubleshoot.knowledge.car import Car
from troubleshoot.knowledge.catalogue import Catalogue
from troubleshoot.problems import TroubleshootError


def converse(
    wanted: GlobalOptions,
    case_id: str | None,
    concerns: list[str] | None = None,
    car: str | None = None,
    differs: list[str] | None = None,
) -> int:
    """Hold the conversation to its end and return the exit code; whatever was answered is saved."""
    catalogue = wanted.catalogue()
    with wanted.open_casebook() as book:
        if case_id is not None:
            refuse_open_sitting(book, case_id)
            case = resume_case(book, catalogue, case_id, wanted.clock, wanted.settings())
        else:
            output.data("Plain questions and answers. Type ? for help at any time.")
            try:
                this_car, chosen, tools = _what_to_look_at(wanted, catalogue, concerns, car, differs)
            except EndOfInput:
                output.data("Nothing was begun, so nothing is saved.")
                return output.DONE
            except Smelt:
                _stop_before_a_case(catalogue)
                return output.DONE
            case = open_case(book, catalogue, wanted.clock, wanted.settings())
            case.start_with(this_car, chosen, tools)
        _converse(case)
    return output.DONE


def _what_to_look_at(
    wanted: GlobalOptions, catalogue: Catalogue, concerns: list[str] | None, car: str | None, differs: list[str] | None
) -> tuple[Car, list[str], list[str] | None]:
    """Return car, concerns and tools; what was not given is asked."""
    chosen = [concern_named(catalogue, one) for one in concerns or ()] or ask_concerns(catalogue)
    for one in chosen:
        if catalogue.concerns[one].stops:
            lines(wrapped(catalogue.concerns[one].stop, "DANGER: "))
    if car is None:
        return ask_car(catalogue), chosen, ask_tools(catalogue)
    return changed_car(car_asked_for(catalogue, car, wanted.here), differs or []), chosen, None


def _stop_before_a_case(catalogue: Catalogue) -> None:
    """Say what to do about a smell of fuel where no case has begun, and how to go on from it."""
    for name, concern in catalogue.concerns.items():
        if concern.stops:
            lines(wrapped(concern.stop, "DANGER: "))
            output.data(f"Once the air is clear: troubleshoot ask {name}")


def _converse(case: Case) -> None:
    view = case.view()
    output.data(f"Case {view.case}: {view.car}; {', '.join(view.concern_titles)}.")
    for notice in view.notices:
        lines(wrapped(notice, "NOTICE: "))
    lines(list(ranking_lines(view, 3)))
    try:
        while case.view().step.kind != "closed":
            _one_step(case)
        lines(wrapped(case.view().step.words))
        output.data(f"For the record: troubleshoot report {case.case_id}")
    except EndOfInput:
        output.data(f"Saved. To go on: troubleshoot ask --case {case.case_id}")
    except KeyboardInterrupt:
        output.data(f"\nTo go on: troubleshoot ask --case {case.case_id}")
        raise


def _one_step(case: Case) -> None:
    """Show the step that is due, take one answer, and say what came of it; a smell of fuel stops at any question."""
    view = case.view()
    output.data()
    lines(list(_step_lines(view)))
    while case.view() == view:
        asked = _PROVED_PROMPT if view.step.proved else _PROMPTS[view.step.kind]
        try:
            answer = ask(f"m to measure it, {asked}" if view.step.measure else asked)
            if _answered(case, view, answer):
                return
        except Smelt:
            if view.step.kind == "stop":
                return
            case.smell_fuel()
        except TroubleshootError as problem:
            output.data(str(problem))


_PROVED_PROMPT = "c close as proved, s still there after all:"
_PROMPTS = {
    "caution": "y when you have read it (stop: fuel is smelt):",
    "check": "Reading (skip WHY when it cannot be done):",
    "repair": "y when it is made:",
    "retest": "g gone, p partly better, s still there:",
    "refer": "c close as handed on, o other checks:",
    "healthy": "c close, o other checks:",
    "stop": "y when the leak is repaired and looked at again:",
    "concern": "Numbers of the concerns:",
}


_ENDINGS = {"healthy": "FINISHED", "refer": "HAND ON"}
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


def _answered(case: Case, view: CaseView, answer: str) -> bool:
    """Act on an answer; False when the same question is to be asked again."""
    word = answer.split(maxsplit=1)[0].casefold() if answer else ""
    if word in HELPING:
        lines(HELP.splitlines())
        return False
    if aside(case, view, word, answer[len(word) :].strip()):
        return False
    return _by_kind(case, view, answer, word)


def _by_kind(case: Case, view: CaseView, answer: str, word: str) -> bool:
    step, yes = view.step, word in ("y", "yes", "ok")
    if step.cautions and yes:
        case.acknowledge(step.cautions[0].id)
        return True
    if step.cautions and word == "full":
        lines(list(caution_lines(step.cautions[0], whole=True)))
        return False
    if step.kind == "check" and step.check and answer:
        return _take(case, step.check.id, answer)
    if step.kind == "repair" and step.repair and yes:
        case.repair(step.repair.cause)
        return True
    if step.kind == "stop" and yes:
        case.leak_repaired()
        return True
    if step.kind == "retest":
        return _retest(case, view, word)
    if step.kind in ("refer", "healthy") and word in ("c", "close"):
        case.close("referred" if step.kind == "refer" else "left")
        return True
    if step.kind == "concern" and answer:
        case.set_concerns([picked(one, list(case.catalogue.concerns), "concern") for one in answer.split()])
        return True
    output.data("Type ? for what can be answered here.")
    return False


def _retest(case: Case, view: CaseView, word: str) -> bool:
    if view.step.measure and word in ("m", "measure"):
        case.choose(view.step.measure[0])
        return True
    if view.step.proved and word in ("c", "close", "y", "yes"):
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
        output.data(str(problem))
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
