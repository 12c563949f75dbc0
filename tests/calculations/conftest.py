"""One sound set of inputs for every calculation, in trade units, away from kinks of tables."""

import pytest

from troubleshoot.calculations.samples import samples as known


@pytest.fixture(scope="session")
def samples() -> dict:
    return known()


def pytest_generate_tests(metafunc):
    """Run a test that asks for `sample_name` once for every calculation."""
    if "sample_name" in metafunc.fixturenames:
        metafunc.parametrize("sample_name", list(known()))
