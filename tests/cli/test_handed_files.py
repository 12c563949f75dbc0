"""Files that the bench hands out in place of numbers: made by the virtual engine, read with the program, marked."""

from __future__ import annotations

import base64
import zlib
from pathlib import Path

import msgspec
import pytest

from tests.cli.conftest import Command
from troubleshoot.bench.virtual_bench import VirtualBench
from troubleshoot.case.case import Case
from troubleshoot.case.recorded import take_recorded
from troubleshoot.case.settings import CaseSettings
from troubleshoot.casebook.store import Casebook
from troubleshoot.classroom.drill_file import Drill, DrillRefused, HandedFile, drill_text, read_drill, sealed
from troubleshoot.classroom.drill_maker import DrillPlan, MadeDrill, make_drills
from troubleshoot.classroom.handed_files import (
    FILE_KINDS,
    cautions_first,
    content_of,
    file_kinds,
    recorded_of,
    texts_of,
)
from troubleshoot.classroom.sitting import practised_files, sit
from troubleshoot.knowledge.answers import ReadingRefused
from troubleshoot.knowledge.catalogue import Catalogue, load_catalogue
from troubleshoot.problems import TroubleshootError

ENGINE_WORDS = {"idle-speed": ("idle_rpm", 20.0), "dwell-at-idle": ("dwell_deg", 0.5), "pump-current": ("pump_a", 0.2),
                "cranking-speed": ("crank_rpm", 2.0)}  # fmt: skip
"""Checks with the engine's own reading, and how near the file must bring them (captures: what is stated of them)."""


@pytest.fixture(scope="module")
def catalogue() -> Catalogue:
    return load_catalogue()


@pytest.fixture(scope="module")
def drill(catalogue: Catalogue) -> MadeDrill:
    plan = DrillPlan(faults={"pump-volts-low": 0.8}, concerns=("lean-top",), files=FILE_KINDS)
    return make_drills([plan], [77], catalogue)[0]


def test_what_is_read_in_the_files_is_the_car_of_the_drill(catalogue: Catalogue, drill: MadeDrill) -> None:
    state, files = drill.car.readings[drill.car.job.faults], drill.drill.handed
    assert isinstance(files, dict)
    assert {one.what for one in files.values()} == {"sound", "log", "coil", "pump", "starter", "ripple", "injector"}
    checks = [check for one in files.values() for check in one.checks]
    assert len(checks) == len(set(checks)) > 12
    read: dict[str, str] = {}
    for name, one in files.items():
        read |= texts_of(name, one, 8, catalogue, one.checks)
    assert set(read) == set(checks)
    for check, (engine, near) in ENGINE_WORDS.items():
        assert float(read[check].split()[0]) == pytest.approx(state[engine], abs=near)


def test_a_drill_with_files_is_sat(command: Command, tmp_path: Path, drill: MadeDrill) -> None:
    """The check is answered by reading the file; one that was not handed out yet is refused."""
    (tmp_path / "d.drill.json").write_text(drill_text(drill.drill), encoding="utf-8")
    answers = (
        "pump-current\ny\ny\ny\ny\ny\nsound idle.wav\ncapture pump.csv pump\ncapture pump.csv pump all\n3\nfinish\ny\n"
    )
    sat = command("drill", "sit", "d.drill.json", "--name", "Ann", answers=answers)
    assert "The bench hands you pump.csv (capture of pump)." in sat.out
    assert "That file was not handed out here. Handed out: pump.csv." in " ".join(sat.out.split())
    assert "To take them: capture pump.csv all" in sat.out
    assert "1 reading taken from pump.csv." in sat.out
    assert (tmp_path / "pump.csv").read_text(encoding="utf-8").startswith("time (s),pump (A)")
    assert '"pump.csv"' in (tmp_path / "d-Ann.handin.json").read_text(encoding="utf-8")


def choose(case: Case, check: str) -> None:
    """Choose a check and read its cautions."""
    case.choose(check)
    while case.view().step.kind == "caution":
        case.acknowledge(case.view().step.cautions[0].id)


def test_a_reading_that_is_not_in_the_file_is_refused(catalogue: Catalogue, drill: MadeDrill) -> None:
    """Marking replays a hand-in under the same rules, so a forged one is refused there too."""
    with Casebook(":memory:") as book:
        sitting, _ = sit(book, catalogue, lambda: 1_800_000_000.0, drill.drill, "Bo", CaseSettings())
        choose(sitting.case, "pump-current")
        handed = sitting.handed("pump-current")
        assert handed is not None
        assert handed.name == "pump.csv"
        assert set(sitting.handed_out()) == {"pump.csv"}
        with pytest.raises(ReadingRefused):
            sitting.case.take("pump-current", "9.9 ± 0.2 A", sure=True)
        assert take_recorded(sitting.case, handed.recorded, ["pump-current"], kept=False) == 1
        taken = sitting.case.assessment.latest["pump-current"].value
        assert taken == pytest.approx(handed.recorded.readings[0].value, abs=0.1)
        assert sitting.handed("fuel-age") is None


