"""Changed files of each kind are read or refused in sentences; the rest of three thousand is in scripts/hostile.py."""

from __future__ import annotations

import importlib.util
import os
import sys
from pathlib import Path
from types import ModuleType

import pytest

from troubleshoot.recordings.dialect import RecordingRefused
from troubleshoot.recordings.log import log_from, read_log
from troubleshoot.recordings.readings import readings_from

COUNTS = {"log": 60, "table": 60, "capture": 40, "capture in WAV": 15, "sound": 12}


@pytest.fixture(scope="module")
def hostile() -> ModuleType:
    place = Path(__file__).parents[2] / "scripts" / "hostile_files.py"
    spec = importlib.util.spec_from_file_location("hostile_files", place)
    assert spec is not None
    assert spec.loader is not None
    found = importlib.util.module_from_spec(spec)
    sys.modules["hostile_files"] = found
    sys.path.insert(0, str(place.parent))
    try:
        spec.loader.exec_module(found)
    finally:
        sys.path.remove(str(place.parent))
    return found


@pytest.mark.parametrize("kind", COUNTS)
def test_changed_files_give_readings_or_sentences(hostile: ModuleType, kind: str) -> None:
    found, wrong = hostile.met(kind, COUNTS[kind])
    assert not wrong
    assert not found["refused without a word"]
    assert found["refused"] > 0
    assert found["read"] > 0


@pytest.mark.skipif(not hasattr(os, "mkfifo"), reason="named pipes are of Unix")
def test_a_named_pipe_that_nobody_writes_to_is_refused_at_once(tmp_path: Path) -> None:
    os.mkfifo(tmp_path / "pipe")
    with pytest.raises(RecordingRefused, match="no rows"):
        read_log(tmp_path / "pipe")


def test_numbers_beyond_reason_are_refused_and_never_infinite() -> None:
    rows = "\n".join(f"{at / 10:.1f},700,{'-' if at % 2 else ''}1e308" for at in range(80))
    with pytest.raises(RecordingRefused, match=r":2: column 3, 'lambda': '1e308'"):
        log_from(f"time,rpm,lambda\n{rows}", "x")
    large = "\n".join(f"{at / 10:.1f},700,{'-' if at % 2 else ''}9e11" for at in range(80))
    for one in readings_from(log_from(f"time,rpm,lambda\n{large}", "x")):
        assert "inf" not in one.text(1.0)
        assert "nan" not in one.text(1.0)
