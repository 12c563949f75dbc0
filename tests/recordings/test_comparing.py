"""Before against after: published shapes of the trade, known differences, and none where there is none."""

from __future__ import annotations

from pathlib import Path

import numpy as np
import pytest

from troubleshoot.recordings.comparing import STUDENT_95, compared, weather_factor
from troubleshoot.recordings.dialect import RecordingRefused
from troubleshoot.recordings.pull_curve import PullCurve, read_pull

SPEEDS = np.arange(2000.0, 5001.0, 100.0)


def pull(gain: float = 0.0, scatter: float = 0.0, seed: int = 0) -> PullCurve:
    level = 100 + 40 * np.sin((SPEEDS - 2000) / 3000 * 2.2)
    shift = scatter * np.random.default_rng(seed).standard_normal()
    return PullCurve("made", SPEEDS, level + gain + shift, "hp")


def test_the_worked_difference_of_two_means() -> None:
    """Student's test by hand: levels 100, 102 and 106, 108: s = sqrt(2), t(2) = 4.303, half = 4.303 sqrt(2) = 6.085."""
    before, after = [pull(0), pull(2)], [pull(6), pull(8)]
    found = compared(before, after)
    assert found.whole.difference == pytest.approx(6.0)
    assert found.whole.half == pytest.approx(4.303 * np.sqrt(2.0), rel=1e-6)
    assert not found.whole.shown
    assert found.sentence.startswith("No difference shown from 2000 to 5000 rpm: +6.0 ± 6.1 hp")
    clear = compared(before, [pull(16), pull(18)])
    assert clear.whole.shown
    assert clear.sentence.startswith("After it has more from 2000 to 5000 rpm: +16.0 ± 6.1 hp")


def test_intervals_hold_the_truth_in_95_of_a_hundred() -> None:
    """The truth is a gain of 3 hp; pulls scatter by 2."""
    held = 0
    for trial in range(400):
        before = [pull(0, 2.0, 10 * trial + one) for one in range(3)]
        after = [pull(3, 2.0, 10 * trial + 5 + one) for one in range(3)]
        found = compared(before, after).whole
        held += abs(found.difference - 3.0) <= found.half
    assert held / 400 == pytest.approx(0.95, abs=0.03)


def test_student_of_the_table() -> None:
    """Three values of any table of Student's t, two-sided 95 %."""
    assert STUDENT_95[0] == 12.706
    assert STUDENT_95[9] == 2.228
    assert STUDENT_95[29] == 2.042


def test_weather_is_corrected_by_the_standard() -> None:
    """SAE J1349 (JUN1990 wording, quoted publicly): 95 kPa dry at 35 degC gives 1.0701; 99 kPa at 25 degC gives 1."""
    assert weather_factor("95 kPa, 35 °C, 0 %") == pytest.approx(1.0701, abs=2e-4)
    assert weather_factor("99 kPa, 77 degF, 0 %") == pytest.approx(1.0, abs=3e-4)
    assert weather_factor("") == 1.0


def test_what_cannot_be_compared_is_refused() -> None:
    with pytest.raises(RecordingRefused, match="two or more"):
        compared([pull()], [pull(), pull()])
    with pytest.raises(RecordingRefused, match="one kind"):
        compared([pull(), pull()], [pull(), PullCurve("x", SPEEDS, SPEEDS, "rpm/s")])
    with pytest.raises(RecordingRefused, match="share no range"):
        compared([pull(), pull()], [PullCurve("x", SPEEDS + 4000, SPEEDS, "hp")] * 2)


def table(path: Path, gain: float) -> None:
    """A dyno's table in torque: 300 lbf·ft at 5252 rpm is 300 hp (5252.113 = 33000 / 2 pi)."""
    rows = "\n".join(f"{speed:.0f};{(300 + gain) * 1.0:.2f}".replace(".", ",") for speed in SPEEDS)
    path.write_text(f"Engine speed;Torque\n1/min;lb-ft\n{rows}\n", encoding="utf-8")


def test_a_table_of_torque_gives_power(tmp_path: Path) -> None:
    table(tmp_path / "a.csv", 0)
    found = read_pull(tmp_path / "a.csv")
    assert found.unit == "hp"
    assert np.interp(4000.0, found.speed, found.power) == pytest.approx(300 * 4000 / 5252.113, rel=1e-4)


def test_a_log_without_power_is_compared_by_the_rise_of_speed(tmp_path: Path) -> None:
    rows = "\n".join(f"{at * 0.05:.2f},{1500 + 25 * at},100" for at in range(120))
    (tmp_path / "log.csv").write_text(f"time,rpm,throttle\n{rows}\n", encoding="utf-8")
    found = read_pull(tmp_path / "log.csv")
    assert found.unit == "rpm/s"
    assert np.interp(3000.0, found.speed, found.power) == pytest.approx(500.0, rel=0.01)


@pytest.mark.filterwarnings("error")
def test_a_speed_of_no_engine_is_left_out(tmp_path: Path) -> None:
    rows = "\n".join(f"{speed:.0f},200" for speed in (*SPEEDS, 9e11))
    (tmp_path / "a.csv").write_text(f"rpm,power (hp)\n{rows}\n", encoding="utf-8")
    assert read_pull(tmp_path / "a.csv").speed.max() == 5000
