"""The command that hears the engine speed."""

from __future__ import annotations

import json
from pathlib import Path

from tests.cli.conftest import Command
from troubleshoot.classroom.handed_files import wav_of
from troubleshoot.virtual_engine.exhaust_sound import exhaust_sound


def test_idle_speed_from_a_sound(command: Command, tmp_path: Path) -> None:
    (tmp_path / "idle.wav").write_bytes(wav_of(exhaust_sound([0, 6], [800, 800], 8, 8000.0), 8000))
    ran = command("sound", "idle.wav", "--car", "harrow-240")
    assert ran.code == 0
    assert ran.out.startswith("idle-speed: 80") or ran.out.startswith("idle-speed: 79")
    data = json.loads(command("sound", "idle.wav", "--cylinders", "8", "--json").out)
    assert "idle-speed" in data["readings"]
    assert command("sound", "idle.wav").code == 2
    (tmp_path / "mine.yaml").write_text("cylinders: 4\nstrokes: 2\n", encoding="utf-8")
    assert command("sound", "idle.wav", "--car", "mine.yaml").out.startswith("idle-speed: 80")  # as many firings
    assert "2 or 4" in command("sound", "idle.wav", "--cylinders", "4", "--strokes", "3").err
    (tmp_path / "no.wav").write_bytes(b"RIFF" + b"\0" * 60)
    refused = command("sound", "no.wav", "--cylinders", "8")
    assert refused.code == 2
    assert "WAV" in refused.err
