"""The linter: each kind of finding with an example that has it; the small valid trees have none."""

from __future__ import annotations

import contextlib

import pytest
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st

from troubleshoot.knowledge.findings import Finding, in_order
from troubleshoot.knowledge.linting import lint_folders
from troubleshoot.knowledge.load_trees import read_catalogue
from troubleshoot.knowledge.tree_drawing import tree_lines
from troubleshoot.problems import TroubleshootError

CONCERN, CASES = "concerns/runs-weak.yaml", "concerns/runs-weak.cases.yaml"
FUEL, OTHER, CHECKS = "causes/fuel.yaml", "checks/electrical.yaml", "checks/fuel.yaml"

SECOND = """
something-else:
  title: The same id again
  system: other
  rate: 0.03
  basis: common practice
  happens: It is here a second time.
  repair: {do: [Nothing.], minutes: 1}
  proof: {words: None.}
  plant: {never: No.}
"""


HELD = (
    "  normal: normal\n  against: {{check: {0}, ask: What is lost, reading: {{unit: {1}, plausible: [-90, 90], "
    "uncertainty: 1}}, bands: [{{outcome: lost, to: -3}}, {{outcome: same}}], normal: same, basis: common practice, "
    "moved-by: {2}}}"
)
"""What a check reads held against another one."""


