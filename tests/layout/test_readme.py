"""The README shows what the program really does."""

from __future__ import annotations

import subprocess
import sys
from pathlib import Path

import pytest

ROOT = Path(__file__).parents[2]


@pytest.mark.slow
def test_the_readme_shows_real_runs() -> None:
    """The commands, the session screen and the ranking in the README are what the program prints today."""
    done = subprocess.run(
        [sys.executable, "scripts/write_readme.py", "--check"], cwd=ROOT, capture_output=True, text=True, check=False
    )
    assert done.returncode == 0, done.stderr


def test_the_readme_opens_with_the_whole_job() -> None:
    """The first paragraph names the whole job."""
    first = (ROOT / "README.md").read_text(encoding="utf-8").split("\n\n")[1]
    for word in (
        "baselines",
        "converts",
        "rev",
        "surges",
        "floods",
        "lean",
        "start",
        "measurement",
        "mended",
        "retested",
    ):
        assert word in first
