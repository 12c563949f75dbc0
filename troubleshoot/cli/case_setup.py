"""The questions before a case begins: the concern, the car, the tools at hand."""

from __future__ import annotations

from collections.abc import Iterable, Mapping, Sequence
from pathlib import Path

from troubleshoot.cli import output
from troubleshoot.cli.car_choice import car_asked_for, changed_car
from troubleshoot.cli.plain_lines import wrapped
from troubleshoot.knowledge.car import Car
from troubleshoot.knowledge.catalogue import Catalogue
from troubleshoot.knowledge.concern_groups import grouped, in_order, speaking_of
from troubleshoot.knowledge.findings import nearest
from troubleshoot.problems import TroubleshootError


class EndOfInput(Exception):
    """Nobody is answering any more."""


class Leave(EndOfInput):
    """The person has had enough for now."""


class Smelt(Exception):
    """Fuel is smelt or seen: whatever was asked, the stop comes first."""


LEAST_SAID = 3
"""So many letters make a word of the customer's that concerns are looked for by."""
LEAVING = ("quit", "q", "exit")
SMELT = ("smell", "smelt", "stop", "fuel smell", "i smell fuel")
"""What stops everything, at any question."""
HELPING = ("?", "help")


def ask(text: str) -> str:
    """Ask one question; EndOfInput when nobody answers, Leave to leave, Smelt when fuel is smelt or seen."""
    line = output.question(text)
    if line is None:
        raise EndOfInput
    answer = line.strip()
    if answer.casefold() in LEAVING:
        raise Leave
    if answer.casefold().rstrip("!. ") in SMELT:
        raise Smelt
    return answer


def ask_before(text: str, wanted: str) -> str:
    """Ask one question before the case begins; `?` says what is wanted and asks again."""
    while True:
        answer = ask(text)
        if answer.casefold() not in HELPING:
            return answer
        lines(wrapped(f"{wanted} quit leaves; what is asked here is saved once all of it is answered."))


def lines(found: Sequence[str]) -> None:
    """Print lines of the conversation."""
    for line in found:
        output.data(line)


def concern_named(catalogue: Catalogue, identifier: str) -> str:
    """Return the id of a concern; TroubleshootError with the nearest one when there is none."""
    if identifier not in catalogue.concerns:
        hint = nearest(identifier, catalogue.concerns)
        known = ", ".join(sorted(catalogue.concerns))
        raise TroubleshootError(f"There is no concern {identifier[:60]}{hint}.", f"Use one of: {known}.")
    return identifier


def ask_concerns(catalogue: Catalogue) -> list[str]:
    """Ask what the customer says until at least one concern is chosen."""
    names = list(in_order(catalogue.concerns))
    output.data("What does the customer say?")
    for group, held in grouped(catalogue.concerns).items():
        output.data(f"{group}:")
        _numbered(catalogue, names, held)
    while True:
        answer = ask_before(
            "One or more numbers:", "The numbers in front of the words that fit, or a word to look for."
        )
        said = [word for word in answer.replace(",", " ").split() if word not in names and not word.isdecimal()]
        meant = speaking_of(catalogue.concerns, answer) if len("".join(said)) >= LEAST_SAID else {}
        if meant:
            output.data(f"By {answer[:40]} may be meant:")
            _numbered(catalogue, names, meant)
            continue
        try:
            chosen = [picked(word, names, "concern") for word in answer.replace(",", " ").split()]
        except TroubleshootError as problem:
            output.data(str(problem))
            continue
        if chosen:
            return list(dict.fromkeys(chosen))
        output.data("Type the number in front of the words that fit, or several with spaces between.")


def _numbered(catalogue: Catalogue, names: Sequence[str], shown: Iterable[str]) -> None:
    for name in shown:
        lines(wrapped(catalogue.concerns[name].says, f"  {names.index(name) + 1:>2} "))


def picked(word: str, names: Sequence[str], what: str) -> str:
    """Return the name that a number or an id picks from a list."""
    if word.isdecimal() and len(word) < 6 and 1 <= int(word) <= len(names):
        return names[int(word) - 1]
    if word in names:
        return word
    hint = "" if word.isdecimal() else nearest(word, names)
    raise TroubleshootError(f"{word[:40]} is no {what} of the list{hint}.", f"Type a number from 1 to {len(names)}.")


def ask_car(cars: Mapping[str, Car]) -> Car:
    """Ask which car; one that has a name or a file, then what differs."""
    names = list(cars)
    output.data("Which car?")
    for number, name in enumerate(names, start=1):
        lines(wrapped(cars[name].title, f"  {number:>2} "))
    output.data("   or the name of a car file; Enter for a usual car.")
    while True:
        answer = ask_before("Car:", "A number of the list, the name of a car file, or Enter for a usual car.")
        try:
            car = Car() if not answer else _car(cars, answer, names)
        except TroubleshootError as problem:
            output.data(str(problem))
            continue
        return ask_changes(car)


def _car(cars: Mapping[str, Car], answer: str, names: Sequence[str]) -> Car:
    if answer.isdecimal():
        return cars[picked(answer, names, "car")]
    return car_asked_for(cars, answer, Path())


def ask_changes(car: Car) -> Car:
    """Ask what is different about a car until nothing more is."""
    output.data(
        f"{car.title}. Anything different about it? As in: ignition = electronic. `list` shows all; Enter goes on."
    )
    while True:
        answer = ask_before("Different:", "As in: cylinders = 6. `list` shows every name and figure; Enter goes on.")
        if not answer:
            return car
        if answer == "list":
            from troubleshoot.cli.car_choice import car_lines

            lines(list(car_lines(car)))
            continue
        try:
            car = changed_car(car, [answer])
        except TroubleshootError as problem:
            output.data(str(problem))


def ask_tools(catalogue: Catalogue) -> list[str] | None:
    """Ask which tools are missing; None means all are at hand."""
    names = list(catalogue.tools)
    if not names:
        return None
    output.data("Which of these do you NOT have?")
    for number, name in enumerate(names, start=1):
        output.data(f"  {number:>2} {catalogue.tools[name].words}")
    while True:
        answer = ask_before("Numbers, or Enter when all are at hand:", "The numbers of the tools you do NOT have.")
        try:
            missing = {picked(word, names, "tool") for word in answer.replace(",", " ").split()}
        except TroubleshootError as problem:
            output.data(str(problem))
            continue
        return [name for name in names if name not in missing] if missing else None
