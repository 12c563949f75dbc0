"""The tree linter: everything wrong in a folder of trees, in one run and in a stable order."""

from __future__ import annotations

from collections.abc import Callable, Iterator
from pathlib import Path

from msgspec import Struct

from troubleshoot.knowledge import catalogue_cache
from troubleshoot.knowledge.catalogue import TreesNotFound, own_trees, shipped_trees
from troubleshoot.knowledge.findings import Finding, in_order
from troubleshoot.knowledge.load_trees import SourcedTrees, read_catalogue

TREE_FOLDERS = ("concerns", "causes", "checks", "cars", "healthy")
"""A folder that holds one of these is a folder of trees."""


FOLLOWS = frozenset({"cause-moves-nothing", "unused-cause", "case-fails", "healthy-car-accused"})
"""Findings that mostly follow from a record that could not be read or an id that is not there; they wait for those."""


class _Linted(Struct, frozen=True):
    """The findings of a run, as they are kept for the next."""

    findings: tuple[Finding, ...]


def lint(path: Path | None = None, alone: bool = False, deep: bool = False) -> tuple[Finding, ...]:
    """Return what is wrong: in the shipped trees (None), in a folder or file laid over them, or in a problem file.

    With `alone` the folder stands by itself; `deep` also works out what each tree's steps cost.
    TreesNotFound when there is nothing to read.
    """
    if path is not None and path.is_file() and folder_of_trees(path.resolve()) is None:
        return _lint_problem(path)
    folders, only = _what_to_read(path, alone)
    # What is found names its files as seen from where one works, so that it holds only there.
    stamp = f"{catalogue_cache.stamp_of(folders, ('knowledge', 'reasoning', 'calculations'))} {Path.cwd()}"
    kind = "lint-deep" if deep else "lint"
    kept = catalogue_cache.read_kept(folders, kind, stamp, _Linted)
    if kept is None:
        kept = _Linted(lint_folders(folders, deep))
        catalogue_cache.write_kept(folders, kind, stamp, kept)
    if only is None:
        return kept.findings
    return tuple(finding for finding in kept.findings if _inside(finding.file, only))


def _lint_problem(path: Path) -> tuple[Finding, ...]:
    """Return what is wrong in a file that belongs to no folder of trees: a problem that stands by itself."""
    from troubleshoot.knowledge.problem_file import ProblemFileRefused, read_problem

    try:
        return read_problem(path).notices
    except ProblemFileRefused as refused:
        return refused.findings


def stamp_for(path: Path | None = None) -> str:
    """Return a mark that changes with every change of what `lint` would read."""
    if path is not None and path.is_file() and folder_of_trees(path.resolve()) is None:
        state = path.stat()
        return f"{state.st_size} {state.st_mtime_ns}"
    return catalogue_cache.stamp_of(_what_to_read(path, alone=False)[0])


def lint_folders(folders: tuple[Path, ...], deep: bool = False) -> tuple[Finding, ...]:
    """Return what is wrong in folders of trees, each laid over the one before."""
    trees = read_catalogue(folders)
    found = list(trees.catalogue.faults)
    for rule in _rules(deep):
        found.extend(rule(trees))
    faults = set(trees.catalogue.faults)
    if any(one.level == "error" and (one in faults or one.code.startswith("unknown-")) for one in found):
        found = [one for one in found if one.code not in FOLLOWS]
    return in_order(found)


def _rules(deep: bool) -> tuple[Callable[[SourcedTrees], Iterator[Finding]], ...]:
    from troubleshoot.knowledge.lint_bands import bands
    from troubleshoot.knowledge.lint_cases import cases
    from troubleshoot.knowledge.lint_numbers import dear_steps, hard_to_tell, twins
    from troubleshoot.knowledge.lint_references import references
    from troubleshoot.knowledge.lint_safety import safety
    from troubleshoot.knowledge.lint_signatures import signatures
    from troubleshoot.knowledge.lint_steps import steps
    from troubleshoot.knowledge.lint_words import words

    plain = (references, steps, signatures, bands, safety, words, twins, hard_to_tell, cases)
    return (*plain, dear_steps) if deep else plain


def _what_to_read(path: Path | None, alone: bool) -> tuple[tuple[Path, ...], Path | None]:
    """Return the folders to read and, when only part of what is found is wanted, the place it must lie in."""
    if path is None:
        own = own_trees()
        return (shipped_trees(), *([own.resolve()] if own else [])), None
    place = path.resolve()
    if not place.exists():
        raise TreesNotFound(f"There is nothing at {path}.", "Name a folder of trees, or a file in one.")
    folder = folder_of_trees(place)
    if folder is None:
        known = ", ".join(f"{name}/" for name in TREE_FOLDERS)
        raise TreesNotFound(f"{path} is not part of a folder of trees.", f"Such a folder holds {known}.")
    if alone or folder == shipped_trees():
        return (folder,), None if place == folder else place
    return (shipped_trees(), folder), place


def folder_of_trees(place: Path) -> Path | None:
    """Return the folder of trees that a file or folder belongs to, if any."""
    candidates = (place, *place.parents) if place.is_dir() else tuple(place.parents)
    for folder in candidates[:4]:
        if any((folder / name).is_dir() for name in TREE_FOLDERS):
            return folder
    return None


def _inside(name: str, place: Path) -> bool:
    file = Path(name).resolve()
    return file == place or place in file.parents
