"""Photographs and files of a case: kept by place and hash, in the report, carried along, looked at again."""

from __future__ import annotations

import json
from collections.abc import Callable
from pathlib import Path
from typing import Any

import pytest

Command = Callable[..., Any]

ABC = "ba7816bf8f01"
"""Begins the SHA-256 of `abc`; NIST, example of FIPS 180-4."""


@pytest.fixture
def case(command: Command, tmp_path: Path) -> str:
    """Return a case that a photograph was attached to."""
    (tmp_path / "photo.jpg").write_bytes(b"abc")
    ran = command("ask", "lean-top", "--car", "harrow-240", answers="y\nattach photo.jpg\nattach nowhere.jpg\nquit\n")
    assert ran.code == 0 and "Attached." in ran.out and "nowhere.jpg is no file" in ran.out
    return str(json.loads(command("cases", "--json").out)[0]["id"])


def test_a_file_stands_in_every_report_with_its_hash(command: Command, case: str) -> None:
    for form in ([], ["--html"], ["--markdown"]):
        told = command("report", case, *form).out
        assert "photo.jpg" in told and ABC in told, form


def test_several_are_attached_at_once_or_none(command: Command, case: str, tmp_path: Path) -> None:
    (tmp_path / "plug.jpg").write_bytes(b"plug")
    before = command("cases", "export", case).out
    refused = command("cases", "attach", case, "plug.jpg", "missing.jpg")
    assert refused.code != 0 and "missing.jpg is no file" in refused.err
    assert command("cases", "export", case).out == before
    taken = command("cases", "attach", case, "plug.jpg", "photo.jpg")
    assert taken.code == 0 and taken.out.count("Attached: ") == 2


def test_what_changed_or_went_away_is_told(command: Command, case: str, tmp_path: Path) -> None:
    assert command("cases", "check").code == 0
    (tmp_path / "photo.jpg").write_bytes(b"abd")
    changed = command("cases", "check")
    assert changed.code == 1 and "photo.jpg was changed after it was attached" in changed.out
    (tmp_path / "photo.jpg").unlink()
    missing = command("cases", "check")
    assert missing.code == 1 and "photo.jpg is missing here" in missing.out
    assert "all whole" in missing.out


def test_another_machine_finds_it_beside_its_casebook(command: Command, case: str, tmp_path: Path) -> None:
    """Export and import carry place and hash; the file itself is laid beside the other casebook by hand."""
    command("cases", "export", case, "-o", "case.json")
    shop = tmp_path / "shop"
    shop.mkdir()
    there = ["--casebook", str(shop / "casebook.sqlite")]
    assert command(*there, "cases", "import", "case.json").code == 0
    assert ABC in command(*there, "report", case).out
    (tmp_path / "photo.jpg").rename(tmp_path / "gone.jpg")
    assert command(*there, "cases", "check").code == 1
    (shop / "photo.jpg").write_bytes(b"abc")
    assert command(*there, "cases", "check").code == 0


def test_a_merge_carries_places_and_hashes_and_names_the_files_to_bring(
    command: Command, case: str, tmp_path: Path
) -> None:
    """Two machines: the laptop's case with a photograph and a sound goes to the shop, and later on goes there again."""
    (tmp_path / "idle.wav").write_bytes(b"RIFF0000WAVE")
    assert command("cases", "attach", case, "idle.wav").code == 0
    assert command("cases", "backup", "-o", "laptop.sqlite").code == 0
    shop = tmp_path / "shop"
    shop.mkdir()
    for name in ("photo.jpg", "idle.wav"):
        (tmp_path / name).rename(tmp_path / f"{name}.gone")  # the shop's machine has no such folder
    there = ["--casebook", str(shop / "casebook.sqlite")]
    merged = command(*there, "cases", "merge", "laptop.sqlite")
    assert "1 new" in merged.out
    for name in ("photo.jpg", "idle.wav"):
        assert f"{name} is missing here" in merged.err
        (shop / name).write_bytes((tmp_path / f"{name}.gone").read_bytes())
    assert command(*there, "cases", "check").code == 0
    told = command(*there, "report", case).out
    assert "photo.jpg" in told and "idle.wav" in told and ABC in told

    (tmp_path / "plug.jpg").write_bytes(b"plug")
    assert command("cases", "attach", case, "plug.jpg").code == 0
    again = tmp_path / "again.sqlite"
    assert command("cases", "backup", "-o", str(again)).code == 0
    more = command(*there, "cases", "merge", str(again))
    assert "1 went on" in more.out and "missing here" not in more.err
    assert command(*there, "report", case).out.count("photo.jpg") == told.count("photo.jpg")
    assert "0 new, 0 went on, 1 here already" in command(*there, "cases", "merge", str(again)).out
    (shop / "idle.wav").write_bytes(b"another")
    changed = command(*there, "cases", "check")
    assert changed.code == 1 and "idle.wav was changed after it was attached" in changed.out
