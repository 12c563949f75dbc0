"""What helps whoever writes a tree: ids in the schema, the right form in the refusal, a broken file said as such."""

from __future__ import annotations

import jsonschema
import pytest
from typer.testing import CliRunner

from troubleshoot.cli.app import app
from troubleshoot.knowledge.catalogue import load_catalogue, shipped_trees
from troubleshoot.knowledge.drafting import draft_tree
from troubleshoot.knowledge.forms import fit
from troubleshoot.knowledge.lint_steps import first_step
from troubleshoot.knowledge.load_trees import tree_files
from troubleshoot.knowledge.loading import read_document, read_text
from troubleshoot.knowledge.model import Check, Concern
from troubleshoot.knowledge.schema import SCHEMAS, schema, schema_line

CHECK = "ask: a\nwhy: w\ndo: [d]\nstate: key off\nminutes: {minutes}\nbasis: from memory\nsetup: {setup}\n"


def run(*arguments, typed=""):
    return CliRunner().invoke(app, [str(one) for one in arguments], input=typed)


def findings(text, form):
    document = read_text(text, "mine.yaml")
    if document.value is not None:
        fit(document.value, form, document)
    return " ".join(str(one) for one in document.findings)


@pytest.fixture(scope="module")
def known():
    return load_catalogue()


@pytest.mark.parametrize("name", SCHEMAS)
def test_with_the_ids_it_is_still_a_schema(name, known):
    """Reference: JSON Schema 2020-12, through the jsonschema library."""
    jsonschema.Draft202012Validator.check_schema(schema(name, known))


def test_every_shipped_file_is_valid_with_the_ids_and_a_misspelt_id_is_not(known):
    made = {name: jsonschema.Draft202012Validator(schema(name, known)) for name in SCHEMAS}
    seen = 0
    for path in tree_files(shipped_trees()):
        place = path.relative_to(shipped_trees()).as_posix()
        if "/" in place and place.split("/")[0] not in ("concerns", "causes", "checks", "cars", "healthy"):
            continue
        name = schema_line(place).rsplit("/", 1)[1].removesuffix(".json")
        value = read_document(path).value
        assert [f"{place}: {error.message[:200]}" for error in made[name].iter_errors(value)] == []
        seen += 1
    assert seen > 40
    good = {"title": "T", "says": "s", "meaning": "m", "shows": {"vacuum-leak": "often"},
            "steps": {"first": {"check": "idle-vacuum"}}}  # fmt: skip
    assert made["concern"].is_valid(good)
    for wrong in ({"shows": {"vacum-leak": "often"}}, {"steps": {"first": {"check": "idle-vacum"}}}):
        assert not made["concern"].is_valid({**good, **wrong})


def test_own_ids_are_known_too(tmp_path):
    """`tree schema` over own trees: what was written a minute ago is completed."""
    (tmp_path / "tools.yaml").write_text("own-gauge: {words: a gauge of our own}\n", encoding="utf-8")
    done = run("--trees", tmp_path, "tree", "schema", tmp_path / "schema")
    assert done.exit_code == 0, done.output
    assert '"own-gauge"' in (tmp_path / "schema" / "checks.json").read_text(encoding="utf-8")


@pytest.mark.parametrize(("text", "said"), [
    (CHECK.format(minutes="0,5", setup="x"), "write 0.5, with a point"),
    (CHECK.format(minutes="5", setup="[air-cleaner-off]"), "write setup: air-cleaner-off, without brackets"),
    (CHECK.format(minutes="5", setup="“air-cleaner-off”"), 'curly quotes, which a word processor makes: write "air-'),
    (CHECK.format(minutes="5", setup="x").replace("key off", "„idle“"), 'write "idle", with straight ones'),
    ("drawing: |\n      first\n   second\nask: a\n", "the first line of its drawing or text, which sets the margin"),
    ("a:\n  drawing: |\n        first\n     second\n  ask: a\n", "in column 6"),
])  # fmt: skip
def test_a_common_slip_is_told_with_the_right_form(text, said):
    assert said in findings(text, Check)


def test_a_unit_in_curly_quotes_is_told_so(trees):
    root = trees()
    file = next(one for one in (root / "checks").glob("*.yaml"))
    text = file.read_text(encoding="utf-8")
    assert "unit: psi" in text
    file.write_text(text.replace("unit: psi", "unit: “psi”", 1), encoding="utf-8")
    done = run("lint", "--alone", root)
    assert done.exit_code == 1 and 'write "psi", with straight ones' in done.output


def test_a_file_with_a_fault_is_said_by_every_command_of_trees(tmp_path):
    """What it holds is left out, so what is drawn or walked is not what was written."""
    (tmp_path / "checks").mkdir()
    (tmp_path / "checks" / "mine.yaml").write_text("own-look:\n  ask: [\n", encoding="utf-8")
    for line in (("show", "lean-top"), ("try", "lean-top"), ("schema", tmp_path / "schema")):
        done = run("--trees", tmp_path, "tree", *line, typed="\n")
        assert "mine.yaml has a fault" in done.output and "troubleshoot lint" in done.output, line


def test_an_own_id_in_place_of_a_shipped_one_is_always_said(tmp_path):
    text = (shipped_trees() / "tools.yaml").read_text(encoding="utf-8")
    name = next(line.split(":")[0] for line in text.splitlines() if line and line[0].isalpha())
    (tmp_path / "checks").mkdir()
    (tmp_path / "tools.yaml").write_text(f"{name}: {{words: another thing}}\n", encoding="utf-8")
    done = run("--trees", tmp_path, "lint")
    assert f"{name} takes the place of the shipped one" in done.output
    assert "1 notices" not in run("--trees", tmp_path, "lint").output


def test_a_draft_ends_in_a_repair_for_each_cause(known):
    """Each is reached from the first step, so that the draft passes the lint."""
    causes = ["alternator-weak", "battery-weak", "idle-valve-stuck-open", "idle-target-low", "vacuum-leak"]
    draft = draft_tree(known, "fan-stall", "The idle drops", "Warm, the idle falls as the fan starts.", causes)
    document = read_text(draft.concern, "x.yaml")
    concern = fit(document.value, Concern, document)
    assert document.findings == [] and concern is not None
    reached, waiting = set(), [first_step(concern)]
    while waiting:
        name = waiting.pop()
        if name not in reached:
            reached.add(name)
            waiting += concern.steps[name].next.values()
    assert reached == set(concern.steps)
    assert {step.repair for step in concern.steps.values() if step.repair} == set(causes)
