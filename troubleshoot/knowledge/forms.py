"""Fit plain values to the typed form, and say in the words of the file what does not fit.

msgspec does the fitting; only when it refuses is the value walked a second time, to find every misfit and its place.
"""

from __future__ import annotations

import re
from collections.abc import Iterator
from functools import cache
from pathlib import Path
from typing import Any, TypeVar

import msgspec
from msgspec import inspect

from troubleshoot.knowledge.findings import nearest
from troubleshoot.knowledge.loading import Document, YamlPath, read_document
from troubleshoot.problems import TroubleshootError

T = TypeVar("T")
RENAMED = {"leak": "reported-anyway"}
"""Keys of earlier versions, with the name that stands for them now."""
GONE = ("looks-at",)
"""Keys of earlier versions that nothing reads any more."""
_COMMA = "inside { } a comma ends the words: put words that hold one in quotes"
Misfit = tuple[YamlPath, str, str, str, bool]
"""Where, what, advice, code, and whether the value's own place is meant (else its key's)."""


def read_as(path: Path, form: type[T], refuse: type[TroubleshootError], what: str, advice: str) -> T:
    """Return a YAML file as a record of the form; `refuse`, with every fault of the file, where it is none."""
    document = read_document(path)
    found = fit(document.value, form, document) if document.value is not None else None
    if found is None or document.findings:
        faults = "\n".join(str(one) for one in document.findings)
        raise refuse(faults or f"{path} is no {what}.", advice)
    return found


def fit(value: Any, form: type[T], document: Document, yaml_path: YamlPath = ()) -> T | None:
    """Return the value as a record of the form, or None with the findings added to the document."""
    try:
        return msgspec.convert(value, form)
    except (msgspec.ValidationError, RecursionError, OverflowError) as problem:
        found = list(misfits(value, form))
        for where, what, advice, code, of_value in found:
            document.blame((*yaml_path, *where), what, advice, code, of_value)
        if not found:
            document.blame(yaml_path, str(problem), "compare with the form in trees/README.md", "misfit")
    return None


def misfits(value: Any, form: type) -> list[Misfit]:
    """Return everything in a plain value that does not fit the form."""
    return list(_walk(value, _kind(form), ()))


@cache
def _kind(form: type) -> inspect.Type:
    return inspect.type_info(form)


def _walk(value: Any, kind: inspect.Type, yaml_path: YamlPath) -> Iterator[Misfit]:
    if isinstance(kind, inspect.Metadata):
        kind = kind.type
    if isinstance(kind, inspect.StructType):
        yield from _struct(value, kind, yaml_path)
    elif isinstance(kind, inspect.UnionType):
        yield from _union(value, kind, yaml_path)
    elif isinstance(kind, inspect.ListType):
        yield from _list(value, kind, yaml_path)
    elif isinstance(kind, inspect.DictType):
        yield from _dict(value, kind, yaml_path)
    else:
        yield from _scalar(value, kind, yaml_path)


def _struct(value: Any, kind: inspect.StructType, yaml_path: YamlPath) -> Iterator[Misfit]:
    if not isinstance(value, dict):
        yield _wrong(value, "a group of named parts", yaml_path)
        return
    fields = {one.encode_name: one for one in kind.fields}
    for key, part in value.items():
        if key in fields:
            yield from _walk(part, fields[key].type, (*yaml_path, key))
        else:
            renamed = RENAMED.get(key, "")
            if renamed in fields:
                yield ((*yaml_path, key), f"{key} is now called {renamed}", f"write {renamed}:", "renamed-field", False)
                continue
            if key in GONE:
                yield ((*yaml_path, key), f"{key} is no longer read", "delete this line", "field-gone", False)
                continue
            known = ", ".join(fields)
            advice = f"use one of: {known}" if part is not None else _COMMA
            hint = nearest(key, fields)
            yield (
                (*yaml_path, key),
                f"{key} is not a part of this record{hint}",
                advice,
                "unknown-field",
                False,
            )
    for name, one in fields.items():
        if one.required and name not in value:
            yield (yaml_path, f"{name} is missing", f"add a line {name}:", "missing-field", False)


def _union(value: Any, kind: inspect.UnionType, yaml_path: YamlPath) -> Iterator[Misfit]:
    for one in kind.types:
        if isinstance(one, inspect.StructType) and isinstance(value, dict):
            yield from _struct(value, one, yaml_path)
            return
    attempts = [list(_walk(value, one, yaml_path)) for one in kind.types if not isinstance(one, inspect.NoneType)]
    if (value is None and len(attempts) < len(kind.types)) or any(not attempt for attempt in attempts):
        return
    same_sort = [attempt for attempt in attempts if attempt[0][3] != "wrong-type"]
    if same_sort or len(attempts) == 1:
        yield from (same_sort or attempts)[0]
    else:
        yield _wrong(
            value, " or ".join(_name(one) for one in kind.types if not isinstance(one, inspect.NoneType)), yaml_path
        )


def _list(value: Any, kind: inspect.ListType, yaml_path: YamlPath) -> Iterator[Misfit]:
    if not isinstance(value, list):
        yield _wrong(value, "a list", yaml_path, "write it as [one, two], or one to a line after a dash")
        return
    if kind.min_length is not None and len(value) < kind.min_length:
        yield (
            yaml_path,
            f"the list holds {len(value)}, fewer than {kind.min_length}",
            "add what is missing",
            "list-short",
            False,
        )
    if kind.max_length is not None and len(value) > kind.max_length:
        yield (
            yaml_path,
            f"the list holds {len(value)}, more than {kind.max_length}",
            "leave only those",
            "list-long",
            False,
        )
    for position, part in enumerate(value):
        yield from _walk(part, kind.item_type, (*yaml_path, position))