BAD = [
    # references
    ("unknown-check", CHECKS, ("  normal: normal", HELD.format("presure", "psi", "{}"))),
    ("against-other-units", CHECKS, ("  normal: normal", HELD.format("volts", "psi", "{}"))),
    ("against-other-units", CHECKS, ("  normal: normal", HELD.format("pressure", "V", "{}"))),
    ("against-in-a-circle", CHECKS, ("  normal: normal", HELD.format("pressure", "psi", "{}"))),
    ("unknown-cause", CHECKS, ("  normal: normal", HELD.format("pressure", "psi", "{regulator-hihg: {lost: 0.5}}"))),
    ("unknown-outcome", CHECKS, ("  normal: normal", HELD.format("pressure", "psi", "{regulator-high: {los: 0.5}}"))),
    ("bad-frequency", CHECKS, ("  normal: normal", HELD.format("pressure", "psi", "{regulator-high: {lost: oft}}"))),
    ("unknown-cause", CONCERN, ("shows: {strainer-blocked", "shows: {strainer-bloked: often, strainer-blocked")),
    ("unknown-cause", CONCERN, ("repair: pump-volts-low", "repair: pump-volt-low")),
    ("unknown-cause", CHECKS, ("    regulator-high: {high", "    regulator-hihg: {high")),
    ("unknown-cause", CASES, ("leads: [strainer-blocked]", "leads: [strainer]")),
    ("unknown-check", CONCERN, ("check: hose-look", "check: hose-lok")),
    ("unknown-check", FUEL, ("check: volts}", "check: voltage}")),
    ("unknown-check", CASES, ("volts: 13.6 V}", "vlts: 13.6 V}")),
    ("unknown-check", "healthy/sound.yaml", ("volts", "vlts")),
    ("unknown-check", CHECKS, ("  normal: normal", "  not-after: {vols: [low]}\n  normal: normal")),
    ("unknown-outcome", CHECKS, ("  normal: normal", "  not-after: {volts: [lo]}\n  normal: normal")),
    ("unknown-caution", CHECKS, ("cautions: [fuel-under-pressure]", "cautions: [fuel-under-presure]")),
    ("unknown-caution", FUEL, ("parts: 15}", "parts: 15, cautions: [fuel]}")),
    ("unknown-set-up", CHECKS, ("setup: gauge-teed-in", "setup: gauge-in")),
    ("unknown-set-up", FUEL, ("parts: 15}", "parts: 15, undoes: [gauge]}")),
    ("unknown-set-up", "setups.yaml", ("minutes: 10", "minutes: 10\n  undone-by: [gauge]")),
    ("unknown-tool", OTHER, ("tools: [voltmeter]", "tools: [volt-meter]")),
    ("unknown-car", "healthy/sound.yaml", ("car: plain-eight", "car: plain-six")),
    ("unknown-concern", CASES, ("  leads: [strainer-blocked]", "  concerns: [weak]\n  leads: [strainer-blocked]")),
    ("unknown-car-field", FUEL, ("  rate: 0.05", "  rate: 0.05\n  for: {colour: [red]}")),
    ("unknown-value", FUEL, ("  rate: 0.05", "  rate: 0.05\n  for: {ignition: [pionts]}")),
    ("unknown-value", CASES, ("  leads: [strainer-blocked]", "  differs: {cam: longer}\n  leads: [strainer-blocked]")),
    ("for-nothing", FUEL, ("  rate: 0.05", "  rate: 0.05\n  for: {ignition: []}")),
    ("listed-something-else", CONCERN, ("shows: {", "shows: {something-else: often, ")),
    ("listed-something-else", CHECKS, ("    pump-volts-low:", "    something-else: {low: 0.5}\n    pump-volts-low:")),
    # steps
    ("unreached-step", CONCERN, ("  repair-feed:", "  alone: {repair: pump-volts-low}\n  repair-feed:")),
    ("unknown-step", CONCERN, ("clear: volts", "clear: vols")),
    ("unknown-outcome", CONCERN, ("{clear: volts", "{claer: volts")),
    ("circle", CONCERN, ("normal: clean}}", "normal: first}}")),
    ("asked-twice", CONCERN, ("clear: volts", "clear: again}}\n  again: {check: pressure, next: {low: volts")),
    ("step-of-no-kind", CONCERN, ("{repair: pump-volts-low}", "{}")),
    ("step-of-no-kind", CONCERN, ("{repair: pump-volts-low}", "{repair: pump-volts-low, check: volts}")),
    ("repair-goes-on", CONCERN, ("{repair: pump-volts-low}", "{repair: pump-volts-low, next: {low: clean}}")),
    ("not-in-shows", CONCERN, ("regulator-high: sometimes}", "}")),
    ("ruled-out", CONCERN, ("meaning:", "rules-out: [key off]\nmeaning:")),
    ("no-steps", CONCERN, "title: T\nsays: s\nmeaning: m\nshows: {strainer-blocked: often}\n"),
    ("no-causes", CONCERN, "title: T\nsays: s\nmeaning: m\nsteps: {first: {check: volts}}\n"),
    ("no-items", CONCERN, "title: T\nsays: s\nmeaning: m\nkind: inspection\n"),
    ("steps-and-items", CONCERN, ("meaning:", "items: [volts]\nmeaning:")),
    ("steps-and-items", CONCERN, ("meaning:", "kind: inspection\nitems: [volts]\nmeaning:")),
    # signatures
    ("adds-up", CHECKS, ("{low: 0.75}", "{low: usually, high: sometimes}")),
    ("adds-up", CHECKS, ("{low: 0.75}", "{low: 0.5, normal: 0.1, high: 0.1}")),
    ("adds-up", OTHER, ("  normal: clear", "  normal: clear\n  usual: {clear: 0.9, kinked: 0.2}")),
    ("bad-frequency", CHECKS, ("{low: 0.75}", "{low: usualy}")),
    ("bad-frequency", CHECKS, ("{low: 0.75}", "{low: 1.5}")),
    ("bad-frequency", CONCERN, ("regulator-high: sometimes}", "regulator-high: -0.1}")),
    ("bad-frequency", CONCERN, ("meaning:", "reported-anyway: oten\nmeaning:")),
    ("renamed-field", CONCERN, ("meaning:", "leak: 0.01\nmeaning:")),
    ("field-gone", OTHER, ("  normal: clear\n", "  normal: clear\n  looks-at: hose\n")),
    ("unknown-outcome", CHECKS, ("normal: normal", "normal: normall")),
    ("unknown-outcome", CHECKS, ("{low: 0.75}", "{lo: usually}")),
    ("unknown-outcome", OTHER, ("  normal: clear", "  normal: clear\n  usual: {claer: 0.9}")),
    ("unknown-way", CHECKS, ("{low: 0.75}", "{torn: {low: usually}}")),
    ("unknown-way", CONCERN, ("regulator-high: sometimes}", "regulator-high: {torn: often}}")),
    ("bad-frequency", CONCERN, ("regulator-high: sometimes}", "regulator-high: {torn: oten}}")),
    ("mixed-signature", CHECKS, ("{low: 0.75}", "{low: usually, mild: {low: seldom}}")),
    ("mixed-signature", CHECKS, ("{low: 0.75}", "{mild: {torn: {low: seldom}}}")),
    ("unknown-outcome", CHECKS, ("{low: 0.75}", "{clear: {low: usually}, mild: {lo: seldom}}")),
    ("bad-frequency", CHECKS, ("{low: 0.75}", "{clear: {low: usualy}}")),
    ("adds-up", CHECKS, ("{low: 0.75}", "{gross: {low: usually, high: sometimes}}")),
    ("expects-of-no-kind", CHECKS, ("{low: 0.75}", "{expects: {spread: 2 psi}}")),
    ("missing-field", CHECKS, ("{low: 0.75}", "{expects: {value: 40 psi}}")),
    ("bad-expects", CHECKS, ("{low: 0.75}", "{expects: {value: 40 V, spread: 2 psi}}")),
    ("bad-expects", CHECKS, ("{low: 0.75}", "{expects: {value: 40 psi, spread: 0}}")),
    ("ways-add-up", FUEL, ("  rate: 0.05", "  rate: 0.05\n  ways: {torn: 0.5, blocked: 0.4}")),
    ("degrees-add-up", FUEL, ("  rate: 0.05", "  rate: 0.05\n  degrees: {mild: 0.5}")),
    ("choice", FUEL, ("  rate: 0.05", "  rate: 0.05\n  degrees: {mlid: 1.0}")),
    ("no-normal", OTHER, ("  normal: clear\n", "")),
    ("moves-nothing", CHECKS, ("{low: 0.75}", "{normal: 0.96, low: 0.02, high: 0.02}")),
    ("moves-nothing", CHECKS, ("{low: 0.75}", "{why: no reason}")),
    ("no-why", CHECKS, ("{low: 0.75}", "{low: 0.85}")),
    ("no-why", CHECKS, ("{low: 0.75}", "{low: often, high: 0.01}")),
    ("moves-nothing", OTHER, ("    regulator-high: {kinked: 0.2}", "    {}")),
    ("cause-moves-nothing", CHECKS, ("    strainer-blocked: {low: 0.75}\n", "")),
    ("unused-cause", CONCERN, ("regulator-high: sometimes}", "}")),
    ("shown-by-another", OTHER, ("words: kinked or flat}", "words: kinked or flat, shows: strainer-blocked}")),
    ("shows-unmoved", OTHER, ("words: kinked or flat}", "words: kinked or flat, shows: strainer-blocked}")),
    ("outcome-twice", OTHER, ("outcome: kinked", "outcome: clear")),
    ("one-outcome", OTHER, ("    - {outcome: kinked, words: kinked or flat}\n", "")),
    ("bands-or-choices", OTHER, ("  choices:", "  bands: [{outcome: a, to: 1}, {outcome: b}]\n  choices:")),
    ("bands-or-choices", OTHER, ("  reading: {unit: V, plausible: [0, 20], uncertainty: 0.1}\n", "")),
    # bands
    ("unknown-unit", CHECKS, ("unit: psi", "unit: pis")),
    ("plausible-range", CHECKS, ("[0, 120]", "[120, 0]")),
    ("band-gap", OTHER, ("{outcome: normal, words: good}", "{outcome: normal, to: 15, words: good}")),
    ("band-open", OTHER, (", to: 12.4", "")),
    ("bands-overlap", CHECKS, ("plus: 4}", "plus: -8}")),
    ("limit-outside", OTHER, ("to: 12.4", "to: 24")),
    ("limit-of-no-kind", OTHER, ("to: 12.4", "to: {plus: 4}")),
    ("unknown-car-field", CHECKS, ("{car: rated-pressure, plus: 4}", "{car: rated-presure, plus: 4}")),
    ("not-a-number", CHECKS, ("{car: rated-pressure, plus: 4}", "{car: ignition, plus: 4}")),
    ("limit-refused", CHECKS, ("{car: rated-pressure, plus: 4}", "{car: idle-speed}")),
    ("unknown-calculation", OTHER, ("to: 12.4", "to: {calc: pump-supply-vols}")),
    ("unknown-input", OTHER, ("to: 12.4", "to: {calc: lowest-cranking-voltage, inputs: {temperature: 70}}")),
    ("missing-input", OTHER, ("to: 12.4", "to: {calc: lowest-cranking-voltage}")),
    ("unknown-output", OTHER,
     ("to: 12.4", "to: {calc: lowest-cranking-voltage, inputs: {battery-temperature: 70}, output: volts}")),
    ("no-usual", OTHER,
     ("to: 12.4", "to: {calc: lowest-cranking-voltage, inputs: {battery-temperature: {reading: pressure}}}")),
    ("not-a-number", OTHER,
     ("to: 12.4",
      "to: {calc: lowest-cranking-voltage, inputs: {battery-temperature: {reading: hose-look, usual: 70}}}")),
    *((code, OTHER, ("to: 12.4", "to: {calc: lowest-cranking-voltage, inputs: {battery-temperature: " + given + "}}"))
      for code, given in (("unknown-value", "{car: cam, each: {stock: 70, shrt: 60}}"),
                          ("bad-quantity", "{car: cam, each: {stock: 70 psi, long: 70}}"),
                          ("limit-refused", "{car: cam, each: {long: 70}}"))),
    ("bad-quantity", OTHER, ("to: 12.4", "to: {calc: lowest-cranking-voltage, inputs: {battery-temperature: 70 psi}}")),
    # safety
    ("no-caution", OTHER, ("Read the meter at the pump.", "Read it past the belts.")),
    ("no-caution", FUEL, ("Repair the feed.", "Open the line and repair the feed.")),
    ("no-caution", FUEL, ("Turn the screw half a turn.", "Reach past the fan.")),
    ("flame", OTHER, ("Look along the hose.", "Move a flame along the hose.")),
    ("flame", FUEL, ("Clean the strainer.", "Look into the tank by a match.")),
    ("live-secondary", OTHER, ("Look along the hose.", "Hold the plug lead while it is running.")),
    ("unsafe-plant", FUEL, ("Turn the screw half a turn.", "Loosen the fuel fitting a little.")),
    ("guard", FUEL, ("Turn the screw half a turn.", "Take off the belt guard.")),
    ("unsafe-plant", FUEL, ("Turn the screw half a turn.", "Pull off a plug lead.")),
    ("unsafe-plant", FUEL, ("Turn the screw half a turn.", "Clamp the brake hose.")),
    ("plant-unsaid", FUEL, ("plant: {never: It overheats the pump.}", "plant: {}")),
    ("plant-not-undone", FUEL, ("undo: [Turn it back.], ", "")),
    ("no-caution", OTHER, ("  state: key off", "  state: under load")),
    ("hands-unsaid", OTHER, ("  hands: [engine bay]\n", "")),
    ("hidden-state", OTHER, ("Look along the hose.", "Start it and look along the hose.")),
    ("not-declared", OTHER, ("Look along the hose.", "On stands, look along the hose.")),
    ("volatile", OTHER, ("Look along the hose.", "Spray brake cleaner along the hose.")),
    # words
    ("emoji", FUEL, ("The pump starves.", "The pump starves \U0001f622")),
    ("too-wide", FUEL, ("title: Strainer blocked", f"title: {'very ' * 12}blocked")),
    ("too-wide", OTHER, ("    (V) -- pump", "    (V) --" + "-" * 60 + " pump")),
    ("drawing-tall", OTHER, ("    (V) -- pump\n", "    (V) -- pump\n" * 14)),
    ("no-drawing", OTHER, ("  drawing: |\n    (V) -- pump\n", "")),
    ("no-drawing", OTHER, ("Look along the hose.", "Unplug the sensor and look.")),
    ("leads-unmarked", OTHER, ("    (V) -- pump", "    pump -- [ V ]")),
    # cases
    ("few-cases", CASES, "- {name: one, car: plain-eight, readings: {pressure: 40 psi}, leads: [strainer-blocked]}\n"),
    ("case-fails", CASES, ("leads: [strainer-blocked]", "leads: [regulator-high]")),
    ("case-fails", CASES, ("leads: [strainer-blocked]", "leads: [strainer-blocked]\n  at-least: 0.999")),
    ("case-cannot-run", CASES, ("pressure: 40 psi", "pressure: 40 V")),
    ("case-cannot-run", CASES, ("pressure: 40 psi", "pressure: 4000 psi")),
    ("case-expects-nothing", CASES, ("  leads: [strainer-blocked]\n", "")),
    ("healthy-car-accused", "healthy/sound.yaml", ("pressure: 58", "pressure: 80")),
    ("no-case", CASES, ("leads: [regulator-high]", "leads: []")),
    ("no-counter-case", CASES, ("must-not-lead: [strainer-blocked, pump-volts-low]", "must-not-lead: []")),
    # files
    ("duplicate-key", FUEL, ("  system: fuel\n  rate: 0.05", "  system: fuel\n  system: air\n  rate: 0.05")),
    ("unknown-field", FUEL, ("  rate: 0.05", "  rte: 0.05")),
    ("missing-field", FUEL, ("  rate: 0.05\n", "")),
    ("missing-field", CHECKS, ("  basis: common practice\n", "")),
    ("wrong-type", FUEL, ("rate: 0.05", "rate: [0.05]")),
    ("out-of-range", FUEL, ("rate: 0.05", "rate: 1.5")),
    ("out-of-range", FUEL, ("minutes: 40", "minutes: 0")),
    ("choice", FUEL, ("system: fuel\n  rate: 0.05", "system: feul\n  rate: 0.05")),
    ("bad-id", FUEL, ("strainer-blocked:", "Strainer Blocked:")),
    ("misplaced", "cause/mine.yaml", "a: 1\n"),
    ("written-twice", "causes/aside.yaml", SECOND),
]  # fmt: skip
"""A code, the file it stands in, and the change that brings it about."""


