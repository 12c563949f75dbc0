"""Readings from recorded runs made here, so that what they must be is known; and faults named with their line."""

from __future__ import annotations

import math
from collections.abc import Callable
from pathlib import Path

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from troubleshoot.problems import TroubleshootError
from troubleshoot.recordings.dialect import RecordingRefused
from troubleshoot.recordings.estimates import period, smoothed
from troubleshoot.recordings.log import Log, log_from, read_log
from troubleshoot.recordings.readings import HUNT_LEAST, notes_on
from troubleshoot.recordings.readings import readings_from as taken_from
from troubleshoot.recordings.stretches import Stretch, idle, pull
from troubleshoot.recordings.taken import TakenReading


def idle_rows(swing: float = 60.0, period: float = 2.5, seconds: float = 20.0) -> list[str]:
    times = [at * 0.05 for at in range(int(seconds / 0.05))]
    return [f"{at:.2f},{750 + swing * math.sin(2 * math.pi * at / period):.2f},0.5,50,1.0,2,13.9" for at in times]


def pull_rows(start: float, speed_of: Callable[[float], float], seconds: float = 6.0) -> list[str]:
    rows = []
    for step in range(int(seconds / 0.05)):
        at = step * 0.05
        speed = speed_of(at)
        pressure = 50 - max(0.0, speed - 3500) * 0.01
        mixture = 0.86 + max(0.0, speed - 3500) * 0.0001
        rows.append(f"{start + at:.2f},{speed:.1f},100,{pressure:.3f},{mixture:.4f},{speed / 55:.2f},13.1")
    return rows


HEAD = "time,rpm,throttle,fuel pressure,lambda,duty,pump volts"


def made(*parts: list[str]) -> str:
    return "\n".join([HEAD, *(row for part in parts for row in part)])


def clean(at: float) -> float:
    return 1500 + 600 * at


def number(text: str) -> float:
    return float(text.split()[0])


def readings_from(log: Log) -> dict[str, str]:
    return {one.check: one.text() for one in taken_from(log)}


def swing_period(at_idle: Stretch) -> float | None:
    found = period(*at_idle.samples("engine-speed"), HUNT_LEAST)
    return found.value if found else None


def test_an_idle_gives_speed_swing_and_period() -> None:
    """Half of the difference between highest and lowest is the amplitude of a sine."""
    run = log_from(made(idle_rows(60, 2.5)), "made")
    found = readings_from(run)
    assert number(found["idle-speed"]) == pytest.approx(750, abs=3)
    assert number(found["idle-swing"]) == pytest.approx(60, abs=1)
    at_idle = idle(run)
    assert at_idle is not None
    assert swing_period(at_idle) == pytest.approx(2.5, abs=0.05)
    assert "break-up-speed" not in found


def test_a_steady_idle_does_not_swing() -> None:
    at_idle = idle(log_from(made(idle_rows(5)), "made"))
    assert at_idle is not None
    assert swing_period(at_idle) is None


def test_a_clean_pull_gives_no_break_up_and_the_readings_at_its_top() -> None:
    found = readings_from(log_from(made(pull_rows(0, clean)), "made"))
    assert "break-up-speed" not in found
    top = clean(5.95)
    assert number(found["pressure-when-lean"]) == pytest.approx(50 - (top - 3500) * 0.01, abs=1)
    assert number(found["injector-duty-top"]) == pytest.approx(top / 55, abs=1.2)
    assert number(found["mixture-full-low"]) == pytest.approx(0.86, abs=0.001)
    assert number(found["mixture-at-top"]) == pytest.approx(0.86 + 1430 * 0.0001, abs=0.01)
    assert number(found["pump-volts-under-load"]) == pytest.approx(13.1, abs=0.01)


@pytest.mark.parametrize("breaks_at", [3000.0, 4000.0, 4600.0])
def test_a_pull_that_falls_back_breaks_up_there(breaks_at: float) -> None:
    def speed(at: float) -> float:
        return clean(at) if clean(at) < breaks_at else breaks_at - 250 + 100 * math.sin(15 * at)

    found = readings_from(log_from(made(pull_rows(0, speed)), "made"))
    assert number(found["break-up-speed"]) == pytest.approx(breaks_at, rel=0.03)


@pytest.mark.parametrize("flat_at", [3000.0, 4500.0])
def test_a_pull_that_goes_flat_breaks_up_there(flat_at: float) -> None:
    found = readings_from(log_from(made(pull_rows(0, lambda at: min(clean(at), flat_at + 5 * at))), "made"))
    assert number(found["break-up-speed"]) == pytest.approx(flat_at, rel=0.03)


def test_the_pull_that_reaches_furthest_counts() -> None:
    run = log_from(made(pull_rows(0, clean, 3), idle_rows()[:0], pull_rows(10, clean, 6)), "made")
    found = pull(run)
    assert found is not None
    assert run.time[found.start] <= 10
    assert max(found.values("engine-speed")) > 5000


