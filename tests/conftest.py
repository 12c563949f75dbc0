"""Keep the tests away from the developer's own machine: casebook, trees, cache, colours."""

from __future__ import annotations

import gc
import os
import shutil
import signal
import tempfile
from pathlib import Path

import pytest
from hypothesis import HealthCheck, settings

from troubleshoot.__main__ import use_one_thread

use_one_thread()
"""As the program does: small matrices wait for no other thread, and workers do not crowd each other."""

settings.register_profile(
    "steady", derandomize=True, database=None, deadline=None, suppress_health_check=[HealthCheck.too_slow]
)
settings.register_profile("search", max_examples=500, deadline=None, suppress_health_check=[HealthCheck.too_slow])
settings.load_profile("steady")
"""Property tests draw the same examples each time, on any machine and however busy it is.

`pytest --hypothesis-profile search` draws new ones, to look for what the same ones do not show.
"""

FOLDER = pytest.StashKey[str]()


def pytest_configure(config: pytest.Config) -> None:
    """Give the whole run folders of its own before anything is collected: some modules read the trees as they load.

    The cache is shared by all tests of a process, so that the shipped trees are read once and not by every test.
    """
    if signal.getsignal(signal.SIGINT) is signal.SIG_IGN:
        # A shell without job control starts what runs behind so, and every program that a test starts would inherit it.
        signal.signal(signal.SIGINT, signal.default_int_handler)
    folder = config.stash[FOLDER] = tempfile.mkdtemp(prefix="troubleshoot-tests-")
    os.environ.pop("TROUBLESHOOT_TREES", None)
    os.environ["TROUBLESHOOT_DATA"] = str(Path(folder) / "data")
    os.environ["TROUBLESHOOT_CACHE"] = str(Path(folder) / "cache")


def pytest_collection_finish(session: pytest.Session) -> None:
    """Let the collector of garbage pass over what stays to the end: all the tests, and the modules they come from."""
    gc.collect()
    gc.freeze()
    gc.set_threshold(10_000, 20, 20)


def pytest_unconfigure(config: pytest.Config) -> None:
    """Take those folders away again."""
    shutil.rmtree(config.stash[FOLDER], ignore_errors=True)


def pytest_collection_modifyitems(items: list[pytest.Item]) -> None:
    """Put the files with slow tests first; a worker takes whole files, whose tests share what they make."""
    slow = {item.path for item in items if item.get_closest_marker("slow")}
    items.sort(key=lambda item: item.path not in slow)


@pytest.fixture(autouse=True)
def own_folders(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    """Give every test a data folder of its own, so that no test finds the casebook of another."""
    monkeypatch.setenv("TROUBLESHOOT_DATA", str(tmp_path / "data"))
    for name in ("NO_COLOR", "LC_ALL", "LC_CTYPE", "LANG"):
        monkeypatch.delenv(name, raising=False)
