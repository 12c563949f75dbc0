"""Readings with the engine off or cranking steadily, and bench tests of parts."""

from __future__ import annotations

import numpy as np
from numpy import where

from troubleshoot.virtual_engine import sensors
from troubleshoot.virtual_engine.fuel_supply import KPA_PER_PSI, FuelCircuit
from troubleshoot.virtual_engine.operating import Cranking
from troubleshoot.virtual_engine.parameters import Parameters, Values

MISSING = np.nan


def key_off_readings(p: Parameters) -> dict[str, Values]:
    """Return what is measured without the engine turning: battery, prime, parts on the bench."""
    zero = np.zeros(p.size)
    soak_c = p.ambient_k - 273.15
    prime = FuelCircuit.of(p).supply(p.battery_emf - 0.25, zero)
    return {
        "batt_rest_v": p.battery_emf,
        "coil_prim_ohm": p.coil_ohm,
        "plug_gap_mm": p.plug_gap,
        "clt_soak_err_c": sensors.indicated_coolant(p, soak_c, zero) - soak_c,
        "tps_closed_v": p.tps_closed,
        "comp_min_psi": 152.0 * (1.0 - 6.0 * p.compression_loss) * (1.0 - 0.008 * p.cam_retard),
        "wot_plate_pct": 100.0 * p.plate_limit,
        "tps_sweep_gap": where(p.tps_dead > 0.12, 1.0, 0.0),
        "rpm_key_on": where(p.burst_time > 0.05, p.burst_rpm, 0.0),
        "fp_prime_psi": prime.rail_kpa / KPA_PER_PSI,
        "pump_v_key_on": prime.pump_volts,
        "pump_gnd_mv": 1000.0 * prime.current * p.pump_ground_ohm,
        "map_key_on_kpa": sensors.map_output(p, p.ambient_kpa, 0.25 * sensors.ground_offset(p)),
        "prime_fuel_sound": p.pump_on,
        "timing_wander_deg": p.timing_scatter,
        "dwell_deg": where(p.points > 0.5, p.dwell, MISSING),
        "dwell_drift_deg": where(p.points > 0.5, 2.5 * p.dwell_scatter, MISSING),
        "sens_gnd_mv": 1000.0 * sensors.ground_offset(p),
        "clt_true_c": p.thermostat_c,
        "spray_drop_rpm": np.minimum(900.0 * p.leak_area + 700.0 * p.leak_area_b, 250.0),
        "pcv_pinch_rpm": np.minimum(900.0 * p.breather_area, 250.0),
        "drip_seen": where(p.drip > 0.02, 1.0, 0.0),
        "coil_plus_v": where(p.spark_on > 0.5, (p.battery_emf - 0.25) * p.coil_ohm / (p.coil_ohm + p.ballast_ohm), 0.0),
        "condenser_uf": where(p.points > 0.5, 0.22 * (1.0 - 0.85 * p.condenser_loss), MISSING),
        "ht_arc_seen": where(p.ht_factor < 0.85, 1.0, 0.0),
        "trig_wire_ohm": where((p.signal_on < 0.5) & (p.spark_on > 0.5), 999.0, 0.4),
        "pickup_mv_crank": where(p.points > 0.5, MISSING, 24000.0 / p.signal_lowest_rpm),
        "fuel_temp_c": p.fuel_c,
        "barometer_kpa": p.ambient_kpa,
        "air_c": p.ambient_k - 273.15,
        "thr_plate_gap_mm": 0.05 + 1.2 * np.maximum(p.stop_area - 0.0875, 0.0),
    }


def cranking_readings(at: Cranking) -> dict[str, Values]:
    """Return what is measured while a cool engine cranks steadily."""
    start = at.starter
    return {
        "crank_batt_v": start.battery_volts,
        "crank_starter_v": start.starter_volts,
        "crank_ecu_v": start.ecu_volts,
        "crank_rpm": at.rpm,
        "crank_rpm_ecu": at.rpm_ecu,
        "crank_spark_kv": at.available_kv,
        "crank_inj_pulse": where(at.rpm_ecu > 20.0, 1.0, 0.0),
    }
