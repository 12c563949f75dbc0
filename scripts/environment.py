"""Make the project's own Python environment in `.venv` and say plainly what is missing when that fails.

Standard library only, and written so that an old Python can read it far enough to be told it is too old.
"""

import hashlib
import os
import subprocess
import sys

ROOT = os.path.dirname(os.path.dirname(os.path.abspath(__file__)))
FOLDER = os.environ.get("TROUBLESHOOT_VENV") or os.path.join(ROOT, ".venv")
OLDEST = (3, 11)


class NotReady(Exception):
    """The environment cannot be made; the text says why and what to do."""


def python_in(folder):
    """Return the path of the Python inside an environment folder."""
    if os.name == "nt":
        return os.path.join(folder, "Scripts", "python.exe")
    return os.path.join(folder, "bin", "python")


def stamp_for(extra):
    """Return the text that says what the environment was made from: settings, Python, extras."""
    with open(os.path.join(ROOT, "pyproject.toml"), "rb") as settings:
        content = settings.read()
    return "%s %d.%d %s" % (hashlib.sha256(content).hexdigest(), sys.version_info[0], sys.version_info[1], extra)


def is_ready(folder, extra):
    """Tell whether the environment already holds the package, with the wanted extra, from these settings."""
    try:
        with open(os.path.join(folder, "installed-from"), encoding="utf-8") as stamp:
            have = stamp.read().split("\n")
    except OSError:
        return False
    wanted = stamp_for(extra)
    return os.path.exists(python_in(folder)) and (wanted in have or (extra == "" and stamp_for("test") in have))


def check_python():
    """Raise NotReady when this Python cannot make the environment."""
    if sys.version_info[:2] < OLDEST:
        raise NotReady(
            "This is Python %d.%d, and the program needs 3.11 or newer. "
            "Install a newer Python from your system's packages or python.org and run the command with it."
            % (sys.version_info[0], sys.version_info[1])
        )
    try:
        import venv  # noqa: F401 - only whether it is there
    except ImportError:
        raise NotReady(
            "This Python has no venv module. Install it (on Debian or Ubuntu: apt install python3-venv) and run again."
        ) from None
    try:
        import ensurepip  # noqa: F401 - only whether it is there
    except ImportError:
        raise NotReady(
            "This Python has no pip to install packages with. "
            "Install it (on Debian or Ubuntu: apt install python3-venv python3-pip) and run again."
        ) from None


def make_folder(folder):
    """Create the empty environment, with its own pip."""
    import venv

    try:
        venv.EnvBuilder(with_pip=True, clear=False, symlinks=os.name != "nt").create(folder)
    except (OSError, ValueError, subprocess.CalledProcessError) as problem:
        raise NotReady(
            "The folder %s cannot be made into an environment (%s). "
            "Check that the folder can be written and that there is room on the disk." % (folder, problem)
        ) from None


def install(folder, extra):
    """Install the package into the environment, with pip's own progress shown."""
    what = ROOT + ("[" + extra + "]" if extra else "")
    command = [python_in(folder), "-m", "pip", "install", "--disable-pip-version-check", "-e", what]
    if not sys.stderr.isatty():
        command.insert(4, "--quiet")
    done = subprocess.run(command, stdout=sys.stderr, cwd=ROOT, check=False)
    if done.returncode != 0:
        raise NotReady(
            "The packages could not be installed; pip's own words are above. "
            "Most often the package registry cannot be reached: "
            "check the network or the proxy, then run the command again."
        )


def ready(extra=""):
    """Return the Python of the environment, made and filled first when needed; raises NotReady."""
    if not is_ready(FOLDER, extra):
        check_python()
        sys.stderr.write("Setting up in %s; this happens once and takes a minute or two.\n" % FOLDER)
        stamp = os.path.join(FOLDER, "installed-from")
        if not os.path.exists(stamp) or not os.path.exists(python_in(FOLDER)):
            make_folder(FOLDER)  # again where a set-up was cut short: it may have no pip yet
        install(FOLDER, extra)
        with open(stamp, "w", encoding="utf-8") as file:
            file.write(stamp_for(extra) + "\n")
    return python_in(FOLDER)


def ready_or_leave(extra=""):
    """Return the Python of the environment, or leave the program with a sentence and an exit code."""
    try:
        return ready(extra)
    except NotReady as problem:
        sys.stderr.write("%s\n" % problem)
        sys.exit(2)
    except KeyboardInterrupt:
        sys.stderr.write("Stopped before the set-up was finished; run the command again to go on.\n")
        sys.exit(130)
