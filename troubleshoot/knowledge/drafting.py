"""Draft a new tree from a few answers: first steps, and cases worked out from the catalogue's own numbers."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

import msgspec

from troubleshoot.knowledge.answers import written_readings
from troubleshoot.knowledge.car import Car
from troubleshoot.knowledge.catalogue import Catalogue
from troubleshoot.knowledge.compiling import SOMETHING_ELSE, compile_problem, fits
from troubleshoot.knowledge.findings import nearest
from troubleshoot.knowledge.model import Concern, Showing, Step
from troubleshoot.knowledge.schema import schema_line
from troubleshoot.knowledge.worked_cases import belief_of
from troubleshoot.problems import TroubleshootError
from troubleshoot.reasoning.policies import one_step
from troubleshoot.reasoning.position import Position, branches, start

CASES = 3
_DEEP = 3
_MOST_READINGS = 6


@dataclass(frozen=True)
class Draft:
    """The texts of a new tree's two files."""

    concern: str
    cases: str


def find_cause(catalogue: Catalogue, words: str) -> str:
    """Return the cause that an id, a title or part of one means; TroubleshootError when none or several do."""
    wanted = words.strip().casefold()
    if wanted in catalogue.causes and wanted != SOMETHING_ELSE:
        return wanted
    texts = {one: f"{one} {cause.title} {cause.term}".casefold() for one, cause in catalogue.causes.items()}
    found = [one for one, text in texts.items() if wanted and wanted in text and one != SOMETHING_ELSE]
    if len(found) == 1:
        return found[0]
    if found:
        raise TroubleshootError(f'"{words}" may be {", ".join(found[:6])}.', "Type one of these ids.")
    hint = nearest(wanted, catalogue.causes)
    raise TroubleshootError(f'There is no cause "{words}"{hint}.', "List them with: troubleshoot causes WORD.")


def draft_tree(catalogue: Catalogue, identifier: str, says: str, meaning: str, causes: Sequence[str]) -> Draft:
    """Return a starting tree for a concern; TroubleshootError when the answers do not make one."""
    if len(set(causes)) < 2:
        raise TroubleshootError("A tree needs at least two causes to tell apart.", "Name two or more.")
    shows: dict[str, Showing] = dict.fromkeys(causes, "often")
    tree = Concern(title=says[:60].rstrip(". "), says=says, meaning=meaning, shows=shows)
    with_tree = msgspec.structs.replace(catalogue, concerns={**catalogue.concerns, identifier: tree})
    name, car = _car_for(catalogue, causes)
    problem = compile_problem(with_tree, car, [identifier], listed_only=True)
    position = start(problem)
    steps: dict[str, Step] = {}
    if position is not None:
        _draft_step(position, steps, set(causes), "first", 0)
        for cause in causes:
            _lead_to(catalogue, car, steps, cause)
    return Draft(_concern_text(tree, steps), _cases_text(with_tree, identifier, name, car, causes))


def _car_for(catalogue: Catalogue, causes: Sequence[str]) -> tuple[str, Car]:
    if not catalogue.cars:
        raise TroubleshootError("There is no example car to work cases on.", "Write one in cars/.")
    return max(
        catalogue.cars.items(), key=lambda each: sum(fits(each[1], catalogue.causes[one].for_) for one in causes)
    )


def _draft_step(position: Position, steps: dict[str, Step], causes: set[str], name: str, depth: int) -> str | None:
    """Write one step and those after it; return its name, or None when there is nothing to write."""
    leader = next((one for one in position.belief().ranked() if one.cause in causes), None)
    action = one_step(position)
    if action.kind != "check" or depth >= _DEEP or (leader is not None and leader.probability > 0.8):
        if leader is None:
            return None
        name = f"repair-{leader.cause}"
        steps[name] = Step(repair=leader.cause)
        return name
    name = name if depth == 0 else action.id
    if name in steps:
        return name
    steps[name] = Step(check=action.id)
    after = {}
    for way in branches(position, action):
        if way.position is not None:
            target = _draft_step(way.position, steps, causes, name, depth + 1)
            if target is not None and target != name:
                after[way.label] = target
    steps[name] = Step(check=action.id, next=after)
    return name


