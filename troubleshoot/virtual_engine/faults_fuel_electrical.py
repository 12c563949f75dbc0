"""Faults of fuel supply and electrics, with their sizes at 0.25 early, 0.5 clear and 1 gross."""

from __future__ import annotations

from troubleshoot.virtual_engine.fault_sizes import ESTIMATE, TRADE, Fault, begins, fault, fixed, plus, reach, times

_FUEL = "fuel"
_ELECTRICAL = "electrical"

FUEL: tuple[Fault, ...] = (
    fault(
        "fuel_filter_clogged",
        _FUEL,
        "drop at 100 L/h 2.5, 15, 145 psi (a new one 0.6)",
        "a filter is changed at some 5 psi (common practice, no source); larger sizes an engineering estimate",
        {"filter_resistance": times(4.5, 26, 250)},
    ),
    fault(
        "suction_restricted",
        _FUEL,
        "flow at which the pump cavitates 115, 58, 35 L/h (healthy 450)",
        ESTIMATE,
        {"suction_resistance": times(15, 60, 160)},
    ),
    fault(
        "hot_fuel_vapour",
        _FUEL,
        "fuel 5, 9, 13 degC warmer, Reid pressure 0.5, 1, 1.5 psi up, lift 0.1 to 0.45 m",
        "vapour pressure after AP-42; sizes an engineering estimate",
        {
            "fuel_c": plus(5, 9, 13),
            "reid_psi": plus(0.5, 1.0, 1.5),
            "suction_lift": plus(0.10, 0.25, 0.45),
            "suction_resistance": times(1.5, 3, 6),
        },
    ),
    fault(
        "pump_wire_resistance",
        _FUEL,
        "0.1, 0.25, 0.6 ohm in feed, relay and fuse",
        "Ohm's law on 4 to 6 A: 0.5, 1.2, 3 V lost; common practice, no source",
        {"pump_supply_ohm": plus(0.1, 0.25, 0.6)},
    ),
    fault(
        "pump_ground_resistance",
        _FUEL,
        "0.05, 0.15, 0.4 ohm in the ground",
        "Ohm's law on 4 to 6 A: 0.2, 0.7, 2 V lost; common practice, no source",
        {"pump_ground_ohm": plus(0.05, 0.15, 0.4)},
    ),
    fault(
        "pump_worn",
        _FUEL,
        "flow at set pressure and good volts down by 17, 37, 70 %",
        ESTIMATE,
        {"pump_per_volt": times(0.93, 0.85, 0.72), "pump_leakage": times(1.2, 1.45, 1.9)},
    ),
    fault("regulator_low", _FUEL, "4, 8, 15 psi low", TRADE, {"regulator_kpa": plus(-27.6, -55.2, -103.4)}),
    fault("regulator_high", _FUEL, "4, 8, 15 psi high", TRADE, {"regulator_kpa": plus(27.6, 55.2, 103.4)}),
    fault(
        "return_restricted",
        _FUEL,
        "4, 10, 25 psi in the return at 160 L/h (healthy 1.5)",
        "pressure grows with the square of the flow (textbook); sizes an engineering estimate",
        {"return_resistance": times(2.7, 7, 17)},
    ),
    fault(
        "check_valve_leak",
        _FUEL,
        "pressure left after ten minutes 63, 17, 0 % (healthy 85 %)",
        ESTIMATE,
        {"check_valve_rate": reach(0.0005, 0.0027, 0.015)},
    ),
    fault(
        "injector_drip",
        _FUEL,
        "drip of 2, 6, 16 % of what idle burns",
        ESTIMATE,
        {"drip": plus(0.01, 0.03, 0.08), "injector_leak_rate": plus(0.0002, 0.001, 0.006)},
    ),
    fault(
        "injectors_clogged", _FUEL, "all injectors 8, 18, 32 % low", TRADE, {"injector_factor": times(0.92, 0.82, 0.68)}
    ),
    fault(
        "one_injector_weak",
        _FUEL,
        "one injector 20, 50, 90 % low",
        TRADE,
        {"injectors_lost": plus(0.2, 0.5, 0.9)},
        core=False,
    ),
    fault("pump_dead", _FUEL, "does not run", TRADE, {"pump_on": fixed(0.0)}),
)

