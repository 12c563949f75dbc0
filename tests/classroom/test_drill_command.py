"""The commands as a trainer and two trainees type them, and what they answer to bad input."""

from __future__ import annotations

import json
import os
import subprocess
import sys
from pathlib import Path

import pytest

ANN = """\
list pressure
pressure-when-lean
y
y
y
1
pump-volts-under-load
1
ranking
causes strainer
repair inlet-strainer-blocked
time
hand in
y
"""
BO = ANN.replace("repair inlet-strainer-blocked", "repair filter-blocked").replace("pump-volts-under-load\n1\n", "")
COMMANDS = """\
drill new --from 06-lean-on-the-long-hill -o hill
drill check hill.drill.json hill.key
drill sit hill.drill.json --name Ann
drill sit hill.drill.json --name Bo
drill mark hill.key hill-Ann.handin.json hill-Bo.handin.json --csv hill.csv --pages hill-marks
"""


def type_in(folder, line, text=""):
    """Run a command line in a folder as a process of its own and return it."""
    environment = {**os.environ, "TROUBLESHOOT_DATA": str(folder / "data")}
    return subprocess.run(
        [sys.executable, "-m", "troubleshoot", *line.split()],
        cwd=folder, env=environment, input=text, capture_output=True, text=True, timeout=300,
    )  # fmt: skip


@pytest.mark.slow
def test_a_trainer_sets_runs_and_marks_a_drill_for_two(tmp_path):
    """The commands of the trainers' section, in their order."""
    first, *rest = COMMANDS.splitlines()
    lines = [f"{first} --seed 515", *rest]
    done = [type_in(tmp_path, line, BO if "Bo" in line else ANN) for line in lines]
    assert [one.returncode for one in done] == [0] * 5, [one.stderr for one in done]
    assert "can be solved" in done[1].stdout
    table = done[4].stdout
    assert "Ann" in table and "1 of 2 found it" in table
    rows = (tmp_path / "hill.csv").read_text(encoding="utf-8").splitlines()
    assert rows[1].startswith("Ann,") and rows[2].startswith("Bo,") and len(rows) == 3
    pages = {one.name for one in (tmp_path / "hill-marks").iterdir()}
    assert pages == {"hill-Ann.html", "hill-Bo.html", "class.html"}


def test_the_section_for_trainers_has_these_commands():
    """So that what the trainer's handbook says to type is what the test above typed."""
    text = (Path(__file__).parents[2] / "troubleshoot" / "classroom" / "README.md").read_text(encoding="utf-8")
    assert [line for line in COMMANDS.splitlines() if f"troubleshoot {line}" not in text] == []


def test_a_sitting_that_stops_goes_on_with_the_same_words(here):
    code, out, _ = here("drill sit hill.drill.json --name Ann", "\n".join(ANN.splitlines()[:6]))
    assert code == 0 and "Saved" in out
    code, out, _ = here("drill sit hill.drill.json --name Ann", "\n".join(ANN.splitlines()[6:]))
    assert code == 0 and "Going on" in out and "Handed in" in out
    code, out, _ = here("drill mark hill.key hill-Ann.handin.json --json")
    assert code == 0 and json.loads(out)[0]["trainee"] == "Ann"


def test_a_refused_hand_in_does_not_keep_the_others_from_their_marks(here):
    here("drill sit hill.drill.json --name Ann", ANN)
    path = here.folder / "hill-Ann.handin.json"
    (here.folder / "edited.handin.json").write_text(path.read_text().replace("inlet-strainer-blocked", "pump-worn"))
    code, out, err = here("drill mark hill.key hill-Ann.handin.json edited.handin.json")
    assert code == 2 and "Ann" in out and "edited.handin.json" in err and "event" in err


def test_a_drill_that_is_not_over_is_not_opened_as_a_case_where_the_ranking_shows(here):
    here("drill sit hill.drill.json --name Ann", "\n".join(ANN.splitlines()[:6]))
    case = json.loads(here("cases --json")[1])[0]["id"]
    for line in (f"ask --case {case}", f"report {case}", f"cases show {case}"):
        code, out, err = here(line)
        assert code == 2 and "not over" in err and "%" not in out
    here("drill sit hill.drill.json --name Ann", "\n".join(ANN.splitlines()[6:]))
    assert here(f"report {case}")[0] == 0


BAD = {
    "drill sit nothing.json --name A": "cannot be read",
    "drill sit hill.key --name A": "not a drill",
    "drill check hill.drill.json hill.drill.json": "not a drill key",
    "drill mark hill.drill.json hill.key": "not a drill key",
    "drill mark hill.key hill.drill.json": "not a case",
    "drill mark hill.key nothing.json": "cannot be read",
    "drill mark hill.key hill.key --rubric zero.yaml": "add to zero",
    "drill new --from 06-lean-on-the-long-hil": "did you mean 06-lean-on-the-long-hill",
    "drill new --from 06-lean-on-the-long-hill -o hill": "is there already",
    "drill new --fault pump-volts-lo": "did you mean pump-volts-low",
    "drill new --fault points-floating --car tarn-six-160-electronic": "cannot be set",
    "drill new --fault fuel-leak": "cannot be set",
    "drill new --fault pump-dead=much": "no severity",
    "drill new --fault pump-dead=7": "cannot be set so",
    "drill new --fault pump-dead --minutes -4": "cannot be set so",
    "drill new --car harrow-24 --fault pump-dead": "did you mean harrow-240",
    "drill new": "one fault or two",
    "drill plant fuel-leek": "did you mean fuel-leak",
    "drill board nowhere": "There is no class",
    "practise lean-top --level 9": "no level 9",
    "practise lean-tap": "no concern",
    "practise --case 2020-01-01-1 --no-screens": "no practice",
}


@pytest.mark.parametrize("line", BAD)
def test_bad_input_gets_one_sentence_and_code_2_and_writes_nothing(here, line):
    (here.folder / "zero.yaml").write_text("title: x\n", encoding="utf-8")
    before = {one.name: one.read_bytes() for one in here.folder.iterdir() if one.is_file()}
    code, out, err = here(line)
    assert code == 2, out + err
    assert BAD[line] in err and "Traceback" not in err
    assert {one.name: one.read_bytes() for one in here.folder.iterdir() if one.is_file()} == before


def test_a_port_in_use_is_said_in_a_sentence(here):
    import socket

    with socket.socket() as busy:
        busy.bind(("127.0.0.1", 0))
        busy.listen()
        code, _, err = here(f"drill serve hill.drill.json --port {busy.getsockname()[1]}")
    assert code == 2 and "cannot be listened on" in err
    assert not (here.folder / "class").exists()


def test_without_textual_serve_it_says_what_to_install(here, monkeypatch):
    monkeypatch.setitem(sys.modules, "textual_serve", None)
    code, _, err = here("drill serve hill.drill.json")
    assert code == 2 and "pip install textual-serve" in err


def test_an_open_host_is_warned_of(here, monkeypatch):
    monkeypatch.setitem(sys.modules, "textual_serve", None)
    _, _, err = here("drill serve hill.drill.json --host 0.0.0.0")
    assert "no passwords" in err


def test_the_starters_are_listed_and_their_stories_are_read(here):
    code, out, _ = here("drill list")
    assert code == 0 and len(out.splitlines()) == 12
    code, out, _ = here("drill causes --car tarn-six-160-electronic")
    assert code == 0 and "pickup-gap-wide" in out and "points-floating" not in out
