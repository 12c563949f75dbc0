"""Files with bytes changed at random, of every form that the program reads: read, or refused in a sentence."""

from __future__ import annotations

import random
import re
import tempfile
import time
from collections import Counter
from collections.abc import Callable
from pathlib import Path

import numpy as np
from hostile_texts import TEXT_KINDS

from troubleshoot.classroom.handed_files import columns_of, wav_of
from troubleshoot.problems import TroubleshootError
from troubleshoot.recordings.capture import read_capture
from troubleshoot.recordings.capture_readings import ProbeSet, capture_report
from troubleshoot.recordings.log import read_log
from troubleshoot.recordings.pull_curve import read_pull
from troubleshoot.recordings.readings import notes_on, readings_from
from troubleshoot.recordings.sound import read_sound, sound_reading, sound_words
from troubleshoot.virtual_engine import captures
from troubleshoot.virtual_engine.captures import Ignition
from troubleshoot.virtual_engine.exhaust_sound import exhaust_sound

TOKENS = (
    b"1e308", b"-1e308", b"1e-320", b"inf", b"nan", b"999999999999999999999999", b"0x10", b"1_0", b"--", b",,,,", b";",
    b"\t", b'"', b"\n", b"\r", b"\0", b"\xff\xfe", b"\xef\xbb\xbf", b"=cmd", b"time", b"rpm", b"12:61:00", b"-", b"1,2",
    b"\xe2\x80\xae", b"RIFF", b"WAVE", b"data", b"\xff" * 4, b"\x00" * 4, b"\x7f" * 4,
)  # fmt: skip

NUMBERS = (
    b"0", b"-1", b"1e308", b"-1e308", b"1e-320", b"1e20", b"1e999", b"9" * 26, b"0.1", b"3", b"1e15",
)  # fmt: skip


def log_bytes() -> bytes:
    """Return a log with an idle and a pull."""
    rows = [f"{at * 0.1:.1f},{750 + at % 7},{1.5},{44 + at % 3},{0.98},{90 + at * 0.1:.1f}" for at in range(120)]
    rows += [f"{12 + at * 0.1:.1f},{1500 + 60 * at},100,{43 - at * 0.05:.2f},{0.88},{100}" for at in range(60)]
    return ("time (s),rpm,TP,fuel pressure (psi),lambda,ECT (degC)\n" + "\n".join(rows) + "\n").encode()


def table_bytes() -> bytes:
    """Return a dyno's table."""
    return ("rpm;power\n1/min;hp\n" + "".join(f"{one};{one / 20:.1f}\n" for one in range(2000, 5000, 100))).encode()


def capture_bytes() -> bytes:
    """Return a capture of coil minus."""
    volts = captures.coil_minus(Ignition(4, (50.0,)), [900.0], 5_000.0, 0.6)
    return columns_of(volts, 5_000.0, "Coil (V)")


def sound_bytes() -> bytes:
    """Return two seconds of an idle."""
    return wav_of(exhaust_sound([0, 2], [900, 900], 6, 8000.0), 8000)


def capture_wav_bytes() -> bytes:
    """Return a capture of coil minus through a sound input with a divider: 60 V fill it."""
    return wav_of(captures.coil_minus(Ignition(4, (50.0,)), [900.0], 8_000.0, 1.0) / 60.0, 8000)


def changed(held: bytes, draw: random.Random) -> bytes:
    """Return a file with a few pieces put in, left out, doubled or turned."""
    made = bytearray(held)
    numbers = [found.span() for found in re.finditer(rb"-?\d+\.?\d*", held)]
    if numbers and draw.random() < 0.4:  # what is whole, with a number that nobody wrote
        low, high = draw.choice(numbers)
        made[low:high] = draw.choice(NUMBERS)
        return bytes(made)
    for _ in range(draw.choice((1, 1, 1, 2, 4, 12))):
        at = draw.randrange(len(made) + 1) if draw.random() < 0.7 else draw.randrange(min(80, len(made)) + 1)
        match draw.randrange(6):
            case 0:
                made[at:at] = draw.choice(TOKENS)
            case 1:
                del made[at : at + draw.choice((1, 3, 40, 4000))]
            case 2:
                made[at:at] = made[at : at + draw.choice((2, 50, 900))]
            case 3 if made:
                made[min(at, len(made) - 1)] = draw.randrange(256)
            case 4:
                made[at : at + 6] = draw.choice(TOKENS)
            case _:
                made[at : at + 4] = draw.randbytes(4)
    return bytes(made)


def read_a_log(path: Path) -> None:
    """Read a log and all there is to say of it."""
    log = read_log(path)
    for one in readings_from(log):
        one.text(1.0)
    notes_on(log)


def read_a_capture(path: Path) -> None:
    """Read a capture as each kind of probe."""
    capture = read_capture(path, 60.0)
    for one in capture.channels.values():
        assert np.isfinite(one).all()
    for kind in ("coil", "ripple", "battery", "pump", "starter", "injector"):
        try:
            capture_report(capture, ProbeSet(kind, 4))
        except TroubleshootError:
            continue


def read_a_sound(path: Path) -> None:
    """Read a sound."""
    rate, samples, _ = read_sound(path)
    sound_words(sound_reading(samples, rate, 6))


def read_a_table(path: Path) -> None:
    """Read a pull."""
    read_pull(path)


KINDS: dict[str, tuple[Callable[[], bytes], Callable[[Path], None]]] = TEXT_KINDS | {
    "log": (log_bytes, read_a_log),
    "table": (table_bytes, read_a_table),
    "capture": (capture_bytes, read_a_capture),
    "capture in WAV": (capture_wav_bytes, read_a_capture),
    "sound": (sound_bytes, read_a_sound),
}


def met(kind: str, count: int, seed: int = 1) -> tuple[Counter[str], list[str]]:
    """Return how often each thing came of so many changed files, and the tracebacks in short."""
    make, read = KINDS[kind]
    held, draw = make(), random.Random(f"{kind} {seed}")
    found: Counter[str] = Counter()
    wrong: list[str] = []
    with tempfile.TemporaryDirectory() as folder:
        path = Path(folder) / "file"
        for number in range(count):
            path.write_bytes(changed(held, draw))
            try:
                read(path)
            except TroubleshootError as problem:
                found["refused" if str(problem).strip() else "refused without a word"] += 1
            except Exception as problem:
                wrong.append(f"{kind} {number}: {type(problem).__name__}: {problem}")
            else:
                found["read"] += 1
    return found, wrong


def main(count: int, seed: int = 1) -> int:
    """Try `count` of each kind, print what was met and return how many went wrong."""
    import resource
    import warnings

    warnings.simplefilter("error")
    bad = 0
    for kind in KINDS:
        begun = time.monotonic()
        found, wrong = met(kind, count, seed)
        bad += len(wrong) + found["refused without a word"]
        print(
            f"{kind}: {dict(found)}, {len(wrong)} wrong, {time.monotonic() - begun:.0f} s",
            *wrong[:8],
            sep="\n  ",
            flush=True,
        )
    print(f"largest memory {resource.getrusage(resource.RUSAGE_SELF).ru_maxrss / 1e3:.0f} MB")
    return bad
