"""The arrows between the layers, seen in a fresh interpreter."""

from __future__ import annotations

import subprocess
import sys

import pytest


def loaded_after(code: str) -> set[str]:
    """Return the top-level modules and our packages loaded after running code in a fresh Python."""
    script = code + "\nimport sys; print('\\n'.join(sys.modules))"
    done = subprocess.run([sys.executable, "-c", script], capture_output=True, text=True, check=True)
    return set(done.stdout.splitlines())


def test_the_version_is_told_without_the_heavy_libraries() -> None:
    """`troubleshoot --version` imports no Textual, numpy, pint or YAML."""
    code = (
        "import sys\nfrom troubleshoot.__main__ import main\nsys.argv = ['troubleshoot', '--version']\n"
        "try:\n    main()\nexcept SystemExit:\n    pass\n"
    )
    assert not loaded_after(code) & {"textual", "numpy", "pint", "ruamel.yaml", "troubleshoot.tui.app"}


@pytest.mark.parametrize(
    ("module", "never"),
    [
        ("troubleshoot.reasoning.worth", {"textual", "ruamel.yaml", "sqlite3", "pint", "troubleshoot.knowledge"}),
        ("troubleshoot.calculations.registry", {"textual", "ruamel.yaml", "sqlite3", "numpy", "pint"}),
        ("troubleshoot.knowledge.catalogue", {"textual", "sqlite3", "pint"}),
        ("troubleshoot.casebook.store", {"textual", "ruamel.yaml", "numpy", "troubleshoot.knowledge"}),
        ("troubleshoot.case.case", {"textual"}),
        ("troubleshoot.virtual_engine.readings", {"textual", "ruamel.yaml", "sqlite3", "troubleshoot.knowledge"}),
        ("troubleshoot.cli.app", {"textual"}),
    ],
)
def test_a_layer_loads_only_what_is_below_it(module: str, never: set[str]) -> None:
    """Importing a layer pulls in nothing that belongs above or beside it."""
    loaded = loaded_after(f"import {module}")
    assert not loaded & never
