"""Faults of sensors, air and mechanics, with their sizes at 0.25 early, 0.5 clear and 1 gross."""

from __future__ import annotations

from troubleshoot.virtual_engine.fault_sizes import ESTIMATE, TRADE, Fault, begins, fault, fixed, plus, reach, times

_SENSORS = "sensors"
_AIR = "air and mechanical"
_HOLE = "area of the hole times 0.8 (sharp-edged orifice, textbook); sizes an engineering estimate"

SENSORS: tuple[Fault, ...] = (
    fault(
        "clt_reads_cold",
        _SENSORS,
        "250, 700, 2000 ohm in series: 66, 47, 24 degC shown at 85",
        "Ohm's law on the sensor's curve",
        {"clt_series_ohm": plus(250, 700, 2000)},
    ),
    fault(
        "clt_reads_hot",
        _SENSORS,
        "2500, 900, 250 ohm in parallel: 38, 58, 97 degC shown at 20",
        "Ohm's law on the sensor's curve",
        {"clt_parallel_ohm": begins(20000, 2500, 900, 250)},
        core=False,
    ),
    fault(
        "thermostat_open", _SENSORS, "74, 66, 52 degC running temperature", TRADE, {"thermostat_c": reach(74, 66, 52)}
    ),
    fault(
        "map_hose_leak",
        _SENSORS,
        "8, 20, 50 % of the vacuum lost on the way",
        ESTIMATE,
        {"map_leak": reach(0.08, 0.20, 0.50)},
        core=False,
    ),
    fault(
        "map_hose_restricted", _SENSORS, "signal 0.04, 0.15, 0.6 s late", ESTIMATE, {"map_lag": plus(0.04, 0.15, 0.6)}
    ),
    fault(
        "map_reads_low", _SENSORS, "reads 95, 90, 78 % of the pressure", ESTIMATE, {"map_gain": reach(0.95, 0.90, 0.78)}
    ),
    fault(
        "tps_misset",
        _SENSORS,
        "0.08, 0.16, 0.35 V high, 2, 4, 9 % shown foot off",
        ESTIMATE,
        {"tps_closed": plus(0.08, 0.16, 0.35)},
    ),
    fault(
        "tps_dead_spot",
        _SENSORS,
        "worn track of 9, 18, 30 % of the travel",
        ESTIMATE,
        {"tps_dead": reach(0.3, 0.6, 1.0)},
        core=False,
    ),
    fault(
        "exhaust_leak_o2",
        _SENSORS,
        "reads 4, 11, 25 % lean at idle, less under load",
        "air is drawn in between the pulses (common practice, no source); sizes an engineering estimate",
        {"exhaust_leak": plus(0.06, 0.15, 0.35)},
    ),
    fault("o2_slow", _SENSORS, "0.5, 1.2, 2.5 s slow", ESTIMATE, {"o2_lag": plus(0.5, 1.2, 2.5)}),
    fault("o2_dead", _SENSORS, "no signal", TRADE, {"o2_ok": fixed(0.0)}),
    fault(
        "o2_too_far",
        _SENSORS,
        "2, 4.5, 8 L of pipe downstream, near the outlet: 3, 7, 12 % of outside air at idle",
        ESTIMATE,
        {"o2_far": plus(0.45, 1.0, 1.8)},
        core=False,
    ),
    fault(
        "o2_skewed_rich", _SENSORS, "reads 4, 8, 14 % rich", ESTIMATE, {"o2_skew": reach(0.96, 0.92, 0.86)}, core=False
    ),
)

