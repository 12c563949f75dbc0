"""Every id that is named somewhere must be written somewhere; every car field and allowed value must exist."""

from __future__ import annotations

from collections.abc import Collection, Iterable, Iterator
from functools import cache
from typing import Any

from msgspec import inspect

from troubleshoot.knowledge.car import CAR_FIELDS, car_fields
from troubleshoot.knowledge.compiling import SOMETHING_ELSE
from troubleshoot.knowledge.findings import Finding, nearest
from troubleshoot.knowledge.loading import Trail
from troubleshoot.knowledge.model import Case, Conditions, HealthyCar
from troubleshoot.knowledge.reading import Reading

Record = tuple[str, str]


def references(reading: Reading) -> Iterator[Finding]:
    """Find ids that are named and not written, and conditions no car can meet."""
    yield from _concerns(reading)
    yield from _causes(reading)
    yield from _checks(reading)
    yield from _setups(reading)
    yield from _cases(reading)
    for one in reading.catalogue.own_overrides:
        kind, _, identifier = one.partition("/")
        what, mend = f"{identifier} takes the place of the shipped one, as a whole", "give it another id to keep both"
        yield reading.at((kind, identifier), (), what, mend, "replaces", "notice")


def unknown(
    reading: Reading, record: Record, trail: Trail, word: str, known: Collection[str], kind: str
) -> Iterator[Finding]:
    """Find one id that is not among those known, and name the nearest that is.

    While a whole file of the kind cannot be read its ids are not known, and nothing is said of them.
    """
    if word not in known and f"{kind.replace('-', '')}s" not in reading.unread:
        what = f"there is no {kind} {word}{nearest(word, known)}"
        yield reading.at(
            record, trail, what, f"correct the id, or write this {kind}", f"unknown-{kind.replace(' ', '-')}"
        )


def _each(
    reading: Reading, record: Record, trail: Trail, words: Iterable[str], known: Collection[str], kind: str
) -> Iterator[Finding]:
    for position, word in enumerate(words):
        yield from unknown(reading, record, (*trail, position), word, known, kind)


def _concerns(reading: Reading) -> Iterator[Finding]:
    catalogue = reading.catalogue
    checks, causes = reading.known("checks"), reading.known("causes")
    for identifier, concern in catalogue.concerns.items():
        record = ("concerns", identifier)
        for cause in concern.shows:
            yield from unknown(reading, record, ("shows", cause), cause, causes, "cause")
            if cause == SOMETHING_ELSE:
                what, mend = f"{SOMETHING_ELSE} is in every tree by itself", "remove the line"
                yield reading.at(record, ("shows", cause), what, mend, "listed-something-else")
        for name, step in concern.steps.items():
            if step.check is not None:
                yield from unknown(reading, record, ("steps", name, "check"), step.check, checks, "check")
            if step.repair is not None:
                yield from unknown(reading, record, ("steps", name, "repair"), step.repair, causes, "cause")
        yield from _each(reading, record, ("items",), concern.items, checks, "check")


def _causes(reading: Reading) -> Iterator[Finding]:
    catalogue = reading.catalogue
    for identifier, cause in catalogue.causes.items():
        record = ("causes", identifier)
        cautions = reading.known("cautions")
        yield from _conditions(reading, record, cause.for_)
        yield from _each(reading, record, ("cautions",), cause.cautions, cautions, "caution")
        yield from _each(reading, record, ("repair", "cautions"), cause.repair.cautions, cautions, "caution")
        yield from _each(reading, record, ("plant", "cautions"), cause.plant.cautions, cautions, "caution")
        yield from _each(reading, record, ("repair", "undoes"), cause.repair.undoes, reading.known("setups"), "set-up")
        if cause.proof.check is not None:
            yield from unknown(reading, record, ("proof", "check"), cause.proof.check, reading.known("checks"), "check")


