"""Captures of known truth: speed within 0.5 %, dwell within 0.5 degrees, relative compression within 5 %."""

from __future__ import annotations

import io
import wave
from pathlib import Path

import numpy as np
import pytest

from troubleshoot.recordings.capture import capture_from, read_capture
from troubleshoot.recordings.dialect import RecordingRefused
from troubleshoot.recordings.ignition_capture import coil_reading
from troubleshoot.recordings.injector_capture import injector_reading
from troubleshoot.recordings.rotating_capture import cranking_reading, pump_reading, ripple_reading
from troubleshoot.virtual_engine import captures
from troubleshoot.virtual_engine.captures import Ignition

RATES = (10_000.0, 25_000.0, 100_000.0)
SPEED, DWELL, COMPRESSION = 0.005, 0.5, 0.05


@pytest.mark.parametrize("rate", RATES)
@pytest.mark.parametrize(("cylinders", "dwell"), [(8, 30.0), (6, 38.0), (4, 52.0)])
@pytest.mark.parametrize("rpm", [700.0, 2500.0, 4500.0])
def test_speed_and_dwell_of_points(rate: float, cylinders: int, dwell: float, rpm: float) -> None:
    """Dwell in use: 8 cylinders 28 to 32, six 31 to 42, four 45 to 58 degrees (common practice, no source)."""
    volts = captures.coil_minus(Ignition(cylinders, (dwell,), scatter_deg=0.2), [rpm], rate, 2.0, seed=int(rpm))
    found = coil_reading(volts, rate, cylinders)
    assert found.speed.value == pytest.approx(rpm, rel=SPEED)
    assert found.dwell.value == pytest.approx(dwell, abs=DWELL)
    assert len(found.dwell_of) == cylinders
    assert all(one == pytest.approx(dwell, abs=DWELL) for one in found.dwell_of)
    assert found.missing == found.extra == 0
    assert found.bounces == 0
    assert not found.verdicts(cylinders)


def test_dwell_of_each_cylinder_shows_a_worn_cam() -> None:
    truth = (30.0, 28.0, 30.5, 32.0, 29.0, 30.0, 31.0, 29.5)
    volts = captures.coil_minus(Ignition(8, truth, scatter_deg=0.1), [1000.0], 20_000.0, 3.0)
    found = coil_reading(volts, 20_000.0, 8)
    turned = min(float(np.abs(np.roll(truth, shift) - np.array(found.dwell_of)).max()) for shift in range(8))
    assert turned < DWELL
    assert any("between cylinders" in one for one in found.verdicts(8))


def test_scatter_of_single_dwells() -> None:
    volts = captures.coil_minus(Ignition(4, (50.0,), scatter_deg=1.5), [1500.0], 25_000.0, 4.0)
    assert coil_reading(volts, 25_000.0, 4).scatter == pytest.approx(1.5, rel=0.25)


@pytest.mark.parametrize("rpm", [700.0, 3000.0])
def test_bounce_after_closing(rpm: float) -> None:
    length = 0.6 if rpm < 1000 else 0.3
    volts = captures.coil_minus(Ignition(8, (30.0,), bounce_ms=length), [rpm], 50_000.0, 2.0)
    found = coil_reading(volts, 50_000.0, 8)
    assert found.bounces == pytest.approx(1.0, abs=0.1)
    assert found.bounce_ms == pytest.approx(length, rel=0.2)
    assert found.speed.value == pytest.approx(rpm, rel=SPEED)
    assert any("bounce" in one for one in found.verdicts(8))


def test_chatter_is_told_from_bounce() -> None:
    volts = captures.coil_minus(Ignition(6, (38.0,), bounce_ms=1.5, chatter=4), [900.0], 50_000.0, 2.0)
    found = coil_reading(volts, 50_000.0, 6)
    assert found.bounces > 2
    assert any("chatter" in one for one in found.verdicts(6))


