"""The linter over folders and files: one's own trees, one file alone, a second run, a problem by itself."""

from __future__ import annotations

from tests.knowledge.test_linting import CASES, CHECKS, CONCERN, FUEL, OTHER, findings_of
from troubleshoot.knowledge.linting import lint, lint_folders


def test_a_file_that_cannot_be_read_is_one_finding(trees):
    """The ids written in it are not unknown everywhere else."""
    for file, spoilt in ((CHECKS, "a: b: c"), (FUEL, "a: [1"), ("setups.yaml", ""), (CONCERN, "'")):
        codes = {one.code for one in findings_of(trees, {file: spoilt}) if one.level == "error"}
        assert codes & {"not-yaml", "empty"}
        assert not [code for code in codes if code.startswith("unknown-")], (file, codes)


def test_a_second_run_is_kept_and_a_change_seen(trees):
    root = trees()
    assert lint(root, alone=True) == lint(root, alone=True)
    file = root / FUEL
    file.write_text(file.read_text(encoding="utf-8").replace("rate: 0.05", "rate: 5"), encoding="utf-8")
    assert "out-of-range" in [finding.code for finding in lint(root, alone=True)]


def test_what_was_kept_is_found_from_another_folder_too(trees, tmp_path, monkeypatch):
    """Findings are named as seen from where one works; a file that was wrong there is wrong here."""
    root = trees({FUEL: ("rate: 0.05", "rate: 5")})
    (tmp_path / "elsewhere").mkdir()
    for place in (root, tmp_path / "elsewhere"):
        monkeypatch.chdir(place)
        assert "out-of-range" in [finding.code for finding in lint(root / FUEL, alone=True)]


def test_own_trees_are_tried_on_the_shipped_sound_cars(trees, tmp_path):
    """A tree that accuses a healthy car is blamed itself, not the car; shipped cases are not run again."""
    own = tmp_path / "own" / "concerns"
    own.mkdir(parents=True)
    tree = "title: T\nsays: s\nmeaning: m\nreported-anyway: 0.0001\n"
    tree += "shows: {regulator-high: always}\nsteps: {first: {check: volts}}\n"
    (own / "mine.yaml").write_text(tree, encoding="utf-8")
    base = trees({"healthy/sound.yaml": ("pressure: 58 psi", "pressure: 61.9 psi"), CASES: ("40 psi", "80 psi")})
    found = [one for one in lint_folders((base, tmp_path / "own")) if one.level == "error"]
    assert "case-fails" not in [one.code for one in found]
    (accused,) = [one for one in found if one.code == "healthy-car-accused"]
    assert accused.file.endswith("own/concerns/mine.yaml") and accused.what.startswith("sound, under mine")


def test_a_problem_that_stands_by_itself(tmp_path):
    """A file outside every folder of trees is a problem file; its faults are found in the same way."""
    good = tmp_path / "problem.yaml"
    text = """title: One lamp with two causes
concern: It is dark
causes:
  bulb: {prior: 0.1, repair: 5}
  fuse: {prior: 0.2, repair: 3}
checks:
  look:
    minutes: 1
    outcomes: [whole, broken]
    normal: whole
    moved-by: {bulb: {broken: 0.9}, fuse: {whole: 0.9}}
"""
    good.write_text(text, encoding="utf-8")
    assert [str(one) for one in lint(good) if one.level == "error"] == []
    bad = tmp_path / "bad.yaml"
    bad.write_text(text.replace("prior: 0.1", "prior: 1.6"), encoding="utf-8")
    (fault, *_) = lint(bad)
    assert fault.line == 4 and fault.code


def test_one_file_of_a_folder(trees):
    root = trees({FUEL: ("rate: 0.05", "rate: 5"), OTHER: ("to: 12.4", "to: 24")})
    assert {finding.code for finding in lint(root / OTHER, alone=True)} == {"limit-outside"}


def test_what_an_own_record_replaces_is_said(trees, tmp_path):
    own = tmp_path / "own"
    (own / "setups.yaml").parent.mkdir()
    (own / "setups.yaml").write_text("gauge-teed-in: {words: My gauge, minutes: 3}\n", encoding="utf-8")
    (notice,) = [finding for finding in lint_folders((trees(), own)) if finding.code == "replaces"]
    assert notice.file.endswith("own/setups.yaml") and notice.level == "notice"
