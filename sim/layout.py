"""The record that kernels see of an airframe and its field: one type for every airframe.

Fixed capacities, padded with zeros, with the counts beside them. Vectors are in body axes
about the centre of gravity, SI throughout.
"""

from __future__ import annotations

import numpy as np

from sim import section
from sim.lifting_surface import GROUND_HEIGHTS
from sim.mixing import MIX_COLUMNS
from sim.state import MAX_MOTORS, MAX_SURFACES
from sim.strips import MAX_STRIPS
from sim.weights import TO_BODY, Balance

MAX_CONTACTS = 40
REST_STEPS = 20

RECORD = np.dtype([
    ("mass", "f8"), ("inertia", "f8", (3, 3)), ("mass_inverse", "f8", (6, 6)), ("gravity", "f8"),
    ("density", "f8"), ("wind_north", "f8"), ("wind_east", "f8"), ("roughness", "f8"),
    ("still", "f8"),
    ("wind_from_cos", "f8"), ("wind_from_sin", "f8"), ("gust_wind", "f8"), ("span", "f8"),
    ("pulse", "f8", (3,)), ("pulse_start", "f8"), ("pulse_lasts", "f8"),
    ("datum", "f8", (3,)), ("reach", "f8"), ("ground_heights", "f8", (len(GROUND_HEIGHTS),)),
    ("field_radius", "f8"), ("root_strength", "f8"), ("half_moment", "f8"), ("half_apparent", "f8"),
    ("n_strips", "i8"), ("n_surfaces", "i8"), ("n_motors", "i8"), ("n_contacts", "i8"),
    ("flap_factor", "f8", (section.FLAP_STEPS + 1,)),
    ("strip_place", "f8", (MAX_STRIPS, 3)), ("strip_aft", "f8", (MAX_STRIPS, 3)),
    ("strip_span", "f8", (MAX_STRIPS, 3)), ("strip_normal", "f8", (MAX_STRIPS, 3)),
    ("strip_chord", "f8", (MAX_STRIPS,)), ("strip_width", "f8", (MAX_STRIPS,)),
    ("strip_area", "f8", (MAX_STRIPS,)), ("strip_drag", "f8", (MAX_STRIPS,)),
    ("strip_edge", "f8", (MAX_STRIPS,)), ("strip_arm", "f8", (MAX_STRIPS,)),
    ("strip_surface", "i8", (MAX_STRIPS,)), ("strip_cover", "f8", (MAX_STRIPS,)),
    ("strip_table", "i8", (MAX_STRIPS,)), ("strip_calm", "f8", (MAX_STRIPS,)),
    ("strip_bend", "f8", (MAX_STRIPS,)), ("strip_lean", "f8", (2, MAX_STRIPS)),
    ("strip_main", "f8", (MAX_STRIPS,)),  # share of the main sheet's area, 0 on others
    ("motor_place", "f8", (MAX_MOTORS, 3)), ("motor_axis", "f8", (MAX_MOTORS, 3)),
    ("motor_radius", "f8", (MAX_MOTORS,)), ("motor_sense", "f8", (MAX_MOTORS,)),
    ("motor_drive", "f8", (MAX_MOTORS,)), ("motor_kt", "f8", (MAX_MOTORS,)),
    ("motor_resistance", "f8", (MAX_MOTORS,)), ("motor_no_load", "f8", (MAX_MOTORS,)),
    ("rotor_inertia", "f8", (MAX_MOTORS,)), ("motor_table", "i8", (MAX_MOTORS,)),
    ("stream_swirl", "f8", (MAX_MOTORS,)), ("stream_grown", "f8", (MAX_MOTORS, MAX_STRIPS)),
    ("stream_near", "i8", (MAX_MOTORS, MAX_STRIPS)),
    ("stream_behind", "f8", (MAX_MOTORS, MAX_STRIPS)),
    ("stream_along", "f8", (MAX_MOTORS, MAX_STRIPS)),
    ("stream_up", "f8", (MAX_MOTORS, MAX_STRIPS)),
    ("capacity", "f8"), ("charge_at_start", "f8"), ("pack_resistance", "f8"),
    ("rest_voltage", "f8", (REST_STEPS + 1,)), ("cutoff_voltage", "f8"),
    ("controller_limit", "f8"), ("supply_voltage", "f8"),
    ("servo_speed", "f8", (MAX_SURFACES,)), ("servo_torque", "f8", (MAX_SURFACES,)),
    ("servo_idle", "f8", (MAX_SURFACES,)), ("servo_stall", "f8", (MAX_SURFACES,)),
    ("servo_band", "f8", (MAX_SURFACES,)), ("surface_slop", "f8", (MAX_SURFACES,)),
    ("supply_limit", "f8"), ("stuck_at", "f8", (MAX_SURFACES,)),
    ("mix", "f8", (MAX_SURFACES, MIX_COLUMNS)), ("mix_takes", "i8", (MAX_SURFACES,)),
    ("mix_rates", "f8", (2, 3)), ("mix_expo", "f8", (3,)), ("mix_sense", "f8", (3,)),
    ("mix_trim", "f8", (3,)), ("mix_down_going", "f8"),
    ("mix_motor_yaw", "f8", (MAX_MOTORS,)), ("mix_motor_free", "f8", (MAX_MOTORS, 4)),
    ("surface_travel", "f8", (MAX_SURFACES,)),
    ("contact_place", "f8", (MAX_CONTACTS, 3)), ("contact_stiffness", "f8", (MAX_CONTACTS,)),
    ("contact_damping", "f8", (MAX_CONTACTS,)), ("contact_friction", "f8", (MAX_CONTACTS,)),
    ("contact_rolling", "f8", (MAX_CONTACTS,)), ("contact_breaks", "f8", (MAX_CONTACTS,)),
    ("contact_steers", "i8", (MAX_CONTACTS,)), ("contact_steer_ratio", "f8", (MAX_CONTACTS,)),
])  # fmt: skip

def body_place(place: np.ndarray, at: Balance) -> np.ndarray:
    """Builder's place to body axes about the centre of gravity."""
    return (np.asarray(place) - at.place) @ TO_BODY


def pad(array: np.ndarray, into: np.ndarray) -> None:
    into[: len(array)] = array