def findings_of(trees, changes):
    return lint_folders((trees(changes),))


def test_the_sound_trees_are_sound(trees):
    errors = [str(finding) for finding in findings_of(trees, {}) if finding.level == "error"]
    assert errors == []


@pytest.mark.parametrize(("code", "file", "change"), BAD, ids=[f"{code}-{n}" for n, (code, _, _) in enumerate(BAD)])
def test_each_fault_is_found_in_its_file(trees, code, file, change):
    found = findings_of(trees, {file: change})
    here = [finding for finding in found if finding.code == code]
    assert here, f"{code} not among {[str(finding) for finding in found]}"
    assert all(finding.what and finding.advice and finding.line >= 1 and finding.column >= 1 for finding in here)
    if code not in ("few-cases", "unused-cause", "cause-moves-nothing", "no-case", "no-counter-case", "written-twice"):
        assert any(finding.file.endswith(file) for finding in here)


def test_a_rate_in_percent_is_told_as_a_share(trees):
    """Who writes 1.5 % is told the number that belongs there."""
    (found,) = [one for one in findings_of(trees, {FUEL: ("rate: 0.05", "rate: 1.5 %")}) if one.level == "error"]
    assert found.advice.endswith("0.015")


def test_what_only_follows_from_another_slip_waits_for_it(trees):
    """A check that cannot be read moves no cause and makes cases fail; only the slip itself is said."""
    slips = {
        "missing-field": ("  basis: common practice\n", ""),
        "unknown-cause": ("    regulator-high: {high", "    regulator-hihg: {high"),
    }
    for code, change in slips.items():
        found = [one for one in findings_of(trees, {CHECKS: change}) if one.level == "error"]
        assert {one.code for one in found} == {code}
    otherwise = findings_of(trees, {CASES: ("leads: [strainer-blocked]", "leads: [regulator-high]")})
    assert "case-fails" in {one.code for one in otherwise}


