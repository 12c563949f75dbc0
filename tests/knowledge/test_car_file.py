"""A car file takes units and can be read back."""

from __future__ import annotations

from pathlib import Path

import pytest
from hypothesis import given
from hypothesis import strategies as st

from troubleshoot.knowledge.car import Car
from troubleshoot.knowledge.car_file import CarRefused, car_text, named_cars, read_car_file
from troubleshoot.knowledge.car_needs import fields_for
from troubleshoot.knowledge.catalogue import load_catalogue


def test_a_car_file_takes_units(tmp_path: Path) -> None:
    """1 L is 61.0237 in^3 and 1 bar 14.5038 psi (NIST SP 811); a number alone is in the unit of its field."""
    path = tmp_path / "wagon.yaml"
    path.write_text(
        "title: Wagon\ndisplacement: 4.9 L\nrated-pressure: 4 bar\nair-temperature: 20 °C\nidle-speed: 700\n"
    )
    car = read_car_file(path)
    assert car.displacement == pytest.approx(4.9 * 61.0237, rel=1e-5)
    assert car.rated_pressure == pytest.approx(4 * 14.5038, rel=1e-5)
    assert car.air_temperature == pytest.approx(68.0)
    assert car.idle_speed == 700


def test_a_wrong_unit_is_named_with_its_line(tmp_path: Path) -> None:
    """Volts are no pressure."""
    path = tmp_path / "wagon.yaml"
    path.write_text("title: Wagon\nrated-pressure: 4 V\n")
    with pytest.raises(CarRefused, match=r"wagon.yaml:2.*V is a voltage"):
        read_car_file(path)


@given(
    title=st.text(min_size=1, max_size=60), owner=st.text(max_size=60), flow=st.floats(5, 300), ballast=st.booleans()
)
def test_what_is_written_is_read_back(tmp_path_factory, title: str, owner: str, flow: float, ballast: bool) -> None:
    """Any name, even one that looks like YAML, and figures to nine digits."""
    path = tmp_path_factory.mktemp("cars") / "car.yaml"
    car = Car(title=title, owner=owner, injector_flow=float(f"{flow:.9g}"), ballast=ballast)
    try:
        path.write_text(car_text(car), encoding="utf-8")
        assert read_car_file(path) == car
    except (UnicodeEncodeError, CarRefused):
        assert not (title + owner).isprintable()


def test_every_example_is_read_back(tmp_path: Path) -> None:
    """As the list of cars reads them."""
    cars = load_catalogue(None).cars
    for name, car in cars.items():
        (tmp_path / f"{name}.yaml").write_text(car_text(car), encoding="utf-8")
    (tmp_path / "other.yaml").write_text("- no car\n")
    assert named_cars(tmp_path) == dict(sorted(cars.items()))


def test_a_concern_asks_for_what_its_checks_use() -> None:
    """Common practice, no source: a wont-rev complaint needs the speed limit; a fuel smell only how fuel is
    plumbed and metered, and whether the controller opens anything by itself at key-on."""
    catalogue = load_catalogue(None)
    assert "speed-limit" in fields_for(catalogue, ["wont-rev"])
    asked = {"pump", "regulator", "return-line", "fuel-metering", "sweeps-at-key-on"}
    assert set(fields_for(catalogue, ["fuel-smell"])) == asked
