"""The author's bench and its guide: every snippet of the guide runs, every command ends in words."""

from __future__ import annotations

import json
import re
import shlex

import pytest
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st
from typer.testing import CliRunner

from troubleshoot.cli.app import app
from troubleshoot.knowledge.catalogue import load_catalogue, shipped_trees
from troubleshoot.knowledge.drafting import draft_tree, find_cause
from troubleshoot.knowledge.linting import lint
from troubleshoot.knowledge.reference import reference
from troubleshoot.knowledge.tree_drawing import tree_lines
from troubleshoot.problems import TroubleshootError

GUIDE = (shipped_trees() / "README.md").read_text(encoding="utf-8")


def run(*arguments, typed=""):
    return CliRunner().invoke(app, [str(one) for one in arguments], input=typed)


def snippets():
    """Return the guide's files and commands in their order: ("yaml", path, text) or ("console", "", text)."""
    return re.findall(r"^```(yaml|console) ?(\S*)\n(.*?)^```$", GUIDE, re.MULTILINE | re.DOTALL)


def test_the_guide_from_nothing_to_a_tested_tree(tmp_path, monkeypatch):
    """Followed from top to bottom in an empty folder: files as they stand there, commands with what they print."""
    monkeypatch.chdir(tmp_path)
    commands = 0
    for kind, path, text in snippets():
        if kind == "yaml":
            file = tmp_path / "my-trees" / path
            file.parent.mkdir(parents=True, exist_ok=True)
            file.write_text(text, encoding="utf-8")
            continue
        for command in re.split(r"^\$ ", text, flags=re.MULTILINE)[1:]:
            line, _, printed = command.partition("\n")
            program, *arguments = shlex.split(line)
            assert program == "troubleshoot"
            done = run(*arguments)
            assert done.exit_code == 0, f"{line}\n{done.output}\n{done.exception}"
            for expected in printed.splitlines():
                assert expected in done.output, f"{line}\n{done.output}"
            commands += 1
    assert commands >= 5
    assert [str(one) for one in lint(tmp_path / "my-trees") if one.level == "error"] == []


def test_the_guide_names_every_caution_tool_and_set_up():
    """Who writes a check finds in the guide what there is to name, and nothing that there is not."""
    catalogue = load_catalogue()
    section = GUIDE.split("## 7.")[1].split("\n## ")[0]
    for kind, known in (("Cautions", catalogue.cautions), ("Tools", catalogue.tools), ("Set-ups", catalogue.setups)):
        line = next(line for line in section.splitlines() if line.startswith(f"{kind}:"))
        assert sorted(re.findall(r"`([^`]+)`", line)) == sorted(known)


def test_the_reference_in_the_guide_is_that_of_the_form():
    """After a change of the form: `troubleshoot tree reference`."""
    assert GUIDE.endswith(reference())
    assert run("tree", "reference").stdout == reference()


def test_the_shortest_folder_of_own_trees_needs_no_more_than_the_guide_says(tmp_path):
    """The draft lints, whatever causes are named."""
    catalogue = load_catalogue()
    for number, causes in enumerate((["vacuum-leak", "regulator-high"], ["points-floating", "coil-weak", "no-spark"])):
        draft = draft_tree(catalogue, f"odd-{number}", "It: is odd, #1", 'Odd {in} a way: "so"', causes)
        (tmp_path / "concerns").mkdir(exist_ok=True)
        (tmp_path / "concerns" / f"odd-{number}.yaml").write_text(draft.concern, encoding="utf-8")
        (tmp_path / "concerns" / f"odd-{number}.cases.yaml").write_text(draft.cases, encoding="utf-8")
    errors = [str(one) for one in lint(tmp_path) if one.level == "error"]
    assert errors == []


def test_a_cause_is_found_by_id_or_words():
    catalogue = load_catalogue()
    assert find_cause(catalogue, " points-floating ") == "points-floating"
    assert find_cause(catalogue, catalogue.causes["vacuum-leak"].title) == "vacuum-leak"
    for words in ("nothing of the kind", "", "something-else", "points"):
        with pytest.raises(TroubleshootError):
            find_cause(catalogue, words)


def test_new_asks_what_was_not_given(tmp_path):
    answers = "It coughs\nIt coughs at a steady cruise\nvacuum-leak\nno such cause\nregulator-high\n\n"
    done = run("--trees", tmp_path, "tree", "new", "coughs", typed=answers)
    assert done.exit_code == 0, done.output
    assert (tmp_path / "concerns" / "coughs.yaml").read_text(encoding="utf-8").startswith("# yaml-language-server")
    again = run("--trees", tmp_path, "tree", "new", "coughs", typed=answers)
    assert isinstance(again.exception, TroubleshootError) and "there already" in str(again.exception)


