"""Check everything: style, types, layers, trees, tests, and the wheel in an empty environment.

`--fast` leaves out the slow tests and the wheel; `--list` only names the checks.
"""

import os
import shutil
import subprocess
import sys
import tempfile
import time

from environment import ROOT, python_in, ready_or_leave


def steps(python, fast):
    """Return (name, command) for every check, cheapest first."""
    tool = os.path.dirname(python)
    # Two for each processor, since half of a test on the screens is waiting. tests/conftest.py says what they take.
    workers = str(min(8, 2 * (os.cpu_count() or 1)))
    tests = [python, "-m", "pytest", "-n", workers, "--dist", "loadfile", "--no-loadscope-reorder"]
    if fast:
        tests += ["-m", "not slow"]
    return [
        ("style", [python, "-m", "ruff", "check", "."]),
        ("layout of the code", [python, "-m", "ruff", "format", "--check", "."]),
        ("layers", [os.path.join(tool, "lint-imports")]),
        ("types", [python, "-m", "mypy"]),
        ("trees", [python, "-m", "troubleshoot", "lint"]),
        ("tests", tests),
    ]


def run(name, command, where=ROOT):
    """Run one check, say how long it took, and tell whether it passed."""
    sys.stderr.write("-- %s\n" % name)
    sys.stderr.flush()
    began = time.monotonic()
    passed = subprocess.call(command, cwd=where) == 0
    sys.stderr.write("   %s, %.0f s\n" % ("passed" if passed else "FAILED", time.monotonic() - began))
    return passed


def pythons():
    """Return the Pythons from 3.11 to 3.13 that run here, the one that runs this first."""
    found = [sys.executable]
    for minor in (11, 12, 13):
        for place in os.get_exec_path() if minor != sys.version_info[1] else []:
            name = shutil.which("python3.%d" % minor, path=place)
            quiet = {"stdout": subprocess.DEVNULL, "stderr": subprocess.DEVNULL}
            if name and subprocess.call([name, "-c", "import venv"], **quiet) == 0:
                found.append(name)
                break
    return found


def wheel_works(python):
    """Build the wheel, install it in an empty environment of each Python and find a fault from another folder."""
    with tempfile.TemporaryDirectory() as folder:
        wheels = os.path.join(folder, "wheels")
        if not run(
            "wheel built",
            [python, "-m", "pip", "wheel", "-q", "--disable-pip-version-check", "--no-deps", "-w", wheels, ROOT],
        ):
            return False
        wheel = os.path.join(wheels, os.listdir(wheels)[0])
        readings = os.path.join(folder, "readings.yaml")
        with open(readings, "w", encoding="utf-8") as file:
            file.write("pressure-when-lean: 38 psi\nsuction-vacuum: 11 inHg\n")
        for number, version in enumerate(pythons()):
            empty = os.path.join(folder, "empty%d" % number)
            fresh = python_in(empty)
            rank = ["rank", "lean-top", "--car", "tarn-six-160", "--readings", readings]
            commands = [
                ("empty environment of %s" % version, [version, "-m", "venv", empty]),
                ("wheel installed", [fresh, "-m", "pip", "install", "-q", "--disable-pip-version-check", wheel]),
                ("wheel runs", [fresh, "-m", "troubleshoot", "--version"]),
                ("wheel carries the trees", [fresh, "-m", "troubleshoot", "lint"]),
                ("wheel ranks causes", [fresh, "-m", "troubleshoot", *rank]),
            ]
            if not all(run(name, command, where=folder) for name, command in commands):
                return False
        return True


def main():
    """Run every check and return 0 only when all passed."""
    if {"-h", "--help"} & set(sys.argv[1:]):
        sys.stdout.write(__doc__)
        return 0
    for word in sys.argv[1:]:
        if word not in ("--fast", "--list"):
            sys.stderr.write("There is nothing called %s here. Give --fast, --list or nothing.\n" % word)
            return 2
    fast = "--fast" in sys.argv[1:]
    if "--list" in sys.argv[1:]:
        names = [name for name, _ in steps(sys.executable, fast)] + ([] if fast else ["wheel in an empty environment"])
        sys.stdout.write("%s\n" % ", ".join(names))
        return 0
    python = ready_or_leave("test")
    failed = [name for name, command in steps(python, fast) if not run(name, command)]
    if not fast and not wheel_works(python):
        failed.append("wheel")
    sys.stderr.write("All checks passed.\n" if not failed else "Failed: %s.\n" % ", ".join(failed))
    return 1 if failed else 0


if __name__ == "__main__":
    sys.exit(main())
