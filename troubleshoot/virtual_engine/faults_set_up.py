"""More faults of set-up and adjustment that the model can show; sizes at 0.25 early, 0.5 clear and 1 gross."""

from __future__ import annotations

from troubleshoot.virtual_engine.fault_sizes import ESTIMATE, TRADE, Change, Fault, fault, fixed, plus, reach, times

_CONTROLLER = "controller settings"
_ELECTRICAL = "electrical"
_AIR = "air and mechanical"


def _extra(name: str, group: str, sizes: str, basis: str, **changes: Change) -> Fault:
    return fault(name, group, sizes, basis, changes, core=False)


SET_UP: tuple[Fault, ...] = (
    _extra("o2_skewed_lean", "sensors", "reads 4, 8, 14 % lean", ESTIMATE, o2_skew=reach(1.04, 1.08, 1.14)),
    _extra("map_reads_high", "sensors", "reads 2, 4, 8 kPa high", ESTIMATE, map_offset=plus(2.0, 4.0, 8.0)),
    _extra(
        "dashpot_small",
        _CONTROLLER,
        "50, 20, 0 % of the air that catches a returning engine",
        ESTIMATE,
        dashpot=times(0.5, 0.2, 0.0),
    ),
    _extra(
        "idle_target_high",
        _CONTROLLER,
        "idle speed asked for 100, 200, 350 rpm high",
        ESTIMATE,
        idle_speed=plus(100, 200, 350),
    ),
    _extra(
        "accel_enrich_strong",
        _CONTROLLER,
        "1.5, 2.2, 3.5 times the acceleration fuel",
        ESTIMATE,
        accel_gain=times(1.5, 2.2, 3.5),
    ),
    _extra(
        "ve_cruise_rich", _CONTROLLER, "cruise cells 10, 20, 35 % rich", ESTIMATE, ve_cruise=times(1.10, 1.20, 1.35)
    ),
    _extra("ve_cruise_lean", _CONTROLLER, "cruise cells 8, 16, 26 % lean", ESTIMATE, ve_cruise=times(0.92, 0.84, 0.74)),
    _extra(
        "ve_high_rich",
        _CONTROLLER,
        "full-throttle cells above 3000 rpm 8, 18, 35 % rich",
        ESTIMATE,
        ve_high=times(1.08, 1.18, 1.35),
    ),
    _extra(
        "warmup_rich",
        _CONTROLLER,
        "1.4, 2, 3 times the warm-up fuel, 1.3, 1.8, 2.5 times the after-start fuel",
        ESTIMATE,
        warmup_gain=times(1.4, 2.0, 3.0),
        after_start_gain=times(1.3, 1.8, 2.5),
    ),
    _extra(
        "injectors_small",
        "fuel",
        "injectors 25, 38, 50 % under what the engine needs, and entered so",
        ESTIMATE,
        injector_flow=times(0.75, 0.62, 0.50),
        injector_flow_ecu=times(0.75, 0.62, 0.50),
    ),
    _extra(
        "ecu_ballast_feed",
        _ELECTRICAL,
        "1.6, 3, 5 V lost on the way to the controller while running",
        "Ohm's law: 0.4, 0.75, 1.25 ohm with 4 A, as a ballast or resistance wire has",
        ecu_ohm=plus(0.4, 0.75, 1.25),
    ),
    _extra(
        "starter_worn",
        _ELECTRICAL,
        "starter gives 85, 70, 52 % of its torque",
        ESTIMATE,
        starter_efficiency=times(0.85, 0.70, 0.52),
    ),
    _extra("vacuum_advance_manifold", "ignition", "vacuum advance at idle", TRADE, vacuum_from_manifold=fixed(1.0)),
    _extra("overheats", _AIR, "98, 106, 114 degC running temperature", TRADE, thermostat_c=reach(98, 106, 114)),
    _extra(
        "throttle_stop_low",
        _AIR,
        "70, 40, 10 % of the air past the closed plates",
        ESTIMATE,
        stop_area=times(0.7, 0.4, 0.1),
    ),
    _extra(
        "cam_overlap_large",
        _AIR,
        "1.4, 1.8, 2.4 times the back flow of burnt gas",
        ESTIMATE,
        overlap=times(1.4, 1.8, 2.4),
    ),
)
