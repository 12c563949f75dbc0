"""Every collected check value, with its source and kind, against the calculation that claims to give it.

Kinds: published (a printed value; the source says where only a reproduction was at hand), library (from a named public
library), derived (follows from the formula, worked two ways), common-practice (a rule of the trade, no source),
from-memory (printed, not seen).
"""

import json
from pathlib import Path

import pytest

from troubleshoot.calculations.registry import calculation, calculations
from troubleshoot.calculations.units import convert, dimension_of, read_quantity

VALUES = json.loads((Path(__file__).parent / "check_values.json").read_text(encoding="utf-8"))

# check -> calculation, then what the check calls a field where we call it otherwise
CALLED: dict[str, tuple[str, dict[str, str]]] = {
    "dwell angle to dwell percent": ("dwell-percent", {}),
    "dwell percent to dwell angle": ("dwell-angle", {}),
    "dwell time at engine speed": ("dwell-time", {}),
    "timing change from a dwell change": ("timing-change-from-dwell", {"crank_timing_change": "timing-change"}),
    "coil primary current": ("coil-current", {}),
    "coil energy at break": ("coil-energy", {}),
    "engine speed where coil energy falls short": ("coil-energy-limit-speed", {}),
    "breaker point float speed": (
        "points-float-speed",
        {"spring_force_at_contact": "spring-force", "cam_lobes": "cylinders"},
    ),
    "float speed scaling": ("points-float-speed-scaled", {}),
    "valve float speed": (
        "valve-float-speed",
        {"moving_mass_at_valve": "moving-mass", "lift_duration_cam": "lift-duration"},
    ),
    "tach frequency to rpm": ("engine-speed-from-frequency", {"pulses_per_crank_rev": "pulses-per-turn"}),
    "rpm to spark frequency": ("spark-frequency", {}),
    "total ignition timing": ("total-timing", {}),
    "spark breakdown voltage in air": ("spark-voltage-needed", {}),
    "lowest breakdown voltage (Paschen minimum)": (
        "lowest-breakdown-voltage",
        {"A": "ionisation-constant", "B": "voltage-constant", "gamma": "electron-yield"},
    ),
    "fuel mass demand": ("fuel-mass-demand", {"fuel_si": "fuel"}),
    "fuel volume demand": ("fuel-volume-demand", {"volume_us": "volume"}),
    "injector flow at another pressure": ("injector-flow-at-pressure", {}),
    "injector duty cycle": ("injector-duty", {"pulses_per_crank_rev": "pulses-per-turn"}),
    "most power the injectors can feed": ("injector-power-limit", {}),
    "pulse width for a fuel flow": ("injector-pulse-width", {"pulses_per_crank_rev": "pulses-per-turn"}),
    "injector pressure difference, fixed regulator, spraying below the throttle": (
        "injector-pressure-below-blades",
        {"rail_gauge": "rail-pressure", "baro": "barometer", "manifold_abs": "manifold-pressure"},
    ),
    "injector pressure difference, spraying above the throttle": (
        "injector-pressure-above-blades",
        {"rail_gauge": "rail-pressure"},
    ),
    "rail gauge reading with a manifold-referenced regulator": (
        "rail-pressure-with-vacuum-hose",
        {"rail_gauge": "rail-pressure", "injector_difference": "difference"},
    ),
    "pump flow at pressure and voltage": (
        "pump-flow",
        {"per_volt": "flow-per-volt", "per_psi_lost": "flow-lost-per-psi"},
    ),
    "pump power and efficiency": ("pump-efficiency", {}),
    "fuel line pressure drop": ("fuel-line-drop", {}),
    "filter drop at another flow": ("filter-drop-at-flow", {}),
    "gasoline true vapor pressure": (
        "fuel-vapour-pressure",
        {"rvp": "reid-vapour-pressure", "temperature": "fuel-temperature", "tvp": "vapour-pressure"},
    ),
    "gasoline vapor pressure constants": (
        "vapour-pressure-constants",
        {"rvp": "reid-vapour-pressure", "A": "constant-a", "B": "constant-b"},
    ),
    "pump inlet vapor margin": (
        "vapour-margin",
        {
            "baro": "barometer",
            "rvp": "reid-vapour-pressure",
            "inlet_abs": "inlet-pressure",
            "tvp": "vapour-pressure",
        },
    ),
    "gasoline density at temperature": ("fuel-density", {"density_15C": "density-at-15c"}),
    "stoichiometric air-fuel ratio from formula": ("stoichiometric-ratio", {"afr": "air-fuel-ratio"}),
    "ethanol blend stoichiometric air-fuel ratio": (
        "blend-stoichiometric-ratio",
        {
            "ethanol_volume": "ethanol",
            "gasoline_afr": "gasoline-ratio",
            "ethanol_afr": "ethanol-ratio",
            "ethanol_mass": "ethanol-by-mass",
            "afr": "air-fuel-ratio",
        },
    ),
    "ethanol blend energy by volume": ("blend-energy", {"ethanol_volume": "ethanol"}),
    "fuel heating value from formation heats": (
        "fuel-heating-value",
        {"formation_heat_liquid": "formation-heat", "lhv": "heating-value"},
    ),
    "air-fuel ratio to lambda": (
        "lambda-from-ratio",
        {"afr": "air-fuel-ratio", "stoichiometric_afr": "stoichiometric-ratio"},
    ),
    "fuel correction from measured mixture": (
        "fuel-correction",
        {"measured_afr": "measured-ratio", "wanted_afr": "wanted-ratio"},
    ),
    "rail leak-down": ("rail-leak-down", {}),
    "theoretical airflow": ("airflow-demand", {}),
    "speed-density air mass": ("air-mass-flow", {"manifold_abs": "manifold-pressure", "air_us": "air"}),
    "volumetric efficiency from measured fuel and lambda": (
        "volumetric-efficiency",
        {"stoichiometric_afr": "stoichiometric-ratio", "manifold_abs": "manifold-pressure"},
    ),
    "throttle flow as a share of choked flow": ("flow-share-of-choked", {}),
    "choking pressure ratio": ("choking-ratio", {"ratio": "pressure-ratio"}),
    "air through a hole": ("air-through-hole", {"manifold_abs": "manifold-pressure"}),
    "idle air leak as a share of engine air": (
        "idle-leak-share",
        {"manifold_abs": "manifold-pressure", "share": "leak-share"},
    ),
    "airflow rating at another test drop": ("airflow-at-drop", {}),
    "standard barometer at altitude": (
        "barometer-at-altitude",
        {"pressure": "barometer", "temperature_abs": "temperature"},
    ),
    "manifold absolute pressure from vacuum": (
        "manifold-pressure-from-vacuum",
        {"baro": "barometer", "manifold_abs": "manifold-pressure"},
    ),
    "vacuum to expect at altitude": ("vacuum-at-altitude", {"sea_level_vacuum": "vacuum-at-sea-level"}),
    "water saturation pressure": ("water-saturation-pressure", {}),
    "humid air density": ("humid-air-density", {}),
    "dry air pressure": ("dry-air-pressure", {"baro": "barometer", "dry": "dry-pressure"}),
    "power correction SAE J1349": ("power-factor-j1349", {}),
    "power correction old standard (J607)": ("power-factor-j607", {"baro": "barometer"}),
    "power correction old standard, dry pressure given": ("power-factor-j607-dry", {}),
    "power correction ISO 1585 / ECE R85": ("power-factor-iso-1585", {}),
    "wire gauge to diameter": ("wire-diameter", {}),
    "copper wire resistance": ("wire-resistance", {}),
    "metric wire resistance limit": ("metric-wire-resistance", {}),
    "voltage drop in a wire run": ("wire-drop", {}),
    "smallest wire for an allowed drop": ("wire-gauge-for-drop", {}),
    "pump voltage at load": ("pump-supply-volts", {}),
    "ground resistance from a drop": ("resistance-from-drop", {}),
    "state of charge from resting voltage": ("battery-charge", {"voltage": "resting-voltage"}),
    "lowest cranking voltage": ("lowest-cranking-voltage", {}),
    "alternator budget": ("alternator-budget", {"share_at_idle": "idle-share"}),
    "thermistor beta from two points": (
        "thermistor-beta",
        {"r1": "resistance-1", "t1": "temperature-1", "r2": "resistance-2", "t2": "temperature-2"},
    ),
    "thermistor resistance, three-point Steinhart-Hart": ("sensor-resistance", {}),
    "thermistor temperature, three-point Steinhart-Hart": ("sensor-temperature", {"temperature_abs": "temperature"}),
    "sensor voltage with pull-up": ("sensor-voltage", {}),
    "linear pressure sensor": (
        "pressure-sensor-reading",
        {"v1": "voltage-1", "p1": "pressure-1", "v2": "voltage-2", "p2": "pressure-2", "v": "voltage", "p": "pressure"},
    ),
    "throttle position percent": ("throttle-position", {}),
    "fuse for a continuous load": ("fuse-size", {}),
    "blade fuse opening time window": ("fuse-opening-time", {}),
    "injector opening delay, R-L model": ("injector-opening-delay", {}),
    "mixture error from a wrong dead time": ("dead-time-error", {}),
    "lambda shown with dead cylinders": ("lambda-with-dead-cylinders", {}),
    "lambda shown with an exhaust air leak": ("lambda-with-exhaust-leak", {"leak_share_of_air": "leak-share"}),
    "exhaust dew point": ("exhaust-dew-point", {"dew_point_abs": "dew-point"}),
    "mixture reading delay": ("mixture-reading-delay", {"pipe": "pipe-diameter"}),
    "torque and power": ("power-from-torque", {}),
    "torque and power metric": ("power-from-torque", {}),
    "horsepower to watts": ("horsepower-to-watts", {"power_w": "watts"}),
    "mean gain between two runs": (
        "mean-gain",
        {
            "before_rpm": "before-speeds",
            "before": "before-power",
            "after_rpm": "after-speeds",
            "after": "after-power",
            "from": "from-speed",
            "to": "to-speed",
        },
    ),
    "BSFC from a run": ("bsfc", {"bsfc_si": "bsfc"}),
    "brake thermal efficiency from BSFC": ("thermal-efficiency", {"lhv": "heating-value"}),
    "compression spread": ("compression-spread", {}),
    "degrees Fahrenheit to Celsius": (
        "fahrenheit-to-celsius",
        {"temperature": "fahrenheit", "temperature_c": "celsius"},
    ),
    "pressure to kilopascal": ("pressure-to-kilopascal", {"pressure_kpa": "kilopascal"}),
}


