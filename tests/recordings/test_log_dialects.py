"""Logs as loggers of every kind write them: one run in every dialect must be the same run."""

from __future__ import annotations

from collections.abc import Callable
from pathlib import Path

import numpy as np
import pytest

from troubleshoot.recordings.dialect import RecordingRefused
from troubleshoot.recordings.log import Log, log_from, read_log
from troubleshoot.recordings.picks import lacking, meanings, read_picks, remember, remembered

MOMENTS = [(step * 0.5, 700 + 10 * step, 2.5, 50.25 - step / 8) for step in range(40)]


def plain(log: Log) -> None:
    """The log must be the run above, whatever it was written in."""
    assert np.allclose(log.time - log.time[0], [one[0] for one in MOMENTS])
    assert np.allclose(log.columns["engine-speed"], [one[1] for one in MOMENTS])
    assert np.allclose(log.columns["throttle"], 2.5)
    assert np.allclose(log.columns["fuel-pressure"], [one[3] for one in MOMENTS], atol=0.01)


def rows(write: Callable[[float], str], separator: str, time: Callable[[float], str] | None = None) -> str:
    return "\n".join(
        separator.join(((time or write)(at), write(speed), write(throttle), write(pressure)))
        for at, speed, throttle, pressure in MOMENTS
    )


def dot(value: float) -> str:
    return f"{value:.3f}"


def comma(value: float) -> str:
    return f"{value:.3f}".replace(".", ",")


def thousands(value: float) -> str:
    return f'"{value:,.2f}"'


def bar(value: float) -> str:
    return f"{value * 0.0689475729:.6f}"


HEAD = ("Time", "RPM", "TP", "Fuel Pressure")


def head(separator: str) -> str:
    return separator.join(HEAD) + "\n"


def clock(at: float) -> str:
    return f"{13 + int(at + 3590) // 3600:02d}:{int(at + 3590) // 60 % 60:02d}:{(at + 3590) % 60:06.3f}"


DIALECTS = {
    "commas": head(",") + rows(dot, ","),
    "semicolons": head(";") + rows(dot, ";"),
    "tabs": head("\t") + rows(dot, "\t"),
    "bars": head("|") + rows(dot, "|"),
    "decimal commas with semicolons": head(";") + rows(comma, ";"),
    "decimal commas with tabs": head("\t") + rows(comma, "\t"),
    "decimal commas in quotes": head(",") + rows(lambda value: f'"{comma(value)}"', ","),
    "thousands in quotes": head(",") + rows(thousands, ","),
    "a row of units": head(",") + "s,rpm,%,psi\n" + rows(dot, ","),
    "a row of units in brackets": head(";") + "[s];[1/min];[%];[psi]\n" + rows(dot, ";"),
    "units in brackets": "Time (s),Engine Speed [1/min],TP (%),Fuel Pressure {psi}\n" + rows(dot, ","),
    "units behind the name": "Time s,Engine speed rpm,Throttle %,Fuel_Pressure_psi\n" + rows(dot, ","),
    "lines before the headings": 'Logger 7\nDate: 3 May 2026\n\n"Workshop, yard"\n' + head(",") + rows(dot, ","),
    "remarks": "# made at the yard\n" + head(",") + rows(dot, ","),
    "a line naming the separator": "sep=;\n" + head(";") + rows(comma, ";"),
    "milliseconds": head(",").replace("Time", "Time (ms)") + rows(dot, ",", lambda at: f"{at * 1000:.0f}"),
    "milliseconds in a row of units": head(",") + "ms,,,\n" + rows(dot, ",", lambda at: f"{at * 1000:.0f}"),
    "milliseconds without a name": head(",") + rows(dot, ",", lambda at: f"{at * 1000:.0f}"),
    "minutes and seconds": head(",") + rows(dot, ",", lambda at: f"{int(at) // 60}:{at % 60:06.3f}"),
    "clock": head(",") + rows(dot, ",", clock),
    "date and clock": head(";") + rows(comma, ";", lambda at: f"2026-05-03 {clock(at)}"),
    "date of days first": head(";") + rows(comma, ";", lambda at: f"03.05.2026 {clock(at)}"),
    "seconds since 1970": head(",") + rows(dot, ",", lambda at: f"{1777800000 + at:.2f}"),
    "bar": "Time,RPM,TP,Fuel Pressure (bar)\n"
    + "\n".join(f"{at:.2f},{speed},{throttle},{bar(pressure)}" for at, speed, throttle, pressure in MOMENTS),
    "cells with units": head(",")
    + "\n".join(f"{at:.2f} s,{speed} rpm,{throttle} %,{pressure:.3f} psi" for at, speed, throttle, pressure in MOMENTS),
    "a cell too many": head(",").strip() + ",\n" + rows(dot, ",").replace("\n", ",\n"),
    "Windows lines": (head(",") + rows(dot, ",")).replace("\n", "\r\n"),
}


@pytest.mark.parametrize("name", DIALECTS)
def test_one_run_in_every_dialect(name: str) -> None:
    plain(log_from(DIALECTS[name], name))


def test_a_clock_goes_on_over_midnight() -> None:
    text = "Time,RPM\n" + "\n".join(f"{'23:59:5' if at < 5 else '00:00:0'}{(5 + at) % 10}.0,700" for at in range(12))
    assert np.allclose(log_from(text, "night").time, range(12))


@pytest.mark.parametrize("letters", ["utf-8", "utf-8-sig", "utf-16", "utf-16-le", "utf-16-be", "latin-1"])
def test_letters(tmp_path: Path, letters: str) -> None:
    path = tmp_path / "log.csv"
    text = "Time;RPM;TP;Fuel Pressure;ECT (°C)\n" + "\n".join(f"{line};80,5" for line in rows(comma, ";").splitlines())
    path.write_bytes(text.encode(letters))
    log = read_log(path)
    plain(log)
    assert log.columns["coolant"][0] == pytest.approx(80.5 * 1.8 + 32)
    assert len(log.sha256) == 64


