"""Files that the bench of a drill hands out as the answer of checks: a log, a sound or a capture of the car set.

The virtual engine makes them in the car's state; the trainee reads them with the program, and what the program reads
there is the reading. Where a file cannot be read, the bench tells the number.
"""

from __future__ import annotations

import base64
import io
import math
import tempfile
import wave
import zlib
from collections.abc import Callable, Collection, Mapping
from dataclasses import dataclass, replace
from functools import lru_cache
from pathlib import Path
from typing import Literal

from troubleshoot.bench.virtual_bench import CarJob
from troubleshoot.classroom.drill_file import HandedFile
from troubleshoot.knowledge.catalogue import Catalogue
from troubleshoot.problems import TroubleshootError
from troubleshoot.recordings.log import log_from
from troubleshoot.recordings.quantities import SPEED
from troubleshoot.recordings.reading_files import LOG, SOUND, Asked, read_recording
from troubleshoot.recordings.recorded import Recorded
from troubleshoot.recordings.stretches import idle
from troubleshoot.virtual_engine import captures
from troubleshoot.virtual_engine.engines import nominal
from troubleshoot.virtual_engine.exhaust_sound import exhaust_sound
from troubleshoot.virtual_engine.faults import fault
from troubleshoot.virtual_engine.parameters import Values
from troubleshoot.virtual_engine.traces import Trace, trace

FileKind = Literal["log", "sound", "capture"]
FILE_KINDS: tuple[FileKind, ...] = ("log", "sound", "capture")
LOGS = ("warm-idle", "pull")
"""Runs of which a log is handed out."""
SOUND_HZ, SOUND_S, SOUND_DB = 8000, 6.0, 14.0
FIELD_HZ_A_RPM, DIODE = 0.25, "alternator_diode_bad"
"""Turns of an alternator's field by engine speed (six pairs of poles, pulleys of 2.5 to 1: common practice)."""
CAPTURE_HZ, CRANKING_HZ = 10_000.0, 2500.0
READ_IN_FILES = ("injector-opening-delay",)
"""Checks that the bench answers by a file alone: their captures are made of what the engine has, without a number."""
SLOWEST_HEARD = 450.0
"""rpm under which the engine does not run well enough to be recorded at the tail pipe."""
MOST_BYTES = 4_000_000
"""Of one file, unpacked."""
Readings = Mapping[str, float]


def file_kinds(named: Collection[str]) -> tuple[FileKind, ...]:
    """Return the kinds of files named; TroubleshootError for another word."""
    for one in named:
        if one not in FILE_KINDS:
            raise TroubleshootError(f"{one[:30]!r} is no file that is handed out.", f"Use {', '.join(FILE_KINDS)}.")
    return tuple(one for one in FILE_KINDS if one in named)


def files_for(
    job: CarJob, faults: tuple[tuple[str, float], ...], readings: Readings, kinds: Collection[str],
    answered: Collection[str], catalogue: Catalogue,
) -> dict[str, HandedFile]:  # fmt: skip
    """Return the files of these kinds for a car with these faults left, by name.

    `readings` are the engine's own for that state, `answered` the checks that can be measured there; each check is
    handed out in one file only.
    """
    made: dict[str, HandedFile] = {}
    free = set(answered)
    for name, what, content in _made(job, faults, readings, kinds):
        file = HandedFile(what=what, checks=(), content=base64.b64encode(zlib.compress(content, 9)).decode())
        cylinders = int(nominal(job.engine, job.ignition)["cylinders"])
        found = tuple(one for one in texts_of(name, file, cylinders, catalogue, free))
        if found:
            free -= set(found)
            made[name] = HandedFile(what=what, checks=found, content=file.content)
    return made