def test_missing_sparks_and_noise_are_counted_apart() -> None:
    volts = captures.coil_minus(Ignition(8, (30.0,), missing_every=20, noise_pulses=9), [1500.0], 25_000.0, 3.0)
    found = coil_reading(volts, 25_000.0, 8)
    sparks = 1500 / 60 * 4 * 3
    assert found.missing == pytest.approx(sparks / 20, abs=1)
    assert found.extra == pytest.approx(9, abs=2)
    assert found.speed.value == pytest.approx(1500, rel=SPEED)
    assert any("missing" in one for one in found.verdicts(8))


def test_drift_of_dwell_with_speed() -> None:
    slow = captures.coil_minus(Ignition(8, (30.0,)), [700.0], 20_000.0, 2.0)
    fast = captures.coil_minus(Ignition(8, (25.0,)), [2500.0], 20_000.0, 2.0)
    found = coil_reading(np.concatenate((slow, fast)), 20_000.0, 8)
    assert found.drift is not None
    assert found.drift.value == pytest.approx(-5.0, abs=DWELL)
    steady = captures.coil_minus(Ignition(8, (30.0,)), [700.0, 2500.0], 20_000.0, 6.0)
    swept = coil_reading(steady, 20_000.0, 8)
    assert swept.drift is not None
    assert swept.drift.value == pytest.approx(0.0, abs=DWELL)
    assert swept.slowest == pytest.approx(881, rel=0.02)  # 5 % of the sparks: 700 t + 900 t^2 = 80 of 1600
    assert swept.fastest == pytest.approx(2442, rel=0.02)


@pytest.mark.parametrize("rate", RATES[:2])
@pytest.mark.parametrize(("rpm", "segments"), [(4200.0, 8), (6500.0, 10), (3000.0, 12)])
def test_speed_of_a_pump_from_its_commutator(rate: float, rpm: float, segments: int) -> None:
    found = pump_reading(captures.pump_current(rpm, segments, rate, 1.0, seed=1), rate, segments)
    assert found.speed is not None
    assert found.speed.value == pytest.approx(rpm, rel=SPEED)
    assert found.current.value == pytest.approx(5.2, abs=0.05)
    assert found.worn == 0
    assert not found.stalled


def test_a_worn_segment_and_a_stalled_pump() -> None:
    humps = [1.0] * 8
    humps[3] = 0.3
    found = pump_reading(captures.pump_current(5000.0, 8, 25_000.0, 1.0, humps=humps), 25_000.0, 8)
    assert found.worn == 1
    assert found.speed is not None
    assert found.speed.value == pytest.approx(5000.0, rel=SPEED)
    stalled = pump_reading(captures.pump_current(0.0, 8, 25_000.0, 1.0), 25_000.0, 8)
    assert stalled.stalled
    assert stalled.speed is None


@pytest.mark.parametrize("volts", [False, True])
@pytest.mark.parametrize(
    "truth",
    [
        (1.0,) * 4,
        (1.0, 0.75, 1.0, 0.9),
        (1.0, 0.95, 0.6, 1.0, 0.9, 1.0),
        (1.0, 1.0, 0.9, 1.0, 0.7, 1.0, 0.85, 0.95),
        (1.0, 1.0, 0.0, 1.0, 1.0, 0.9),
    ],
)
def test_relative_compression(truth: tuple[float, ...], volts: bool) -> None:
    load = captures.cranking_current(190.0, truth, 10_000.0, 5.0, seed=2)
    seen = captures.battery_volts_cranking(load) if volts else load
    found = cranking_reading(seen, 10_000.0, len(truth), volts)
    assert found.speed.value == pytest.approx(190.0, rel=SPEED)
    best = min(np.abs(np.roll(truth, shift) - np.array(found.relative)).max() for shift in range(len(truth)))
    assert best < COMPRESSION


