"""Start the program: set up its environment on the first run, then hand over the arguments."""

import os
import subprocess
import sys

from environment import NotReady, ready


def main():
    """Run `troubleshoot` with the arguments given; return its exit code."""
    try:
        python = ready()
    except NotReady as problem:
        sys.stderr.write("%s\n" % problem)
        return 2
    except KeyboardInterrupt:
        sys.stderr.write("Stopped before the set-up was finished; run the command again to go on.\n")
        return 130
    command = [python, "-m", "troubleshoot", *sys.argv[1:]]
    if os.name == "nt":
        return subprocess.call(command)
    sys.stdout.flush()
    os.execv(python, command)
    return 0


if __name__ == "__main__":
    sys.exit(main())
