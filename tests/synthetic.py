"""Records of flights that were never flown: a level flight with columns put in by hand."""

from __future__ import annotations

import numpy as np

from firstthrow.sim.flight.record import PLAIN_COLUMNS, Record

NAMES = (
    *PLAIN_COLUMNS,
    "motor_main_rpm",
    "motor_main_thrust_N",
    "motor_main_A",
    "surface_elevon_left_deg",
    "surface_elevon_left_asked_deg",
    "servo_elevon_left_load",
    "surface_elevon_right_deg",
    "surface_elevon_right_asked_deg",
    "servo_elevon_right_load",
)
LIMITS = {
    "travel_deg": {"elevon_left": 30.0, "elevon_right": 30.0},
    "roles": {"elevon_left": "elevon", "elevon_right": "elevon"},
    "pack_A": 60.0,
    "controller_A": 30.0,
    "motor_A": {"main": 25.0},
    "cutoff_V": 9.9,
    "supply_V": 5.0,
    "ground_height_m": 0.05,
}
LANDED = {"word": "landed", "text": "It landed after 20.0 s."}
RATE = 60  # readings a second


def flight(seconds: float = 20.0, outcome=LANDED, **changed) -> Record:
    """A level flight at 12 m/s and 10 m, stick just off neutral; `changed` replaces columns.

    A column is a value or a function of time.
    """
    time = np.arange(int(seconds * RATE) + 1) / RATE
    level = {
        "time_s": time,
        "north_m": 12.0 * time,
        "height_m": 10.0,
        "attitude_w": 1.0,
        "u_m_s": 12.0,
        "airspeed_m_s": 12.0,
        "alpha_deg": 5.0,
        "pitch_deg": 5.0,
        "load_factor": 1.0,
        "stick_pitch": 0.1,
        "throttle": 0.5,
        "pack_V": 11.4,
        "pack_A": 12.0,
        "motor_main_A": 12.0,
        "supply_V": 5.0,
        "stall_speed_m_s": 8.0,
        "bending_fraction": 0.1,
        "pack_used_mAh": time / 0.3,
    }
    level |= changed
    rows = np.zeros((time.size, len(NAMES)))
    for name, value in level.items():
        rows[:, NAMES.index(name)] = value(time) if callable(value) else value
    meta = {
        "airframe": "Test slab",
        "launch": "hand",
        "surfaces": ["elevon_left", "elevon_right"],
        "limits": LIMITS,
        "outcome": outcome,
    }
    return Record(NAMES, rows, meta)


def between(start: float, end: float, inside: float, outside: float):
    return lambda time: np.where((time >= start) & (time <= end), inside, outside)