def test_a_two_stroke_fires_every_turn() -> None:
    """A two-stroke fires each cylinder once a turn, so that its probe shows what a four-stroke's does at twice the
    speed (geometry); each compression takes half a turn of the one that a cycle lasts."""
    volts = captures.coil_minus(Ignition(4, (50.0,)), [3000.0], 10_000.0, 2.0)
    assert coil_reading(volts, 10_000.0, 4, strokes=2).speed.value == pytest.approx(1500.0, rel=SPEED)
    truth = (1.0, 0.95, 0.7, 0.98)
    load = captures.cranking_current(190.0, truth, 10_000.0, 5.0, seed=2, strokes=2)
    found = cranking_reading(load, 10_000.0, 4, strokes=2)
    assert found.speed.value == pytest.approx(190.0, rel=SPEED)
    assert min(np.abs(np.roll(truth, shift) - np.array(found.relative)).max() for shift in range(4)) < COMPRESSION


@pytest.mark.parametrize("noise", [0.005, 0.01])
@pytest.mark.parametrize("delay", [0.8, 1.1, 1.6])
@pytest.mark.parametrize("rate", RATES)
def test_opening_delay_of_an_injector(delay: float, rate: float, noise: float) -> None:
    """Typical delays: 0.75 to 0.9 ms at 14 V, 1.4 to 1.7 at 10 V (from memory)."""
    found = injector_reading(captures.injector_current(delay, 4.0, rate, 2.0, noise_a=noise), rate)
    assert found.delay is not None
    assert found.delay.value == pytest.approx(delay, abs=0.1)
    assert found.width.value == pytest.approx(4.0, abs=0.1)


def test_a_stuck_pintle_shows_no_kink() -> None:
    for rate in RATES:
        assert injector_reading(captures.injector_current(None, 4.0, rate, 2.0), rate).stuck


def test_five_seconds_at_10_khz_tell_a_stuck_pintle_beside_two_per_cent_of_noise() -> None:
    """Some seventy pulses together; what opens is then known to 0.12 ms."""
    for delay in (None, 0.9, 1.4):
        found = injector_reading(captures.injector_current(delay, 4.0, 10_000.0, 5.0, noise_a=0.02, seed=4), 10_000.0)
        assert found.stuck == (delay is None)
        assert found.delay is None or found.delay.value == pytest.approx(delay, abs=0.12)


def test_what_cannot_show_a_kink_is_refused_with_what_is_needed() -> None:
    with pytest.raises(RecordingRefused, match="10 kHz"):
        injector_reading(captures.injector_current(1.0, 4.0, 5_000.0, 2.0), 5_000.0)
    with pytest.raises(RecordingRefused, match="Noise hides"):
        injector_reading(captures.injector_current(1.0, 4.0, 10_000.0, 1.0, noise_a=0.15), 10_000.0)


@pytest.mark.parametrize("hertz", [120.0, 300.0])
def test_a_bad_diode_shows_in_the_ripple(hertz: float) -> None:
    good = ripple_reading(captures.battery_ripple(hertz, 20_000.0, 1.0), 20_000.0)
    bad = ripple_reading(captures.battery_ripple(hertz, 20_000.0, 1.0, diodes_lost=1.0, root_v=0.34), 20_000.0)
    assert not good.bad_diode
    assert bad.bad_diode
    assert bad.peak_to_peak.value > 2 * good.peak_to_peak.value


@pytest.mark.parametrize("hertz", [120.0, 580.0])
@pytest.mark.parametrize(("lost", "root"), [(0.0, 0.068), (0.5, 0.23), (2.0, 0.5)])
def test_ripple_is_read_beside_noise_at_10_khz(hertz: float, lost: float, root: float) -> None:
    """A whole bridge makes 3500 Hz of 580 turns a second of its field, which is no noise."""
    volts = captures.battery_ripple(hertz, 10_000.0, 0.4, lost, noise_v=0.03, root_v=root)
    found = ripple_reading(volts, 10_000.0)
    assert found.alternating.value == pytest.approx(root, rel=0.04, abs=0.004)
    assert found.bad_diode == (lost > 0)


