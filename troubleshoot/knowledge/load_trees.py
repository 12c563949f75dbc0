"""Read folders of trees into a catalogue, keeping the documents for those who need line and column."""

from __future__ import annotations

import hashlib
from collections.abc import Iterator
from dataclasses import dataclass, field
from pathlib import Path
from typing import Any

import msgspec

from troubleshoot.knowledge.against import against_id
from troubleshoot.knowledge.car import Car
from troubleshoot.knowledge.catalogue_record import Catalogue
from troubleshoot.knowledge.degrees import leaves
from troubleshoot.knowledge.findings import Finding, Level, in_order, nearest
from troubleshoot.knowledge.forms import fit
from troubleshoot.knowledge.frequencies import FrequencyRefused, frequency
from troubleshoot.knowledge.loading import Document, YamlPath, read_document
from troubleshoot.knowledge.model import (
    Against,
    Cause,
    Caution,
    Check,
    Concern,
    Expects,
    Frequency,
    HealthyCar,
    Setup,
    Tool,
    WorkedCase,
)
from troubleshoot.knowledge.signature_forms import signature_misfits

KINDS = ("concerns", "causes", "checks", "cautions", "setups", "tools", "cars", "cases", "healthy")
_BOOKS: dict[str, type] = {"cautions.yaml": Caution, "setups.yaml": Setup, "tools.yaml": Tool}
_SHELVES: dict[str, type] = {"causes": Cause, "checks": Check}
_SINGLES: dict[str, type] = {"concerns": Concern, "cars": Car, "healthy": HealthyCar}
_ELSEWHERE = frozenset({"drills", "schema", "problems"})
_ID = "abcdefghijklmnopqrstuvwxyz0123456789-"


@dataclass
class SourcedTrees:
    """A catalogue with, for every record, the document and the place in it that it came from.

    `broken` names the records left out because they do not fit, `unread` the kinds of which a whole file could not be
    read, `own_files` the files of a person's own folder. A worked case is
    the record `("cases", "concern#0")`, counted as in the catalogue.
    """

    catalogue: Catalogue
    documents: dict[str, Document] = field(default_factory=dict)
    sources: dict[tuple[str, str], tuple[Document, YamlPath]] = field(default_factory=dict)
    broken: frozenset[tuple[str, str]] = frozenset()
    unread: frozenset[str] = frozenset()
    own_files: frozenset[str] = frozenset()
    _known: dict[str, frozenset[str]] = field(default_factory=dict)

    def known(self, kind: str) -> frozenset[str]:
        """Return the ids written for a kind, those of records that do not fit their form with them."""
        if kind not in self._known:
            broken = {identifier for one, identifier in self.broken if one == kind}
            self._known[kind] = frozenset(getattr(self.catalogue, kind)) | broken
        return self._known[kind]

    def in_question(self, record: tuple[str, str]) -> bool:
        """Return whether a record is one of those a person writes: of the own folder when there is one."""
        return not self.own_files or self.sources[record][0].name in self.own_files

    def at(
        self, record: tuple[str, str], yaml_path: YamlPath, what: str, advice: str, code: str, level: Level = "error"
    ) -> Finding:
        """Return a finding at a part of a record, as `("checks", "pressure")` and `("bands", 0, "to")`."""
        document, above = self.sources[record]
        finding = document.finding((*above, *yaml_path), what, advice, code)
        return finding if level == "error" else msgspec.structs.replace(finding, level=level)


@dataclass
class _Shelf:
    """What is gathered while the folders are read."""

    records: dict[str, dict[str, Any]] = field(default_factory=lambda: {kind: {} for kind in KINDS})
    sources: dict[tuple[str, str], tuple[Document, YamlPath]] = field(default_factory=dict)
    documents: dict[str, Document] = field(default_factory=dict)
    broken: set[tuple[str, str]] = field(default_factory=set)
    unread: set[str] = field(default_factory=set)
    own_files: set[str] = field(default_factory=set)
    own: list[str] = field(default_factory=list)


