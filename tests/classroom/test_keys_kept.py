"""The key of a practice lies beside the casebook, and whoever looks into the folder does not read the answer."""

from __future__ import annotations

import os
import stat
import zlib

import pytest

from troubleshoot.case.settings import CaseSettings
from troubleshoot.casebook.store import Casebook
from troubleshoot.classroom.drill_file import LARGEST, PACKED, packed
from troubleshoot.classroom.key_file import KeyRefused, key_text, read_key
from troubleshoot.classroom.practising import begin_practice, kept_practice


def test_the_key_of_a_practice_is_its_owners_and_not_readable(tmp_path, trees, made) -> None:
    car = made["06-lean-on-the-long-hill"]
    with Casebook(tmp_path / "casebook.sqlite") as book:
        sitting = begin_practice(book, trees, lambda: 1.8e9, car, CaseSettings(learn=False))
        (path,) = tmp_path.glob("practice-*")
        held = path.read_bytes()
        for told in (*car.key.causes, *(one.fault for one in car.key.faults), car.key.seed):
            assert told.encode() not in held
        if os.name == "posix":
            assert stat.S_IMODE(path.stat().st_mode) == 0o600
        assert kept_practice(book.path, sitting.case.case_id).key == car.key
        path.unlink()
        path.with_name(f"{path.name}.json").write_text(key_text(car.key), encoding="utf-8")
        assert kept_practice(book.path, sitting.case.case_id).key == car.key, "as earlier releases kept it"


@pytest.mark.parametrize("held", [PACKED, PACKED + b"no such thing", packed("{}"), packed("x")[:-3]])
def test_a_damaged_packed_key_is_refused(tmp_path, held) -> None:
    path = tmp_path / "key"
    path.write_bytes(held)
    with pytest.raises(KeyRefused):
        read_key(path)


def test_what_unpacks_to_more_than_a_key_can_hold_is_refused(tmp_path) -> None:
    path = tmp_path / "key"
    path.write_bytes(PACKED + zlib.compress(b" " * (4 * LARGEST)))
    with pytest.raises(KeyRefused, match="too long"):
        read_key(path)