def test_causes_that_nothing_tells_apart(trees):
    """Two causes that move every check alike are guessed between: one time in two."""
    found = findings_of(
        trees,
        {
            CHECKS: ("{low: often}", "{low: 0.75}"),
            OTHER: (
                "    pump-volts-low: {low: nearly always",
                "    strainer-blocked: {low: 0.97}\n    pump-volts-low: {low: 0.97",
            ),
        },
    )
    (twin,) = [finding for finding in found if finding.code == "same-everywhere"]
    assert "pump-volts-low and strainer-blocked" in twin.what and "50 %" in twin.what


def test_causes_no_car_can_have_together_need_not_be_told_apart(trees):
    """Points and an electronic pickup are never in one distributor."""
    changes = {
        CHECKS: ("{low: often}", "{low: 0.75}"),
        OTHER: (
            "    pump-volts-low: {low: nearly always",
            "    strainer-blocked: {low: 0.97}\n    pump-volts-low: {low: 0.97",
        ),
        FUEL: ("  rate: 0.04", "  rate: 0.04\n  for: {ignition: [electronic]}"),
    }
    assert "same-everywhere" not in [finding.code for finding in findings_of(trees, changes)]


def test_a_pair_that_is_hard_to_tell_is_noticed_with_the_best_they_reach(trees):
    """One check that reads low for 97 and for 70 in 100: right (1 + 0.27) / 2 = 63.5 % of the time, bounded above."""
    changes = {
        CHECKS: ("{low: 0.75}", "{low: usually, why: So it is.}"),
        OTHER: ("pump-volts-low: {low: nearly always, why: That is what it is.}", "regulator-high: {low: often}"),
    }
    found = [finding for finding in findings_of(trees, changes) if finding.code == "hard-to-tell"]
    assert [finding.level for finding in found] == ["notice"]
    best = int(found[0].what.split("at best ")[1].split("%")[0])
    assert 57 <= best < 80


