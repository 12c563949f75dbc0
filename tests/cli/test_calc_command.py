"""`calc` as a person at the car uses it: typed values in, the answer out, one sentence for a bad one."""

import json
import os
import re
import subprocess
import sys
import xml.etree.ElementTree as ElementTree

import pytest

from troubleshoot.calculations.registry import calculations
from troubleshoot.cli.calc_options import short_names


def test_lists_every_calculation_by_subject(command):
    ran = command("calc")
    assert ran.code == 0
    for one in calculations():
        assert f"  {one.name} " in ran.out
    assert ran.out.startswith("Ignition")


def test_searches_in_words(command):
    ran = command("calc", "--search", "vapour lock")
    assert ran.code == 0
    assert "vapour-margin" in ran.out
    assert "dwell-time" not in ran.out
    assert command("calc", "--search", "wombat").code == 2


def test_answers_with_short_names_and_echoes_what_was_understood(command):
    """Dwell time by hand: 30/(3·4500) s."""
    ran = command("calc", "dwell-time", "--speed", "4500 rpm", "--dwell", "30")
    assert ran.code == 0
    assert "engine speed  4500 rpm" in ran.out
    assert "= dwell time    2.222 ms" in ran.out


def test_takes_trade_spellings_and_uncertainty(command):
    """17 oz and 0.43 mm: 4962 rpm by the derived table; ±1 oz of 17 is ±3 % of a square root's force."""
    ran = command(
        "calc", "points-float-speed", "--spring", "17 ± 1 oz", "--cylinders", "8", "--dwell", "30", "--gap", "0,43 mm"
    )
    assert ran.code == 0
    assert re.search(r"engine speed +4960 ± 150 rpm", ran.out)
    assert "17 ± 1 ozf" in ran.out


def test_metric_reads_and_shows_metric(command):
    ran = command("--units", "metric", "calc", "injector-pressure-above-blades", "--rail", "4")
    assert "4 bar" in ran.out
    other = command("calc", "injector-pressure-above-blades", "--rail", "58 psi", "--units", "metric")
    assert "3.999 bar" in other.out


def test_json_is_data_and_nothing_else(command):
    ran = command("calc", "pump-supply-volts", "--battery", "13.8", "--current", "7", "--wire", "60 mΩ",
                  "--contacts", "0.02 ± 0.005", "--ground", "0.01", "--json")  # fmt: skip
    got = json.loads(ran.out)
    assert got["outputs"]["pump-voltage"]["value"] == pytest.approx(13.17)
    assert got["outputs"]["pump-voltage"]["uncertainty"] == pytest.approx(0.035)
    assert got["inputs"]["wire"]["understood"] == "60 mΩ = 0.06 Ω"
    assert got["notes"] == []
    assert len(json.loads(command("calc", "--json").out)) == len(calculations())


def test_explains_step_by_step_with_source(command):
    ran = command("calc", "injector-duty", "--pulse-width", "8", "--speed", "6000", "--explain")
    assert "T = 60/(6000·1) = 0.01" in ran.out
    assert "DC = 0.008/0.01 = 0.8" in ran.out
    assert "Valid:" in ran.out
    assert "Source: pulse width over period" in ran.out


def test_notes_go_beside_the_data(command):
    ran = command("calc", "injector-duty", "--pulse-width", "9", "--speed", "6000")
    assert ran.code == 0
    assert "injectors too small" in ran.err
    assert "Note" not in ran.out


