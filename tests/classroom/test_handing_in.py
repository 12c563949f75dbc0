"""What is interrupted is not lost: a full disk, a folder that is gone, a clock set back, a question left open."""

from __future__ import annotations

import os
import stat
import subprocess
import sys

import pytest

from tests.classroom.conftest import read_one
from troubleshoot.classroom import handing_in
from troubleshoot.classroom.drill_file import drill_text
from troubleshoot.classroom.grading import mark
from troubleshoot.classroom.handing_in import HandInUnwritten, finish, hand_in, to_hand_in_at
from troubleshoot.classroom.key_file import read_key
from troubleshoot.classroom.replaying import replay
from troubleshoot.classroom.rubric import read_rubric

CHECKS = ("pressure-when-lean", "pump-volts-under-load")
RIGHT = "pump-volts-low"


def test_a_full_disk_at_the_end_leaves_the_sitting_open_and_it_is_finished_later(
    tmp_path, sitting, work, lean, trees, monkeypatch
):
    """The file is written before anything is closed; a later hand-in stands as if it had been the first."""
    sitting = to_hand_in_at(sitting(), tmp_path / "hill-Ann.handin.json")
    work(sitting, CHECKS, [RIGHT], close=False)
    before = len(sitting.case.events)

    def full(*_args, **_more):
        raise OSError(28, "No space left on device")

    with monkeypatch.context() as patch:
        patch.setattr(handing_in, "write_whole", full)
        with pytest.raises(HandInUnwritten, match="not handed in yet"):
            finish(sitting)
    assert not sitting.over and len(sitting.case.events) == before
    assert len(sitting.case.store.events(sitting.case.case_id)) == before
    sitting.case.note("the disk was full")
    assert not sitting.over
    finish(sitting)
    assert sitting.over and sitting.hand_in_at is not None
    text = sitting.hand_in_at.read_text(encoding="utf-8")
    assert text == hand_in(sitting)
    assert replay(text, "x", lean[0], trees).finished


def test_a_finished_sitting_is_written_again_by_the_same_words(here, tmp_path):
    answers = f"{CHECKS[0]}\ny\ny\ny\n1\nrepair {RIGHT}\nfinish\ny\n"
    code, out, _ = here("drill sit hill.drill.json --name Kim -o kim.json", answers)
    assert code == 0 and "Handed in" in out
    kept = (tmp_path / "kim.json").read_text(encoding="utf-8")
    (tmp_path / "kim.json").unlink()
    code, out, _ = here("drill sit hill.drill.json --name Kim")
    assert code == 0 and "Written again" in out
    assert (tmp_path / "hill-Kim.handin.json").read_text(encoding="utf-8") == kept
    (tmp_path / "hill-Kim.handin.json").write_text("", encoding="utf-8")
    assert here("drill sit hill.drill.json --name Kim")[0] == 0
    assert (tmp_path / "hill-Kim.handin.json").read_text(encoding="utf-8") == kept


def test_another_attempt_is_asked_for_and_has_its_number(here, tmp_path):
    here("drill sit hill.drill.json --name Kim", "y\nfinish\ny\n")
    code, out, _ = here("drill sit hill.drill.json --name Kim --again", f"y\nrepair {RIGHT}\nfinish\ny\n")
    assert code == 0 and "hill-Kim-2.handin.json" in out
    code, out, _ = here("drill mark hill.key hill-Kim.handin.json hill-Kim-2.handin.json")
    assert code == 0 and "Kim (hill-Kim-2.handin.json): attempt 2" in out and out.count("attempt") == 1


@pytest.mark.parametrize("line", [
    "drill sit hill.drill.json --name Kim -o nowhere/kim.json", "drill sit hill.drill.json --name Kim -o hill.key",
])  # fmt: skip
def test_a_place_that_cannot_be_written_is_said_before_anything_is_begun(here, line):
    code, out, err = here(line, "hand in\ny\n")
    assert code == 2 and ("no folder" in err or "is there already" in err) and "DRILL" not in out


def test_a_clock_set_back_is_a_remark_and_costs_nothing(sitting, work, lean, trees):
    """A laptop that sets its time after waking: the file is honest, and is marked as such."""

    class Waking:
        now, reads = 1_800_000_000.0, 0

        def __call__(self) -> float:
            self.reads += 1
            self.now += -270.0 if self.reads == 20 else 30.0
            return self.now

    drill, key = lean
    honest = work(sitting(), CHECKS, [RIGHT])
    woken = work(sitting(clock=Waking()), CHECKS, [RIGHT])
    marks = [mark(replay(hand_in(one), "x", drill, trees), key, read_rubric(), trees) for one in (honest, woken)]
    assert marks[0].total == marks[1].total
    assert marks[0].remarks == () and "set back 4 minutes" in marks[1].remarks[0]


def test_judgements_and_a_chosen_check_are_asked_again_in_plain_lines(here):
    """Left at the cautions of a check, and then at the question where its number lies."""
    code, out, _ = here("drill sit hill.drill.json --name Kim", f"y\n{CHECKS[0]}\n")
    assert code == 0 and "READ" not in out and "Saved" in out
    code, out, _ = here("drill sit hill.drill.json --name Kim", "y\n" * 8)
    assert code == 0 and "You had chosen" in out and "READ" in out and "Where does it lie" in out
    code, out, _ = here("drill sit hill.drill.json --name Kim", "1\nfinish\ny\n")
    assert out.index("Where does it lie") < out.index("What next?") and "Handed in" in out


@pytest.mark.slow
def test_killed_at_the_judgement_it_is_the_first_thing_asked_on_return(tmp_path, lean):
    """Not left, but killed by the system, in plain lines."""
    (tmp_path / "hill.drill.json").write_text(drill_text(lean[0]), encoding="utf-8")
    words = [sys.executable, "-m", "troubleshoot", "drill", "sit", "hill.drill.json", "--name", "Kim"]
    there = {**os.environ, "TROUBLESHOOT_DATA": str(tmp_path / "data"), "PYTHONUNBUFFERED": "1"}

    def until_judged(typed):
        with subprocess.Popen(words, cwd=tmp_path, env=there, stdin=-1, stdout=-1, text=True) as process:
            assert process.stdin is not None and process.stdout is not None
            process.stdin.write(typed)
            process.stdin.flush()
            said = ""
            while "Where does it lie" not in said:
                letter = process.stdout.read(1)
                assert letter, said
                said += letter
            process.kill()
        return said

    until_judged(f"y\n{CHECKS[0]}\n" + "y\n" * 5)
    assert "What next?" not in until_judged("")


def test_judge_asks_for_every_number_that_was_put_off(sitting):
    sitting = sitting()
    for name in CHECKS:
        read_one(sitting, name, judge=False)
    assert sitting.unjudged == tuple(reversed(CHECKS))
    sitting.case.judge(CHECKS[1], "low")
    assert sitting.unjudged == CHECKS[:1]


def test_a_key_is_for_its_owner_alone(here, tmp_path):
    code, _, _ = here("drill new --fault pump-dead=1 -o dead --unproved --seed 4")
    assert code == 0 and stat.S_IMODE((tmp_path / "dead.key").stat().st_mode) == 0o600
    assert read_key(tmp_path / "dead.key").causes == ("pump-dead",)
    assert b"pump-dead" not in (tmp_path / "dead.key").read_bytes()
