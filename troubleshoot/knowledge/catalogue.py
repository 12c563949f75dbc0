"""The whole catalogue: every concern, cause, check, caution, set-up, tool and car, by id.

A warm start reads one cache file and no YAML. A folder of a person's own trees lies over the shipped ones; an id that
is there already is replaced as a whole. What cannot be read is left out and listed in `faults`.
"""

from __future__ import annotations

import os
from pathlib import Path

import msgspec

from troubleshoot.knowledge import catalogue_cache
from troubleshoot.knowledge.car import Car, car_from
from troubleshoot.knowledge.catalogue_record import Catalogue
from troubleshoot.problems import TroubleshootError

__all__ = ["Catalogue", "TreesNotFound", "car_with", "load_catalogue", "own_trees", "shipped_trees"]


MOST_READ = 3
"""Catalogues that a process remembers: the shipped one, with a person's own trees, and one more."""

_READ: dict[str, Catalogue] = {}
"""Catalogues by the state of their files, so that what they worked out (`signatures`, `problems`) serves again."""


class TreesNotFound(TroubleshootError):
    """There is no folder of trees where one was looked for."""


def shipped_trees() -> Path:
    """Return the folder of shipped trees: beside the package in a source checkout, inside it in a wheel."""
    package = Path(__file__).resolve().parent.parent
    for place in (package.parent / "trees", package / "trees"):
        if (place / "concerns").is_dir():
            return place
    raise TreesNotFound(f"The trees are missing: there is no folder {package / 'trees'}.", "Install the program again.")


def own_trees(given: Path | None = None) -> Path | None:
    """Return a person's own folder of trees: the one given, else the one TROUBLESHOOT_TREES names, else none."""
    if given is None:
        named = os.environ.get("TROUBLESHOOT_TREES", "").strip()
        given = Path(named).expanduser() if named else None
    if given is not None and not given.is_dir():
        raise TreesNotFound(f"There is no folder {given} to read trees from.", "Correct --trees or TROUBLESHOOT_TREES.")
    return given


def load_catalogue(own: Path | None = None, root: Path | None = None) -> Catalogue:
    """Return the catalogue of the shipped trees (or `root`) with a person's own laid over; TreesNotFound if absent."""
    folders = tuple(folder.resolve() for folder in (root or shipped_trees(), own_trees(own)) if folder is not None)
    for folder in folders:
        if not folder.is_dir():
            raise TreesNotFound(
                f"There is no folder {folder} to read trees from.", "Name a folder that holds concerns/."
            )
    stamp = catalogue_cache.stamp_of(folders)
    found = _READ.pop(stamp, None) or _read(folders, stamp)
    _READ[stamp] = found
    if len(_READ) > MOST_READ:
        _READ.pop(next(iter(_READ)), None)  # another thread may have been here
    return found


def _read(folders: tuple[Path, ...], stamp: str) -> Catalogue:
    kept = catalogue_cache.read_kept(folders, "catalogue", stamp, Catalogue)
    if kept is not None:
        return kept
    from troubleshoot.knowledge.load_trees import read_catalogue

    made = read_catalogue(folders).catalogue
    catalogue_cache.write_kept(folders, "catalogue", stamp, made)
    return made


def car_with(catalogue: Catalogue, car: str, differs: dict[str, str | float | bool]) -> Car:
    """Return a car of the catalogue with some of its values replaced; TroubleshootError when they do not fit."""
    base = catalogue.cars.get(car)
    if base is None:
        raise TroubleshootError(f"There is no car {car}.", f"Use one of {', '.join(sorted(catalogue.cars))}.")
    values = msgspec.to_builtins(base)
    whole = {name: int(one) if isinstance(one, float) and one.is_integer() else one for name, one in differs.items()}
    try:
        return car_from({**values, **whole})
    except msgspec.ValidationError as problem:
        raise TroubleshootError(f"The car {car} cannot be changed so: {problem}.", "Correct `differs`.") from None
