"""Cars prepared ahead: what is taken is what was drawn, for this level, concern, units and version only."""

from __future__ import annotations

import subprocess
import sys
import time
from pathlib import Path

import msgspec
import pytest

from troubleshoot.classroom.drill_file import packed
from troubleshoot.classroom.drill_maker import MadeDrill
from troubleshoot.classroom.key_file import KeyRefused, key_text
from troubleshoot.classroom.ready_cars import ALIKE, ReadyCars, car_bytes, kept_car, kept_key


def test_a_car_taken_is_the_car_that_was_kept_and_is_taken_once(tmp_path, trees, made) -> None:
    car = made["06-lean-on-the-long-hill"]
    ready = ReadyCars(tmp_path, trees, "us")
    ready.fill((1,), iter([(1, car)]))
    assert ready.take(2, None, "asked") is None, "another level"
    assert ready.take(1, "no-crank", "asked") is None, "another concern"
    assert ReadyCars(tmp_path, trees, "metric").take(1, None, "asked") is None, "other words"
    taken = ready.take(1, car.drill.concerns[0], "shown")
    assert taken is not None
    assert taken.drill.ranking == "shown" and taken.key.drill == taken.drill
    assert taken.drill.readings == car.drill.readings and taken.key.faults == car.key.faults
    assert taken.car.heard == car.car.heard
    for state, row in car.car.readings.items():
        assert taken.car.readings[state] == pytest.approx(row, nan_ok=True)
    assert ready.take(1, None, "asked") is None


def test_enough_alike_are_enough_and_other_versions_are_cleared_away(tmp_path, trees, made) -> None:
    car = made["06-lean-on-the-long-hill"]
    (tmp_path / "0000-1-aa.car").write_bytes(b"of another version")
    ready = ReadyCars(tmp_path, trees, "us")
    ready.fill((1, 2), iter([(1, car)] * 5))
    assert len(list(tmp_path.iterdir())) == len(ready.files(1)) == ALIKE


def test_cars_are_solved_behind_and_solved_ones_are_taken_first(tmp_path, trees, made) -> None:
    car = made["06-lean-on-the-long-hill"]
    solved = MadeDrill(car.drill, msgspec.structs.replace(car.key, best_policy="readings"), car.car)
    bare = MadeDrill(car.drill, msgspec.structs.replace(car.key, best_policy=""), car.car)
    ready = ReadyCars(tmp_path, trees, "us")
    ready.fill((1,), iter([(1, bare), (1, bare)]))
    answers = iter([None, solved])
    assert [ready.solve_one(1, lambda _: next(answers)) for _ in range(3)] == [True, True, False]
    assert [kept_key(path).best_policy for path in ready.files(1)] == ["readings"], (
        "what cannot be solved is no practice"
    )
    ready.fill((1,), iter([(1, bare)]))
    taken = [ready.take(1, None, "asked") for _ in range(2)]
    assert [one.key.best_policy for one in taken if one] == ["readings", ""]


def test_a_damaged_car_is_passed_over_and_refused_by_name(tmp_path, trees, made) -> None:
    car = made["06-lean-on-the-long-hill"]
    ready = ReadyCars(tmp_path, trees, "us")
    ready.fill((1,), iter([(1, car)]))
    (whole,) = ready.files(1)
    whole.with_name(whole.name.replace("-1-", "-1-0")).write_bytes(b"{")
    other = msgspec.structs.replace(car.key, drill=msgspec.structs.replace(car.drill, title="Changed"))
    changed = whole.with_name("changed.car")
    changed.write_bytes(packed(key_text(other)))
    with pytest.raises(KeyRefused, match="was changed"):
        kept_car(changed)
    assert kept_key(whole) == car.key
    assert ready.take(1, None, "asked") is not None and ready.files(1) == []
    assert car_bytes(car).count(car.key.causes[0].encode()) == 0


@pytest.mark.skipif(not Path("/proc/self/stat").exists(), reason="processes are looked up in /proc")
def test_preparing_ends_with_its_face_even_where_that_is_killed(tmp_path) -> None:
    """A face that is killed (-9) leaves nobody behind that goes on computing."""
    begun = (
        "import pathlib, sys, time; from troubleshoot.classroom.preparing import Preparing\n"
        "one = Preparing(pathlib.Path(sys.argv[1]), None, 'us'); one.start()\n"
        "print(one._process.pid, flush=True); time.sleep(600)"
    )
    face = subprocess.Popen(
        [sys.executable, "-c", begun, str(tmp_path / "c.sqlite")], stdout=subprocess.PIPE, text=True
    )
    assert face.stdout is not None
    prepares = Path(f"/proc/{int(face.stdout.readline())}/stat")

    def at_work() -> bool:
        """A process that has ended and that nobody asked after is a zombie, Z (proc_pid_stat(5))."""
        return prepares.exists() and prepares.read_text(encoding="utf-8").rpartition(")")[2].split()[0] != "Z"

    assert at_work()
    face.kill()
    face.communicate()
    end = time.monotonic() + 60.0
    while at_work() and time.monotonic() < end:
        time.sleep(0.1)
    assert not at_work()
