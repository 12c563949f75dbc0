"""One sound set of inputs for every calculation, in trade units, away from kinks of tables."""

import json
from pathlib import Path

import pytest


@pytest.fixture(scope="session")
def samples() -> dict:
    return json.loads((Path(__file__).parent / "samples.json").read_text(encoding="utf-8"))


def pytest_generate_tests(metafunc):
    """Run a test that asks for `sample_name` once for every calculation."""
    if "sample_name" in metafunc.fixturenames:
        text = (Path(__file__).parent / "samples.json").read_text(encoding="utf-8")
        metafunc.parametrize("sample_name", list(json.loads(text)))