ELECTRICAL: tuple[Fault, ...] = (
    fault(
        "battery_weak",
        _ELECTRICAL,
        "12.4, 12.2, 11.9 V at rest, 15, 23, 37 mohm inside (healthy 12.65 V, 9 mohm)",
        "rest volts of a lead battery at about 75, 50, 20 % charge (handbooks, from memory)",
        {"battery_emf": plus(-0.25, -0.45, -0.75), "battery_ohm": plus(0.006, 0.014, 0.028)},
    ),
    fault(
        "starter_cable",
        _ELECTRICAL,
        "8, 18, 35 mohm in cable and ground",
        "0.5 V at full current is the usual limit (common practice, no source); sizes an engineering estimate",
        {"starter_cable_ohm": plus(0.008, 0.018, 0.035)},
        core=False,
    ),
    fault(
        "alternator_dead",
        _ELECTRICAL,
        "45, 25, 0 % of its current left",
        "one open diode pair leaves about a half (textbook); other sizes an engineering estimate",
        {"alternator_ok": reach(0.45, 0.25, 0.0)},
    ),
    fault(
        "alternator_diode_bad",
        _ELECTRICAL,
        "one diode half open, one open, one shorted that leaves a quarter of the current and the battery at 12.05 V",
        "an open pair leaves about a half (textbook), a short empties the battery overnight (common practice, no "
        "source); sizes an engineering estimate",
        {
            "diodes_lost": plus(0.5, 1.0, 3.0),
            "battery_emf": plus(0.0, -0.1, -0.6),
            "battery_ohm": plus(0.0, 0.001, 0.008),
        },
        core=False,
    ),
    fault("overcharging", _ELECTRICAL, "14.9, 15.4, 16.2 V", TRADE, {"charge_volts": plus(0.7, 1.2, 2.0)}, core=False),
    fault(
        "sensor_ground_offset",
        _ELECTRICAL,
        "70, 170, 420 mV on the shared sensor ground",
        "Ohm's law: 5, 12, 30 mohm with 14 A",
        {"ground_ohm": plus(0.005, 0.012, 0.030)},
    ),
    fault(
        "ecu_feed_drop_crank",
        _ELECTRICAL,
        "1.2, 2.8, 5.2 V lost on the way to the controller in START",
        "Ohm's law: 0.3, 0.7, 1.3 ohm with 4 A",
        {"ecu_crank_ohm": plus(0.3, 0.7, 1.3)},
    ),
    fault(
        "injector_feed_drop",
        _ELECTRICAL,
        "0.2, 0.5, 1.2 ohm in the feed of the injectors",
        ESTIMATE,
        {"injector_feed_ohm": plus(0.2, 0.5, 1.2)},
    ),
    fault(
        "ecu_off_in_start",
        _ELECTRICAL,
        "fed from a circuit that is dead in START",
        TRADE,
        {"ecu_dead_in_start": fixed(1.0)},
        core=False,
    ),
)

SETTINGS: tuple[Fault, ...] = (
    fault(
        "iac_gain_high",
        "controller settings",
        "idle loop 3, 6, 11 times too quick",
        ESTIMATE,
        {"idle_p": times(3, 6, 11), "idle_i": times(3, 6, 11)},
        core=False,
    ),
    fault(
        "accel_enrich_weak",
        "controller settings",
        "70, 40, 0 % of the acceleration fuel",
        ESTIMATE,
        {"accel_gain": times(0.7, 0.4, 0.0)},
    ),
    fault(
        "ve_idle_lean",
        "controller settings",
        "idle cells 10, 20, 34 % lean",
        ESTIMATE,
        {"ve_idle": times(0.90, 0.80, 0.66)},
    ),
    fault(
        "ve_idle_rich",
        "controller settings",
        "idle cells 15, 30, 70 % rich",
        ESTIMATE,
        {"ve_idle": times(1.15, 1.30, 1.70)},
    ),
    fault(
        "ve_high_lean",
        "controller settings",
        "full-throttle cells above 3000 rpm 8, 17, 30 % lean",
        ESTIMATE,
        {"ve_high": times(0.92, 0.83, 0.70)},
        core=False,
    ),
    fault(
        "cl_gain_high",
        "controller settings",
        "feedback 4, 8, 16 times too quick",
        ESTIMATE,
        {"trim_i": times(4, 8, 16), "trim_p": times(1.5, 2, 3)},
    ),
    fault(
        "idle_target_low",
        "controller settings",
        "idle speed asked for 70, 130, 220 rpm low",
        ESTIMATE,
        {"idle_speed": plus(-70, -130, -220), "dashpot": times(0.6, 0.3, 0.0)},
        core=False,
    ),
    fault(
        "crank_fuel_lean",
        "controller settings",
        "75, 55, 35 % of the cranking fuel",
        ESTIMATE,
        {"crank_gain": times(0.75, 0.55, 0.35)},
        core=False,
    ),
    fault(
        "crank_fuel_rich",
        "controller settings",
        "1.4, 1.9, 2.6 times the cranking fuel",
        ESTIMATE,
        {"crank_gain": times(1.4, 1.9, 2.6)},
        core=False,
    ),
    fault(
        "warmup_lean",
        "controller settings",
        "60, 25, 0 % of the warm-up and after-start fuel",
        ESTIMATE,
        {"warmup_gain": times(0.6, 0.25, 0.0), "after_start_gain": times(0.7, 0.3, 0.0)},
    ),
    fault(
        "dead_time_wrong",
        "controller settings",
        "injector dead time set 0.7, 0.4, 0.1 ms (true 1.0)",
        ESTIMATE,
        {"dead_time_ecu": reach(0.7, 0.4, 0.1)},
        core=False,
    ),
    fault(
        "dead_time_long",
        "controller settings",
        "injector dead time set 1.3, 1.7, 2.3 ms (true 1.0)",
        ESTIMATE,
        {"dead_time_ecu": reach(1.3, 1.7, 2.3)},
        core=False,
    ),
    fault(
        "rev_limit_low",
        "controller settings",
        "speed limit 4800, 4200, 3200 rpm",
        ESTIMATE,
        {"rev_limit": begins(5000, 4800, 4200, 3200)},
    ),
)
