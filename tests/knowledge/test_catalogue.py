"""The catalogue: read once, kept, laid over by a person's own folder, never silent about what it left out."""

from __future__ import annotations

import os
import subprocess
import sys

import msgspec
import pytest
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st

from troubleshoot.knowledge import catalogue as catalogues
from troubleshoot.knowledge import catalogue_cache
from troubleshoot.knowledge.car import CAR_FIELDS, Car, car_unit
from troubleshoot.knowledge.catalogue import TreesNotFound, car_with, load_catalogue
from troubleshoot.knowledge.forms import misfits
from troubleshoot.knowledge.model import Check, Concern
from troubleshoot.problems import TroubleshootError


def test_everything_is_indexed_by_id(trees):
    catalogue = load_catalogue(root=trees())
    assert set(catalogue.concerns) == {"runs-weak"}
    assert set(catalogue.checks) == {"pressure", "volts", "hose-look"}
    assert len(catalogue.cases["runs-weak"]) == 3
    assert catalogue.causes["pump-volts-low"].rate == 0.04
    assert catalogue.cars["plain-eight"].cylinders == 8
    assert catalogue.faults == () and catalogue.own_overrides == ()


def test_a_warm_start_reads_no_yaml_and_gives_the_same(trees, monkeypatch):
    root = trees()
    first = load_catalogue(root=root)
    code = (
        "import sys; from pathlib import Path; from troubleshoot.knowledge.catalogue import load_catalogue;"
        "c = load_catalogue(root=Path(sys.argv[1]));"
        "print(c.version, 'ruamel' in str(sorted(sys.modules)), 'numpy' in sys.modules, len(c.checks))"
    )
    done = subprocess.run([sys.executable, "-c", code, str(root)], capture_output=True, text=True, env=os.environ)
    assert done.stdout.split() == [first.version, "False", "False", "3"], done.stderr
    assert load_catalogue(root=root) is first
    monkeypatch.setattr(catalogues, "_READ", {})
    again = load_catalogue(root=root)
    assert again is not first and again == first


def test_a_changed_file_is_read_again(trees):
    root = trees()
    before = load_catalogue(root=root)
    file = root / "causes" / "fuel.yaml"
    file.write_text(file.read_text(encoding="utf-8").replace("rate: 0.05", "rate: 0.06"), encoding="utf-8")
    after = load_catalogue(root=root)
    assert after.causes["strainer-blocked"].rate == 0.06
    assert after.version != before.version
    file.unlink()
    assert "strainer-blocked" not in load_catalogue(root=root).causes


@pytest.mark.parametrize("damage", [b"", b"\x00\xff rubbish", b"\x81"])
def test_a_damaged_cache_is_rebuilt_in_silence(trees, damage, monkeypatch):
    root = trees()
    sound = load_catalogue(root=root)
    monkeypatch.setattr(catalogues, "_READ", {})
    for file in catalogue_cache.cache_folder().glob("*.msgpack"):
        file.write_bytes(damage)
    assert load_catalogue(root=root) == sound


def test_a_cache_folder_that_cannot_be_written_is_no_matter(trees, monkeypatch, tmp_path):
    (tmp_path / "a-file").write_text("x", encoding="utf-8")
    monkeypatch.setenv("TROUBLESHOOT_CACHE", str(tmp_path / "a-file" / "inside"))
    assert load_catalogue(root=trees()).checks


def test_old_cache_files_are_forgotten(trees):
    for number in range(catalogue_cache.MOST_KEPT + 3):
        load_catalogue(root=trees({}, f"folder-{number}"))
    files = list(catalogue_cache.cache_folder().glob("*"))
    assert len(files) == catalogue_cache.MOST_KEPT


def test_own_trees_lie_over_the_shipped_ones_and_say_so(trees, tmp_path):
    own = tmp_path / "own"
    (own / "causes").mkdir(parents=True)
    (own / "causes" / "mine.yaml").write_text(
        """
strainer-blocked:
  title: My own strainer
  system: fuel
  rate: 0.2
  basis: from memory
  happens: It clogs here.
  repair: {do: [Clean it.], minutes: 5}
  proof: {words: It runs.}
  plant: {never: No.}
""",
        encoding="utf-8",
    )
    catalogue = load_catalogue(own=own, root=trees())
    assert catalogue.causes["strainer-blocked"].title == "My own strainer"
    assert catalogue.causes["strainer-blocked"].repair.parts == 0.0, "replaced as a whole, nothing is left of the old"
    assert catalogue.own_overrides == ("causes/strainer-blocked",)
    assert "pump-volts-low" in catalogue.causes


