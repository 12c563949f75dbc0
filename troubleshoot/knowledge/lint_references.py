"""Every id that is named somewhere must be written somewhere; every car field and allowed value must exist."""

from __future__ import annotations

from collections.abc import Collection, Iterable, Iterator
from functools import cache
from typing import Any

from msgspec import inspect

from troubleshoot.calculations.units import dimension_of, known_units
from troubleshoot.knowledge.against import RATIO_UNIT
from troubleshoot.knowledge.car import CAR_FIELDS, car_fields
from troubleshoot.knowledge.compiling import SOMETHING_ELSE
from troubleshoot.knowledge.findings import Finding, nearest
from troubleshoot.knowledge.load_trees import SourcedTrees
from troubleshoot.knowledge.loading import YamlPath
from troubleshoot.knowledge.model import Against, Check, Conditions, HealthyCar, WorkedCase

Record = tuple[str, str]


def references(trees: SourcedTrees) -> Iterator[Finding]:
    """Find ids that are named and not written, and conditions no car can meet."""
    yield from _concerns(trees)
    yield from _causes(trees)
    yield from _checks(trees)
    yield from _setups(trees)
    yield from _cases(trees)
    for one in trees.catalogue.own_overrides:
        kind, _, identifier = one.partition("/")
        what, advice = f"{identifier} takes the place of the shipped one, as a whole", "give it another id to keep both"
        yield trees.at((kind, identifier), (), what, advice, "replaces", "notice")


def unknown(
    trees: SourcedTrees, record: Record, yaml_path: YamlPath, word: str, known: Collection[str], kind: str
) -> Iterator[Finding]:
    """Find one id that is not among those known, and name the nearest that is.

    While a whole file of the kind cannot be read its ids are not known, and nothing is said of them.
    """
    if word not in known and f"{kind.replace('-', '')}s" not in trees.unread:
        what = f"there is no {kind} {word}{nearest(word, known)}"
        yield trees.at(
            record, yaml_path, what, f"correct the id, or write this {kind}", f"unknown-{kind.replace(' ', '-')}"
        )


def _each(
    trees: SourcedTrees, record: Record, yaml_path: YamlPath, words: Iterable[str], known: Collection[str], kind: str
) -> Iterator[Finding]:
    for position, word in enumerate(words):
        yield from unknown(trees, record, (*yaml_path, position), word, known, kind)


def _concerns(trees: SourcedTrees) -> Iterator[Finding]:
    catalogue = trees.catalogue
    checks, causes = trees.known("checks"), trees.known("causes")
    for identifier, concern in catalogue.concerns.items():
        record = ("concerns", identifier)
        for cause in concern.shows:
            yield from unknown(trees, record, ("shows", cause), cause, causes, "cause")
            if cause == SOMETHING_ELSE:
                what, advice = f"{SOMETHING_ELSE} is in every tree by itself", "remove the line"
                yield trees.at(record, ("shows", cause), what, advice, "listed-something-else")
        for name, step in concern.steps.items():
            if step.check is not None:
                yield from unknown(trees, record, ("steps", name, "check"), step.check, checks, "check")
            if step.repair is not None:
                yield from unknown(trees, record, ("steps", name, "repair"), step.repair, causes, "cause")
        yield from _each(trees, record, ("items",), concern.items, checks, "check")


def _causes(trees: SourcedTrees) -> Iterator[Finding]:
    catalogue = trees.catalogue
    for identifier, cause in catalogue.causes.items():
        record = ("causes", identifier)
        cautions = trees.known("cautions")
        yield from _conditions(trees, record, cause.for_)
        yield from _each(trees, record, ("cautions",), cause.cautions, cautions, "caution")
        yield from _each(trees, record, ("repair", "cautions"), cause.repair.cautions, cautions, "caution")
        yield from _each(trees, record, ("plant", "cautions"), cause.plant.cautions, cautions, "caution")
        yield from _each(trees, record, ("repair", "undoes"), cause.repair.undoes, trees.known("setups"), "set-up")
        if cause.repair.same_work_as is not None:
            where = ("repair", "same-work-as")
            yield from unknown(trees, record, where, cause.repair.same_work_as, trees.known("causes"), "cause")
        if cause.proof.check is not None:
            yield from unknown(trees, record, ("proof", "check"), cause.proof.check, trees.known("checks"), "check")


def _checks(trees: SourcedTrees) -> Iterator[Finding]:
    catalogue = trees.catalogue
    for identifier, check in catalogue.checks.items():
        record = ("checks", identifier)
        yield from _conditions(trees, record, check.for_)
        yield from _each(trees, record, ("cautions",), check.cautions, trees.known("cautions"), "caution")
        yield from _each(trees, record, ("tools",), check.tools, trees.known("tools"), "tool")
        if check.setup is not None:
            yield from unknown(trees, record, ("setup",), check.setup, trees.known("setups"), "set-up")
        for other, outcomes in check.not_after.items():
            yield from unknown(trees, record, ("not-after", other), other, trees.known("checks"), "check")
            known = catalogue.checks[other].outcomes if other in catalogue.checks else outcomes
            for position, word in enumerate(outcomes):
                yaml_path = ("not-after", other, position)
                yield from unknown(trees, record, yaml_path, word, known, "outcome")
        for place, moved_by in (((), check.moved_by), (("against",), check.against.moved_by if check.against else ())):
            for cause in moved_by:
                where = (*place, "moved-by", cause)
                yield from unknown(trees, record, where, cause, trees.known("causes"), "cause")
                if cause == SOMETHING_ELSE:
                    what, advice = f"{SOMETHING_ELSE} moves every check by itself", "remove the line"
                    yield trees.at(record, where, what, advice, "listed-something-else")
        if check.against is not None:
            yield from _against(trees, record, check, check.against)


