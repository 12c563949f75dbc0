"""Any recording read from its file by what it was said to be, ready for a case."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field
from pathlib import Path

from troubleshoot.recordings.capture import read_capture
from troubleshoot.recordings.capture_readings import AMPERES, KINDS, ProbeSet, capture_report
from troubleshoot.recordings.dialect import RecordingRefused
from troubleshoot.recordings.picks import log_with_picks
from troubleshoot.recordings.recorded import Recorded, recorded_capture, recorded_log, recorded_sound
from troubleshoot.recordings.sound import read_sound, sound_reading

LOG, SOUND = "log", "sound"
WHAT = (LOG, SOUND, *KINDS)
"""A log of the run, a sound of the exhaust, or what the probe of an oscilloscope was on."""


@dataclass(frozen=True)
class Asked:
    """A file, what it is (one of `WHAT`), the engine's cylinders and strokes, and what its kind needs.

    `full_scale` is what the highest sample of a WAV capture stands for (V or A); `chosen` leads from quantities to
    headings of a log, remembered in `memory`.
    """

    path: Path
    what: str
    cylinders: int
    full_scale: float | None = None
    chosen: Mapping[str, str] = field(default_factory=dict)
    memory: Path | None = None
    strokes: int = 4


def read_recording(asked: Asked) -> Recorded:
    """Read a recording; RecordingRefused with what is wrong and what to do."""
    if asked.what == LOG:
        return recorded_log(log_with_picks(asked.path, asked.chosen, asked.memory)[0])
    if asked.what == SOUND:
        rate, samples, mark = read_sound(asked.path)
        try:
            return recorded_sound(asked.path.name, mark, sound_reading(samples, rate, asked.cylinders, asked.strokes))
        except RecordingRefused as problem:
            raise RecordingRefused(f"{asked.path}: {problem.sentence}") from None
    capture = read_capture(asked.path, asked.full_scale, "A" if asked.what in AMPERES else "V")
    probe = ProbeSet(asked.what, asked.cylinders, strokes=asked.strokes)
    return recorded_capture(capture, probe, capture_report(capture, probe))
