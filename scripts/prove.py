"""Run the proof of the trees: `python3 scripts/prove.py --cases 2000` (the options of `troubleshoot prove`)."""

import subprocess
import sys

from environment import ready_or_leave

if __name__ == "__main__":
    sys.exit(subprocess.call([ready_or_leave(), "-m", "troubleshoot", "prove", *sys.argv[1:]]))