@pytest.mark.parametrize(
    ("arguments", "says"),
    [
        (("dwell-time", "--speed", "45 psi", "--dwell", "30"), "psi is a pressure; this asks for an engine speed"),
        (("dwell-time", "--speed", "99999", "--dwell", "30"), "Engine speed 99999 rpm: must be 0 to 20000 rpm"),
        (("dwell-time", "--speed", "fast", "--dwell", "30"), '"fast" cannot be read'),
        (("dwell-time", "--speed", "nan", "--dwell", "30"), "cannot be read"),
        (("dwell-time", "--dwell", "30"), "Engine speed (engine-speed) is missing: give 0 to 20000 rpm"),
        (("dwell-time", "--speed", "0", "--dwell", "30"), "points rest closed: the coil carries full current"),
        (("dwel-time",), "Did you mean dwell-time"),
        (("dwell-time", "--spin", "3"), "No such option"),
        (("mean-gain", "--svg", "x.svg"), "is missing"),
        (("dwell-percent", "--dwell", "30", "--cylinders", "8", "--plot", "--reading", "3"), "takes no reading"),
    ],
)
def test_a_bad_value_is_one_sentence_and_exit_2(command, arguments, says):
    ran = command("calc", *arguments)
    assert ran.code == 2
    assert ran.out == ""
    assert says in ran.err
    assert "Traceback" not in ran.err


def test_plots_as_text_and_svg(command, tmp_path):
    values = ("--supply", "14", "--resistance", "3", "--inductance", "8", "--dwell", "30")
    ran = command("calc", "coil-energy-limit-speed", *values, "--plot", "--reading", "4500", "--svg", "coil.svg")
    assert ran.code == 0
    assert "Coil energy against engine speed" in ran.out
    assert "needed 20 mJ" in ran.out
    assert "reading 4500 rpm" in ran.out
    for name in ("coil.svg", "coil-2.svg"):
        ElementTree.fromstring((tmp_path / name).read_text(encoding="utf-8"))


def test_reference_has_every_formula_and_source(command):
    page = command("calc", "--reference").out
    for one in calculations():
        assert f"`{one.name}`" in page
        assert one.source in page
        assert one.formula.splitlines()[0] in page
    assert "| psi (bar) |" in page and "| rpm |" in page and "rpm (rpm)" not in page


def test_help_of_a_calculation_names_fields_ranges_and_defaults(command):
    ran = command("calc", "points-float-speed", "--help")
    assert ran.code == 0
    flat = " ".join(ran.out.split())
    assert "--spring-force, --spring, --force" in flat
    assert "0.5 to 60 ozf" in flat
    assert "If not given: 26 mm" in flat


def test_every_calculation_has_a_working_command(command):
    for one in calculations():
        ran = command("calc", one.name, "--help")
        assert ran.code == 0, one.name
        assert f"--{one.inputs[0].name}" in ran.out


def test_short_names_are_never_shared():
    for one in calculations():
        names = [name for short in short_names(one).values() for name in short]
        assert len(names) == len(set(names))
        assert not set(names) & {field.name for field in one.inputs}


def test_typed_text_is_shown_as_typed(command):
    """What a person types is never taken as markup or a control sequence."""
    ran = command("calc", "dwell-time", "--dwell", "30", "--speed", "[red]\x1b[2J")
    assert ran.code == 2
    assert "[red]" in ran.err
    assert "\x1b" not in ran.err


def test_the_shell_completes_names_and_options():
    def complete(line: str) -> str:
        code = "import sys; sys.argv = ['troubleshoot']; from troubleshoot.__main__ import main; main()"
        words = {"COMP_WORDS": line, "COMP_CWORD": str(len(line.split()) - (0 if line.endswith(" ") else 1))}
        got = subprocess.run(
            [sys.executable, "-c", code],
            env={**os.environ, **words, "_TROUBLESHOOT_COMPLETE": "complete_bash"},
            capture_output=True, text=True, encoding="utf-8", check=False,
        )  # fmt: skip
        return got.stdout

    assert "vapour-margin" in complete("troubleshoot calc vap")
    assert "--spring-force" in complete("troubleshoot calc points-float-speed --sp")


def test_the_screens_and_pint_are_not_imported():
    code = (
        "import sys; from troubleshoot.cli.app import run;"
        "run(['calc', 'dwell-time', '--speed', '900', '--dwell', '30']);"
        "print([m for m in ('textual', 'pint', 'numpy', 'ruamel') if m in sys.modules])"
    )
    got = subprocess.run([sys.executable, "-c", code], capture_output=True, text=True, check=True, encoding="utf-8")
    assert got.stdout.strip().endswith("[]")