def ours(key: str, called: dict[str, str]) -> str:
    """Name the check's field in our words."""
    return called.get(key, key.replace("engine_rpm", "engine_speed").replace("_", "-"))


def our_unit(unit: str, field_unit: str) -> str:
    """Name the check's unit in our words, where the field's dimension is known."""
    if unit in ("-", "unit", "degF/%"):
        return "share" if field_unit == "%" else field_unit
    if unit == "deg":
        return field_unit
    if dimension_of(field_unit) == "absolute pressure":
        return {"psi": "psia", "kPa": "kPa abs", "inHg": "inHg abs"}[unit]
    return unit


def arranged(check: dict) -> dict:
    """Give pairs of points, and the dwell as a share, as the fields we have for them."""
    given = dict(check["inputs"])
    if "centrifugal_points" in given:
        points = given.pop("centrifugal_points")[0]
        given["curve_speeds"] = [[speed for speed, _ in points], "rpm"]
        given["curve_advances"] = [[advance for _, advance in points], "deg"]
    if "points" in given:
        for place, (celsius, ohms) in enumerate(given.pop("points")[0], 1):
            given[f"temperature_{place}"] = [celsius, "degC"]
            given[f"resistance_{place}"] = [ohms, "ohm"]
    if "dwell_fraction" in given:
        given["dwell_angle"] = [given.pop("dwell_fraction")[0] * 360 / given["cam_lobes"][0], "deg"]
    return given