def _dict(value: Any, kind: inspect.DictType, yaml_path: YamlPath) -> Iterator[Misfit]:
    if not isinstance(value, dict):
        yield _wrong(value, "a group of named parts", yaml_path)
        return
    for key, part in value.items():
        for where, what, advice, code, _of_value in _walk(key, kind.key_type, (*yaml_path, key)):
            yield (where, what, advice, code, False)
        yield from _walk(part, kind.value_type, (*yaml_path, key))


def _scalar(value: Any, kind: inspect.Type, yaml_path: YamlPath) -> Iterator[Misfit]:
    if isinstance(kind, inspect.LiteralType):
        if value not in kind.values or isinstance(value, bool):
            known = [str(one) for one in kind.values]
            hint = nearest(str(value), known)
            yield (
                yaml_path,
                f"{_shown(value)} is not one of the choices{hint}",
                straightened(value) or f"use one of: {', '.join(known)}",
                "choice",
                True,
            )
    elif isinstance(kind, inspect.StrType):
        yield from _string(value, kind, yaml_path)
    elif isinstance(kind, (inspect.FloatType, inspect.IntType)):
        yield from _number(value, kind, yaml_path)
    elif isinstance(kind, inspect.BoolType):
        if not isinstance(value, bool):
            yield _wrong(value, "true or false", yaml_path)
    elif isinstance(kind, inspect.NoneType) and value is not None:
        yield _wrong(value, "nothing", yaml_path)


def _string(value: Any, kind: inspect.StrType, yaml_path: YamlPath) -> Iterator[Misfit]:
    if not isinstance(value, str):
        name = yaml_path[-1] if yaml_path and isinstance(yaml_path[-1], str) else ""
        advice = "put it in quotes" if isinstance(value, (int, float)) else "write words here"
        if isinstance(value, list) and len(value) == 1 and isinstance(value[0], str) and name:
            advice = f"{name} takes one: write {name}: {value[0]}, without brackets"
        yield _wrong(value, "words", yaml_path, advice)
        return
    if kind.pattern is not None and not re.search(kind.pattern, value):
        advice = straightened(value) or "use small letters, digits and single hyphens, as in lean-top"
        yield (yaml_path, f"{_shown(value)} cannot be an id", advice, "bad-id", True)
    if kind.min_length is not None and len(value) < kind.min_length:
        yield (yaml_path, "there are no words here", "write some, or remove the line", "no-words", True)
    if kind.max_length is not None and len(value) > kind.max_length:
        yield (
            yaml_path,
            f"{_shown(value)} is longer than {kind.max_length} letters",
            "shorten it",
            "too-many-letters",
            True,
        )


def _number(value: Any, kind: inspect.FloatType | inspect.IntType, yaml_path: YamlPath) -> Iterator[Misfit]:
    whole = isinstance(kind, inspect.IntType)
    if isinstance(value, bool) or not isinstance(value, int if whole else (int, float)):
        share = re.fullmatch(r"(\d+(?:\.\d+)?)\s*%", str(value))
        comma = re.fullmatch(r"([-+]?\d+),(\d+)", str(value).strip())
        advice = f"write it as a share of 1: {float(share[1]) / 100:g}" if share and not whole else None
        if comma and not whole:
            advice = f"write {comma[1]}.{comma[2]}, with a point"
        yield _wrong(value, "a whole number" if whole else "a number", yaml_path, advice)
        return
    bounds = [(kind.ge, value >= kind.ge if kind.ge is not None else True, "at least"),
              (kind.gt, value > kind.gt if kind.gt is not None else True, "above"),
              (kind.le, value <= kind.le if kind.le is not None else True, "at most"),
              (kind.lt, value < kind.lt if kind.lt is not None else True, "below")]  # fmt: skip
    for bound, holds, words in bounds:
        if not holds:
            yield (
                yaml_path,
                f"{_shown(value)} is out of range",
                f"write a number {words} {bound:g}",
                "out-of-range",
                True,
            )


def _wrong(value: Any, wanted: str, yaml_path: YamlPath, advice: str | None = None) -> Misfit:
    if value is None:
        advice = f"write {wanted}; {_COMMA}"
    return (yaml_path, f"{wanted} belongs here, not {_shown(value)}", advice or f"write {wanted}", "wrong-type", True)


_CURLY = str.maketrans(dict.fromkeys("“”„‟«»‹›‘’‚‛", ""))


def straightened(value: Any) -> str:
    """Return the advice for words in curly quotes, which are no quotes to YAML; empty where there are none.

    >>> straightened("“%”")
    'these are curly quotes, which a word processor makes: write "%", with straight ones'
    """
    plain = str(value).translate(_CURLY).strip()
    if plain == str(value).strip():
        return ""
    return f'these are curly quotes, which a word processor makes: write "{plain}", with straight ones'


def _shown(value: Any) -> str:
    if value is None:
        return "nothing"
    if isinstance(value, dict):
        return "a group of named parts"
    if isinstance(value, list):
        return "a list"
    if isinstance(value, bool):
        return str(value).lower()
    text = str(value)
    return text if len(text) <= 40 else text[:37] + "..."


def _name(kind: inspect.Type) -> str:
    names = {"FloatType": "a number", "IntType": "a whole number", "StrType": "words", "BoolType": "true or false"}
    return names.get(type(kind).__name__, "a group of named parts")