def test_steps_that_cost_far_more_than_they_need_are_noticed(trees):
    """A check of eight hours that tells little stands first, the cheap one that tells all second."""
    dear = {OTHER: ("  state: key off\n  hands: [engine bay]\n  minutes: 2", "  state: key off\n  minutes: 480")}
    dear[CONCERN] = (
        "steps:\n  first: {check: pressure, next: {low: volts, normal: hose, high: set-it}}",
        "steps:\n  first: {check: hose-look, next: {clear: pressed, kinked: set-it}}\n"
        "  pressed: {check: pressure, next: {low: volts, normal: hose, high: set-it}}",
    )
    root = trees(dear)
    assert "dear-steps" in [finding.code for finding in lint_folders((root,), deep=True)]
    assert "dear-steps" not in [finding.code for finding in lint_folders((trees({}, "sound"),), deep=True)]


def test_findings_come_in_a_stable_order(trees):
    changes = {
        FUEL: ("rate: 0.05", "rate: 5"),
        CONCERN: ("check: hose-look", "check: hose"),
        OTHER: ("to: 12.4", "to: 24"),
    }
    found = findings_of(trees, changes)
    assert list(found) == sorted(found) and len(found) >= 3
    assert found == findings_of(trees, changes)
    assert in_order([found[1], found[0], found[1]]) == (found[0], found[1])