def title(check: dict) -> str:
    return check["calc"] + " " + " ".join(str(value) for value, _ in check["inputs"].values())[:40]


@pytest.mark.parametrize("check", VALUES, ids=title)
def test_check_value(check):
    assert check["source"] and check["kind"]
    name, called = CALLED[check["calc"]]
    calc = calculation(name)
    inputs = {}
    for key, (value, unit) in arranged(check).items():
        field = calc.field(ours(key, called))
        unit = our_unit(unit, field.unit)
        many = [convert(one, unit, field.unit) for one in (value if isinstance(value, list) else [value])]
        inputs[field.name] = many if isinstance(value, list) else many[0]
    outputs = calc.evaluate(inputs)
    for key, (want, unit) in check["expect"].items():
        got = outputs[ours(key, called)]
        got_in_unit = convert(got.value, got.unit, our_unit(unit, got.unit))
        assert got_in_unit == pytest.approx(want, rel=check["rel_tol"], abs=1e-9), (key, unit)


def test_the_collection_is_whole():
    """All 257 values are here, each kind of source among them, and every check has its calculation."""
    assert len(VALUES) == 257
    assert {check["kind"] for check in VALUES} == {
        "published",
        "library",
        "derived",
        "common-practice",
        "from-memory",
    }
    assert {check["calc"] for check in VALUES} == set(CALLED)


def test_every_calculation_has_a_check_value_or_is_checked_elsewhere():
    checked = {name for name, _ in CALLED.values()}
    unchecked = {one.name for one in calculations()} - checked
    assert unchecked == {
        "ratio-from-lambda",
        "celsius-to-fahrenheit",
        "torque-from-power",
        "pump-flow-test",
        "pressure-along-line",
        "timing-all-in",  # a sum of two advances, its docstring example
        "hottest-fuel",  # test_outside_references: back through the vapour-pressure line it is solved from
    }


def test_a_check_value_typed_as_text_reads_the_same():
    """The typed path (value and unit as one text) agrees with the numbers."""
    calc = calculation("points-float-speed")
    typed = {
        "spring-force": read_quantity("17 oz", "ozf"),
        "cylinders": read_quantity("8", "count"),
        "dwell-angle": read_quantity("30°", "deg dist"),
        "point-gap": read_quantity("0,43 mm", "in"),
    }
    assert calc.evaluate(typed)["engine-speed"].value == pytest.approx(4961.853813, rel=1e-7)
