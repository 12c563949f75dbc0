"""The catalogue of faults: complete, continuous where it should be, refusing what makes no sense."""

from __future__ import annotations

import ast
from pathlib import Path

import numpy as np
import pytest

import troubleshoot.virtual_engine as package
from troubleshoot.virtual_engine import cars, engines
from troubleshoot.virtual_engine.faults import FAULTS, TIES, UnknownFault, onset, ties
from troubleshoot.virtual_engine.instruments import READINGS
from troubleshoot.virtual_engine.parameters import FIELDS
from troubleshoot.virtual_engine.readings import readings

STEPWISE = {
    "pump_dead",
    "ecu_off_in_start",
    "no_spark",
    "plug_wire_off",
    "trigger_wire_open",
    "tach_self_test_burst",
    "cylinder_setting_wrong",
    "clt_reads_hot",
    "o2_dead",
    "booster_hose_off",
    "iac_stuck_closed",
    "iac_stuck_open",
    "cylinder_setting_high",
    "rev_limit_low",
    "vacuum_advance_manifold",
}
"""Faults that are there or not, or begin with a step."""


def test_there_are_110_faults_60_of_them_core_and_152_readings_64_of_them_core() -> None:
    assert (len(FAULTS), sum(one.core for one in FAULTS.values())) == (110, 60)
    assert (len(READINGS), sum(one.core for one in READINGS.values())) == (152, 64)


def test_every_fault_changes_parameters_and_only_parameters() -> None:
    for one in FAULTS.values():
        assert one.changes
        assert set(one.changes) <= set(FIELDS), one.id
        assert one.applies_to <= {"points", "electronic"}
        assert one.sizes and one.basis, one.id
        for engine in engines.ENGINES:
            first = onset(one.id, engine)
            assert first is None or 0.0 < first <= 1.0


def test_controller_beliefs_about_breathing_are_never_touched_by_a_fault() -> None:
    believed = {"ve_peak_ecu", "ve_peak_rpm_ecu", "ve_fall_low_ecu", "ve_fall_high_ecu"}
    assert not any(believed & set(one.changes) for one in FAULTS.values())


def test_a_vanishing_fault_returns_to_the_healthy_car() -> None:
    smooth = [name for name in FAULTS if name not in STEPWISE and "points" in FAULTS[name].applies_to]
    found = readings(
        "harrow-240", "points", [[]] + [[(name, 1e-7)] for name in smooth], 3, noise=False, only="steady", spread=False
    )
    for reading, values in found.items():
        same = np.isclose(values, values[0], rtol=2e-4, atol=1e-3, equal_nan=True)
        assert same.all(), (reading, [smooth[i - 1] for i in np.flatnonzero(~same)])


def test_ties_name_known_faults_and_the_six_has_one_more() -> None:
    for group in ties("tarn-six-160"):
        assert group <= set(FAULTS)
    assert len(ties("tarn-six-160")) == len(ties("harrow-240")) + 1 == len(TIES) + 1


def test_unknown_names_are_answered_with_the_nearest() -> None:
    with pytest.raises(UnknownFault, match="vacuum_leak"):
        cars.build("harrow-240", "points", [[("vacum_leak", 0.5)]], [(1,)])
    with pytest.raises(engines.UnknownEngine, match="harrow-240"):
        engines.engine("harrow")
    with pytest.raises(engines.UnknownEngine, match="electronic"):
        engines.engine("harrow-240", "magneto")
    with pytest.raises(UnknownFault, match="points"):
        cars.build("harrow-240", "electronic", [[("points_float", 0.5)]], [(1,)])


@pytest.mark.parametrize("severity", [-0.1, 1.1, float("nan"), float("inf")])
def test_a_severity_outside_nought_to_one_is_refused(severity: float) -> None:
    with pytest.raises(cars.SeverityRefused):
        cars.build("harrow-240", "points", [[("vacuum_leak", severity)]], [(1,)])


def test_the_model_imports_numpy_and_the_standard_library_only() -> None:
    """It never reads the trees nor the knowledge compiled from them, so it can judge them."""
    allowed = {"numpy", "troubleshoot"}
    standard = {
        "__future__",
        "collections",
        "dataclasses",
        "types",
        "typing",
        "difflib",
        "functools",
        "math",
        "csv",
        "io",
    }
    for path in Path(package.__path__[0]).glob("*.py"):
        for node in ast.walk(ast.parse(path.read_text(encoding="utf-8"))):
            names = []
            if isinstance(node, ast.Import):
                names = [alias.name for alias in node.names]
            elif isinstance(node, ast.ImportFrom):
                names = [node.module or ""]
            for name in names:
                assert name.split(".")[0] in allowed | standard, (path.name, name)
                assert not name.startswith("troubleshoot.") or name.startswith(
                    ("troubleshoot.virtual_engine", "troubleshoot.problems")
                ), (path.name, name)


def test_the_record_has_every_parameter_of_both_engines_and_nothing_else() -> None:
    for name in engines.ENGINES:
        for ignition in engines.IGNITIONS:
            assert set(engines.nominal(name, ignition)) == set(FIELDS)
            assert set(cars.SPREAD_RELATIVE) | set(cars.SPREAD_ABSOLUTE) <= set(FIELDS)