def tree_files(folder: Path) -> list[Path]:
    """Return the YAML files of a folder of trees in a stable order, those of drills and problems left out."""
    found = [path for path in folder.rglob("*.y*ml") if path.suffix in {".yaml", ".yml"} and path.is_file()]
    inside = [(path.relative_to(folder).as_posix(), path) for path in found]
    return [path for name, path in sorted(inside) if not _skipped(name)]


def _skipped(name: str) -> bool:
    parts = name.split("/")
    return any(part.startswith(".") for part in parts) or parts[0] in _ELSEWHERE


def content_hash(folders: tuple[Path, ...]) -> str:
    """Return a hash of the names and content of every tree file in the folders."""
    digest = hashlib.sha256()
    for number, folder in enumerate(folders):
        for path in tree_files(folder):
            digest.update(f"{number}/{path.relative_to(folder).as_posix()}\0".encode())
            try:
                digest.update(path.read_bytes() if path.stat().st_size < 5_000_000 else b"too long")
            except OSError:
                digest.update(b"unreadable")
            digest.update(b"\0")
    return digest.hexdigest()[:16]


def read_catalogue(folders: tuple[Path, ...]) -> SourcedTrees:
    """Read the shipped folder and any own folder over it; every fault becomes a finding in `faults`."""
    shelf = _Shelf()
    for number, folder in enumerate(folders):
        layer = {kind: dict[str, Any]() for kind in KINDS}
        for path in tree_files(folder):
            name = path.relative_to(folder).as_posix()
            document = read_document(path, _shown_name(path))
            shelf.documents[document.name] = document
            if number > 0:
                shelf.own_files.add(document.name)
            if document.value is not None:
                _put(document, name, layer, shelf)
            else:
                shelf.unread.add(name.split("/")[0].removesuffix(".yaml"))
        _lay_over(shelf, layer, own=number > 0)
    faults = in_order(finding for document in shelf.documents.values() for finding in document.findings)
    catalogue = Catalogue(
        **shelf.records, version=content_hash(folders), own_overrides=tuple(sorted(shelf.own)), faults=faults
    )
    return SourcedTrees(
        catalogue,
        shelf.documents,
        shelf.sources,
        frozenset(shelf.broken),
        frozenset(shelf.unread),
        frozenset(shelf.own_files),
    )


def _shown_name(path: Path) -> str:
    try:
        return path.relative_to(Path.cwd()).as_posix()
    except (ValueError, OSError):
        return str(path)


def _lay_over(shelf: _Shelf, layer: dict[str, dict[str, Any]], own: bool) -> None:
    for kind, records in layer.items():
        if own:
            shelf.own.extend(f"{kind}/{one}" for one in records if one in shelf.records[kind])
        shelf.records[kind].update(records)


def _put(document: Document, name: str, layer: dict[str, dict[str, Any]], shelf: _Shelf) -> None:
    """Fit one file's records to their form and put them on the shelf its place in the folder names."""
    parts = name.split("/")
    stem = parts[-1].rsplit(".", 1)[0]
    for kind, identifier, yaml_path, record in _records(document, parts, stem):
        if record is None or _bad_frequencies(document, yaml_path, record):
            shelf.broken.add((kind, identifier))
        elif kind == "case":
            shelf.sources[("cases", identifier)] = (document, yaml_path)
        elif identifier in layer[kind]:
            other, _ = shelf.sources[(kind, identifier)]
            what, advice = f"{identifier} is written here and in {other.name}", "keep one of the two"
            document.blame(yaml_path, what, advice, "written-twice")
        else:
            layer[kind][identifier] = record
            shelf.sources[(kind, identifier)] = (document, yaml_path)
            if kind == "checks":
                shelf.sources[(kind, against_id(identifier))] = (document, (*yaml_path, "against"))


