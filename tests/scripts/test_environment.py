"""Setting up with a Python or a network that will not do: one plain sentence and exit code 2, never a traceback.

Each case is a process of its own. A `sitecustomize` module, which Python imports before anything else, makes that
process see an old version or miss a module, so that nothing of the project is replaced.
"""

from __future__ import annotations

import os
import subprocess
import sys
from pathlib import Path

import pytest

SCRIPTS = Path(__file__).parents[2] / "scripts"

TOO_OLD = "import sys\nsys.version_info = (3, 8, 10, 'final', 0)\n"

MISSING = """
import sys

class Gone:
    def find_spec(self, name, path=None, target=None):
        if name.split(".")[0] == {name!r}:
            raise ModuleNotFoundError("No module named " + name, name=name)

sys.meta_path.insert(0, Gone())
"""

CASES = {
    "too old": (TOO_OLD, "This is Python 3.8, and the program needs 3.11 or newer."),
    "no venv": (MISSING.format(name="venv"), "This Python has no venv module."),
    "no pip": (MISSING.format(name="ensurepip"), "This Python has no pip to install packages with."),
}

UNREACHABLE = {"PIP_INDEX_URL": "http://127.0.0.1:9/simple", "PIP_RETRIES": "0", "PIP_NO_CACHE_DIR": "1"}


def ran(script: str, folder: Path, *arguments: str, **extra: str) -> subprocess.CompletedProcess[str]:
    inherited = {name: value for name, value in os.environ.items() if not name.startswith(("PIP_", "PYTHON"))}
    return subprocess.run(
        [sys.executable, str(SCRIPTS / script), *arguments],
        cwd=folder,
        env={**inherited, "TROUBLESHOOT_VENV": str(folder / "venv"), **extra},
        capture_output=True,
        text=True,
        encoding="utf-8",
        timeout=600,
        check=False,
    )


@pytest.mark.parametrize("script", ["run.py", "check.py", "prove.py"])
@pytest.mark.parametrize("case", CASES)
def test_a_python_that_will_not_do_is_told_in_a_sentence(script: str, case: str, tmp_path: Path) -> None:
    """What is wrong and what to do, on stderr alone; nothing is left behind."""
    first, sentence = CASES[case]
    (tmp_path / "sitecustomize.py").write_text(first, encoding="utf-8")
    done = ran(script, tmp_path, PYTHONPATH=str(tmp_path), PYTHONDONTWRITEBYTECODE="1")
    assert done.returncode == 2
    assert done.stderr.startswith(sentence)
    assert "Install" in done.stderr
    assert "Traceback" not in done.stderr
    assert done.stdout == ""
    assert len(done.stderr.splitlines()) == 1
    assert [one.name for one in tmp_path.iterdir()] == ["sitecustomize.py"]


@pytest.mark.slow
def test_an_unreachable_registry_is_told_and_the_next_run_tries_again(tmp_path: Path) -> None:
    """Port 9 (discard, RFC 863) has no listener; pip's words come first, then ours, and no stamp says ready.

    It begins with a set-up that was cut short, a folder with a Python but no pip, which is made whole first.
    """
    subprocess.run([sys.executable, "-m", "venv", "--without-pip", str(tmp_path / "venv")], check=True)
    done = ran("run.py", tmp_path, "--version", PIP_CONFIG_FILE=os.devnull, **UNREACHABLE)
    assert done.returncode == 2
    assert done.stderr.splitlines()[-1].startswith("The packages could not be installed; pip's own words are above.")
    assert "Traceback" not in done.stderr
    assert "No module named pip" not in done.stderr
    assert done.stdout == ""
    assert not (tmp_path / "venv" / "installed-from").exists()


@pytest.mark.parametrize("arguments", [["--list"], ["--list", "--fast"]])
def test_the_checks_are_named_without_setting_up(arguments: list[str], tmp_path: Path) -> None:
    done = ran("check.py", tmp_path, *arguments)
    assert done.returncode == 0
    assert done.stdout.startswith("style, ")
    assert not list(tmp_path.iterdir())


@pytest.mark.parametrize(("script", "word"), [("check.py", "--quick"), ("write_readme.py", "--chek")])
def test_a_mistyped_option_does_nothing_but_say_so(script: str, word: str, tmp_path: Path) -> None:
    """So that nobody waits for the slow tests, or finds the README written, by a slip of the finger."""
    done = ran(script, tmp_path, word)
    assert done.returncode == 2
    assert done.stdout == ""
    assert "or nothing" in done.stderr
    assert not list(tmp_path.iterdir())


def test_a_folder_that_cannot_be_made_is_told(tmp_path: Path) -> None:
    """A file stands where the folder should be."""
    (tmp_path / "venv").write_text("", encoding="utf-8")
    done = ran("run.py", tmp_path)
    assert done.returncode == 2
    assert "cannot be made into an environment" in done.stderr
    assert "Traceback" not in done.stderr