def _checks(reading: Reading) -> Iterator[Finding]:
    catalogue = reading.catalogue
    for identifier, check in catalogue.checks.items():
        record = ("checks", identifier)
        yield from _conditions(reading, record, check.for_)
        yield from _each(reading, record, ("cautions",), check.cautions, reading.known("cautions"), "caution")
        yield from _each(reading, record, ("tools",), check.tools, reading.known("tools"), "tool")
        if check.setup is not None:
            yield from unknown(reading, record, ("setup",), check.setup, reading.known("setups"), "set-up")
        for other, outcomes in check.not_after.items():
            yield from unknown(reading, record, ("not-after", other), other, reading.known("checks"), "check")
            known = catalogue.checks[other].outcomes if other in catalogue.checks else outcomes
            for position, word in enumerate(outcomes):
                trail = ("not-after", other, position)
                yield from unknown(reading, record, trail, word, known, "outcome")
        for cause in check.moved_by:
            yield from unknown(reading, record, ("moved-by", cause), cause, reading.known("causes"), "cause")
            if cause == SOMETHING_ELSE:
                what, mend = f"{SOMETHING_ELSE} moves every check by itself", "remove the line"
                yield reading.at(record, ("moved-by", cause), what, mend, "listed-something-else")


def _setups(reading: Reading) -> Iterator[Finding]:
    for identifier, setup in reading.catalogue.setups.items():
        record = ("setups", identifier)
        yield from _each(reading, record, ("undone-by",), setup.undone_by, reading.known("setups"), "set-up")


def _cases(reading: Reading) -> Iterator[Finding]:
    catalogue = reading.catalogue
    for concern, cases in catalogue.cases.items():
        yield from unknown(reading, ("cases", concern), (), concern, reading.known("concerns"), "concern")
        for number, case in enumerate(cases):
            record = ("cases", f"{concern}#{number}")
            yield from _readings(reading, record, case)
            yield from _each(reading, record, ("concerns",), case.concerns, reading.known("concerns"), "concern")
            for name, causes in (("leads", case.leads), ("both", case.both), ("must-not-lead", case.must_not_lead)):
                yield from _each(reading, record, (name,), causes, reading.known("causes"), "cause")
    for identifier, healthy in catalogue.healthy.items():
        yield from _readings(reading, ("healthy", identifier), healthy)


def _readings(reading: Reading, record: Record, case: Case | HealthyCar) -> Iterator[Finding]:
    yield from unknown(reading, record, ("car",), case.car, reading.known("cars"), "car")
    for check in case.readings:
        yield from unknown(reading, record, ("readings", check), check, reading.known("checks"), "check")
    for name, value in case.differs.items():
        as_read = int(value) if isinstance(value, str) and value.isdecimal() else value
        yield from _field(reading, record, ("differs", name), name, [as_read])


def _conditions(reading: Reading, record: Record, conditions: Conditions) -> Iterator[Finding]:
    for name, values in conditions.items():
        yield from _field(reading, record, ("for", name), name, values)
        if not values:
            yield reading.at(
                record, ("for", name), f"{name} allows nothing", "name a value, or remove it", "for-nothing"
            )


def _field(reading: Reading, record: Record, trail: Trail, name: str, values: Iterable[Any]) -> Iterator[Finding]:
    if name not in CAR_FIELDS:
        yield from unknown(reading, record, trail, name, CAR_FIELDS, "car field")
        return
    allowed = _allowed(name)
    for value in values:
        if allowed is not None and value not in allowed:
            known = [str(one).lower() if isinstance(one, bool) else str(one) for one in allowed]
            what = f"{name} of a car is never {value}{nearest(str(value), known)}"
            yield reading.at(record, trail, what, f"use one of: {', '.join(known)}", "unknown-value")


@cache
def _allowed(name: str) -> tuple[Any, ...] | None:
    for one in car_fields():
        if one.encode_name == name:
            kind = one.type.type if isinstance(one.type, inspect.Metadata) else one.type
            if isinstance(kind, inspect.LiteralType):
                return tuple(kind.values)
            return (False, True) if isinstance(kind, inspect.BoolType) else None
    return None
