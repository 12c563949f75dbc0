"""Problem files: what they mean, and every fault named with its line and column."""

from __future__ import annotations

import pytest

from troubleshoot.knowledge.problem_file import ProblemFileRefused, read_problem

GOOD = """\
title: Lamp
concern: The lamp is dark
reported-anyway: hardly ever
referral: 60
causes:
  bulb: {title: Bulb burnt out, prior: 0.2, shows: nearly always, repair: 5}
  fuse: {prior: 0.1, repair: new-fuse}
setups:
  ladder: {words: Ladder up, minutes: 3}
checks:
  look:
    ask: Is the wire in the bulb whole?
    setup: ladder
    minutes: 1
    outcomes: [broken, whole]
    normal: whole
    moved-by: {bulb: {broken: 0.9}}
  meter:
    minutes: 2
    outcomes: [none, some, full]
    normal: full
    usual: {none: 0.02}
    moved-by: {fuse: none}
repairs:
  new-fuse: {do: Put in a new fuse, minutes: 4, look: 1, cures: {fuse: 1}, undoes: [ladder]}
steps:
  first: {check: look, next: {broken: repair}}
  repair: {repair: repair-bulb}
"""


@pytest.fixture
def written(tmp_path):
    def write(text):
        path = tmp_path / "problem.yaml"
        path.write_text(text, encoding="utf-8")
        return path

    return write


def test_a_good_file_says_what_it_means(written):
    read = read_problem(written(GOOD))
    problem = read.problem
    assert not read.notices
    assert [cause.prior for cause in problem.causes] == [0.2, 0.1]
    assert problem.causes[0].shows == (0.97,)
    assert problem.leak == (0.03,)
    assert problem.check_named["look"].moved_by["bulb"] == pytest.approx((0.9, 0.1))
    assert problem.check_named["look"].usual == (0.0, 1.0)
    assert problem.check_named["meter"].moved_by["fuse"] == (1.0, 0.0, 0.0)
    assert problem.check_named["meter"].usual == pytest.approx((0.02, 0.0, 0.98))
    assert problem.repair_named["repair-bulb"].cures == {"bulb": 1.0}
    fuse = problem.repair_named["new-fuse"]
    assert (fuse.looks_first, fuse.look_minutes, fuse.undoes) == (True, 1.0, frozenset({"ladder"}))
    assert read.words["new-fuse"] == "Put in a new fuse"
    assert read.steps["first"].next == {"broken": "repair"}


@pytest.mark.parametrize(
    ("good", "bad", "line", "code"),
    [
        ("prior: 0.1", "prior: 1.4", 7, "out-of-range"),
        ("prior: 0.1", "prior: 1", 7, "sure-cause"),
        ("prior: 0.1", "prior: .nan", 7, "wrong-type"),
        ("repair: 5", "repair: -5", 6, "out-of-range"),
        ("repair: 5", "repair: -5", 6, "out-of-range"),
        ("repair: new-fuse", "repair: new-fuze", 7, "unknown-id"),
        ("shows: nearly always", "shows: nearly ever", 6, "frequency"),
        ("cures: {fuse: 1}", "cures: {}", 25, "cures-nothing"),
        ("cures: {fuse: 1}", "cures: {bulb: 1}", 7, "does-not-cure"),
        ("cures: {fuse: 1}", "cures: {fuse: 2}", 25, "frequency"),
        ("minutes: 2", "minutes: -1", 19, "out-of-range"),
        ("{bulb: {broken: 0.9}}", "{bulb: {broken: 0.9, whole: 0.2}}", 17, "sum"),
        ("{bulb: {broken: 0.9}}", "{bulb: {broken: 0.7, whole: 0.2}}", 17, "sum"),
        ("{bulb: {broken: 0.9}}", "{lamp: {broken: 0.9}}", 17, "unknown-id"),
        ("{fuse: none}", "{fuse: nothing}", 23, "unknown-id"),
        ("normal: full", "normal: fill", 21, "unknown-id"),
        ("setup: ladder", "setup: stilts", 13, "unknown-id"),
        ("{broken: repair}", "{cracked: repair}", 27, "unknown-id"),
        ("{repair: repair-bulb}", "{repair: repair-lamp}", 28, "unknown-id"),
        ("reported-anyway: hardly ever", "reported-anyhow: 0.1", 3, "unknown-field"),
        ("referral: 60", "exactly-one: true", 5, "sum"),
    ],
)
def test_each_fault_is_named_in_its_place(written, good, bad, line, code):
    assert GOOD.count(good) == 1
    with pytest.raises(ProblemFileRefused) as refused:
        read_problem(written(GOOD.replace(good, bad)))
    assert (line, code) in [(finding.line, finding.code) for finding in refused.value.findings]
    for finding in refused.value.findings:
        assert finding.column >= 1
        assert finding.what
        assert finding.advice


def test_all_faults_in_one_run(written):
    text = (
        GOOD.replace("prior: 0.1", "prior: 7")
        .replace("minutes: 2", "minutes: -2")
        .replace("ladder: {", "ladder: {x: 1, ")
    )
    with pytest.raises(ProblemFileRefused) as refused:
        read_problem(written(text))
    assert len(refused.value.findings) == 3


def test_a_cause_nothing_repairs_or_moves(written):
    alone = GOOD.replace(
        "fuse: {prior: 0.1, repair: new-fuse}", "fuse: {prior: 0.1, repair: new-fuse}\n  cat: {prior: 0.1}"
    )
    assert [finding.code for finding in read_problem(written(alone)).notices] == ["no-check-moves"]
    with pytest.raises(ProblemFileRefused) as refused:
        read_problem(written(alone.replace("referral: 60\n", "")))
    assert [finding.code for finding in refused.value.findings] == ["no-repair"]


def test_what_is_there_makes_endings_and_repairs_dearer(written):
    text = GOOD.replace("referral: 60", "referral: {minutes: 60, with: {fuse: 30}}")
    text = text.replace("look: 1, cures", "look: 1, with: {fuse: 7}, cures")
    text += "stops:\n  leave: {do: Leave it dark, minutes: 20, with: {bulb: 5}}\n"
    problem = read_problem(written(text)).problem
    assert (problem.referral_minutes, problem.referral_adds) == (60.0, {"fuse": 30.0})
    assert (problem.stops[0].minutes, problem.stops[0].adds) == (20.0, {"bulb": 5.0})
    assert problem.repair_named["new-fuse"].adds == {"fuse": 7.0}
    wrong = text.replace("{fuse: 30}", "{fuze: 30}").replace("{bulb: 5}", "{bulb: 5, lamp: 1}")
    with pytest.raises(ProblemFileRefused) as refused:
        read_problem(written(wrong))
    assert [str(one.code) for one in refused.value.findings] == ["unknown-id", "unknown-id"]
    assert "there is no cause fuze" in str(refused.value)
    with pytest.raises(ProblemFileRefused):
        read_problem(written(text.replace("{bulb: 5}", "{bulb: -5}")))


@pytest.mark.parametrize("text", ["", "- 1", "title: [", "title: x", "causes: &a {b: *a}", "\t"])
def test_what_is_no_problem_file_is_refused(written, text):
    with pytest.raises(ProblemFileRefused) as refused:
        read_problem(written(text))
    assert str(refused.value).count("problem.yaml:") >= 1
