"""Safety of people: a hazard that is mentioned carries its caution, and nothing is planted that can hurt."""

from __future__ import annotations

import re
from collections.abc import Iterable, Iterator
from functools import cache
from typing import get_args

from troubleshoot.knowledge.dangerous_advice import dangers, said
from troubleshoot.knowledge.findings import Finding
from troubleshoot.knowledge.hazards import OPENS_SAID, REPAIR_OPENS, cautions_needed, not_declared, runs_before, started
from troubleshoot.knowledge.lint_references import Record
from troubleshoot.knowledge.load_trees import SourcedTrees
from troubleshoot.knowledge.loading import YamlPath
from troubleshoot.knowledge.model import Cause, Check, Hands, Setup

_SECONDARY = r"\b(?:plug lead|coil tower|secondary|king lead|coil lead)s?\b"
_PLACE = re.compile(r"\bdyno\b|closed course|\bcruise\b|\bspeed limit|\bsteady\b|\bgentl", re.IGNORECASE)
"""Words that say where, or how gently, an engine is loaded."""
_SWITCHED_OFF = re.compile(r"\b(?:ignition|engine|key)\b[^.;:]{0,20}\boff\b|\bbattery ground off\b")


def safety(trees: SourcedTrees) -> Iterator[Finding]:
    """Find hazards without their caution, dangerous advice, and faults nobody should plant."""
    for identifier, check in trees.catalogue.checks.items():
        yield from _check(trees, ("checks", identifier), check)
    for identifier, cause in trees.catalogue.causes.items():
        record = ("causes", identifier)
        told = {*cause.cautions, *cause.repair.cautions}
        yield from _mentions(trees, record, [(("repair", "do"), cause.repair.do)], told, ("repair", "cautions"))
        yield from _advice(trees, record, [(("repair", "do"), cause.repair.do)])
        yield from _line_opened(trees, record, cause, told)
        yield from _plant(trees, record, cause)
    for identifier, setup in trees.catalogue.setups.items():
        yield from _setup(trees, ("setups", identifier), setup)


def _check(trees: SourcedTrees, record: Record, check: Check) -> Iterator[Finding]:
    parts: list[tuple[YamlPath, list[str]]] = [(("ask",), [check.ask]), (("do",), check.do)]
    yield from _mentions(trees, record, parts, set(check.cautions), ("cautions",))
    yield from _advice(trees, record, [*parts, (("cannot",), [check.cannot])], check.state)
    setup = trees.catalogue.setups.get(check.setup or "")
    if not check.hands:
        advice = f"add hands: with one or more of {', '.join(get_args(Hands))}"
        yield trees.at(record, ("do",), "nothing says where the hands are meanwhile", advice, "hands-unsaid")
    if check.state == "under load" and not _PLACE.search(" ".join([check.ask, *check.do])):
        what, advice = "the engine is loaded, and nothing says where", "name a dyno, a closed course or a steady cruise"
        yield trees.at(record, ("do",), what, advice, "road")
    really = started(check.do, check.state)
    if really is not None:
        what = f"its words start the engine ({really}), and its state is {check.state}"
        yield trees.at(record, ("state",), what, f"write state: {really}, or leave the engine still", "hidden-state")
    unwarned = {"exhaust-gas", "moving-parts"} & set(trees.catalogue.cautions) - set(check.cautions)
    if check.state in ("key off", "key on") and unwarned and runs_before(check.do):
        what = f"its words run the engine first, and {' and '.join(sorted(unwarned))} stand not among the cautions"
        yield trees.at(record, ("do",), what, "add them to cautions", "no-caution")
    for field, value in not_declared(check, setup):
        advice = f"add {value} to {field}:, or say it otherwise"
        yield trees.at(record, ("do",), f"its words say {value}, and {field}: does not", advice, "not-declared")
    for name, brought in cautions_needed(check, setup, trees.catalogue.cautions):
        if name not in check.cautions:
            what = f"what is done here ({brought}) brings a hazard, and {name} is not among the cautions"
            yield trees.at(record, ("state",), what, f"add {name} to cautions", "no-caution")