def _records(document: Document, parts: list[str], stem: str) -> Iterator[tuple[str, str, YamlPath, Any]]:
    """Yield kind, id, place and record (None when it does not fit its form) of everything in a file."""
    where = parts[0]
    if len(parts) == 1 and where in _BOOKS:
        yield from _book(document, where.removesuffix(".yaml"), _BOOKS[where])
    elif len(parts) == 2 and where in _SHELVES:
        yield from _book(document, where, _SHELVES[where])
    elif len(parts) == 2 and where == "concerns" and stem.endswith(".cases"):
        yield from _cases(document, stem.removesuffix(".cases"))
    elif len(parts) == 2 and where in _SINGLES:
        if _valid_id(document, stem, ()):
            yield where, stem, (), fit(document.value, _SINGLES[where], document)
    else:
        known = [*_BOOKS, *(f"{one}/" for one in (*_SHELVES, *_SINGLES))]
        hint = nearest(where, [one.strip("/") for one in known])
        what = f"the program does not look for trees at {'/'.join(parts)}{hint}"
        document.blame((), what, f"put it in one of {', '.join(known)}", "misplaced")


def _valid_id(document: Document, identifier: str, yaml_path: YamlPath) -> bool:
    good = 0 < len(identifier) <= 48 and not set(identifier) - set(_ID) and identifier.strip("-") == identifier
    if not good:
        what = f"{identifier[:60]} cannot be an id"
        advice = "use small letters, digits and single hyphens, as in lean-top"
        document.blame(yaml_path, what, advice, "bad-id")
    return good


def _book(document: Document, kind: str, form: type) -> Iterator[tuple[str, str, YamlPath, Any]]:
    if not isinstance(document.value, dict):
        what = f"a file of {kind} is a group of ids, each with its record"
        document.blame((), what, "begin with an id and a colon", "wrong-type")
        return
    for identifier, value in document.value.items():
        if _valid_id(document, identifier, (identifier,)):
            yield kind, identifier, (identifier,), fit(value, form, document, (identifier,))


def _cases(document: Document, concern: str) -> Iterator[tuple[str, str, YamlPath, Any]]:
    if not isinstance(document.value, list):
        document.blame((), "a file of cases is a list", "begin each case with a dash", "wrong-type")
        return
    fitted = [
        (position, fit(value, WorkedCase, document, (position,))) for position, value in enumerate(document.value)
    ]
    good = [(position, case) for position, case in fitted if case is not None]
    yield "cases", concern, (), tuple(case for _, case in good)
    for number, (position, case) in enumerate(good):
        yield "case", f"{concern}#{number}", (position,), case


def _bad_frequencies(document: Document, yaml_path: YamlPath, record: Any) -> bool:
    """Blame every bad signature, and every frequency that is no number from 0 to 1 and no word of the table."""
    written: list[tuple[YamlPath, Frequency]] = []
    bad = False
    if isinstance(record, Concern):
        written = [
            (("reported-anyway",), record.reported_anyway),
            *(
                (("shows", cause, *way), value)
                for cause, said in record.shows.items()
                for way, value in (
                    [((one,), often) for one, often in said.items()] if isinstance(said, dict) else [((), said)]
                )
            ),
        ]
    elif isinstance(record, Check):
        places: list[tuple[YamlPath, Check | Against]] = [((), record)]
        if record.against is not None:
            places.append((("against",), record.against))
        for place, said in places:
            written += [((*place, "usual", one), value) for one, value in said.usual.items()]
            for cause, signature in said.moved_by.items():
                at = (*place, "moved-by", cause)
                wrong = list(signature_misfits(signature))
                for where, what, advice, code, of_value in wrong:
                    document.blame((*yaml_path, *at, *where), what, advice, code, of_value)
                bad = bad or bool(wrong)
                for where, leaf in leaves(signature) if not wrong else ():
                    if not isinstance(leaf, Expects):
                        written.extend(((*at, *where, one), value) for one, value in leaf.items())
    for where, value in written:
        try:
            frequency(value)
        except FrequencyRefused as problem:
            document.blame((*yaml_path, *where), problem.sentence, problem.advice, "bad-frequency", of_value=True)
            bad = True
    return bad
