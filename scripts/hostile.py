"""Try to break the program, counted: `python scripts/hostile.py [files|kills|disk|keys ...] [--files N] ...`.

    .venv/bin/python scripts/hostile.py                                     all, in the numbers of a release (hours)
    .venv/bin/python scripts/hostile.py kills keys --kills 100 --keys 5000  a short run of two parts

Exit code 1 where something acknowledged was lost, a traceback was seen, or a refusal had no words.
"""

from __future__ import annotations

import argparse
import importlib
import sys
from pathlib import Path

PARTS = {
    "files": (6700, "changed files of each of fifteen forms"),
    "kills": (1000, "kills (-9) of sessions, sittings, exports, backups and merges"),
    "disk": (10, "sizes of the room left on a full disk; the other tries of this part are made once"),
    "keys": (100_000, "keys, pastes, clicks and new sizes on the screens"),
}


def main() -> int:
    """Run the parts named, or all."""
    reads = argparse.ArgumentParser(description="Try to break the program, counted.")
    reads.add_argument("parts", nargs="*", choices=[[], *PARTS], metavar="PART", help=", ".join(PARTS))
    reads.add_argument("--seed", type=int, default=1)
    for name, (count, words) in PARTS.items():
        reads.add_argument(f"--{name}", type=int, default=count, help=f"{words}; {count} if not given")
    wanted = reads.parse_args()
    sys.path.insert(0, str(Path(__file__).parent))
    bad = 0
    for name in wanted.parts or PARTS:
        print(f"== {name}", flush=True)
        bad += importlib.import_module(f"hostile_{name}").main(getattr(wanted, name), wanted.seed)
    print(f"{bad} went wrong." if bad else "Nothing went wrong.")
    return 1 if bad else 0


if __name__ == "__main__":
    raise SystemExit(main())
