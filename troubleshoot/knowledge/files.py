"""Read a person's own small files: a car, readings already taken, or any record with a typed form."""

from __future__ import annotations

from pathlib import Path
from typing import Any, TypeVar

import msgspec

from troubleshoot.knowledge.car import Car
from troubleshoot.knowledge.findings import Finding, in_order
from troubleshoot.problems import TroubleshootError

T = TypeVar("T")


class FileRefused(TroubleshootError):
    """A file cannot be read as what it should be; `findings` has every fault in it with line and column."""

    def __init__(self, findings: tuple[Finding, ...]) -> None:
        first = findings[0]
        more = f" ({len(findings) - 1} more findings in this file)" if len(findings) > 1 else ""
        super().__init__(f"{first.file}:{first.line}:{first.column}: {first.what}{more}.", f"{first.mend}.")
        self.findings = findings


def read_form(path: Path, form: type[T]) -> T:
    """Read one YAML file as a record of a form; FileRefused with every fault when it does not fit."""
    from troubleshoot.knowledge.forms import fit
    from troubleshoot.knowledge.loading import read_document

    document = read_document(path)
    record = fit(document.value, form, document) if not document.findings else None
    if document.findings or record is None:
        raise FileRefused(in_order(document.findings))
    return record


def read_car_file(path: Path) -> Car:
    """Read a car file: field names and values as in trees/cars/, only what differs from the usual; FileRefused."""
    return read_form(path, Car)


def read_readings_file(path: Path) -> dict[str, str | float]:
    """Read readings already taken: check id to `38 psi`, an outcome id or `skipped`; FileRefused."""
    form: Any = dict[str, str | float]
    readings: dict[str, str | float] = read_form(path, form)
    return readings


def car_as_yaml(car: Car) -> str:
    """Return a car as the text of a car file, only what differs from the usual."""
    usual = msgspec.to_builtins(Car())
    lines = [
        f"{name}: {_scalar(value)}"
        for name, value in msgspec.to_builtins(car).items()
        if value != usual[name] or name == "title"
    ]
    return "\n".join(lines) + "\n"


def _scalar(value: object) -> str:
    """Write a value so that YAML reads it back as it is; JSON strings are YAML strings (YAML 1.2.2, section 1.3)."""
    return msgspec.json.encode(value).decode()
