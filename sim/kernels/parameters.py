"""What kernels see of an airframe and its field: one type for every airframe.

The record has fixed capacities, padded with zeros, with the counts beside them. Vectors are in
body axes about the centre of gravity, SI throughout.
"""

from __future__ import annotations

from typing import NamedTuple

import numpy as np

from firstthrow.sim.kernels.layout import (
    FLAP_STEPS,
    GROUND_HEIGHTS,
    MAX_CONTACTS,
    MAX_MOTORS,
    MAX_STRIPS,
    MAX_SURFACES,
    REST_STEPS,
)
from firstthrow.sim.kernels.mix import MIX_FIELDS


def record_type(fields: list) -> np.dtype:
    """Rows of it have their fields as attributes, in kernels and with the compiler off alike.

    Rows that are passed with every step go as arrays of one: numba takes far longer to tell
    the type of a bare row, 60 us of the record below.
    """
    return np.dtype((np.record, fields))


RECORD = record_type(
    [
        ("mass", "f8"),
        ("inertia", "f8", (3, 3)),
        ("mass_inverse", "f8", (6, 6)),
        ("apparent", "f8", (6, 6)),  # the air's part of the mass, about the centre of gravity
        ("gravity", "f8"),
        ("density", "f8"),
        ("wind_north", "f8"),
        ("wind_east", "f8"),
        ("roughness", "f8"),
        ("still", "f8"),
        ("wind_from_cos", "f8"),
        ("wind_from_sin", "f8"),
        ("gust_wind", "f8"),
        ("span", "f8"),
        ("pulse", "f8", (3,)),
        ("pulse_start", "f8"),
        ("pulse_lasts", "f8"),
        ("datum", "f8", (3,)),
        ("reach", "f8"),
        ("ground_heights", "f8", (len(GROUND_HEIGHTS),)),
        ("field_radius", "f8"),
        ("root_strength", "f8"),
        ("half_moment", "f8"),
        ("half_apparent", "f8"),
        ("n_strips", "i8"),
        ("n_motors", "i8"),
        ("n_contacts", "i8"),
        ("most_ticks", "i8"),  # of the longest step by which its rotors can be followed
        ("roll_cuts", "i8"),  # of a tick by which its contacts can be followed
        ("flap_factor", "f8", (FLAP_STEPS + 1,)),
        ("surface_effect", "f8", (MAX_SURFACES,)),  # of each surface over thin-aerofoil theory
        # Flow within which what the stall sees follows the incidence, then the stall [chords].
        ("lag_angle", "f8"),
        ("lag_share", "f8"),
        ("wake_left", "f8"),  # speed left in the wake of the stalled main sheet, over the air's
        # Place and directions by axis first: loops over strips go in lanes (`separation.lanes`).
        ("strip_place", "f8", (3, MAX_STRIPS)),
        ("strip_aft", "f8", (3, MAX_STRIPS)),
        ("strip_span", "f8", (3, MAX_STRIPS)),
        ("strip_normal", "f8", (3, MAX_STRIPS)),
        ("strip_chord", "f8", (MAX_STRIPS,)),
        ("strip_curve", "f8", (MAX_STRIPS,)),  # of a bowed board, hollow along the normal [1/m]
        ("strip_width", "f8", (MAX_STRIPS,)),
        ("strip_area", "f8", (MAX_STRIPS,)),
        ("strip_drag", "f8", (MAX_STRIPS,)),
        ("strip_edge", "f8", (MAX_STRIPS,)),
        ("strip_arm", "f8", (MAX_STRIPS,)),
        ("strip_surface", "i8", (MAX_STRIPS,)),
        # Hinge moment of its own surface turned by one radian, the rest being still.
        ("strip_press", "f8", (2, MAX_STRIPS)),
        ("strip_cover", "f8", (MAX_STRIPS,)),
        ("strip_table", "i8", (MAX_STRIPS,)),
        ("strip_calm", "f8", (MAX_STRIPS,)),
        ("strip_bend", "f8", (MAX_STRIPS,)),
        ("strip_reach", "f8", (MAX_STRIPS,)),  # from end to end of its sheet, along the span
        ("strip_lean", "f8", (2, MAX_STRIPS)),
        # The sheet met along its span: lift slope, side-edge lift, how far ahead of its middle the
        # first acts (in reaches), and its plate table.
        ("strip_across", "f8", (3, MAX_STRIPS)),
        ("strip_across_table", "i8", (MAX_STRIPS,)),
        # Two strips of the main sheet that a strip may lie in the wake of (-1: none), how far it
        # lies behind their leading edge and above them, and half its own height [m].
        ("strip_hosts", "i8", (2, MAX_STRIPS)),
        ("strip_behind", "f8", (MAX_STRIPS,)),
        ("strip_above", "f8", (MAX_STRIPS,)),
        ("strip_half", "f8", (MAX_STRIPS,)),
        ("strip_relief", "f8", (MAX_STRIPS,)),  # of a separated load, by its sheet's ends
        ("strip_main", "f8", (MAX_STRIPS,)),  # share of the main sheet's area, 0 on others
        ("motor_place", "f8", (MAX_MOTORS, 3)),
        ("motor_axis", "f8", (MAX_MOTORS, 3)),
        ("motor_radius", "f8", (MAX_MOTORS,)),
        ("motor_sense", "f8", (MAX_MOTORS,)),
        ("motor_drive", "f8", (MAX_MOTORS,)),
        ("motor_kt", "f8", (MAX_MOTORS,)),
        ("motor_resistance", "f8", (MAX_MOTORS,)),
        ("motor_no_load", "f8", (MAX_MOTORS,)),
        ("rotor_inertia", "f8", (MAX_MOTORS,)),
        ("motor_table", "i8", (MAX_MOTORS,)),
        ("stream_swirl", "f8", (MAX_MOTORS,)),
        ("stream_held", "f8", (MAX_MOTORS, 2, MAX_STRIPS)),
        ("stream_grown", "f8", (MAX_MOTORS, MAX_STRIPS)),
        ("stream_near", "i8", (MAX_MOTORS, MAX_STRIPS)),
        ("stream_behind", "f8", (MAX_MOTORS, MAX_STRIPS)),
        ("stream_along", "f8", (MAX_MOTORS, MAX_STRIPS)),
        ("stream_up", "f8", (MAX_MOTORS, MAX_STRIPS)),
        # Drag of what is no sheet: in free air, then in each stream (see `build.fittings`).
        ("fitting_drag", "f8", (1 + MAX_MOTORS, 3)),  # areas along the body's axes [m2]
        ("fitting_place", "f8", (1 + MAX_MOTORS, 3, 3)),  # of each axis's force
        ("fitting_grown", "f8", (MAX_MOTORS,)),  # what it meets of the induced speed
        ("capacity", "f8"),
        ("charge_at_start", "f8"),
        ("pack_resistance", "f8"),
        ("rest_voltage", "f8", (REST_STEPS + 1,)),
        ("cutoff_voltage", "f8"),
        ("controller_limit", "f8"),  # what it lets through, of each motor [A]
        ("controller_rating", "f8"),
        ("controller_bears", "f8"),  # overload, see `controller` [s]
        ("supply_voltage", "f8"),
        ("radio_reach", "f8"),  # from the pilot, beyond which nothing is heard [m]; 0: none
        ("servo_speed", "f8", (MAX_SURFACES,)),
        ("servo_torque", "f8", (MAX_SURFACES,)),
        ("servo_idle", "f8", (MAX_SURFACES,)),
        ("servo_stall", "f8", (MAX_SURFACES,)),
        ("servo_band", "f8", (MAX_SURFACES,)),
        ("surface_slop", "f8", (MAX_SURFACES,)),
        # Of what swings within its play: inertia about its hinge with the air's, 0 of all that
        # does not swing [kg m2]; damping by the air over its speed [kg m]; mass times way behind
        # the hinge, of each strip [kg m], and where that lies behind the strip's middle [m].
        ("surface_inertia", "f8", (MAX_SURFACES,)),
        ("surface_damping", "f8", (MAX_SURFACES,)),
        ("strip_unbalance", "f8", (MAX_STRIPS,)),
        ("strip_hung", "f8", (MAX_STRIPS,)),
        ("n_swinging", "i8"),
        ("surface_press", "f8", (MAX_SURFACES,)),  # most hinge moment by angle and pressure [m3]
        ("supply_limit", "f8"),
        ("stuck_at", "f8", (MAX_SURFACES,)),
        *MIX_FIELDS,
        ("surface_travel", "f8", (MAX_SURFACES,)),
        ("contact_place", "f8", (MAX_CONTACTS, 3)),
        ("contact_stiffness", "f8", (MAX_CONTACTS,)),
        ("contact_damping", "f8", (MAX_CONTACTS,)),
        ("contact_friction", "f8", (MAX_CONTACTS,)),
        ("contact_rolling", "f8", (MAX_CONTACTS,)),
        ("contact_breaks", "f8", (MAX_CONTACTS,)),
        ("contact_steers", "i8", (MAX_CONTACTS,)),
        ("contact_steer_ratio", "f8", (MAX_CONTACTS,)),
    ]
)


class Body(NamedTuple):
    """An airframe in its field: the record, and the tables whose size is its own."""

    record: np.ndarray  # (1,) RECORD
    response: np.ndarray  # (cases, 3 n, 4 n): `lattice.response`, inputs first
    plates: np.ndarray  # (tables, angle, deflection, channel), see `section`
    propellers: np.ndarray  # (motors, angle, 6), see `drive`


def pad(array: np.ndarray, into: np.ndarray) -> None:
    into[: len(array)] = array
