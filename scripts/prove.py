"""Run the proof of the trees: `python3 scripts/prove.py --cases 2000` (the options of `troubleshoot prove`)."""

import subprocess
import sys

from environment import NotReady, ready

if __name__ == "__main__":
    try:
        python = ready()
    except NotReady as problem:
        sys.stderr.write("%s\n" % problem)
        sys.exit(2)
    sys.exit(subprocess.call([python, "-m", "troubleshoot", "prove", *sys.argv[1:]]))
