"""`rank`: readings in, the ranking out; whatever is wrong with a name or a reading is a sentence and exit code 2."""

from __future__ import annotations

import io
import json
import sys
from collections.abc import Callable
from pathlib import Path
from typing import Any

import pytest

from troubleshoot.casebook.store import Casebook, default_path

Command = Callable[..., Any]
FALLING = "pressure-when-lean: 38 psi\npump-volts-under-load: 13.4 V\nsuction-vacuum: 12 inHg\n"


@pytest.fixture
def readings(tmp_path: Path) -> Path:
    path = tmp_path / "readings.yaml"
    path.write_text(FALLING, encoding="utf-8")
    return path


def test_readings_in_ranking_out(command: Command, readings: Path) -> None:
    ran = command("rank", "lean-top", "--car", "harrow-240", "--readings", "readings.yaml")
    assert (ran.code, ran.err) == (0, "")
    assert "Inlet strainer blocked" in ran.out.split("LIKELY:")[1].splitlines()[1]
    assert "WHY: Inlet strainer blocked" in ran.out
    assert "NEXT: " in ran.out
    assert not default_path().exists()


def test_json_for_a_program(command: Command, readings: Path) -> None:
    ran = command("rank", "lean-top", "--car", "harrow-240", "--readings", str(readings), "--json")
    found = json.loads(ran.out)
    assert found["causes"][0]["id"] == "inlet-strainer-blocked"
    probabilities = [one["probability"] for one in found["causes"]]
    assert probabilities == sorted(probabilities, reverse=True)
    assert {one["check"] for one in found["causes"][0]["weights"]} == set(FALLING.split(": ")[0].split()) | {
        "pump-volts-under-load",
        "suction-vacuum",
    }
    assert found["next"]["kind"] in ("check", "repair")


def test_every_fault_is_said_at_once(command: Command, readings: Path) -> None:
    readings.write_text(
        "presure-when-lean: 38\npump-volts-under-load: 13 psi\npressure-at-idle: 900 psi\nplugs-wet: maybe\n"
        "idle-speed: many\nbattery-rest-volts: 12.6 V\n",
        encoding="utf-8",
    )
    ran = command("rank", "lean-top", "--car", "harrow-240", "--readings", "readings.yaml")
    assert (ran.code, ran.out) == (2, "")
    lines = ran.err.strip().splitlines()
    assert len(lines) == 5
    assert "did you mean pressure-when-lean?" in lines[0]
    assert "psi is a pressure; this asks for a voltage" in lines[1]
    assert "outside what this can be" in lines[2]
    assert "plugs-wet" in lines[3]
    assert "idle-speed" in lines[4]


@pytest.mark.parametrize(
    ("content", "says"),
    [
        (b"", "empty"),
        (b"- 1\n- 2\n", "check ids"),
        (b"pressure-when-lean: [1, 2]\n", ":1:1: pressure-when-lean has no reading"),
        (b"pressure-when-lean: 38\npressure-when-lean: 39\n", "second time"),
        (b"a: &x 1\nb: *x\n", "elsewhere"),
        (b"\xff\xfe", "UTF-8"),
        (b"a: {", "readings.yaml:"),
        (b"a: !!python/object:os.system x\n", "tag"),
    ],
)
def test_files_that_are_no_readings(command: Command, readings: Path, content: bytes, says: str) -> None:
    readings.write_bytes(content)
    ran = command("rank", "lean-top", "--car", "harrow-240", "--readings", "readings.yaml")
    assert (ran.code, ran.out) == (2, "")
    assert says in ran.err
    assert "Traceback" not in ran.err


@pytest.mark.parametrize(
    ("arguments", "says"),
    [
        (("lean-tip", "--car", "harrow-240"), "did you mean lean-top?"),
        (("lean-top", "--car", "harrow-241"), "did you mean harrow-240?"),
        (("lean-top", "--car", "harrow-240", "--set", "cylinders=5"), "cylinders cannot be 5"),
        (("lean-top", "--car", "harrow-240", "--set", "rated-pressure=5 V"), "rated-pressure"),
        (("lean-top", "--car", "harrow-240", "--tools", "gage"), "There is no tool gage"),
        (("lean-top", "--car", "harrow-240", "--readings", "none.yaml"), "cannot be read"),
        (("lean-top",), "--car"),
        ((), "CONCERN"),
    ],
)
def test_wrong_names(command: Command, arguments: tuple[str, ...], says: str) -> None:
    ran = command("rank", *arguments)
    assert ran.code == 2
    assert says in ran.err
    assert "Traceback" not in ran.err


def test_a_car_file_with_faults_names_their_lines(command: Command, tmp_path: Path) -> None:
    (tmp_path / "mine.yaml").write_text("title: Mine\ncylinders: 5\nrated-presure: 50\n", encoding="utf-8")
    ran = command("rank", "lean-top", "--car", "mine.yaml")
    assert ran.code == 2
    assert "mine.yaml:2:" in ran.err
    assert "mine.yaml:3:" in ran.err
    assert "did you mean rated-pressure?" in ran.err
    (tmp_path / "mine.yaml").write_text("title: Mine\nrated-pressure: 50\n", encoding="utf-8")
    assert command("rank", "lean-top", "--car", "mine.yaml").code == 0