def _line_opened(trees: SourcedTrees, record: Record, cause: Cause, told: set[str]) -> Iterator[Finding]:
    """Find a repair that opens a fuel line and does not carry what an open line needs."""
    words = " ".join(cause.repair.do).lower()
    if cause.system != "fuel" or not (said(REPAIR_OPENS, words) or said(OPENS_SAID["fuel line"], words)):
        return
    for name, caution in trees.catalogue.cautions.items():
        if name not in told and any(rule.opens == ["fuel line"] for rule in caution.needed):
            what = f"this repair opens a fuel line, and {name} is not among its cautions"
            yield trees.at(record, ("repair", "do"), what, f"add {name} to repair.cautions", "no-caution")


def _setup(trees: SourcedTrees, record: Record, setup: Setup) -> Iterator[Finding]:
    yield from _advice(trees, record, [(("words",), [setup.words])], setup.state)
    really = started([setup.words], setup.state)
    if really is not None:
        advice = f"write state: {really}, so that its cautions follow"
        yield trees.at(record, ("words",), f"its words start the engine ({really})", advice, "hidden-state")


def _mentions(
    trees: SourcedTrees, record: Record, parts: list[tuple[YamlPath, list[str]]], told: set[str], trail: YamlPath
) -> Iterator[Finding]:
    for identifier, caution in trees.catalogue.cautions.items():
        if identifier in told or not caution.mentions:
            continue
        for where, texts in parts:
            found = _first(_any_of(tuple(caution.mentions)), texts)
            if found is not None:
                what = f'"{found}" is a hazard, and {identifier} is not among the cautions'
                yield trees.at(record, where, what, f"add {identifier} to {'.'.join(map(str, trail))}", "no-caution")
                break


@cache
def _any_of(words: tuple[str, ...]) -> re.Pattern[str]:
    return re.compile("|".join(rf"\b{re.escape(word)}\b" for word in words), re.IGNORECASE)


def _first(pattern: re.Pattern[str], texts: Iterable[str]) -> str | None:
    for text in texts:
        found = pattern.search(text)
        if found:
            return found.group(0)
    return None


def _advice(
    trees: SourcedTrees, record: Record, parts: list[tuple[YamlPath, list[str]]], state: str = "", planted: bool = False
) -> Iterator[Finding]:
    texts = [text for _, given in parts for text in given]
    places = [
        (*trail, position) if trail[-1] in ("do", "undo") else trail
        for trail, given in parts
        for position in range(len(given))
    ]
    for place, refused in dangers(texts, state, planted):
        yield trees.at(record, places[place], refused.what, refused.instead, refused.code)


def _plant(trees: SourcedTrees, record: Record, cause: Cause) -> Iterator[Finding]:
    plant = cause.plant
    if not plant.do and not plant.never:
        advice = "say how under do:, or why not under never:"
        yield trees.at(record, ("plant",), "nothing says whether this may be planted", advice, "plant-unsaid")
    if plant.do and not plant.undo:
        yield trees.at(record, ("plant",), "nothing says how to undo it", "add undo:", "plant-not-undone")
    yield from _mentions(
        trees, record, [(("plant", "do"), plant.do)], {*cause.cautions, *plant.cautions}, ("plant", "cautions")
    )
    off = False
    for position, text in enumerate(plant.do):
        plain = text.lower()
        off = off or bool(_SWITCHED_OFF.search(plain))
        if not off and said(_SECONDARY, plain):
            what, advice = "this plant touches secondary voltage and does not say ignition off first", "say it first"
            yield trees.at(record, ("plant", "do", position), what, advice, "unsafe-plant")
    parts: list[tuple[YamlPath, list[str]]] = [(("plant", "do"), plant.do), (("plant", "undo"), plant.undo)]
    yield from _advice(trees, record, parts, planted=True)
