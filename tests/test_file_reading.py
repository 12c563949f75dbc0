"""Files of any length, devices and pipes: refused in a sentence after a bounded number of bytes."""

from __future__ import annotations

import sys
from pathlib import Path

import pytest

from troubleshoot.file_reading import TooLong, held_at_most, read_at_most
from troubleshoot.knowledge.loading import read_document

ENDLESS = Path("/dev/zero")


def test_a_file_of_exactly_the_limit_is_read(tmp_path: Path) -> None:
    (tmp_path / "f").write_bytes(b"12345")
    assert read_at_most(tmp_path / "f", 5) == b"12345"


def test_one_byte_more_is_refused(tmp_path: Path) -> None:
    (tmp_path / "f").write_bytes(b"123456")
    with pytest.raises(TooLong):
        read_at_most(tmp_path / "f", 5)


@pytest.mark.skipif(sys.platform == "win32", reason="there is no /dev/zero")
def test_a_device_that_never_ends_is_refused() -> None:
    """Its size is told as 0, so a limit on the size believed would let it through."""
    with pytest.raises(TooLong):
        read_at_most(ENDLESS, 1000)
    with ENDLESS.open("rb") as stream, pytest.raises(TooLong):
        held_at_most(stream, 1000)


@pytest.mark.skipif(sys.platform == "win32", reason="there is no /dev/zero")
def test_an_endless_tree_file_is_a_finding() -> None:
    assert [finding.code for finding in read_document(ENDLESS).findings] == ["too-long"]
