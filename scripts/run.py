"""Start the program: set up its environment on the first run, then hand over the arguments."""

import os
import subprocess
import sys

from environment import ready_or_leave


def main():
    """Run `troubleshoot` with the arguments given; return its exit code."""
    command = [ready_or_leave(), "-m", "troubleshoot", *sys.argv[1:]]
    if os.name == "nt":
        return subprocess.call(command)
    sys.stdout.flush()
    os.execv(command[0], command)
    return 0


if __name__ == "__main__":
    sys.exit(main())
