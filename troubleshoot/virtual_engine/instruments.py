"""The readings a technician can take, each with its unit, instrument noise and what it means."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from types import MappingProxyType


@dataclass(frozen=True, slots=True)
class Reading:
    """One reading: `noise_sd` in its unit (zero for yes/no), `core` if a usual roadside check.

    `steady` readings need no running trace; `own_parameter` readings show the fault's own parameter
    plus noise, so a proof that leans on them is close to circular; `running` ones need a running engine.
    """

    id: str
    unit: str
    noise_sd: float
    core: bool
    steady: bool
    own_parameter: bool
    running: bool
    words: str


# Marks: c core, t needs a trace, o shows the fault's own parameter, r needs a running engine.
_TABLE = """
batt_rest_v          | V      | 0.02  | co   | battery volts at rest
coil_prim_ohm        | ohm    | 0.05  | o    | coil primary resistance
plug_gap_mm          | mm     | 0.05  | o    | spark plug gap
clt_soak_err_c       | degC   | 1     | co   | controller coolant reading less ambient after a night's soak
tps_closed_v         | V      | 0.005 | co   | throttle sensor volts with the plates shut
comp_min_psi         | psi    | 3     | o    | lowest cylinder compression
wot_plate_pct        | %      | 1.5   | co   | plate opening with the pedal down
tps_sweep_gap        | flag   | 0     | o    | a gap in the throttle sensor's sweep
rpm_key_on           | rpm    | 1     | co   | largest controller speed, key on, not cranking
fp_prime_psi         | psi    | 0.5   | c    | rail pressure at prime
pump_v_key_on        | V      | 0.03  | c    | volts across the pump at prime
pump_gnd_mv          | mV     | 8     | co   | drop on the pump's ground at prime
map_key_on_kpa       | kPa    | 0.3   | c    | controller manifold pressure, engine still
fuel_wet_g           | g      | 0.1   | ct   | fuel lying in the plenum before cranking
prime_fuel_sound     | flag   | 0     | o    | pump heard at key on
crank_batt_v         | V      | 0.05  | c    | battery volts while cranking cool
crank_starter_v      | V      | 0.05  | c    | volts at the starter while cranking cool
crank_ecu_v          | V      | 0.05  | c    | controller volts while cranking cool
crank_rpm            | rpm    | 4     | c    | cranking speed, cool
crank_rpm_ecu        | rpm    | 4     | c    | cranking speed the controller reads
crank_fp_psi         | psi    | 0.8   | ct   | rail pressure while cranking
crank_spark_kv       | kV     | 0.7   | c    | spark on a test gap while cranking
crank_inj_pulse      | flag   | 0     | c    | injector pulse while cranking
start_time_s         | s      | 0.15  | ct   | time to start, cool; 10.8 if it does not
start_fail           | flag   | 0     | t    | no cool start in 10.8 s
cold_lam_10s         | lambda | 0.015 | tr   | lambda ten seconds into a cool run
cold_rpm_min         | rpm    | 15    | tr   | lowest speed after a cool start
cold_stall           | flag   | 0     | t    | started cool, then stalled
wet_plugs            | share  | 0.05  | ct   | wetness of the plugs after the cool start
idle_rpm             | rpm    | 5     | cr   | warm idle speed
idle_surge_rpm       | rpm    | 4     | ctr  | half of the idle speed's swing
idle_surge_hz        | Hz     | 0.05  | tr   | rate of the idle surge, zero if quiet
idle_vac_inhg        | inHg   | 0.2   | cr   | manifold vacuum at idle
idle_lam             | lambda | 0.01  | cr   | lambda at idle
idle_lam_tail        | lambda | 0.015 | r    | lambda at idle by a second sensor in the tail pipe
idle_trim_pct        | %      | 0.3   | cr   | fuel trim at idle
cl_active            | flag   | 0     | cr   | closed loop at idle
idle_iac_pct         | %      | 1     | cr   | idle valve position the controller asks for
idle_fp_psi          | psi    | 0.5   | cr   | rail pressure at idle
fp_before_filter_psi | psi    | 0.6   | r    | pressure ahead of the filter at idle
pump_v               | V      | 0.03  | cr   | volts across the pump at idle
pump_a               | A      | 0.1   | cr   | pump current at idle
pump_inlet_inhg      | inHg   | 0.15  | r    | suction at the pump inlet at idle
return_flow_lph      | L/h    | 4     | cr   | return flow at idle
batt_run_v           | V      | 0.03  | cr   | battery volts at idle
ecu_v                | V      | 0.03  | r    | controller volts at idle
inj_feed_v           | V      | 0.03  | r    | injector feed volts at idle
sens_gnd_mv          | mV     | 3     | cor  | drop on the sensor ground at idle
idle_pw_ms           | ms     | 0.02  | r    | commanded pulse at idle
clt_ind_c            | degC   | 0.5   | cr   | coolant temperature the controller reads, warm
clt_true_c           | degC   | 1.5   | cor  | coolant temperature by thermometer, warm
idle_timing_deg      | deg    | 0.7   | cr   | timing at idle, hose as fitted
timing_wander_deg    | deg    | 0.3   | cor  | scatter of the timing mark
dwell_deg            | deg    | 0.3   | cor  | dwell at idle
dwell_drift_deg      | deg    | 0.3   | cor  | change of dwell from idle to 2500 rpm
spark_test_kv        | kV     | 0.8   | r    | spark on a test gap at idle
bal_worst_drop_pct   | %      | 8     | or   | worst cylinder's contribution, 100 normal
half_diff_pct        | %      | 6     | or   | contribution of half A less half B
misfire_idle_pct     | %      | 0.4   | cr   | misfires at idle
map_ind_kpa          | kPa    | 0.3   | r    | controller manifold pressure at idle
rpm_ecu_err_pct      | %      | 0.4   | cr   | controller speed against true at idle
rpm_jitter_pct       | %      | 0.1   | tr   | jitter of the controller's speed at idle
tps_idle_pct         | %      | 0.2   | cr   | throttle opening the controller reads, foot off
o2_step_s            | s      | 0.04  | or   | time from a fuel step to the sensor's answer
idle_lam_swing       | lambda | 0.004 | tr   | half of the swing of lambda at idle
vac_flutter_inhg     | inHg   | 0.08  | tr   | flutter of the vacuum gauge at idle
plug_code            | code   | 0     | ct   | plugs: 0 tan, 1 sooty, 2 white, 3 wet, 4 dry
spray_drop_rpm       | rpm    | 10    | or   | speed drop on leak spray
pcv_pinch_rpm        | rpm    | 8     | or   | speed drop on pinching the breather hose
idle_stall           | flag   | 0     | r    | would not hold an idle
return_min_rpm       | rpm    | 12    | ctr  | lowest speed after the throttle shuts
return_hang_s        | s      | 0.15  | ctr  | time to come back to idle; 4.9 if it does not
return_stall         | flag   | 0     | tr   | stalled when the throttle shut
t1500_timing_deg     | deg    | 0.8   | r    | timing at 1500 rpm, no load, hose off
t3000_timing_deg     | deg    | 0.8   | cr   | timing at 3000 rpm, no load, hose off
t3000_vac_inhg       | inHg   | 0.2   | r    | manifold vacuum at 3000 rpm, no load
t3000_lam            | lambda | 0.01  | cr   | lambda at 3000 rpm, no load
t3000_backp_psi      | psi    | 0.05  | r    | exhaust back pressure at 3000 rpm, no load
t3000_batt_v         | V      | 0.03  | cr   | battery volts at 3000 rpm, no load
vac_adv_deg          | deg    | 0.7   | or   | extra advance with the hose on at 3000 rpm
cruise_lam           | lambda | 0.01  | cr   | lambda at a 2000 rpm cruise
cruise_trim_pct      | %      | 0.3   | cr   | fuel trim at cruise
cruise_fp_psi        | psi    | 0.6   | r    | rail pressure at cruise
cruise_mis_pct       | %      | 0.3   | r    | misfires at cruise
cruise_plate_pct     | %      | 0.8   | r    | throttle opening needed at cruise
cruise_fuel_lph      | L/h    | 0.12  | r    | fuel used at cruise
tip_lam_peak         | lambda | 0.03  | ctr  | leanest lambda when the throttle is opened quickly
tip_delay_s          | s      | 0.04  | ctr  | time to three quarters of the torque rise; 2.0 if never
wot_break_rpm        | rpm    | 40    | cr   | speed at which the pull breaks up
wot_peak_hp          | hp     | 1.2   | cr   | largest power of the pull
wot_peak_rpm         | rpm    | 60    | r    | speed of largest power
wot_lam_2500         | lambda | 0.01  | cr   | lambda at full throttle, 2500 rpm
wot_lam_peak         | lambda | 0.01  | r    | lambda at full throttle, 4250 rpm
wot_lam_5000         | lambda | 0.01  | cr   | lambda at full throttle, 5000 rpm
wot_trim_4500_pct    | %      | 0.4   | r    | fuel trim at full throttle, 4500 rpm
wot_fp_min_psi       | psi    | 0.7   | cr   | lowest rail pressure of the pull
wot_pump_v           | V      | 0.04  | r    | volts across the pump at full throttle
wot_duty_max_pct     | %      | 0.6   | cr   | largest injector duty of the pull
wot_map_kpa          | kPa    | 0.3   | cr   | manifold pressure at full throttle, 4500 rpm
wot_mis_4500_pct     | %      | 0.5   | r    | misfires at full throttle, 4500 rpm
wot_timing_4500      | deg    | 0.8   | r    | timing at full throttle, 4500 rpm
wot_knock_deg        | deg    | 0.7   | cr   | timing above the knock limit; above zero is heard
wot_rpm_err_pct      | %      | 0.5   | r    | controller speed against true at 4500 rpm
wot_backp_psi        | psi    | 0.06  | r    | exhaust back pressure at full throttle, 4000 rpm
wot_dwell_4500       | deg    | 0.5   | r    | dwell at 4500 rpm
fp_10min_psi         | psi    | 0.5   | cr   | rail pressure ten minutes after key off
hot_start_time_s     | s      | 0.15  | ct   | time to restart hot; 9 if it does not
hot_start_fail       | flag   | 0     | t    | no hot start in 9 s
drip_seen            | flag   | 0     | o    | an injector seen to drip
coil_plus_v          | V      | 0.06  | o    | volts at coil +, points closed
condenser_uf         | uF     | 0.008 | o    | condenser capacitance
ht_arc_seen          | flag   | 0     | o    | arcing seen in the dark
trig_wire_ohm        | ohm    | 0.3   | o    | trigger wire resistance; 999 open
pickup_mv_crank      | mV     | 20    | o    | pickup output while cranking
fuel_temp_c          | degC   | 1     | o    | fuel temperature at the pump
return_line_psi      | psi    | 0.3   | or   | pressure in the return line at idle
thr_plate_gap_mm     | mm     | 0.03  | o    | gap at the shut throttle plate
barometer_kpa        | kPa    | 0.2   | c    | barometer, on the wall
air_c                | degC   | 0.5   | c    | air temperature where the car stands
set_idle_rpm         | rpm    | 0     | o    | idle speed set in the controller
set_limit_rpm        | rpm    | 0     | o    | speed limit set in the controller
set_delay_ms         | ms     | 0     | o    | opening delay set in the controller, at 13.5 V
set_pulses           | times  | 0     | o    | speed shown for the pulses set, over the true one
set_idle_gain        | times  | 0     | o    | idle loop against the starting file
set_trim_gain        | times  | 0     | o    | mixture feedback against the starting file
set_opening_fuel     | times  | 0     | o    | acceleration fuel against the starting file
set_crank_fuel       | times  | 0     | o    | cranking fuel against the starting file
set_warmup_fuel      | times  | 0     | o    | warm-up and after-start fuel against the starting file
fuel_table_code      | code   | 0     | o    | table: 0 smooth, idle 1 lean 2 rich, cruise 3, 4, top 5, 6
injectors_feed       | times  | 0     | o    | power that the injectors can feed, over the engine's rated power
map_hose_code        | code   | 0     | o    | hose of the pressure sensor: 0 sound, 1 split, 2 narrowed
o2_place_code        | code   | 0     | o    | place of the lambda sensor: 0 right, 1 too far down
exhaust_leak_seen    | flag   | 0     | o    | smoke or bubbles ahead of the lambda sensor
vac_port_code        | code   | 0     | o    | vacuum advance: 0 ported, 1 manifold vacuum, 2 does not hold
points_spring_ozf    | ozf    | 1     | o    | spring tension at the breaker points
idle_valve_moves     | flag   | 0     | or   | the speed follows the idle valve
spray_code           | code   | 0     | or   | spray: 0 even, 1 one dead, 2 uneven
leak_down_code       | code   | 0     | o    | pressure after a prime: 0 holds, 1 goes to the pump, 3 to the injectors
key_on_wire_v        | V      | 0.03  |      | volts on the controller's key-on wire, key on
delivery_lph         | L/h    | 4     |      | pump delivery through the return at prime
tip_lam_out          | lambda | 0.03  | tr   | lambda furthest out when the throttle is opened quickly
display_code         | code   | 0     | o    | what is furthest out on the display at key-on, 0 nothing
idle_covered_code    | code   | 0     | tr   | idle with the valve's port covered: 0 falls, 1 no change, 2 still high
load_dip_rpm         | rpm    | 12    | tr   | fall of the idle speed when a load comes on
clamped_psi          | psi    | 0.8   |      | fuel pressure at prime, return pinched
swap_code            | code   | 0     | o    | known good part that makes it go: 0 none, 1 coil, 2 condenser
hot_spark_code       | code   | 0     | t    | spark while it refuses hot: 0 strong, 1 weak, 2 none
starter_a            | A      | 6     |      | current of the starter
start_terminal_v     | V      | 0.05  |      | volts at the starter's small terminal
hunt_period_s        | s      | 0.08  | tr   | time of one swing of the idle, zero if quiet
wot_break_code       | code   | 0     | r    | break-up without load: 0 none, 1 at the same speed, 2 only with load
ripple_v             | V      | 0.01  | or   | alternating volts at the battery at idle
"""


def _read_table() -> dict[str, Reading]:
    found = {}
    for line in _TABLE.strip().splitlines():
        name, unit, noise, marks, words = (cell.strip() for cell in line.split("|"))
        core, steady, own, running = "c" in marks, "t" not in marks, "o" in marks, "r" in marks
        found[name] = Reading(name, unit, float(noise), core, steady, own, running, words)
    return found


READINGS: Mapping[str, Reading] = MappingProxyType(_read_table())

LAMBDA_READINGS = (
    "idle_lam",
    "idle_lam_swing",
    "o2_step_s",
    "t3000_lam",
    "cruise_lam",
    "wot_lam_2500",
    "wot_lam_peak",
    "wot_lam_5000",
)
"""Readings that go blank without a lambda sensor."""

POINTS_READINGS = ("dwell_deg", "dwell_drift_deg", "wot_dwell_4500", "condenser_uf", "points_spring_ozf")
"""Readings that exist only with points."""

ELECTRONIC_READINGS = ("pickup_mv_crank",)
"""Readings that exist only with electronic ignition."""

REFUSING_READINGS = ("hot_spark_code",)
"""Readings that exist only while it refuses to start hot."""
