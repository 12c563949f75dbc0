"""Safety of people: a hazard that is mentioned carries its caution, and nothing is planted that can hurt."""

from __future__ import annotations

import re
from collections.abc import Iterable, Iterator
from functools import cache

from troubleshoot.knowledge.findings import Finding
from troubleshoot.knowledge.lint_references import Record
from troubleshoot.knowledge.load_trees import SourcedTrees
from troubleshoot.knowledge.loading import YamlPath
from troubleshoot.knowledge.model import Cause, Check

UNDER_LOAD_CAUTION = "road-or-dyno-run"
"""The caution of every check that is made under load."""

_NOT = r"(?:never|not|no|don't|without|instead of|clear of|away from|out of)\b[^.;:]{0,40}\b"
_FLAME = re.compile(
    r"\b(?:with|by|hold|use|light|strike|move|pass)\b[^.;:]{0,20}\b"
    r"(?:flame|lighter|a match|matches|candle|torch|burning)\b"
)
_HAND_ON_SECONDARY = re.compile(
    r"\b(?:hold|touch|grip|pull|lift|probe)\w*\b[^.;:]{0,30}\b(?:plug leads?|coil tower|secondary)\b[^.;:]{0,30}"
    r"\b(?:running|idling|cranking|by hand|with your hand)\b"
)
_PLANT = (
    (re.compile(r"\b(?:loosen|slacken|crack|open|cut|nick|puncture|drill|drip|leak)\b[^.;:]{0,30}"
                r"\b(?:fuel|rail|pressure line|return line|fitting)\b"), "leaks fuel"),
    (re.compile(r"\b(?:fuel|petrol|gasoline)\b[^.;:]{0,20}\b(?:leak|drip|spill|pour)s?\b"), "leaks fuel"),
    (re.compile(r"\b(?:remove|take off|open|bypass|defeat|leave off|unbolt|bridge)\b[^.;:]{0,30}"
                r"\b(?:guard|shroud|shield|safety switch|interlock|inertia switch)"), "defeats a guard"),
    (re.compile(r"\b(?:remove|disconnect|disable|drain|clamp|cap|plug|loosen|open|block|pinch|unhook|pull)\b"
                r"[^.;:]{0,30}\b(?:brakes?|brake (?:line|hose|booster)|booster hose|servo hose)\b"),
     "meddles with the brakes"),
)  # fmt: skip
_SECONDARY = re.compile(r"\b(?:plug lead|coil tower|secondary|king lead|coil lead)s?\b")
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
        yield from _plant(trees, record, cause)


def _check(trees: SourcedTrees, record: Record, check: Check) -> Iterator[Finding]:
    parts: list[tuple[YamlPath, list[str]]] = [(("ask",), [check.ask]), (("do",), check.do)]
    yield from _mentions(trees, record, parts, set(check.cautions), ("cautions",))
    yield from _advice(trees, record, parts)
    has = UNDER_LOAD_CAUTION in check.cautions or UNDER_LOAD_CAUTION not in trees.known("cautions")
    if check.state == "under load" and not has:
        advice = f"add {UNDER_LOAD_CAUTION} to its cautions"
        yield trees.at(record, ("state",), "a check under load has no caution for the road", advice, "no-caution")


def _mentions(
    trees: SourcedTrees, record: Record, parts: list[tuple[YamlPath, list[str]]], told: set[str], yaml_path: YamlPath
) -> Iterator[Finding]:
    for identifier, caution in trees.catalogue.cautions.items():
        if identifier in told or not caution.mentions:
            continue
        for where, texts in parts:
            found = _first(_any_of(tuple(caution.mentions)), texts)
            if found is not None:
                what = f'"{found}" is a hazard, and {identifier} is not among the cautions'
                yield trees.at(
                    record, where, what, f"add {identifier} to {'.'.join(map(str, yaml_path))}", "no-caution"
                )
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


def _advice(trees: SourcedTrees, record: Record, parts: list[tuple[YamlPath, list[str]]]) -> Iterator[Finding]:
    for yaml_path, texts in parts:
        for position, text in enumerate(texts):
            plain = text.lower()
            there = (*yaml_path, position) if yaml_path[-1] == "do" else yaml_path
            if _said(_FLAME, plain):
                advice = "search with unlit gas, smoke or soapy water"
                yield trees.at(record, there, "this works with a flame", advice, "flame")
            if _said(_HAND_ON_SECONDARY, plain):
                advice = "use a spark tester, with the engine off while it is fitted"
                yield trees.at(record, there, "this puts a hand on live secondary voltage", advice, "live-secondary")


def _said(pattern: re.Pattern[str], text: str) -> bool:
    """Return whether a text says it and does not forbid it in the words before."""
    for found in pattern.finditer(text):
        before = text[: found.end()]
        sentence = re.split(r"[.;:]", before)[-1]
        if not re.search(rf"\b{_NOT}", sentence) and "unlit" not in sentence:
            return True
    return False


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
        faults = [fault for pattern, fault in _PLANT if _said(pattern, plain)]
        if not off and _said(_SECONDARY, plain):
            faults.append("touches secondary voltage and does not say ignition off first")
        for fault in faults:
            advice = "plant it another way, or say never: with the reason"
            yield trees.at(record, ("plant", "do", position), f"this plant {fault}", advice, "unsafe-plant")
    yield from _advice(trees, record, [(("plant", "do"), plant.do)])
