"""Keep the catalogue as read, so that the next start parses no YAML.

The cache is known by the names, sizes and times of the tree files and of this package's own modules, taken before the
files are read. A cache that is missing, damaged or stale is rebuilt without a word.
"""

from __future__ import annotations

import contextlib
import hashlib
import os
import tempfile
from pathlib import Path
from typing import TypeVar

import msgspec
from msgspec import Struct

T = TypeVar("T")
MOST_KEPT = 24
"""Cache files; a catalogue and its findings take two for each set of folders."""


class _Kept(Struct, frozen=True):
    """What one cache file holds: the state of the files it was made from, and what was made."""

    stamp: str
    made: msgspec.Raw


def cache_folder() -> Path:
    """Return the folder for caches: TROUBLESHOOT_CACHE, else the platform's own."""
    named = os.environ.get("TROUBLESHOOT_CACHE", "").strip()
    if named:
        return Path(named)
    import platformdirs

    return Path(platformdirs.user_cache_dir("troubleshoot", appauthor=False))


def stamp_of(folders: tuple[Path, ...], packages: tuple[str, ...] = ("knowledge",)) -> str:
    """Return a hash of the names, sizes and times of all tree files and of the modules of these packages."""
    digest = hashlib.sha256()
    above = Path(__file__).resolve().parent.parent
    with contextlib.suppress(OSError):
        for path in (module for package in packages for module in sorted((above / package).glob("*.py"))):
            _stamp(digest, path.name, path.stat())
        for folder in folders:
            _stamp_folder(digest, folder)
    return digest.hexdigest()


def _stamp(digest: hashlib._Hash, name: str, state: os.stat_result) -> None:
    digest.update(f"{name}\0{state.st_size}\0{state.st_mtime_ns}\0".encode("utf-8", "surrogateescape"))


def _stamp_folder(digest: hashlib._Hash, folder: Path) -> None:
    digest.update(f"{folder}\0".encode("utf-8", "surrogateescape"))
    for place, inner, names in os.walk(folder):
        inner.sort()
        for name in sorted(names):
            if name.endswith((".yaml", ".yml")):
                state = os.stat(f"{place}/{name}")  # noqa: PTH116 - twice as fast, on every start
                _stamp(digest, f"{place}/{name}", state)


def _file(folders: tuple[Path, ...], kind: str) -> Path:
    which = hashlib.sha256("\0".join(str(folder) for folder in folders).encode("utf-8", "surrogateescape")).hexdigest()
    return cache_folder() / f"{kind}-{which[:16]}.msgpack"


def read_kept(folders: tuple[Path, ...], kind: str, stamp: str, form: type[T]) -> T | None:
    """Return what was kept under a kind for these folders when its stamp is still the same, else None."""
    try:
        kept = msgspec.msgpack.decode(_file(folders, kind).read_bytes(), type=_Kept)
        if kept.stamp == stamp:
            return msgspec.msgpack.decode(kept.made, type=form)
    except (OSError, msgspec.DecodeError, ValueError, RecursionError):
        pass
    return None


def write_kept(folders: tuple[Path, ...], kind: str, stamp: str, made: object) -> None:
    """Keep something made from these folders, whole or not at all; a folder that refuses is no matter."""
    with contextlib.suppress(OSError, ValueError):
        file = _file(folders, kind)
        file.parent.mkdir(parents=True, exist_ok=True)
        raw = msgspec.msgpack.encode(_Kept(stamp, msgspec.Raw(msgspec.msgpack.encode(made))))
        handle, name = tempfile.mkstemp(dir=file.parent, prefix=file.name)
        with os.fdopen(handle, "wb") as out:
            out.write(raw)
        Path(name).replace(file)
        _forget_oldest(file.parent)


def _forget_oldest(folder: Path) -> None:
    """Keep the cache files used last, so that folders that are gone leave nothing behind for good."""
    files = sorted(folder.glob("*.msgpack*"), key=lambda one: one.stat().st_mtime, reverse=True)
    for file in files[MOST_KEPT:]:
        file.unlink()