def test_own_trees_by_setting(trees, tmp_path, monkeypatch):
    own = tmp_path / "own"
    (own / "cars").mkdir(parents=True)
    (own / "cars" / "mine.yaml").write_text("title: Mine", encoding="utf-8")
    monkeypatch.setenv("TROUBLESHOOT_TREES", str(own))
    assert load_catalogue(root=trees()).cars["mine"].title == "Mine"
    monkeypatch.setenv("TROUBLESHOOT_TREES", str(tmp_path / "nowhere"))
    with pytest.raises(TreesNotFound):
        load_catalogue(root=trees())


def test_what_does_not_fit_is_left_out_and_said(trees):
    root = trees({"causes/fuel.yaml": ("rate: 0.05", "rate: lots")})
    catalogue = load_catalogue(root=root)
    assert "strainer-blocked" not in catalogue.causes and "pump-volts-low" in catalogue.causes
    (fault,) = catalogue.faults
    assert (fault.line, fault.column, fault.code) == (4, 9, "wrong-type")
    assert "a number belongs here" in str(fault)


def test_every_misfit_of_a_record_is_found_in_one_run():
    found = misfits(
        {
            "ask": 3,
            "whi": "x",
            "do": [],
            "state": "idel",
            "minutes": -1,
            "reading": {"unit": "psi", "plausible": [1], "uncertainty": True},
            "bands": [{"outcome": "No Good", "to": [1]}],
            "moved-by": {"a": {"low": []}},
        },
        Check,
    )
    assert {(trail, code) for trail, _, _, code, _ in found} == {
        (("ask",), "wrong-type"),
        (("whi",), "unknown-field"),
        (("do",), "list-short"),
        (("state",), "choice"),
        (("minutes",), "out-of-range"),
        (("reading", "plausible"), "list-short"),
        (("reading", "uncertainty"), "wrong-type"),
        (("bands", 0, "outcome"), "bad-id"),
        (("bands", 0, "to"), "wrong-type"),
        (("moved-by", "a", "low"), "wrong-type"),
        ((), "missing-field"),
    }
    assert any("did you mean why?" in what for _, what, _, _, _ in found)


PLAIN = st.recursive(
    st.none() | st.booleans() | st.integers(-5, 5) | st.floats(-2, 2) | st.sampled_from(["", "idle", "low", "X y"]),
    lambda inner: (
        st.lists(inner, max_size=3)
        | st.dictionaries(
            st.sampled_from([*(one.replace("_", "-") for one in Check.__struct_fields__), "steps", "shows", "x"]),
            inner,
            max_size=6,
        )
    ),
    max_leaves=12,
)


@given(PLAIN)
def test_a_value_has_misfits_exactly_when_the_form_refuses_it(value):
    """Reference: msgspec's own conversion."""
    for form in (Check, Concern, Car):
        try:
            msgspec.convert(value, form)
            refused = False
        except msgspec.ValidationError:
            refused = True
        assert bool(misfits(value, form)) == refused


@settings(suppress_health_check=[HealthCheck.function_scoped_fixture], max_examples=40, deadline=None)
@given(raw=st.binary(max_size=300) | PLAIN.map(lambda value: msgspec.json.encode({"a": value})))
@pytest.mark.parametrize(
    "name", ["causes/odd.yaml", "concerns/odd.yaml", "concerns/runs-weak.cases.yaml", "cars/odd.yaml"]
)
def test_any_file_leaves_a_catalogue_and_no_traceback(trees, name, raw):
    catalogue = load_catalogue(root=trees({name: raw}))
    assert "pressure" in catalogue.checks


def test_a_folder_that_is_not_there(tmp_path):
    with pytest.raises(TreesNotFound):
        load_catalogue(root=tmp_path / "none")


def test_a_car_that_differs(trees):
    catalogue = load_catalogue(root=trees())
    assert car_with(catalogue, "plain-eight", {"cylinders": 6, "cam": "long"}).cam == "long"
    for car, differs in (("nobody", {}), ("plain-eight", {"cylinders": 7}), ("plain-eight", {"colour": "red"})):
        with pytest.raises(TroubleshootError):
            car_with(catalogue, car, differs)


def test_every_measured_car_field_has_a_unit_the_program_knows():
    from troubleshoot.calculations.units import known_units

    units = {name: car_unit(name) for name in CAR_FIELDS}
    assert {unit for unit in units.values() if unit} <= known_units()
    assert units["rated-pressure"] == "psi" and units["ignition"] is None
