"""What the driver notices: the opening complaint, from readings, next to a healthy engine of the kind."""

from __future__ import annotations

from collections.abc import Mapping
from types import MappingProxyType

import numpy as np

from troubleshoot.virtual_engine.parameters import Flags, Values

COMPLAINTS: Mapping[str, str] = MappingProxyType(
    {
        "no start": "cranks but starts neither cold nor hot",
        "no cold start": "does not start cold",
        "no hot start": "does not restart hot",
        "long cold crank": "cranks long before a cold start",
        "long hot crank": "cranks long before a hot restart",
        "flooded": "smells of fuel, plugs wet",
        "slow crank": "cranks slowly",
        "stalls cold": "starts cold, then stalls",
        "stumbles cold": "stumbles after a cold start",
        "will not idle": "will not hold an idle",
        "stalls coming to stop": "stalls when coming to a stop",
        "dips coming to stop": "dips when coming to a stop",
        "surge": "idle surges",
        "high idle": "idles too fast",
        "low idle": "idles too slowly",
        "hanging idle": "speed hangs when the pedal is released",
        "idle misfire": "misfires at idle",
        "rich or smoke": "runs rich, smokes",
        "lean top end": "goes lean at the top",
        "breaks up": "breaks up at speed",
        "weak": "is down on power",
        "tip-in stumble": "stumbles when the pedal is pressed quickly",
        "knock": "knocks under load",
        "no closed loop": "fuel trim never works",
        "heavy on fuel": "uses more fuel",
        "not charging": "does not charge",
        "overcharging": "charges too high",
        "controller speed wrong": "controller's speed reading is wrong",
        "misfire at cruise": "misfires at cruise",
        "trim at limit": "fuel trim far from zero",
    }
)

BOGS_BELOW = 0.70
"""Lambda below which a quick opening bogs and smokes, about 10.3 to 1 (common practice, no source)."""


def complaints(
    readings: Mapping[str, Values], healthy: Mapping[str, Values], own: bool = False
) -> list[tuple[str, ...]]:
    """Return what the driver of each scenario notices, in the order of `COMPLAINTS`.

    `healthy` holds readings of healthy engines of the same kind; their medians are the yardstick for
    power, breaking up and fuel used. All readings are needed (`only="all"`). With `own` they are each car's own
    readings before anything was wrong, one a scenario: a driver knows that car, and names only what is new.
    """
    with np.errstate(invalid="ignore"):
        found = _notice(readings, healthy, own)
        if own:
            before = _notice(healthy, healthy, own)
            found = {name: flags & ~before[name] for name, flags in found.items()}
    count = len(readings["idle_rpm"])
    return [tuple(name for name in COMPLAINTS if found[name][place]) for place in range(count)]


def _notice(r: Mapping[str, Values], healthy: Mapping[str, Values], own: bool) -> dict[str, Flags]:
    def usual(name: str) -> Values | float:
        return healthy[name] if own else float(np.nanmedian(healthy[name]))

    cold, hot = r["start_fail"] > 0.5, r["hot_start_fail"] > 0.5
    runs = ~(cold & hot)
    stalls = r["return_stall"] > 0.5
    idles = runs & (r["idle_stall"] < 0.5)
    return {
        "no start": cold & hot,
        "no cold start": cold & ~hot,
        "no hot start": hot & ~cold,
        "long cold crank": ~cold & (r["start_time_s"] > 1.9),
        "long hot crank": ~hot & (r["hot_start_time_s"] > 1.6),
        "flooded": r["wet_plugs"] > 0.35,
        "slow crank": r["crank_rpm"] < 120.0,
        "stalls cold": r["cold_stall"] > 0.5,
        "stumbles cold": (r["cold_rpm_min"] < 450.0) & (r["cold_stall"] < 0.5),
        "will not idle": runs & (r["idle_stall"] > 0.5),
        "stalls coming to stop": idles & stalls,
        "dips coming to stop": idles & ~stalls & (r["return_min_rpm"] < 560.0),
        "surge": r["idle_surge_rpm"] > 45.0,
        "high idle": idles & (r["idle_rpm"] > 835.0),
        "low idle": idles & (r["idle_rpm"] < 650.0),
        "hanging idle": r["return_hang_s"] > 2.0,
        "idle misfire": r["misfire_idle_pct"] > 3.0,
        "rich or smoke": (r["idle_lam_tail"] < 0.82) | (r["cruise_lam"] < 0.82),
        "lean top end": (r["wot_lam_5000"] > 0.95) | (r["wot_lam_peak"] > 0.95),
        "breaks up": r["wot_break_rpm"] < usual("wot_break_rpm") - 450.0,
        "weak": r["wot_peak_hp"] < 0.92 * usual("wot_peak_hp"),
        "tip-in stumble": (r["tip_lam_peak"] > 1.36) | (r["tip_lam_out"] < BOGS_BELOW) | (r["tip_delay_s"] > 0.30),
        "knock": r["wot_knock_deg"] > 0.5,
        "no closed loop": r["cl_active"] < 0.5,
        "heavy on fuel": r["cruise_fuel_lph"] > 1.05 * usual("cruise_fuel_lph"),
        "not charging": r["t3000_batt_v"] < 13.2,
        "overcharging": r["t3000_batt_v"] > 14.9,
        "controller speed wrong": (np.abs(r["rpm_ecu_err_pct"]) > 4.0) | (np.abs(r["wot_rpm_err_pct"]) > 4.0),
        "misfire at cruise": r["cruise_mis_pct"] > 3.0,
        "trim at limit": (np.abs(r["idle_trim_pct"]) > 18.0) | (np.abs(r["cruise_trim_pct"]) > 18.0),
    }
