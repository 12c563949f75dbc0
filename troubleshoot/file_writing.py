"""Writing a whole file so that a full disk or a pulled plug leaves the old one or the new one, never half of it."""

from __future__ import annotations

import contextlib
import errno
import os
import tempfile
from collections.abc import Iterator
from pathlib import Path

from troubleshoot.visible import visible

PRIVATE = 0o600
"""Rights of a file that holds someone's cases, or the answer of a drill: its owner reads and writes it."""


def write_whole(path: Path, content: str | bytes, private: bool = False, new: bool = False) -> None:
    """Write a file beside its place, flush it to the disk, and put it there in one step; OSError when it cannot.

    Text is written as UTF-8 with plain line ends, and what an editor or a terminal would obey is made visible; bytes
    are written as they are. A file that is there keeps its rights; a new one gets those of
    the user's mask, or with `private` the owner's alone. With `new` a file that is there is left as it is, and
    FileExistsError says so. A device or a pipe is written to as it is.
    """
    data = visible(content).encode("utf-8") if isinstance(content, str) else content
    target = path.resolve() if path.is_symlink() else path
    if target.exists() and not target.is_file():
        target.write_bytes(data)
        return
    with beside(target) as unfinished:
        with unfinished.open("wb") as out:
            out.write(data)
            out.flush()
            os.fsync(out.fileno())
        unfinished.chmod(_rights(target, private))
        if new:
            _put_where_nothing_is(unfinished, target)
        else:
            unfinished.replace(target)
    _flush_folder(target.parent)


@contextlib.contextmanager
def beside(target: Path) -> Iterator[Path]:
    """Give an empty file beside a place, for its owner alone, to be filled and moved there; gone afterwards.

    An OSError of the block or of the making names the place, not the file beside it.
    """
    try:
        handle, name = tempfile.mkstemp(prefix=f".{target.name[:40]}.", suffix=".unfinished", dir=target.parent)
        os.close(handle)
        try:
            yield Path(name)
        finally:
            with contextlib.suppress(OSError):
                Path(name).unlink()
    except OSError as problem:
        raise OSError(problem.errno, problem.strerror, str(target)) from problem


def _put_where_nothing_is(unfinished: Path, target: Path) -> None:
    """Give a file its name unless something has it; a disk without links (a memory stick) is looked at before."""
    try:
        target.hardlink_to(unfinished)
    except FileExistsError:
        raise
    except OSError:
        if target.exists():
            raise FileExistsError(errno.EEXIST, os.strerror(errno.EEXIST), str(target)) from None
        unfinished.replace(target)


def _rights(target: Path, private: bool) -> int:
    if private:
        return PRIVATE
    with contextlib.suppress(OSError):
        return target.stat().st_mode & 0o777
    mask = os.umask(0)
    os.umask(mask)
    return 0o666 & ~mask


def _flush_folder(folder: Path) -> None:
    """Make the new name itself durable, where the system lets a folder be opened."""
    with contextlib.suppress(OSError):
        handle = os.open(folder, os.O_RDONLY)
        try:
            os.fsync(handle)
        finally:
            os.close(handle)
