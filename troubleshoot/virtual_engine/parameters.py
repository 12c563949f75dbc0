"""The one typed record of everything physical and everything set up about an engine and its car.

Every field is an array, one value per scenario, so that any number of cars run side by side.
Units are kPa, g/s, litre, rpm, N.m, V, A, ohm, s, L/h, cm2 unless a comment says otherwise.
Fields that end in `_ecu` are what the controller believes; faults and build spread never touch them
except where a fault is a wrong setting.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, fields
from typing import Self

import numpy as np
from numpy.typing import NDArray

Values = NDArray[np.float64]
Indices = NDArray[np.intp]
Flags = NDArray[np.bool_]
Draws = NDArray[np.float32]


@dataclass(frozen=True, slots=True)
class Parameters:
    """Everything that describes the engines of a batch, one array element per scenario."""

    # Geometry and breathing
    cylinders: Values
    displacement: Values  # L
    compression_ratio: Values
    ve_peak: Values  # largest volumetric efficiency, on manifold density
    ve_peak_rpm: Values
    ve_fall_low: Values  # fall below the peak speed
    ve_fall_high: Values  # fall above the peak speed
    ve_peak_ecu: Values
    ve_peak_rpm_ecu: Values
    ve_fall_low_ecu: Values
    ve_fall_high_ecu: Values
    breathing: Values  # factor on volumetric efficiency
    valve_float_rpm: Values
    cam_retard: Values  # crank deg
    overlap: Values  # back flow during valve overlap
    manifold_volume: Values  # L
    slot_area: Values  # between the two plenum halves
    ambient_k: Values  # K
    ambient_kpa: Values
    cleaner_area: Values
    throttle_area: Values
    stop_area: Values  # closed plates
    breather_area: Values
    idle_valve_area: Values
    plate_limit: Values  # largest opening the pedal gives, 0..1
    idle_air_split: Values  # share of idle air to half A
    throttle_imbalance: Values  # A:B as (1+x):(1-x)
    fuel_imbalance: Values  # A:B as (1+x):(1-x)
    leak_area: Values  # vacuum leak shared by both halves
    leak_area_b: Values  # vacuum leak into half B only
    exhaust_leak: Values  # air drawn in ahead of the lambda sensor
    back_pressure: Values  # kPa/(g/s)2
    # Friction, work, dynamics
    friction_0: Values  # kPa
    friction_1: Values  # kPa per 1000 rpm
    friction_2: Values  # kPa per (1000 rpm)2
    efficiency: Values  # gross indicated, at best timing and lambda 0.87
    inertia: Values  # kg.m2
    idle_load: Values  # N.m at 750 rpm
    compression_loss: Values  # share of indicated work lost
    fixed_misfire: Values  # constant share of firings lost
    plugs_dead: Values  # cylinders that never fire
    film_share: Values  # of injected fuel that wets the wall
    film_time: Values  # s
    film_cold: Values  # 0..1, manifold heat missing
    lambda_spread: Values  # between cylinders
    # Fuel supply
    pump_per_volt: Values  # L/h per V
    pump_leakage: Values  # L/h per kPa
    pump_base_current: Values
    pump_current_slope: Values  # A/kPa
    pump_ohm: Values
    pump_supply_ohm: Values
    pump_ground_ohm: Values
    pump_stall_volts: Values  # at the pump; below it the motor stands still
    pump_on: Values
    relief_kpa: Values
    suction_resistance: Values  # kPa/(L/h)2
    suction_lift: Values  # m
    fuel_c: Values  # degC
    reid_psi: Values
    stoichiometric: Values  # g of air that burn a gram of the fuel in the tank; the controller believes 14.7
    filter_resistance: Values  # kPa/(L/h)2
    line_resistance: Values  # tenth of the line's kPa per L/h
    regulator_kpa: Values  # opening pressure, gauge
    regulator_slope: Values  # kPa per L/h
    return_resistance: Values  # kPa/(L/h)2
    injectors: Values
    injector_flow: Values  # g/s each at 400 kPa
    injector_factor: Values
    injectors_lost: Values  # of those that feed half A
    drip: Values  # g/s
    injector_delay: Values  # s at 13.5 V
    duty_limit: Values
    injector_feed_ohm: Values
    bleed_rate: Values  # 1/s, rail pressure after key off
    check_valve_rate: Values  # 1/s
    injector_leak_rate: Values  # 1/s
    # Battery, charging, starter
    battery_emf: Values
    battery_ohm: Values
    starter_cable_ohm: Values
    starter_ohm: Values
    starter_back_emf: Values  # V/rpm
    starter_efficiency: Values
    charge_volts: Values
    alternator_max: Values  # A
    alternator_cut_in_rpm: Values
    alternator_rpm_scale: Values
    alternator_ok: Values
    diodes_lost: Values  # of one phase, 2 both of them, 3 one shorted
    base_load: Values  # A
    ecu_ohm: Values
    ecu_crank_ohm: Values  # feed in START
    ecu_dead_in_start: Values
    ground_ohm: Values  # shared sensor ground
    ground_current: Values
    # Ignition
    points: Values  # 1 points, 0 electronic
    dwell: Values  # distributor deg
    dwell_reference: Values  # distributor deg
    dwell_scatter: Values  # distributor deg
    coil_ohm: Values
    ballast_ohm: Values
    coil_henry: Values
    coil_efficiency: Values
    secondary_farad: Values
    secondary_limit_kv: Values
    points_float_rpm: Values
    float_reads: Values  # false pulses (above 0) or lost ones (below 0) while the points float, share
    condenser_loss: Values
    coil_hot_loss: Values
    ht_factor: Values  # share of high tension left by leakage paths
    plug_gap: Values  # mm
    plug_wear: Values  # factor on the voltage needed
    plug_heat: Values  # heat ranges too hot (above 0) or too cold (below 0)
    spark_on: Values
    base_advance: Values  # crank deg
    centrifugal_max: Values  # crank deg
    centrifugal_start_rpm: Values
    centrifugal_end_rpm: Values
    vacuum_advance_max: Values  # crank deg
    vacuum_advance_start: Values  # kPa of vacuum
    vacuum_advance_full: Values  # kPa of vacuum
    vacuum_advance_ok: Values
    vacuum_from_manifold: Values  # 0 ported, 1 manifold
    timing_scatter: Values  # crank deg
    advance_stick: Values  # crank deg
    trigger_retard: Values  # crank deg per 1000 rpm
    octane: Values
    # Speed signal
    signal_on: Values
    signal_lowest_rpm: Values
    pulse_scale: Values
    signal_noise: Values  # share of the time in which noise is counted
    noise_gain: Values  # extra pulses while it is, share
    dropout_rpm: Values
    dropout_high: Values
    dropout_random: Values
    burst_rpm: Values
    burst_time: Values  # s from key on
    # Sensors
    thermostat_c: Values  # degC
    soak_c: Values  # degC of the engine at a cold start
    clt_series_ohm: Values
    clt_parallel_ohm: Values
    map_gain: Values
    map_offset: Values  # kPa
    map_leak: Values
    map_lag: Values  # s
    map_source: Values  # weight of half A
    map_pulse: Values  # kPa
    tps_closed: Values  # V
    tps_dead: Values
    o2_ok: Values
    o2_lag: Values  # s
    o2_skew: Values
    o2_far: Values
    exhaust_volume: Values  # L to the sensor
    # Controller settings
    injector_flow_ecu: Values  # g/s
    dead_time_ecu: Values  # ms at 13.5 V
    ve_idle: Values
    ve_mid: Values
    ve_high: Values
    ve_cruise: Values
    warmup_gain: Values
    after_start_gain: Values
    run_up: Values
    crank_gain: Values
    accel_gain: Values
    lambda_idle: Values
    lambda_cruise: Values
    lambda_full: Values
    trim_p: Values
    trim_i: Values  # 1/s
    trim_limit: Values
    trim_limit_full: Values
    trim_clt: Values  # degC, closed loop above
    idle_speed: Values
    idle_p: Values  # per rpm
    idle_i: Values  # per rpm.s
    idle_dead_band: Values  # rpm
    idle_slew: Values  # 1/s
    idle_span: Values
    idle_stuck: Values  # position, negative when free
    idle_stick: Values
    dashpot: Values
    rpm_filter: Values  # s
    idle_filter: Values  # s
    overrun_cut_rpm: Values
    overrun_resume_rpm: Values
    overrun_cut: Values
    rev_limit: Values
    sync_turns: Values

    @property
    def size(self) -> int:
        """Return the number of scenarios side by side."""
        return int(self.displacement.shape[0])

    @classmethod
    def from_table(cls, table: Mapping[str, Values]) -> Self:
        """Build the record from arrays by field name (every field must be there)."""
        return cls(**{name: table[name] for name in FIELDS})

    def take(self, rows: Indices) -> Self:
        """Return the record of some of the scenarios, in the order given."""
        return type(self)(**{name: getattr(self, name)[rows] for name in FIELDS})

    @classmethod
    def joined(cls, parts: Sequence[Self]) -> Self:
        """Return the records of several batches side by side."""
        return cls(**{name: np.concatenate([getattr(part, name) for part in parts]) for name in FIELDS})

    def part(self, first: int, last: int) -> Self:
        """Return the record of scenarios first..last-1."""
        return type(self)(**{name: getattr(self, name)[first:last] for name in FIELDS})


FIELDS: tuple[str, ...] = tuple(field.name for field in fields(Parameters))