def test_a_broken_record_is_not_also_unknown(trees):
    """The cause that does not fit its form is still written."""
    codes = {finding.code for finding in findings_of(trees, {FUEL: ("  rate: 0.05", "  rate: often")})}
    assert "wrong-type" in codes and "unknown-cause" not in codes


def test_a_finding_reads_as_one_line():
    finding = Finding("trees/x.yaml", 3, 7, "what is wrong", "what to do", "code")
    assert str(finding) == "trees/x.yaml:3:7: what is wrong — what to do"


WORDS = ["", "[]", "{}", "null", "1e9", "-1", "nan", "true", "normal", "always", "'", "{a: 1}", "[1, 2]", "1e400",
         "!!x", "&a", "*a", ": :", "\t", "- -", "idle", "something-else", "first", "pressure", "0", "psi",
         "points-float-speed", "99999999999999999999", "\u202e", "\U0001f600", "rated-pressure"]  # fmt: skip


@settings(max_examples=60, deadline=None, suppress_health_check=[HealthCheck.function_scoped_fixture])
@given(data=st.data())
def test_no_slip_of_the_pen_is_more_than_findings(trees, data):
    """Lines lost, doubled or spoilt in any file: the linter and the drawing end in words, never in an exception."""
    root = trees()
    for file in sorted(root.rglob("*.yaml")):
        if not data.draw(st.integers(0, 2)):
            lines = file.read_text(encoding="utf-8").split("\n")
            at = data.draw(st.integers(0, len(lines) - 1))
            head = lines[at].split(":")[0]
            spoilt = [[f"{head}: {word}"] for word in WORDS]
            lines[at : at + 1] = data.draw(st.sampled_from([[], [lines[at]] * 2, *spoilt]))
            file.write_text("\n".join(lines), encoding="utf-8")
    assert all(finding.what and finding.advice for finding in lint_folders((root,)))
    catalogue = read_catalogue((root,)).catalogue
    for concern in catalogue.concerns:
        with contextlib.suppress(TroubleshootError):
            tree_lines(catalogue, concern)


def test_an_old_key_is_refused_with_its_new_name(trees):
    """`leak` (a probability) is named `reported-anyway`, since a tree about fuel leaks must not mean that by it."""
    found = lint_folders((trees({CONCERN: ("meaning:", "leak: 0.01\nmeaning:")}),))
    (refused,) = [one for one in found if one.code == "renamed-field"]
    assert (refused.what, refused.advice) == ("leak is now called reported-anyway", "write reported-anyway:")