def test_what_stands_for_nothing_is_left_out() -> None:
    marks = ["", "OFF", "N/A", "-", "nan", "12.5"]
    text = "time,rpm,lambda\n" + "\n".join(f"{at},700,{mark}" for at, mark in enumerate(marks))
    assert np.isfinite(log_from(text, "gaps").columns["mixture"]).tolist() == [False] * 5 + [True]


def test_a_logger_begun_again_is_kept_in_parts() -> None:
    part = "\n".join(f"{at * 0.1:.1f},{700 + at}" for at in range(30))
    for text in (f"time,rpm\n{part}\n{part}", f"time,rpm\ns,rpm\n{part}\ntime,rpm\ns,rpm\n{part}"):
        log = log_from(text, "twice")
        assert log.restarts == (30,)
        assert (np.diff(log.time) >= 0).all()
        assert "begun again" in log.remarks[0]


def test_columns_of_several_rates_are_held_for_finding_moments_only() -> None:
    text = "time,rpm,throttle\n" + "\n".join(
        f"{at * 0.1:.1f},{700 + at},{at if at % 5 == 0 else ''}" for at in range(40)
    )
    log = log_from(text, "rates")
    assert np.isfinite(log.columns["throttle"]).sum() == 8
    assert np.isfinite(log.held("throttle")).all()
    assert log.held("throttle")[9] == 5


@pytest.mark.parametrize(
    ("heading", "quantity"),
    [
        ("TP", "throttle"),
        ("ECT", "coolant"),
        ("IAT", "air-temperature"),
        ("MAP", "manifold-pressure"),
        ("RPM.", None),
        ("AFR", "mixture"),
        ("Batt V", "battery-volts"),
        ("Inj Duty", None),
        ("Duty", "duty"),
        ("clt", None),
        ("iac", None),
    ],
)
def test_short_forms_of_the_standard_and_of_the_trade(heading: str, quantity: str | None) -> None:
    """Short forms of SAE J1930 (from memory); those of one family of loggers mean nothing until a person says so."""
    log = log_from(f"time,rpm,{heading if heading != 'RPM.' else 'x'}\n0,700,12\n1,700,12\n", "x")
    assert (set(log.columns) - {"time", "engine-speed"}) == ({quantity} if quantity else set())


def test_headings_in_another_language_are_picked_and_remembered(tmp_path: Path) -> None:
    text = "Zeit;Drehzahl;Kraftstoffdruck\ns;1/min;bar\n" + "\n".join(f"{at},5;{700 + at};3,5" for at in range(9))
    with pytest.raises(RecordingRefused, match=r"x:1: no column is the time — say which .* 'Zeit', 'Drehzahl'"):
        log_from(text, "x")
    chosen = read_picks(["time=Zeit", "engine speed=Drehzahl", "fuel-pressure=Kraftstoffdruck"])
    log = log_from(text, "x", chosen)
    assert log.columns["fuel-pressure"][0] == pytest.approx(50.763, abs=0.01)
    assert remember(tmp_path, log.headings, chosen)
    assert remembered(tmp_path, log.headings) == chosen
    assert remembered(tmp_path, ("Zeit", "Drehzahl")) == {}
    assert all(name for _, name in meanings(log.headings, chosen))
    assert [one for one, name in meanings(log.headings, {}) if not name] == ["Zeit", "Drehzahl", "Kraftstoffdruck"]
    assert lacking(meanings(log.headings, {})) == "No heading is the time."
    assert not lacking(meanings(log.headings, chosen))


@pytest.mark.parametrize(
    ("text", "what"),
    [
        ("time,rpm\n0,700\n1,70x0\n2,700", ":3: column 2, 'rpm': '70x0' is not a number"),
        ("time;rpm\n0;700\n1;700;4\n", ":3: 3 cells, but 2 headings"),
        ("time,rpm,TP\n0,700,1e308\n1,700,2", ":2: column 3, 'TP': '1e308' is not a number"),
        ("0,700\n1,800\n2,900", ":1: no column has a heading"),
        ("time,rpm,tp (psi)\n0,700,3", ":1: heading 'tp (psi)'"),
        ("12:00:01,700\n" * 3, "no column has a heading"),
        ("time,rpm\n12:00:01,700\n12:00:61,700", ":3: column 1, 'time': '12:00:61' is not a time"),
    ],
)
def test_refusals_name_line_column_and_what_to_do(text: str, what: str) -> None:
    with pytest.raises(RecordingRefused) as problem:
        log_from(text, "x")
    assert what in problem.value.sentence
    assert " — " in problem.value.sentence


@pytest.mark.parametrize("words", ["nothing", "speed-of-engine=RPM", "engine-speed=", "=RPM"])
def test_a_column_that_is_not_named_rightly_is_refused(words: str) -> None:
    with pytest.raises(RecordingRefused, match=" — "):
        read_picks([words])


def test_date_and_time_in_one_column_over_midnight_and_picks_in_the_words_of_the_trade() -> None:
    rows = [
        f"2026-05-{1 + (at >= 150):02d} {'00:00' if at >= 150 else '23:59'}:{(45 + at / 10) % 60:04.1f}"
        for at in range(300)
    ]
    log = log_from("date time;rpm\n" + "\n".join(f"{one};{750 + at % 3}" for at, one in enumerate(rows)), "x")
    assert log.time[-1] - log.time[0] == pytest.approx(29.9)
    assert read_picks(["rpm=Drehzahl", "Time=Zeit"]) == {"engine-speed": "Drehzahl", "time": "Zeit"}