def test_readings_from_a_recorded_run(command: Command, tmp_path: Path) -> None:
    rows = [f"{at / 20:.2f},{1500 + 30 * at},100,{50 - at / 10:.2f},{0.86 + at / 500:.3f}" for at in range(110)]
    (tmp_path / "run.csv").write_text("\n".join(["time,rpm,throttle,fuel pressure,lambda", *rows]), encoding="utf-8")
    ran = command("run", "run.csv")
    assert ran.code == 0
    found = dict(line.split(": ") for line in ran.out.splitlines())
    assert float(found["pressure-when-lean"].split()[0]) == pytest.approx(50 - 10.9, abs=0.3)
    assert "Pull: " in ran.err
    data = json.loads(command("run", "run.csv", "--json").out)
    assert {check: one["read"] for check, one in data["readings"].items()} == found
    assert data["readings"]["pressure-when-lean"]["to-s"] == pytest.approx(5.45, abs=0.2)
    metric = dict(line.split(": ") for line in command("run", "run.csv", "--units", "metric").out.splitlines())
    assert float(metric["pressure-when-lean"].split()[0]) == pytest.approx((50 - 10.9) / 14.504, abs=0.03)  # psi a bar
    assert metric["pressure-when-lean"].endswith(" bar")
    ranked = command("rank", "lean-top", "--car", "harrow-240", "--run", "run.csv")
    assert "± 1 psi" in ranked.out
    wrong = command("run", "none.csv")
    assert wrong.code == 2
    assert "cannot be read" in wrong.err


def test_readings_from_stdin_and_bare_numbers_in_the_unit_shown(command: Command) -> None:
    ran = command(
        "rank", "lean-top", "--car", "harrow-240", "--readings", "-", "--json", answers="manifold-pressure-full: 96\n"
    )
    assert ran.code == 0, ran.err
    assert json.loads(ran.out)["readings"][0]["normal"] is True
    metric = ("--units", "metric", "rank", "lean-top", "--car", "harrow-240", "--readings", "-")
    assert "2.6 ± 0.07 bar" in command(*metric, answers="pressure-when-lean: 2.6\n").out
    assert "If it is 38 psi, type 38 psi." in command(*metric, answers="pressure-when-lean: 38\n").err
    assert "(in bar)" in command("--units", "metric", "checks", "pressure-when-lean").out
    assert "(in psi)" in command("checks", "pressure-when-lean").out


def test_closed_cases_teach_unless_told_not_to(command: Command) -> None:
    with Casebook(default_path()) as book:
        for _ in range(30):
            book.set_headline(book.new_case(1.7e9), "", "proved", ["injectors-too-small"])
    taught = json.loads(command("rank", "lean-top", "--car", "harrow-240", "--json").out)
    plain = json.loads(command("--no-learning", "rank", "lean-top", "--car", "harrow-240", "--json").out)
    assert taught["causes"][0]["id"] == "injectors-too-small"
    assert plain["causes"][0]["id"] != "injectors-too-small"
    assert any("30 proved causes" in notice for notice in taught["notices"])
    assert plain["notices"] == []


def test_a_fault_in_the_program_is_one_sentence(command: Command, monkeypatch: pytest.MonkeyPatch) -> None:
    def broken() -> None:
        raise ZeroDivisionError("by hand")

    monkeypatch.setattr(sys, "stdin", io.StringIO())
    from troubleshoot.cli import output

    assert output.protected(broken, lambda: False) == 70


def test_a_problem_file_is_ranked_for_the_answers_already_had(command: Command, tmp_path: Path) -> None:
    """Fault table of Balakrishnan and Semmelbauer, Decision Support Systems 25 (1999): 2 good, 3 bad is defect 3."""
    board = str(Path(__file__).parents[1] / "published" / "problems" / "circuit-board.yaml")
    answers = tmp_path / "answers.yaml"
    answers.write_text('test-2: "no"\ntest-3: "yes"\ntest-1: skipped\n', encoding="utf-8")
    found = json.loads(command("rank", board, "--readings", str(answers), "--json").out)
    assert [one["probability"] for one in found["causes"] if one["id"] == "defect-3"] == [1.0]
    assert (found["next"]["kind"], found["readings"]) == ("repair", {"test-2": "no", "test-3": "yes"})
    plain = command("rank", board, "--readings", str(answers))
    assert plain.code == 0
    assert "100.0 %  defect-3" in plain.out
    answers.write_text("test-2: maybe\ntest-9: yes\n", encoding="utf-8")
    refused = command("rank", board, "--readings", str(answers))
    assert refused.code == 2
    assert "maybe is no outcome" in refused.err
    assert "there is no such check" in refused.err
    assert command("rank", board, "--car", "harrow-240").code == 2


def test_a_concern_without_a_car_is_refused_in_a_sentence(command: Command) -> None:
    ran = command("rank", "lean-top")
    assert ran.code == 2
    assert "Whose car is it?" in ran.err