def _made(
    job: CarJob, faults: tuple[tuple[str, float], ...], readings: Readings, kinds: Collection[str]
) -> list[tuple[str, str, bytes]]:
    """Return name, kind and bytes of each file."""
    runs = {one: trace(job.engine, job.ignition, faults, one, job.seed) for one in LOGS} if kinds else {}
    found: list[tuple[str, str, bytes]] = []
    if (
        "sound" in kinds
        and (heard := _sound(runs["warm-idle"], int(nominal(job.engine, job.ignition)["cylinders"]))) is not None
    ):
        found.append(("idle.wav", SOUND, heard))
    if "log" in kinds:
        found += [(f"{name}.csv", LOG, one.to_csv().encode()) for name, one in runs.items()]
    if "capture" in kinds:
        found += _captures(job, faults, readings)
    return found


def _sound(run: Trace, cylinders: int) -> bytes | None:
    """Return the end of a warm idle as it sounds at the tail pipe, as WAV; None where it hardly idles."""
    found = idle(log_from(run.to_csv(), "warm-idle"))
    if found is None or found.seconds < SOUND_S or not float(found.values(SPEED).min()) > SLOWEST_HEARD:
        return None
    last = found.part(float(found.time[-1]) - SOUND_S, math.inf)
    moments, speeds = last.samples(SPEED)
    moments = moments - moments[0]
    heard = exhaust_sound(moments.tolist(), speeds.tolist(), cylinders, SOUND_HZ, SOUND_DB)
    return wav_of(heard, SOUND_HZ)


def _captures(job: CarJob, faults: tuple[tuple[str, float], ...], readings: Readings) -> list[tuple[str, str, bytes]]:
    """Return captures of coil minus at idle, the pump's current, and the starter's while cranking."""
    cylinders, seed = int(nominal(job.engine, job.ignition)["cylinders"]), job.seed % 2**32
    found = []
    dwell, speed = readings.get("dwell_deg", math.nan), readings.get("idle_rpm", math.nan)
    if job.ignition == "points" and math.isfinite(dwell) and 0 < dwell < 360 / cylinders and speed > SLOWEST_HEARD:
        points = captures.Ignition(cylinders, (dwell,), scatter_deg=0.3)
        volts = captures.coil_minus(points, [speed], CAPTURE_HZ, 1.0, seed=seed)
        found.append(("coil.csv", "coil", columns_of(volts, CAPTURE_HZ, "coil minus (V)")))
    amperes = readings.get("pump_a", math.nan)
    if amperes > 1.0:
        flow = captures.pump_current(5200.0, 8, CAPTURE_HZ, 0.5, mean_a=amperes, seed=seed)
        found.append(("pump.csv", "pump", columns_of(flow, CAPTURE_HZ, "pump (A)")))
    cranks = readings.get("crank_rpm", math.nan)
    if cranks > 60.0:
        load = captures.cranking_current(cranks, (1.0,) * cylinders, CRANKING_HZ, 4.0, seed=seed)
        found.append(("starter.csv", "starter", columns_of(load, CRANKING_HZ, "starter (A)")))
    return found + (_idle_captures(job, faults, readings, seed) if speed > SLOWEST_HEARD else [])


def _idle_captures(
    job: CarJob, faults: tuple[tuple[str, float], ...], readings: Readings, seed: int
) -> list[tuple[str, str, bytes]]:
    """Return captures of an injector's current and of the battery volts, at idle."""
    speed, volts = readings["idle_rpm"], readings.get("batt_run_v", math.nan)
    fed, pulse = readings.get("inj_feed_v", math.nan), readings.get("idle_pw_ms", math.nan)
    found = []
    if math.isfinite(volts):
        lost = sum(fault(name).changes["diodes_lost"](0.0, size) for name, size in faults if name == DIODE)
        root = readings["ripple_v"]
        turning = speed * FIELD_HZ_A_RPM
        seen = captures.battery_ripple(turning, CAPTURE_HZ, 0.4, lost, seed=seed, volts=volts, root_v=root)
        found.append(("ripple.csv", "ripple", columns_of(seen, CAPTURE_HZ, "battery (V)")))
    if fed > 8.0 and pulse > 1.0:
        wide, fed = round(min(max(pulse, 2.5), 8.0), 2), round(fed, 2)  # a pulse that is cut too early shows no opening
        delay = round(1e3 * float(nominal(job.engine, job.ignition)["injector_delay"]) * (13.5 / fed) ** 1.6, 3)
        flow = captures.injector_current(delay, wide, CAPTURE_HZ, 1.5, speed, fed, seed=seed)
        found.append(("injector.csv", "injector", columns_of(flow, CAPTURE_HZ, "injector (A)")))
    return found