AIR: tuple[Fault, ...] = (
    fault("vacuum_leak", _AIR, "hole of 2.5, 4.5, 7 mm", _HOLE, {"leak_area": plus(0.039, 0.127, 0.308)}),
    fault(
        "vacuum_leak_half",
        _AIR,
        "hole of 2, 3, 5 mm into one half",
        _HOLE,
        {"leak_area_b": plus(0.025, 0.057, 0.157)},
        core=False,
    ),
    fault(
        "booster_hose_off",
        _AIR,
        "hose of 7, 8, 10 mm open to the air",
        _HOLE,
        {
            "leak_area": begins(0.25, 0.308, 0.402, 0.628),
            "overrun_cut_rpm": fixed(1700),
            "overrun_resume_rpm": fixed(1250),
        },
    ),
    fault(
        "throttle_not_closing",
        _AIR,
        "plates held open by 0.04, 0.12, 0.32 cm2",
        ESTIMATE,
        {"stop_area": plus(0.04, 0.12, 0.32)},
    ),
    fault(
        "throttle_not_opening",
        _AIR,
        "plates open 75, 55, 32 % with the pedal down",
        ESTIMATE,
        {"plate_limit": reach(0.75, 0.55, 0.32)},
    ),
    fault(
        "air_filter_clogged",
        _AIR,
        "50, 33, 21 % of the air cleaner's area left",
        ESTIMATE,
        {"cleaner_area": times(0.50, 0.33, 0.21)},
    ),
    fault(
        "exhaust_blocked",
        _AIR,
        "4, 8, 20 psi of back pressure at full throttle (healthy 1.5)",
        "3 psi is the usual limit (common practice, no source)",
        {"back_pressure": times(2.5, 5, 14)},
    ),
    fault(
        "pcv_stuck_open",
        _AIR,
        "breather valve passes 2, 3.3, 6 times its air",
        ESTIMATE,
        {"breather_area": plus(0.03, 0.07, 0.15)},
        core=False,
    ),
    fault(
        "iac_stuck_closed",
        _AIR,
        "idle valve stuck 10, 6, 0 % open (15 to 20 % needed)",
        TRADE,
        {"idle_stuck": begins(0.14, 0.10, 0.06, 0.0)},
    ),
    fault(
        "iac_stuck_open",
        _AIR,
        "idle valve stuck 33, 48, 80 % open",
        TRADE,
        {"idle_stuck": begins(0.23, 0.33, 0.48, 0.80)},
    ),
    fault(
        "low_compression_cyl",
        _AIR,
        "lowest cylinder 141, 129, 106 psi (healthy 152), misses more and more",
        ESTIMATE,
        {
            "compression_loss": plus(0.012, 0.025, 0.05),
            "breathing": plus(-0.006, -0.015, -0.03),
            "fixed_misfire": plus(0.008, 0.025, 0.06),
        },
    ),
    fault(
        "cam_retarded",
        _AIR,
        "5, 9, 15 crank degrees late",
        "a tooth is 12 to 20 degrees, a stretched chain 4 to 8 (from memory)",
        {"cam_retard": plus(5, 9, 15)},
        core=False,
    ),
    fault(
        "valve_float",
        _AIR,
        "valves float from 4900, 4400, 3600 rpm on: springs 25, 40, 60 % soft",
        "float speed goes with the square root of the spring force (textbook); sizes an engineering estimate",
        {"valve_float_rpm": reach(4900, 4400, 3600)},
        core=False,
    ),
    fault(
        "halves_uneven_fuel",
        _AIR,
        "halves fuelled 8, 16, 30 % off their mean",
        ESTIMATE,
        {"fuel_imbalance": plus(0.08, 0.16, 0.30)},
    ),
    fault(
        "plenum_pulse_map",
        _AIR,
        "pressure signal pulses by 1.2, 2.4, 4.5 kPa",
        ESTIMATE,
        {"map_pulse": plus(1.2, 2.4, 4.5), "fuel_imbalance": plus(0.03, 0.07, 0.12)},
        core=False,
    ),
    fault(
        "manifold_heat_blocked",
        _AIR,
        "35, 65, 100 % of the manifold heat missing",
        ESTIMATE,
        {"film_cold": reach(0.35, 0.65, 1.0)},
        core=False,
    ),
    fault("low_octane", _AIR, "4, 7, 10 octane numbers low", ESTIMATE, {"octane": plus(-4, -7, -10)}),
)
