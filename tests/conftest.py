"""Keep the tests away from the developer's own machine: home, colours, terminal size."""

from __future__ import annotations

from pathlib import Path

import pytest


@pytest.fixture(autouse=True)
def own_folders(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    """Give every test a data folder of its own, so no test reads or writes the person's casebook."""
    monkeypatch.setenv("TROUBLESHOOT_DATA", str(tmp_path / "data"))
    monkeypatch.setenv("TROUBLESHOOT_CACHE", str(tmp_path / "cache"))
    monkeypatch.delenv("NO_COLOR", raising=False)
