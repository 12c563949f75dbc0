"""Write the parts of the README that come from real runs: `python scripts/write_readme.py [--check]`.

With `--check` nothing is written; the exit code is 1 when a part is stale.
"""

from __future__ import annotations

import asyncio
import re
import subprocess
import sys
import tempfile
from pathlib import Path

ROOT = Path(__file__).parents[1]
README = ROOT / "README.md"
PICTURE = ROOT / "scripts" / "pictures" / "session.svg"
CASE_BEGAN = 1_790_000_000.0
ANSWERS = (("pressure-at-idle", "58 psi"), ("pressure-when-lean", "38 psi"))


def command_part() -> str:
    """Return the two commands with what they really say."""
    version = told([sys.executable, "scripts/run.py", "--version"], ROOT)
    checks = told([sys.executable, "scripts/check.py", "--list"], ROOT)
    return fenced(
        "$ python3 scripts/run.py              # sets itself up on the first run, then opens the screens\n"
        f"$ python3 scripts/run.py --version\n{version}\n"
        f"$ python3 scripts/check.py --list     # without --list it runs them all\n{checks}"
    )


def session_picture() -> str:
    """Return the session screen at 100 x 28 after two readings, as SVG that loads nothing from elsewhere."""
    with tempfile.TemporaryDirectory() as folder:
        drawn = asyncio.run(session_screen(Path(folder)))
    return re.sub(r"@font-face \{.*?\}\s*", "", drawn, flags=re.DOTALL)


async def session_screen(folder: Path) -> str:
    """Take two readings on an example car and return the screen that follows, as SVG."""
    from troubleshoot.case.case import open_case
    from troubleshoot.casebook.store import Casebook
    from troubleshoot.knowledge.catalogue import load_catalogue
    from troubleshoot.tui.app import TroubleshootApp
    from troubleshoot.tui.screens.caution import CautionScreen
    from troubleshoot.tui.workspace import Workspace

    path = folder / "casebook.sqlite"
    trees = load_catalogue()
    with_casebook = Casebook(path)
    case = open_case(with_casebook, trees, lambda: CASE_BEGAN)
    case.start_with(trees.cars["tarn-six-160"], ["lean-top"])
    for check, text in ANSWERS:
        case.take(check, text)
    for caution in trees.cautions:
        case.acknowledge(caution)
    with_casebook.close()
    app = TroubleshootApp(Workspace(None, path, lambda: CASE_BEGAN), case.case_id)
    async with app.run_test(size=(100, 28)) as pilot:
        await pilot.pause()
        await app.workers.wait_for_complete()
        await pilot.pause()
        while isinstance(app.screen, CautionScreen):
            await pilot.press("y")
            await pilot.pause()
        return app.export_screenshot(title="Troubleshoot")


PARTS = {"commands": command_part}


def told(command: list[str], folder: Path) -> str:
    """Return what a command prints; raises when it fails."""
    done = subprocess.run(command, cwd=folder, capture_output=True, text=True, encoding="utf-8", check=True)
    return done.stdout.rstrip()


def words_of(picture: str) -> list[str]:
    """Return the words an SVG shows, without where and how they are drawn."""
    return re.findall(r">([^<>]+)</text>", picture)


def fenced(text: str) -> str:
    """Return text as a block that is shown as it stands."""
    return f"```text\n{text.rstrip()}\n```"


def with_parts(readme: str) -> str:
    """Return the README with every marked part made anew."""
    for name, make in PARTS.items():
        marked = re.compile(rf"(<!-- {name}: made by scripts/write_readme.py -->\n).*?(<!-- end -->)", re.DOTALL)
        made = make()
        readme, count = marked.subn(lambda found, made=made: f"{found[1]}{made}\n{found[2]}", readme)
        if count != 1:
            raise SystemExit(f"README.md has {count} parts marked {name}; it needs exactly one.")
    return readme


def main() -> int:
    """Write the README, or tell whether it is stale."""
    if sys.argv[1:] not in ([], ["--check"]):
        sys.stderr.write(f"{__doc__}\nGive --check or nothing.\n")
        return 2
    before = README.read_text(encoding="utf-8")
    after = with_parts(before)
    picture = session_picture()
    if "--check" in sys.argv[1:]:
        stale = before != after or words_of(PICTURE.read_text(encoding="utf-8")) != words_of(picture)
        if stale:
            sys.stderr.write("README.md is stale: run .venv/bin/python scripts/write_readme.py and commit it.\n")
        return int(stale)
    README.write_text(after, encoding="utf-8")
    PICTURE.parent.mkdir(exist_ok=True)
    PICTURE.write_text(picture, encoding="utf-8")
    return 0


if __name__ == "__main__":
    sys.exit(main())