def _lead_to(catalogue: Catalogue, car: Car, steps: dict[str, Step], cause: str) -> None:
    """Let a branch end in the repair of a cause where none does: by the check that shows it best.

    That check is put before the last repair drafted, which its other outcomes go on to. Where no check is left that
    shows the cause, its repair is left for whoever writes the tree.
    """
    repairs = [name for name, step in steps.items() if step.repair is not None]
    led_to = any(repairs and repairs[-1] in step.next.values() for step in steps.values())
    drafted = any(step.repair == cause for step in steps.values())
    if drafted or not led_to or not fits(car, catalogue.causes[cause].for_):
        return
    asked = {step.check for step in steps.values()}
    told = []
    for name, check in catalogue.checks.items():
        if cause in check.moved_by and name not in asked and fits(car, check.for_):
            moved, usual = catalogue.signatures.of(name, cause), catalogue.signatures.usual(name)
            best = max(range(len(moved)), key=lambda at: moved[at] / usual[at])
            told.append((moved[best] - usual[best], name, check.outcomes[best]))
    if not told:
        return
    _, name, outcome = max(told)
    last = repairs[-1]
    for before, step in list(steps.items()):
        after = {way: name if target == last else target for way, target in step.next.items()}
        steps[before] = msgspec.structs.replace(step, next=after)
    others = {one: last for one in catalogue.checks[name].outcomes if one != outcome}
    steps[name] = Step(check=name, next={outcome: f"repair-{cause}", **others})
    steps[f"repair-{cause}"] = Step(repair=cause)


def _concern_text(tree: Concern, steps: dict[str, Step]) -> str:
    lines = [
        schema_line("concerns/x.yaml"),
        "# A draft. Every line is yours to correct; `troubleshoot lint` says what does not fit.",
        f"title: {_quoted(tree.title)}",
        f"says: {_quoted(tree.says)}",
        f"meaning: {_quoted(tree.meaning)}",
        "reported-anyway: 0.01   # how often it is reported with nothing wrong",
        "shows:       # how often each cause shows this concern: a word, or a number from 0 to 1",
        *(f"  {cause}: {often}" for cause, often in tree.shows.items()),
        "steps:       # the order in which a good practitioner looks; drafted by worth, put yours in its place",
    ]
    for name, step in steps.items():
        if step.repair is not None:
            lines.append(f"  {name}: {{repair: {step.repair}}}")
        else:
            after = ", ".join(f"{outcome}: {target}" for outcome, target in step.next.items())
            lines.append(f"  {name}: {{check: {step.check}, next: {{{after}}}}}")
    return "\n".join(lines) + "\n"


def _cases_text(catalogue: Catalogue, concern: str, name: str, car: Car, causes: Sequence[str]) -> str:
    lines = [
        schema_line("concerns/x.cases.yaml"),
        "# Drafted from the catalogue's own numbers, so they prove nothing yet.",
        "# Put readings from real cars in their place: 38 psi, 13.4 V, an outcome, or skipped.",
    ]
    able = [cause for cause in causes if fits(car, catalogue.causes[cause].for_)]
    worked = [(cause, _readings_for(catalogue, concern, car, cause)) for cause in able]
    led = [(cause, readings) for cause, readings in worked if readings]
    for number in range(max(CASES, len(led)) if led else 0):
        cause, readings = led[number % len(led)]
        again = "" if number < len(led) else f", a second time ({number + 1})"
        others = [one for one, _ in led if one != cause]
        title = catalogue.causes[cause].title
        lines += [
            f"- name: {_quoted(f'{title}, as the numbers have it{again}')}",
            f"  car: {name}",
            f"  readings: {{{', '.join(f'{check}: {outcome}' for check, outcome in readings.items())}}}",
            f"  leads: [{cause}]",
            *([f"  must-not-lead: [{', '.join(others)}]"] if others else []),
            "  basis: drafted, not seen on a car",
        ]
    return "\n".join(lines if led else [*lines, "[]"]) + "\n"


def _readings_for(catalogue: Catalogue, concern: str, car: Car, cause: str) -> dict[str, str | float]:
    """Return outcomes of the checks that tell most of a cause, as many as it takes for it to lead."""
    told = []
    for name, check in catalogue.checks.items():
        if cause in check.moved_by and fits(car, check.for_):
            moved, usual = catalogue.signatures.of(name, cause), catalogue.signatures.usual(name)
            best = max(range(len(moved)), key=lambda at: moved[at])
            if moved[best] > 2.0 * usual[best]:
                told.append((moved[best] / usual[best], name, check.outcomes[best]))
    readings: dict[str, str | float] = {}
    for _, name, outcome in sorted(told, reverse=True)[:_MOST_READINGS]:
        readings[name] = outcome
        taken = written_readings(catalogue.checks, car, readings)
        if belief_of(catalogue, car, [concern], taken).ranked()[0].cause == cause:
            return readings
    return {}


def _quoted(words: str) -> str:
    """Write words so that YAML reads them back as they are (a JSON string is a YAML string)."""
    return msgspec.json.encode(" ".join(words.split())).decode()