def wav_of(values: Values, rate_hz: int) -> bytes:
    """Return samples from -1 to 1 as a WAV of one channel."""
    out = io.BytesIO()
    with wave.open(out, "wb") as file:
        file.setnchannels(1)
        file.setsampwidth(2)
        file.setframerate(rate_hz)
        file.writeframes((values * 32767).astype("<i2").tobytes())
    return out.getvalue()


def columns_of(values: Values, rate_hz: float, heading: str) -> bytes:
    """Return a capture as text in columns."""
    rows = "".join(f"{at / rate_hz:.4f},{one:.4g}\n" for at, one in enumerate(values))
    return f"time (s),{heading}\n{rows}".encode()


def content_of(file: HandedFile) -> bytes:
    """Return the bytes of a file; TroubleshootError for one that is damaged."""
    try:
        unpacking = zlib.decompressobj()
        content = unpacking.decompress(base64.b64decode(file.content, validate=True), MOST_BYTES)
    except (ValueError, zlib.error):
        content = b""
    if not content or unpacking.unconsumed_tail:
        raise TroubleshootError("A file of this drill is damaged.", "Ask the trainer for the drill again.")
    return content


@lru_cache(maxsize=32)
def recorded_of(name: str, file: HandedFile, cylinders: int) -> Recorded:
    """Return a file as the program reads it; TroubleshootError where it cannot be read."""
    with tempfile.TemporaryDirectory() as folder:
        path = Path(folder) / name
        path.write_bytes(content_of(file))
        return read_recording(Asked(path, file.what, cylinders))


def texts_of(
    name: str, file: HandedFile, cylinders: int, catalogue: Catalogue, wanted: Collection[str]
) -> dict[str, str]:
    """Return what the program reads in a file for each of these checks, as it would be typed; nothing if it cannot."""
    try:
        recorded = recorded_of(name, file, cylinders)
    except TroubleshootError:
        return {}
    found = {}
    for one in recorded.readings:
        check = catalogue.checks.get(one.check)
        if one.check in wanted and check is not None and check.reading is not None:
            low, high = check.reading.plausible
            if low <= one.value <= high:
                found[one.check] = one.text(check.uncertainty)
    return found


@dataclass(frozen=True)
class Handed:
    """A file handed out for a check."""

    name: str
    file: HandedFile
    recorded: Recorded
    """What the program reads in it, cut to the checks that it is handed out for."""
    cautions_first: tuple[str, ...] = ()
    """Checks that it answers too, once their cautions have been read."""


def cautions_first(handed: Handed, catalogue: Catalogue) -> tuple[str, ...]:
    """Return in words what a file tells too, once the cautions of those checks have been read; nothing if nothing."""
    asks = "; ".join(catalogue.checks[one].ask.rstrip("?") for one in handed.cautions_first)
    return (f"It tells more; choose these and read their cautions first: {asks}.",) if asks else ()


@dataclass
class Handing:
    """The files that a bench hands out in the car's present state."""

    files: Callable[[], Mapping[str, HandedFile]]
    catalogue: Catalogue
    cylinders: int

    def text(self, check: str) -> str | None:
        """Return what is read for a check in the file that is handed out for it; None where there is none."""
        for name, file in self.files().items():
            if check in file.checks:
                return texts_of(name, file, self.cylinders, self.catalogue, file.checks).get(check)
        return None

    def handed(self, check: str) -> Handed | None:
        """Return the file that is handed out for a check; None where the bench tells the reading."""
        for name, file in self.files().items():
            if check in file.checks and self.text(check) is not None:
                recorded = recorded_of(name, file, self.cylinders)
                kept = tuple(one for one in recorded.readings if one.check in file.checks)
                return Handed(name, file, replace(recorded, readings=kept))
        return None