def test_readings_wait_for_the_cautions_of_their_own_checks(catalogue: Catalogue, drill: MadeDrill) -> None:
    """A log of an idle tells the fuel pressure too, which is not taken on the cautions of the mixture."""
    with Casebook(":memory:") as book:
        sitting, _ = sit(book, catalogue, lambda: 1_800_000_000.0, drill.drill, "Bo", CaseSettings())
        case = sitting.case
        first = sitting.handed("idle-mixture")
        assert first is not None
        assert not first.recorded.readings
        assert "idle-mixture" in first.cautions_first
        assert "read their cautions first" in cautions_first(first, catalogue)[0]
        choose(case, "idle-mixture")
        handed = sitting.handed("idle-mixture")
        assert handed is not None
        every = {*(one.check for one in handed.recorded.readings), *handed.cautions_first}
        assert "idle-mixture" in {one.check for one in handed.recorded.readings}
        assert every == {*first.cautions_first}
        assert "pressure-at-idle" in handed.cautions_first
        for one in handed.recorded.readings:
            assert not case.cautions_before(one.check)
        assert all(case.cautions_before(one) for one in handed.cautions_first)
        take_recorded(case, handed.recorded, [one.check for one in handed.recorded.readings], kept=False)
        again = sitting.handed(next(one for one in every if one != "idle-mixture"))
        assert again is not None
        assert "idle-mixture" not in {one.check for one in again.recorded.readings}  # nothing is taken twice


def test_ripple_and_injector_are_answered_by_their_captures(catalogue: Catalogue, drill: MadeDrill) -> None:
    """About 1 ms at 13.5 V is usual, and ripple under 0.2 V (common practice); the delay has no number at the bench."""
    with Casebook(":memory:") as book:
        sitting, _ = sit(book, catalogue, lambda: 1_800_000_000.0, drill.drill, "Bo", CaseSettings())
        assert {"supply-ripple", "injector-opening-delay"} <= {one.id for one in sitting.checks()}
        for check, low, high in (("supply-ripple", 0.0, 0.2), ("injector-opening-delay", 0.8, 1.5)):
            sitting.take(check)
            read = sitting.case.assessment.latest[check]
            assert read.value is not None
            assert low < read.value < high
            assert read.normal


def test_a_bad_diode_is_seen_in_the_capture_that_its_drill_hands_out(catalogue: Catalogue) -> None:
    plan = DrillPlan(faults={"alternator-diode-bad": 0.6}, concerns=("charging",), files=("capture",))
    made = make_drills([plan], [5], catalogue)[0]
    file = made.drill.handed["ripple.csv"]
    recorded = recorded_of("ripple.csv", file, 8)
    assert any("as with a bad diode" in one for one in recorded.words)
    read = {one.check: one.value for one in recorded.readings}["supply-ripple"]
    assert read == pytest.approx(made.car.readings[made.car.job.faults]["ripple_v"], abs=0.03)
    assert read > 0.2  # common practice, no source: 0.5 V from peak to peak at most


def test_practice_hands_out_files_of_the_car_as_its_repairs_leave_it(catalogue: Catalogue, drill: MadeDrill) -> None:
    repaired: list[str] = []
    bench = VirtualBench(drill.car, catalogue, drill.drill.concerns, lambda: repaired)
    files = practised_files(bench, drill.drill, catalogue)
    before = files()
    assert before == drill.drill.handed
    repaired.append("pump-volts-low")
    after = files()
    assert set(after) == set(before)
    assert after["pull.csv"] != before["pull.csv"]
    assert "supply-ripple" in after["ripple.csv"].checks


def drill_with(tmp_path: Path, name: str, content: str) -> Path:
    """Return a drill with one file in it."""
    drill = Drill(
        title="x", story="x", car={}, concerns=("lean-top",), trees="x", readings={"pump-current": "5 A"},
        handed={name: HandedFile(what="pump", checks=("pump-current",), content=content)},
    )  # fmt: skip
    path = tmp_path / "x.drill.json"
    path.write_text(drill_text(sealed(drill)), encoding="utf-8")
    return path


@pytest.mark.parametrize("name", ["../x.csv", "/etc/x.csv", ".hidden.csv", "x.exe", "a/b.wav", "X.csv\n"])
def test_no_file_leaves_its_folder(tmp_path: Path, name: str) -> None:
    with pytest.raises(DrillRefused):
        read_drill(drill_with(tmp_path, name, ""))


def test_damaged_and_endless_files_are_refused_in_a_sentence(tmp_path: Path, catalogue: Catalogue) -> None:
    endless = base64.b64encode(zlib.compress(b"0" * 50_000_000, 9)).decode()
    for content in ("no base64 at all", "AAAA", endless):
        drill = read_drill(drill_with(tmp_path, "x.csv", content))
        assert isinstance(drill.handed, dict)
        with pytest.raises(TroubleshootError, match="damaged"):
            content_of(drill.handed["x.csv"])
        assert not texts_of("x.csv", drill.handed["x.csv"], 8, catalogue, ("pump-current",))


def test_a_drill_without_files_is_written_as_before() -> None:
    drill = Drill(title="x", story="x", car={}, concerns=(), trees="x", readings={})
    assert b"handed" not in msgspec.json.encode(drill)


def test_kinds_are_named() -> None:
    assert file_kinds(["capture", "log"]) == ("log", "capture")
    with pytest.raises(TroubleshootError, match="log, sound, capture"):
        file_kinds(["video"])
