"""An oscilloscope capture: evenly spaced volts or amperes, from text in columns or a WAV of a sound input."""

from __future__ import annotations

import hashlib
import io
import struct
from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from pathlib import Path

import numpy as np
from numpy.typing import NDArray

from troubleshoot.calculations.units import QuantityRefused, read_quantity
from troubleshoot.recordings.cells import BEYOND_REASON, Decimal, number_in
from troubleshoot.recordings.dialect import Dialect, RecordingRefused, cells_of, counts, dialect_of, text_of
from troubleshoot.recordings.log import held_bytes
from troubleshoot.recordings.quantities import taken_apart

Numbers = NDArray[np.float64]

LARGEST = 100_000_000
MOST_SAMPLES = 8_000_000
LEAST_SAMPLES = 64
UNEVEN = 0.25
"""Share of a step by which the steps may differ before samples are put on an even grid."""
MOST_CHANNELS = 8
UNITS = ("V", "A")


@dataclass(frozen=True)
class Capture:
    """Channels of one capture; every channel is `rate_hz` samples a second long, in V or A as `units` says."""

    name: str
    rate_hz: float
    start_s: float
    channels: Mapping[str, Numbers]
    units: Mapping[str, str]
    sha256: str = ""
    remarks: tuple[str, ...] = ()

    @property
    def seconds(self) -> float:
        """How long the capture lasts."""
        return next(iter(self.channels.values())).size / self.rate_hz

    def channel(self, wanted: str = "", unit: str = "") -> Numbers:
        """Return a channel by its heading, or the only one of a unit; RecordingRefused when that is not clear."""
        names = [one for one in self.channels if (not wanted or one.casefold() == wanted.strip().casefold())]
        fitting = [one for one in names if not unit or self.units[one] == unit]
        if len(fitting) == 1 or (fitting and not wanted and len(self.channels) == 1):
            return self.channels[fitting[0]]
        there = ", ".join(f"{one[:30]!r} ({self.units[one]})" for one in self.channels)
        what = f"no channel {wanted[:40]!r}" if wanted and not names else f"no single channel in {unit or 'V or A'}"
        raise RecordingRefused(f"{self.name}: there is {what} — name one of {there} with --channel")


def read_capture(path: Path, full_scale: float | None = None, unit: str = "V") -> Capture:
    """Read a capture; RecordingRefused with its place for each fault.

    `full_scale` is what the highest sample of a WAV stands for, in `unit`: the sound input's own times the divider.
    """
    held = held_bytes(path, LARGEST)
    mark = hashlib.sha256(held).hexdigest()
    if held[:4] == b"RIFF":
        if full_scale is None:
            raise RecordingRefused(
                f"{path}: a WAV does not say how many {unit} its samples are — "
                "give --full-scale, the reading of the highest sample with the divider used"
            )
        rate, sound = wav_samples(held, str(path))
        return Capture(str(path), rate, 0.0, {"1": sound * full_scale}, {"1": unit}, mark)
    text = text_of(held, str(path))
    del held
    return capture_from(text, str(path), mark)


def wav_samples(held: bytes, name: str) -> tuple[float, Numbers]:
    """Return rate (Hz) and the first channel of a WAV of whole-number samples, from -1 to 1; RecordingRefused else."""
    import wave

    try:
        with wave.open(io.BytesIO(held)) as file:
            width, count, rate = file.getsampwidth(), file.getnchannels(), file.getframerate()
            frames = min(file.getnframes(), MOST_SAMPLES)
            raw = file.readframes(frames)
    except (wave.Error, EOFError, struct.error, ValueError, RuntimeError, MemoryError) as problem:
        raise RecordingRefused(
            f"{name}: this WAV cannot be read ({problem}) — save it as WAV of 16-bit whole numbers (PCM)"
        ) from problem
    if not 1 <= count <= 16 or not 1 <= width <= 4 or not 100 <= rate <= 10_000_000:
        raise RecordingRefused(f"{name}: a WAV of {count} channels, {rate} Hz is none of a sound input — look at it")
    whole = len(raw) // (width * count) * (width * count)
    parts = np.frombuffer(raw[:whole], dtype=np.uint8).reshape(-1, count, width)[:, 0, :]
    if parts.shape[0] < LEAST_SAMPLES:
        raise RecordingRefused(f"{name}: the WAV holds only {parts.shape[0]} samples — record a second or more")
    if width == 1:
        return float(rate), (parts[:, 0].astype(np.float64) - 128.0) / 128.0
    wide = np.zeros((parts.shape[0], 4), dtype=np.uint8)
    wide[:, 4 - width :] = parts
    return float(rate), wide.view("<i4")[:, 0].astype(np.float64) / 2.0**31


