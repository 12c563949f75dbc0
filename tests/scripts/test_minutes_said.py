"""What checks are said to save, against the repairs made one by one on whole trees, by each tree's own model."""

from __future__ import annotations

import importlib.util
import sys
from pathlib import Path
from types import ModuleType

import pytest

from troubleshoot.knowledge.catalogue import load_catalogue

WITHIN = 0.10
SCRIPT = Path(__file__).parents[2] / "scripts" / "minutes_said.py"


@pytest.fixture(scope="module")
def measured(request: pytest.FixtureRequest) -> ModuleType:
    """The script, loaded as a module for this file only."""
    spec = importlib.util.spec_from_file_location("minutes_said", SCRIPT)
    assert spec is not None
    assert spec.loader is not None
    module = importlib.util.module_from_spec(spec)
    sys.modules["minutes_said"] = module
    request.addfinalizer(lambda: sys.modules.pop("minutes_said"))
    spec.loader.exec_module(module)
    return module


@pytest.mark.parametrize("concern", ["fuel-smell", "no-start"])
def test_minutes_said_are_the_minutes_saved(measured: ModuleType, concern: str) -> None:
    """In fuel-smell nearly a fifth of the weight is of causes that no concern lists."""
    found = list(measured.compared(concern, measured.problem_of(load_catalogue(), concern, "harrow-240"), 2, 2))
    assert len(found) >= 3
    for one in found:
        assert one.said == pytest.approx(one.saved, rel=WITHIN, abs=1.0)