def test_units_in_headings_are_converted() -> None:
    """1 psi is 6.894757 kPa (NIST SP 811, appendix B); lambda is the ratio over 14.7 (common practice, no source)."""
    rows = "\n".join(f"{at * 0.1:.1f};{1500 + 60 * at};90,0;344,738;12,5;95;160" for at in range(60))
    run = log_from(f"Time (s);Engine Speed [rpm];TP;fuel_pressure (kPa);AFR;MAP (kPa);ECT degF\n{rows}", "made")
    assert run.columns["fuel-pressure"][0] == pytest.approx(50.0, abs=0.001)
    assert run.columns["mixture"][0] == pytest.approx(12.5 / 14.7)
    assert run.columns["manifold-pressure"][0] == pytest.approx(95)
    assert run.columns["coolant"][0] == pytest.approx(160)
    assert run.columns["throttle"][0] == 90.0


@pytest.mark.parametrize(
    ("unit", "written"),
    [("bar", 0.95), ("mbar", 950), ("hPa", 950), ("kPa", 95), ("psi", 13.7786), ("inHg", 28.0535), ("bar abs", 0.95)],
)
def test_manifold_pressure_is_absolute_in_whatever_unit(unit: str, written: float) -> None:
    """95 kPa: 1 bar is 100 kPa, 1 psi 6.894757 kPa, 1 inHg 3.386389 kPa (NIST SP 811, appendix B); no barometer is
    added."""
    rows = "\n".join(f"{at * 0.1:.1f},{1500 + 60 * at},{written}" for at in range(60))
    run = log_from(f"time,rpm,MAP ({unit})\n{rows}", "made")
    assert run.columns["manifold-pressure"][0] == pytest.approx(95, abs=0.001)


def test_gaps_are_left_out() -> None:
    text = "time,rpm,throttle,duty\n" + "\n".join(
        f"{at * 0.1:.1f},{1500 + 60 * at},100,{'' if at % 2 else 50}" for at in range(60)
    )
    assert number(readings_from(log_from(text, "made"))["injector-duty-top"]) == pytest.approx(50.0)


@pytest.mark.parametrize(
    ("text", "place", "what"),
    [
        ("", "", "no rows"),
        ("time,rpm\n", "", "no rows"),
        ("rpm,load\n1,2", ":1:", "time"),
        ("time,load\n1,2", ":1:", "engine speed"),
        ("time,rpm\n0,700\n0.1,fast", ":3:", "'fast' is not a number"),
        ("time,rpm\n0,700\n0.1", ":3:", "1 cells, but 2 headings"),
        ("time,rpm\n1,700\n4,700\n3.5,700", ":4:", "time goes back"),
        ("time,rpm\n,700", ":2:", "time is missing"),
        ("time,rpm,engine speed\n1,700,700", ":1:", "mean the same"),
        ("time,rpm,fuel pressure (V)\n1,700,3", ":1:", "fuel pressure"),
        ("time,rpm\n# note\n\n0,700\n0.1,inf", ":5:", "not a number"),
    ],
)
def test_faults_name_their_line(text: str, place: str, what: str) -> None:
    with pytest.raises(RecordingRefused) as problem:
        log_from(text, "run.csv")
    assert place in problem.value.sentence
    assert what in problem.value.sentence


def test_many_faults_are_said_at_once_but_not_without_end() -> None:
    with pytest.raises(RecordingRefused) as problem:
        log_from("time,rpm\n" + "".join(f"x{at},y{at}\n" for at in range(500)), "run.csv")
    assert 5 <= len(problem.value.sentence.splitlines()) <= 11


@pytest.mark.parametrize("content", [b"\xff\xfe\x00\x01", b"\x00" * 50, b'time,rpm\n"1,2\n3,4'])
def test_files_that_are_no_text_are_refused(tmp_path: Path, content: bytes) -> None:
    path = tmp_path / "run.csv"
    path.write_bytes(content)
    with pytest.raises(RecordingRefused):
        read_log(path)
    with pytest.raises(RecordingRefused, match="cannot be read"):
        read_log(tmp_path / "none.csv")


@settings(max_examples=80, deadline=None)
@given(text=st.text(alphabet=st.sampled_from(list('time,rpmload ;\t"\n0123456789.-e#()')), max_size=120))
def test_no_text_breaks_the_reader(text: str) -> None:
    for whole in (text, f"time,rpm,throttle,lambda\n{text}"):
        try:
            run = log_from(whole, "any")
        except TroubleshootError as problem:
            assert problem.sentence
        else:
            assert all(isinstance(one, str) for one in readings_from(run).values())
            assert notes_on(run)


@given(
    values=st.lists(st.floats(-1e6, 1e6), min_size=1, max_size=40),
    width=st.floats(0.01, 5),
)
def test_a_smoothed_value_lies_among_its_neighbours(values: list[float], width: float) -> None:
    time = np.array([0.1 * at for at in range(len(values))])
    for one in smoothed(time, np.array(values), width):
        assert min(values) - 1e-3 <= one <= max(values) + 1e-3


@pytest.mark.parametrize(
    ("spread", "said"), [(124.0, "5600 ± 120 rpm"), (9.96, "5600.0 ± 10 rpm"), (0.0612, "5600.000 ± 0.061 rpm")]
)
def test_a_wide_uncertainty_is_written_out(spread: float, said: str) -> None:
    """No exponent stands before a person: 1.2e2 is 120."""
    assert TakenReading("break-up-speed", 5600.0, spread, "rpm", 0.0, 1.0, "").text() == said