def capture_from(text: str, name: str, mark: str = "") -> Capture:
    """Read a capture from text in columns, the first of them time; RecordingRefused with line and column."""
    lines = text.splitlines()
    dialect = _laid_out(lines, name)
    units, scales, remarks = _units(dialect, name)
    width = len(dialect.headings)
    kept = range(1 + min(width - 1, MOST_CHANNELS))
    columns = _numbers(lines, dialect, name, kept)
    time = columns[0] * scales[0]
    if time.size < LEAST_SAMPLES:
        raise RecordingRefused(f"{name}: there are only {time.size} samples — capture a second or more")
    steps = np.diff(time)
    backward = np.flatnonzero(steps < 0)
    if backward.size:
        at = dialect.first_row + int(backward[0]) + 1
        raise RecordingRefused(f"{name}:{at}: the time goes back — give one capture at a time")
    usual = float(np.median(steps))
    if not usual > 0:
        raise RecordingRefused(f"{name}: the time does not move on — look at the first column")
    names = [dialect.headings[place] or f"column {place + 1}" for place in kept[1:]]
    found = {}
    even = bool((np.abs(steps - usual) <= UNEVEN * usual).all())
    count = time.size if even else int(min((time[-1] - time[0]) / usual + 1, MOST_SAMPLES))
    rate = (time.size - 1) / float(time[-1] - time[0]) if even else 1 / usual
    for place, one in enumerate(names, start=1):
        with np.errstate(over="ignore"):  # what is too large for a number counts as none
            values = columns[place] * scales[place]
        good = np.isfinite(values)
        if not good.any():
            continue
        if not even or not good.all():
            values = np.interp(time[0] + np.arange(count) / rate, time[good], values[good])
        found[one if one not in found else f"{one} {place + 1}"] = values
    if not found:
        raise RecordingRefused(f"{name}: no column beside the time holds numbers — look at the columns")
    return Capture(name, rate, float(time[0]), found, dict(zip(found, units[1:], strict=False)), mark, tuple(remarks))


def _laid_out(lines: Sequence[str], name: str) -> Dialect:
    try:
        return dialect_of(lines, name)
    except RecordingRefused as problem:
        if "no column has a heading" not in problem.sentence or len(lines) < 2:
            raise
    wide = max(lines[:50], key=lambda line: max(map(line.count, "\t;,")))
    sign = next((one for one in "\t;," if one in wide), ",")
    headings = sign.join(["time", *(f"column {place + 2}" for place in range(wide.count(sign)))])
    one = dialect_of([headings, *lines], name)
    return Dialect(one.separator, one.headings, 1, (), 1, one.decimal)


def _units(dialect: Dialect, name: str) -> tuple[list[str], list[float], list[str]]:
    """Return each column's unit (s, V or A), its scale to that, and what was supposed."""
    units, scales, remarks = [], [], []
    for place, heading in enumerate(dialect.headings):
        plain, unit = taken_apart(heading[:200])
        if not unit and place < len(dialect.units):
            unit = dialect.units[place].strip("()[]")
        unit = unit or next((word for word in (plain,) if word in _WORDS), "")
        unit = _WORDS.get(unit.casefold(), unit)
        for wanted in ("s",) if place == 0 else UNITS:
            try:
                scale = read_quantity(f"1 {unit}", wanted).value if unit else 1.0
            except QuantityRefused:
                continue
            units.append(wanted)
            scales.append(scale)
            if not unit:
                remarks.append(f"{heading[:30] or place + 1!r} names no unit and was taken as {wanted}.")
            break
        else:
            wanted = "a time" if place == 0 else "volts or amperes"
            raise RecordingRefused(
                f"{name}:{dialect.heading_line}: column {place + 1}, {heading[:40]!r}: {unit[:20]!r} is not {wanted} — "
                "the first column is the time, the others V, mV, A or mA"
            )
    return units, scales, remarks


_WORDS = {"second": "s", "seconds": "s", "volt": "V", "volts": "V", "ampere": "A", "amperes": "A", "amps": "A"}


def _numbers(lines: list[str], dialect: Dialect, name: str, kept: range) -> Numbers:
    """Return the columns as numbers, gaps as nan."""
    rows = lines[dialect.first_row - 1 :][:MOST_SAMPLES]
    width, made = len(dialect.headings), []
    for number, cells in enumerate(cells_of(rows, dialect.separator, name, dialect.first_row), start=dialect.first_row):
        if len(cells) < width:
            if not counts(lines[number - 1]):
                continue
            raise RecordingRefused(f"{name}:{number}: {len(cells)} cells, but {width} headings — one cell for each")
        try:
            made.append([float(cells[place]) for place in kept])
            continue
        except ValueError:
            pass
        row = [number_in(cells[place], dialect.decimal) for place in kept]
        if None in row or row[0] != row[0]:
            place = next((one for one, value in enumerate(row) if value is None), 0)
            advice = "decimal commas need semicolons or tabs" if dialect.decimal is Decimal.POINT else "correct it"
            raise RecordingRefused(
                f"{name}:{number}: column {place + 1}: {cells[place].strip()[:30]!r} is not a number — {advice}"
            )
        made.append([float("nan") if value is None else value for value in row])
    if not made:
        raise RecordingRefused(f"{name}: there are no rows of numbers here — a capture has time and volts in columns")
    whole = np.array(made).T
    wild = ~(np.abs(whole) <= BEYOND_REASON) & ~np.isnan(whole)
    if wild.any() or not np.isfinite(whole[0]).all():
        wild[0] |= ~np.isfinite(whole[0])
        at, line = (int(one[0]) for one in np.nonzero(wild))
        raise RecordingRefused(
            f"{name}:{dialect.first_row + line}: column {at + 1}: no number an oscilloscope shows — correct it"
        )
    return whole