def _against(trees: SourcedTrees, record: Record, check: Check, against: Against) -> Iterator[Finding]:
    """Find a check that is held against one it cannot be held against."""
    where = ("against", "check")
    yield from unknown(trees, record, where, against.check, trees.known("checks"), "check")
    other = trees.catalogue.checks.get(against.check)
    if other is None:
        return
    units = [one.unit for one in (check, other) if one.unit in known_units()]
    if len(units) < 2 or dimension_of(units[0]) != dimension_of(units[1]):
        what, advice = f"{against.check} is not read in the same kind of unit", "hold it against a check that is"
        yield trees.at(record, where, what, advice, "against-other-units")
        return
    wanted = (RATIO_UNIT,) if against.as_ == "ratio" else units
    if against.reading.unit not in wanted:
        what, advice = f"a {against.as_} is not given in {against.reading.unit}", f"write {wanted[0]}"
        yield trees.at(record, ("against", "reading", "unit"), what, advice, "against-other-units")
    chain = [record[1], against.check]
    while other is not None and other.against is not None and chain[-1] not in chain[:-1]:
        chain.append(other.against.check)
        other = trees.catalogue.checks.get(chain[-1])
    if chain[-1] in chain[:-1]:
        what = f"{' is held against '.join(chain)}, so none of them comes first"
        yield trees.at(record, where, what, "leave one of them out", "against-in-a-circle")


def _setups(trees: SourcedTrees) -> Iterator[Finding]:
    for identifier, setup in trees.catalogue.setups.items():
        record = ("setups", identifier)
        yield from _each(trees, record, ("undone-by",), setup.undone_by, trees.known("setups"), "set-up")


def _cases(trees: SourcedTrees) -> Iterator[Finding]:
    catalogue = trees.catalogue
    for concern, cases in catalogue.cases.items():
        yield from unknown(trees, ("cases", concern), (), concern, trees.known("concerns"), "concern")
        for number, case in enumerate(cases):
            record = ("cases", f"{concern}#{number}")
            yield from _readings(trees, record, case)
            yield from _each(trees, record, ("concerns",), case.concerns, trees.known("concerns"), "concern")
            for name, causes in (("leads", case.leads), ("both", case.both), ("must-not-lead", case.must_not_lead)):
                yield from _each(trees, record, (name,), causes, trees.known("causes"), "cause")
    for identifier, healthy in catalogue.healthy.items():
        yield from _readings(trees, ("healthy", identifier), healthy)


def _readings(trees: SourcedTrees, record: Record, case: WorkedCase | HealthyCar) -> Iterator[Finding]:
    yield from unknown(trees, record, ("car",), case.car, trees.known("cars"), "car")
    for check in case.readings:
        yield from unknown(trees, record, ("readings", check), check, trees.known("checks"), "check")
    for name, value in case.differs.items():
        as_read = int(value) if isinstance(value, str) and value.isdecimal() else value
        yield from car_field(trees, record, ("differs", name), name, [as_read])


def _conditions(trees: SourcedTrees, record: Record, conditions: Conditions) -> Iterator[Finding]:
    for name, values in conditions.items():
        yield from car_field(trees, record, ("for", name), name, values)
        if not values:
            yield trees.at(record, ("for", name), f"{name} allows nothing", "name a value, or remove it", "for-nothing")


def car_field(
    trees: SourcedTrees, record: Record, yaml_path: YamlPath, name: str, values: Iterable[Any]
) -> Iterator[Finding]:
    """Find a car field that there is not, and values that it never has."""
    if name not in CAR_FIELDS:
        yield from unknown(trees, record, yaml_path, name, CAR_FIELDS, "car field")
        return
    allowed = _allowed(name)
    for value in values:
        if allowed is not None and value not in allowed:
            known = [str(one).lower() if isinstance(one, bool) else str(one) for one in allowed]
            what = f"{name} of a car is never {value}{nearest(str(value), known)}"
            yield trees.at(record, yaml_path, what, f"use one of: {', '.join(known)}", "unknown-value")


@cache
def _allowed(name: str) -> tuple[Any, ...] | None:
    for one in car_fields():
        if one.encode_name == name:
            kind = one.type.type if isinstance(one.type, inspect.Metadata) else one.type
            if isinstance(kind, inspect.LiteralType):
                return tuple(kind.values)
            return (False, True) if isinstance(kind, inspect.BoolType) else None
    return None
