"""The command that reads oscilloscope captures."""

from __future__ import annotations

import json
from pathlib import Path

import numpy as np

from tests.cli.conftest import Command
from troubleshoot.virtual_engine import captures
from troubleshoot.virtual_engine.captures import Ignition


def written(path: Path, values: np.ndarray, unit: str, rate: float) -> None:
    rows = "\n".join(f"{at / rate:.6f},{one:.5g}" for at, one in enumerate(values))
    path.write_text(f"Time (s),Probe ({unit})\n{rows}\n", encoding="utf-8")


def test_dwell_from_points(command: Command, tmp_path: Path) -> None:
    written(tmp_path / "coil.csv", captures.coil_minus(Ignition(8, (30.0,)), [750.0], 10_000.0, 2.0), "V", 10_000.0)
    ran = command("capture", "coil.csv", "coil", "--car", "harrow-240")
    assert ran.code == 0
    assert ran.out.startswith("dwell-at-idle: 3") or ran.out.startswith("dwell-at-idle: 29.")
    assert "Engine speed 750" in ran.err
    data = json.loads(command("capture", "coil.csv", "coil", "--cylinders", "8", "--json").out)
    assert list(data["readings"]) == ["dwell-at-idle"]


def test_what_is_wrong_is_said_with_what_to_do(command: Command, tmp_path: Path) -> None:
    written(tmp_path / "coil.csv", captures.coil_minus(Ignition(8, (30.0,)), [750.0], 10_000.0, 1.0), "V", 10_000.0)
    for words, said in (
        (("coil.csv", "coil"), "--cylinders"),
        (("coil.csv", "lamp"), "no place for a probe"),
        (("coil.csv", "pump"), "--channel"),
        (("none.csv", "coil", "--cylinders", "8"), "cannot be read"),
    ):
        ran = command("capture", *words)
        assert ran.code == 2
        assert said in ran.err