def wav_of(values: np.ndarray, rate: int, full: float) -> bytes:
    out = io.BytesIO()
    with wave.open(out, "wb") as file:
        file.setnchannels(1)
        file.setsampwidth(2)
        file.setframerate(rate)
        file.writeframes((np.clip(values / full, -1, 1) * 32767).astype("<i2").tobytes())
    return out.getvalue()


def test_a_wav_needs_its_divider(tmp_path: Path) -> None:
    volts = captures.coil_minus(Ignition(8, (30.0,)), [1200.0], 44_100.0, 1.0)
    path = tmp_path / "coil.wav"
    path.write_bytes(wav_of(volts, 44_100, 60.0))
    with pytest.raises(RecordingRefused, match="--full-scale"):
        read_capture(path)
    capture = read_capture(path, 60.0)
    found = coil_reading(capture.channel(), capture.rate_hz, 8)
    assert found.speed.value == pytest.approx(1200.0, rel=SPEED)
    assert found.dwell.value == pytest.approx(30.0, abs=DWELL)


@pytest.mark.parametrize(
    "head", ["Time (s),Coil (V)", "Time;Coil\nms;V", "", "made today\nTime (us)\tCoil [mV]", "seconds,volts"]
)
def test_text_of_any_layout(head: str) -> None:
    volts = captures.coil_minus(Ignition(4, (50.0,)), [900.0], 10_000.0, 1.0)
    sign = next(one for one in "\t;," if one in (head or ","))
    time, size = (1e3, 1.0) if "ms;" in head else (1e6, 1e3) if "us" in head else (1.0, 1.0)
    comma = sign == ";"
    rows = [f"{at / 10_000 * time:.6g}{sign}{one * size:.6g}" for at, one in enumerate(volts)]
    text = "\n".join([*head.splitlines(), *(row.replace(".", ",") if comma else row for row in rows)])
    capture = capture_from(text, "made")
    assert capture.rate_hz == pytest.approx(10_000.0, rel=1e-3)
    assert coil_reading(capture.channel(), capture.rate_hz, 4).speed.value == pytest.approx(900.0, rel=SPEED)


@pytest.mark.parametrize(
    ("text", "what"),
    [
        ("time (s),coil (psi)\n" + "0,1\n1,2\n" * 50, "'coil (psi)'"),
        ("time (s),coil (V)\n" + "".join(f"{at},1\n" for at in range(20)), "only 20 samples"),
        ("time (s),coil (V)\n" + "".join(f"{at},{'x' if at == 50 else 1}\n" for at in range(99)), ":52: column 2: 'x'"),
        ("time (s),coil (V)\n" + "".join(f"{at % 70},1\n" for at in range(99)), ":72: the time goes back"),
        ("time (s),coil (V)\n" + "".join(f"{at},1e308\n" for at in range(99)), ":2: column 2"),
    ],
)
def test_refusals_name_the_place(text: str, what: str) -> None:
    with pytest.raises(RecordingRefused) as problem:
        capture_from(text, "x")
    assert what in problem.value.sentence


def test_nothing_is_read_from_noise() -> None:
    noise = 0.3 * np.random.default_rng(1).standard_normal(40_000)
    for read in (
        lambda: coil_reading(noise, 20_000.0, 8),
        lambda: cranking_reading(150 + noise, 20_000.0, 8),
        lambda: injector_reading(noise * 0.01, 20_000.0),
    ):
        with pytest.raises(RecordingRefused):
            read()


@pytest.mark.filterwarnings("error")
def test_a_scale_beyond_all_numbers_leaves_no_column() -> None:
    """What a heading multiplies out of the range of numbers is none, and no warning of the library reaches a user."""
    text = "time (s),Coil (-1e308V)\n" + "".join(f"{at / 5000:.4f},{30 + at % 7}\n" for at in range(2000))
    with pytest.raises(RecordingRefused, match="holds numbers"):
        capture_from(text, "coil.csv")