@pytest.mark.parametrize("answers", ["", "\n", "It coughs\n", "It coughs\nso\n\n", "It coughs\nso\nvacuum-leak\n\n"])
def test_new_writes_nothing_without_answers(tmp_path, answers):
    done = run("--trees", tmp_path, "tree", "new", "coughs", typed=answers)
    assert isinstance(done.exception, TroubleshootError)
    assert not (tmp_path / "concerns").exists()


@pytest.mark.parametrize("identifier", ["../up", "Big", "", "a b", "a" * 60, "-x"])
def test_new_refuses_what_cannot_be_an_id(tmp_path, identifier):
    done = run("--trees", tmp_path, "tree", "new", "--says", "s", "--meaning", "m", "--causes", "x", "--", identifier)
    assert isinstance(done.exception, TroubleshootError)


def test_show_draws_odds_minutes_and_branches(trees):
    catalogue = load_catalogue(root=trees())
    text = "\n".join(tree_lines(catalogue, "runs-weak", width=78))
    assert "first: Fuel pressure at idle  [3 + 10 gauge-teed-in min]" in text
    assert re.search(r"├─ low \d+ %: volts: Volts at the pump", text)
    assert re.search(r"REPAIR Regulator high\s+│?\s*\[20 min, \d+ % sure\]", text)
    assert re.search(r"On average \d+ minutes to a repaired car as written; by worth, \d+\.$", text)
    assert all(len(line) <= 78 for line in text.splitlines())
    shares = [int(one) for one in re.findall(r"^[├└]─ \S+ (\d+) %", text, re.MULTILINE)]
    assert sum(shares) == pytest.approx(100, abs=1.5), "the branches of the first step hold all cars"


def test_a_shipped_tree_is_drawn_in_80_columns():
    catalogue = load_catalogue()
    for concern in ("wont-rev", "fit-up"):
        lines = tree_lines(catalogue, concern, width=78)
        assert len(lines) > 4
        assert [line for line in lines if len(line) > 78] == []


def test_try_shows_belief_after_each_answer(trees):
    root = trees()
    typed = "40 psi\nwhat\n13.6 V\n"
    done = run("--trees", root, "tree", "try", "runs-weak", "--car", "plain-eight", typed=typed)
    assert done.exit_code == 0, done.output
    first, second = re.findall(r"(\d+)% [█ ]* Strainer blocked", done.stdout)[0::2][:2] or ("0", "0")
    assert "Repair (the tree says): Strainer blocked" in done.stdout
    assert int(second) >= int(first)


def test_unknown_names_offer_the_nearest():
    for arguments in (("tree", "show", "wont-rve"), ("tree", "try", "wont-rve")):
        done = run(*arguments)
        assert isinstance(done.exception, TroubleshootError) and "did you mean wont-rev?" in str(done.exception)


def test_lint_writes_lines_or_json_and_its_exit_code(trees):
    bad = trees({"causes/fuel.yaml": ("rate: 0.05", "rate: 5")})
    done = run("lint", bad, "--alone")
    assert done.exit_code == 1
    assert re.search(r"causes/fuel.yaml:\d+:\d+: 5 is out of range — write a number below 1", done.stdout)
    found = json.loads(run("lint", bad, "--alone", "--json").stdout)
    assert found[0].keys() >= {"file", "line", "column", "what", "advice", "code", "level"}
    assert run("lint", trees({}, "good"), "--alone").exit_code == 0
    assert isinstance(run("lint", bad / "nowhere").exception, TroubleshootError)


def test_watch_lints_again_only_after_a_change(trees):
    done = run("tree", "watch", trees(), "--every", "0.1", "--rounds", "3")
    assert done.exit_code == 0
    assert done.output.count("Watching") == 1


@settings(max_examples=25, deadline=None, suppress_health_check=[HealthCheck.function_scoped_fixture])
@given(raw=st.binary(max_size=200))
def test_any_bytes_are_linted_in_words(trees, raw):
    root = trees({"checks/odd.yaml": raw, "concerns/odd.cases.yaml": raw})
    found = lint(root, alone=True)
    assert all(str(one).count("\n") == 0 for one in found)
