"""A file is written whole or not at all."""

from __future__ import annotations

import os
import stat
from pathlib import Path

import pytest

from troubleshoot.file_writing import write_whole


def test_a_new_file_and_one_in_place_of_another(tmp_path: Path) -> None:
    path = tmp_path / "one.txt"
    write_whole(path, "first\nline")
    write_whole(path, "second ü")
    assert path.read_bytes() == "second ü".encode()
    assert [one.name for one in tmp_path.iterdir()] == ["one.txt"]


def test_what_fails_leaves_the_old_file_and_nothing_beside_it(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    path = tmp_path / "one.txt"
    write_whole(path, "good")

    def full(handle: int) -> None:
        raise OSError(28, "No space left on device")

    monkeypatch.setattr(os, "fsync", full)
    with pytest.raises(OSError, match="No space"):
        write_whole(path, "half of something")
    assert path.read_text() == "good"
    assert [one.name for one in tmp_path.iterdir()] == ["one.txt"]


@pytest.mark.skipif(os.name == "nt", reason="rights of this kind are those of POSIX")
def test_rights(tmp_path: Path) -> None:
    def rights(path: Path) -> int:
        return stat.S_IMODE(path.stat().st_mode)

    usual, key = tmp_path / "usual", tmp_path / "key"
    write_whole(usual, "")
    mask = os.umask(0)
    os.umask(mask)
    assert rights(usual) == 0o666 & ~mask
    usual.chmod(0o640)
    write_whole(usual, "again")
    assert rights(usual) == 0o640
    write_whole(key, "secret", private=True)
    assert rights(key) == 0o600


def test_a_link_stays_a_link(tmp_path: Path) -> None:
    real, link = tmp_path / "real", tmp_path / "link"
    real.write_text("old")
    link.symlink_to(real)
    write_whole(link, "new")
    assert link.is_symlink()
    assert real.read_text() == "new"


def test_a_device_is_written_to(tmp_path: Path) -> None:
    write_whole(Path(os.devnull), "gone")
    assert not Path(os.devnull).is_file()


def test_a_new_file_takes_nobodys_place(tmp_path: Path) -> None:
    path = tmp_path / "one.txt"
    write_whole(path, "mine", new=True)
    with pytest.raises(FileExistsError) as refused:
        write_whole(path, "yours", new=True)
    assert refused.value.filename == str(path)
    assert path.read_text() == "mine"
    assert [one.name for one in tmp_path.iterdir()] == ["one.txt"]


def test_the_refusal_names_the_place_that_was_asked_for(tmp_path: Path) -> None:
    path = tmp_path / "gone" / "one.txt"
    with pytest.raises(FileNotFoundError) as refused:
        write_whole(path, "words")
    assert refused.value.filename == str(path)
