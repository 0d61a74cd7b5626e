"""Airframe and field -> Model: one fixed-capacity record and its tables, all that kernels see.

Everything here is set-up: the record is the same type for every airframe, so the kernels are
compiled once. Vectors are in body axes about the centre of gravity, SI throughout.
"""

from __future__ import annotations

from typing import NamedTuple

import numpy as np

from sim import air, section
from sim.airframe import Airframe, Contact, Motor, Wheel
from sim.apparent import mass_matrix
from sim.drive import in_stream
from sim.field import Field
from sim.lifting_surface import GROUND_HEIGHTS, collapse, response, side_edges_of
from sim.mixing import MIX_COLUMNS
from sim.propeller import table as propeller_table
from sim.shape import corners, is_mirrored, pieces, surface_spans
from sim.state import MAX_MOTORS, MAX_SURFACES
from sim.sticks import mixer
from sim.strength import root_strength
from sim.strips import MAX_STRIPS, Strips, cut, fine
from sim.weights import TO_BODY, Balance, balance, parts

MAX_CONTACTS = 40
REST_STEPS = 20

_V = (3,)
RECORD = np.dtype([
    ("mass", "f8"), ("inertia", "f8", (3, 3)), ("mass_inverse", "f8", (6, 6)), ("gravity", "f8"),
    ("density", "f8"), ("wind_north", "f8"), ("wind_east", "f8"), ("roughness", "f8"),
    ("wind_from_cos", "f8"), ("wind_from_sin", "f8"), ("gust_wind", "f8"), ("span", "f8"),
    ("pulse", "f8", (3,)), ("pulse_start", "f8"), ("pulse_lasts", "f8"),
    ("datum", "f8", (3,)), ("ground_heights", "f8", (len(GROUND_HEIGHTS),)),
    ("field_radius", "f8"), ("root_strength", "f8"), ("half_moment", "f8"),
    ("n_strips", "i8"), ("n_surfaces", "i8"), ("n_motors", "i8"), ("n_contacts", "i8"),
    ("flap_factor", "f8", (section.FLAP_STEPS + 1,)),
    ("strip_place", "f8", (MAX_STRIPS, 3)), ("strip_aft", "f8", (MAX_STRIPS, 3)),
    ("strip_span", "f8", (MAX_STRIPS, 3)), ("strip_normal", "f8", (MAX_STRIPS, 3)),
    ("strip_chord", "f8", (MAX_STRIPS,)), ("strip_width", "f8", (MAX_STRIPS,)),
    ("strip_area", "f8", (MAX_STRIPS,)), ("strip_drag", "f8", (MAX_STRIPS,)),
    ("strip_edge", "f8", (MAX_STRIPS,)), ("strip_arm", "f8", (MAX_STRIPS,)),
    ("strip_surface", "i8", (MAX_STRIPS,)), ("strip_cover", "f8", (MAX_STRIPS,)),
    ("strip_table", "i8", (MAX_STRIPS,)),
    ("motor_place", "f8", (MAX_MOTORS, 3)), ("motor_axis", "f8", (MAX_MOTORS, 3)),
    ("motor_radius", "f8", (MAX_MOTORS,)), ("motor_sense", "f8", (MAX_MOTORS,)),
    ("motor_drive", "f8", (MAX_MOTORS,)), ("motor_kt", "f8", (MAX_MOTORS,)),
    ("motor_resistance", "f8", (MAX_MOTORS,)), ("motor_no_load", "f8", (MAX_MOTORS,)),
    ("rotor_inertia", "f8", (MAX_MOTORS,)), ("motor_table", "i8", (MAX_MOTORS,)),
    ("stream_swirl", "f8", (MAX_MOTORS,)),
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

# Rest voltage of one cell by charge left, every 5 %. Source: charts in common use, no primary
# source; good to 0.05 V between 10 and 90 %.
CELL_REST = np.array([
    3.27, 3.61, 3.69, 3.71, 3.73, 3.75, 3.77, 3.79, 3.80, 3.82, 3.84,
    3.85, 3.87, 3.91, 3.95, 3.98, 4.02, 4.08, 4.11, 4.15, 4.20,
])  # fmt: skip

FOAM_STIFFNESS = 1500.0  # a foam corner pressed into turf [N/m], our estimate
FOAM_BREAKS = 5.0  # closing speed that cracks a foam edge [m/s], our estimate
DAMPING_RATIO = 0.4
SWIRL_BOUND = 16.0 / np.pi**2 - 1.0  # 0.62, see `swirl_share`
CRUISE = 10.0  # speed at which friction and blade Reynolds numbers are taken [m/s]


class Model(NamedTuple):
    record: np.record
    response: np.ndarray  # (cases, 3 n, 4 n): `lifting_surface.response`, inputs first
    plates: np.ndarray  # (tables, angle, deflection, channel), see `section`
    propellers: np.ndarray  # (motors, angle, 4), see `drive`
    strips: Strips
    balance: Balance
    apparent: np.ndarray  # (6, 6) apparent mass about the datum, builder's frame
    contact_names: tuple[str, ...]


def body_place(place: np.ndarray, at: Balance) -> np.ndarray:
    """Builder's place to body axes about the centre of gravity."""
    return (np.asarray(place) - at.place) @ TO_BODY


def _pad(array: np.ndarray, into: np.ndarray) -> None:
    into[: len(array)] = array


def _sheet_table(airframe: Airframe, strips: Strips, reply: np.ndarray) -> tuple[list, np.ndarray]:
    """A plate table for every (sheet, surface chord) in use, and each strip's index to it."""
    n = len(strips.chord)
    own = reply[0].reshape(n, 4, n, 3)[:, 0, :, 0]
    tables, keys, index = [], {}, np.zeros(n, dtype=int)
    for i in range(n):
        key = (strips.sheet[i], round(float(strips.flap[i]), 4))
        if key not in keys:
            sheet = list(airframe.sheets.values())[key[0]]
            mine = strips.sheet == key[0]
            size = strips.area[mine].sum()
            slope = 2.0 * strips.width[mine] @ own[np.ix_(mine, mine)].sum(axis=1) / size
            outline = corners(sheet)
            reach = np.ptp(outline[:, 1])
            sides = len(np.unique(strips.side[mine]))
            if sheet.stance == "flat" and is_mirrored(sheet):
                ratio = (2.0 * reach) ** 2 / size
            else:
                ratio = reach**2 / (size / sides)
                # A fin standing on a sheet sees itself mirrored in it.
                ratio *= 2.0 if strips.tip[mine].sum() == sides else 1.0
            keys[key] = len(tables)
            tables.append(section.table(ratio, slope, key[1]))
        index[i] = keys[key]
    return tables, index


def _fill_strips(
    record, airframe: Airframe, strips: Strips, lattice: Strips, at: Balance, field_air
) -> None:
    n = len(strips.chord)
    record.n_strips = n
    density, viscosity = field_air
    sheets = list(airframe.sheets.values())
    _pad(body_place(strips.middle, at), record.strip_place)
    _pad(strips.aft @ TO_BODY, record.strip_aft)
    _pad(strips.span @ TO_BODY, record.strip_span)
    _pad(strips.normal @ TO_BODY, record.strip_normal)
    _pad(strips.chord, record.strip_chord)
    _pad(strips.width, record.strip_width)
    _pad(strips.area, record.strip_area)
    _pad(strips.surface, record.strip_surface)
    _pad(strips.cover, record.strip_cover)
    _pad(side_edges_of(strips, lattice), record.strip_edge)
    drag = [
        section.profile_drag(
            density * CRUISE * chord / viscosity, thickness / chord, sheets[sheet].edge
        )
        for chord, thickness, sheet in zip(
            strips.chord, strips.thickness, strips.sheet, strict=True
        )
    ]
    _pad(np.array(drag), record.strip_drag)
    flat = [
        k for k, sheet in enumerate(sheets) if sheet.stance == "flat" and is_mirrored(sheet)
    ]
    if not flat:
        record.root_strength = np.inf
        return
    main = max(flat, key=lambda k: strips.area[strips.sheet == k].sum())
    arm = np.where(strips.sheet == main, strips.middle[:, 1], 0.0)
    _pad(arm, record.strip_arm)
    record.root_strength = root_strength(sheets[main])
    name = list(airframe.sheets)[main]
    record.half_moment = _half_moment(airframe, name)


def _half_moment(airframe: Airframe, name: str) -> float:
    """Mass moment about the centreline of one half of a sheet with its surfaces [kg m]."""
    mine = {name} | {s.name for s in surface_spans(airframe) if s.sheet == name}
    mine |= set(airframe.sheets[name].spars)
    total = 0.0
    for part in parts(airframe):
        if part.name not in mine:
            continue
        if abs(part.place[1]) > 1e-6:  # one side only
            total += 0.5 * part.mass * abs(part.place[1])
        else:  # both sides: an even spread over the half span that its inertia shows
            total += 0.5 * part.mass * np.sqrt(3.0 * part.inertia[2, 2] / part.mass) * 0.5
    return total


def _axis(motor: Motor) -> np.ndarray:
    """Direction of thrust in body axes."""
    return np.array([
        np.cos(motor.down) * np.cos(motor.right_tilt),
        np.cos(motor.down) * np.sin(motor.right_tilt),
        np.sin(motor.down),
    ])  # fmt: skip


def propeller_rows(motor: Motor) -> np.ndarray:
    """(angles, 4) thrust and torque shapes and their slopes by the inflow angle."""
    blade = motor.propeller
    found = propeller_table(
        *blade.size, blade.blades, blade.blade_width, blade.blade_thickness, blade.backwards
    )
    slope = [np.gradient(v, found.angle) for v in (found.thrust, found.torque)]
    return np.column_stack([found.thrust, found.torque, *slope])


def _fill_motors(record, airframe: Airframe, reply: np.ndarray, at: Balance) -> np.ndarray:
    tables = []
    record.n_motors = len(airframe.motors)
    n = record.n_strips
    for k, motor in enumerate(airframe.motors.values()):
        blade = motor.propeller
        record.motor_place[k] = body_place([motor.aft, motor.right, motor.up], at)
        record.motor_axis[k] = _axis(motor)
        record.motor_radius[k] = 0.5 * blade.size[0]
        record.motor_sense[k] = 1.0 if blade.turns == "clockwise" else -1.0
        record.motor_drive[k] = -1.0 if motor.leads_swapped else 1.0
        record.motor_kt[k] = 1.0 / motor.kv
        record.motor_resistance[k] = motor.resistance + airframe.controller.resistance
        record.motor_no_load[k] = motor.no_load_current
        record.rotor_inertia[k] = blade.mass * blade.size[0] ** 2 / 12.0
        record.motor_table[k] = k
        tables.append(propeller_rows(motor))
        offset = record.strip_place[:n] - record.motor_place[k]
        axial = offset @ record.motor_axis[k]
        radial = offset - axial[:, None] * record.motor_axis[k]
        _pad(-axial, record.stream_behind[k])
        _pad(np.sum(radial * record.strip_span[:n], axis=1), record.stream_along[k])
        _pad(np.sum(radial * record.strip_normal[:n], axis=1), record.stream_up[k])
        record.stream_swirl[k] = swirl_share(record, k, reply, n)
    return np.array(tables) if tables else np.zeros((1, 3, 4))


def swirl_share(record, k: int, reply: np.ndarray, n: int) -> float:
    """How much of a stream's swirl to let the lattice meet, 0..1.

    A long plate across the diameter of a round stream turning as a solid body leaves two
    half streams that keep their vorticity; the angular momentum left is the ratio of the
    torsion constants of two half discs, (pi/2 - 4/pi) R^4 each, and a disc, (pi/2) R^4
    (same equation; Timoshenko and Goodier, Theory of Elasticity, art. 109), so at most
    16/pi^2 - 1 = 0.62 can be recovered. The lattice, which sees the same wash in an endless stream,
    would recover more than there is; this scales it down to that bound. Derived here, for a
    stream that keeps its round outline.
    """
    reach = 0.85 * record.motor_radius[k]
    wash = np.zeros((n, 3))
    axis = record.motor_axis[k]
    arm = np.zeros((n, 3))
    for i in range(n):
        share, along = in_stream(record, k, i, reach)
        arm[i] = along * record.strip_span[i] + record.stream_up[k, i] * record.strip_normal[i]
        wash[i, 0] = share * np.cross(axis, arm[i]) @ record.strip_normal[i]
    circulation = reply[0].reshape(n, 4, n * 3)[:, 0] @ wash.ravel()
    offset = record.strip_place[:n] - record.motor_place[k]
    lever = np.cross(offset, record.strip_normal[:n]) @ axis
    recovered = 2.0 / (np.pi * reach**4) * (circulation * record.strip_width[:n]) @ lever
    return float(min(1.0, SWIRL_BOUND / max(recovered, SWIRL_BOUND)))


def _fill_electrics(record, airframe: Airframe) -> None:
    pack, controller = airframe.pack, airframe.controller
    record.capacity = pack.capacity
    record.charge_at_start = pack.charge
    record.pack_resistance = pack.cells * pack.resistance
    record.rest_voltage[:] = pack.cells * CELL_REST
    record.cutoff_voltage = pack.cells * controller.cutoff
    record.controller_limit = controller.limit
    record.supply_voltage = controller.supply
    record.supply_limit = controller.supply_limit
    spans = surface_spans(airframe)
    record.n_surfaces = len(spans)
    for span in spans:
        surface = airframe.sheets[span.sheet].surfaces[span.surface]
        servo = airframe.servos[surface.servo]
        ratio = surface.arm / surface.horn  # surface angle per servo angle
        jammed = (surface.stuck is not None or surface.off) and surface.faulty(span.side)
        record.servo_speed[span.slot] = (
            0.0 if jammed else np.radians(60.0) / servo.speed * ratio
        )
        if surface.stuck is not None:
            record.stuck_at[span.slot] = surface.stuck
        record.servo_band[span.slot] = 0.5 * servo.dead_band * ratio
        record.surface_slop[span.slot] = servo.slop * ratio
        record.servo_torque[span.slot] = servo.torque / ratio
        record.servo_idle[span.slot] = servo.idle_current
        record.servo_stall[span.slot] = servo.stall_current
        record.surface_travel[span.slot] = surface.travel


def _fill_mixing(record, airframe: Airframe) -> None:
    table = mixer(airframe)
    for slot, channel in enumerate(table.channels):
        record.mix[slot] = (
            channel.nose_up, channel.roll, channel.yaw, channel.roll_to_yaw, channel.neutral,
            *channel.free, channel.sign, channel.low, channel.high,
        )  # fmt: skip
        record.mix_takes[slot] = table.takes[slot]
    record.mix_rates[:] = (table.high, table.low)
    record.mix_expo[:], record.mix_sense[:] = table.expo, table.sense
    record.mix_trim[:], record.mix_down_going = table.trim, table.down_going
    record.mix_motor_yaw[:], record.mix_motor_free[:] = table.motor_yaw, table.motor_free


def _contacts(airframe: Airframe) -> list[tuple[str, np.ndarray, Contact | None]]:
    found: list[tuple[str, np.ndarray, Contact | None]] = []
    for name, contact in {**airframe.wheels, **airframe.skids}.items():
        place = np.array([contact.aft, contact.right, contact.up])
        found.append((name, place, contact))
        if contact.mirrored:
            found.append((name, place * [1.0, -1.0, 1.0], contact))
    seen: list[np.ndarray] = []
    for piece in pieces(airframe):
        for corner in piece.corners:
            if all(np.linalg.norm(corner - other) > 0.03 for other in seen):
                seen.append(corner)
                found.append((piece.sheet, corner, None))
    return found[:MAX_CONTACTS]


def _fill_contacts(record, airframe: Airframe, field: Field, at: Balance) -> tuple[str, ...]:
    contacts = _contacts(airframe)
    record.n_contacts = len(contacts)
    spans = surface_spans(airframe)
    rudder = next(
        (s for s in spans if airframe.sheets[s.sheet].surfaces[s.surface].role == "rudder"), None
    )
    for k, (_, place, contact) in enumerate(contacts):
        x, y, z = body_place(place, at)
        record.contact_place[k] = (x, y, z)
        stiffness = contact.stiffness if contact else FOAM_STIFFNESS
        push = np.array([0.0, 0.0, 1.0, y, -x, 0.0])
        carried = 1.0 / (push @ record.mass_inverse @ push)
        record.contact_stiffness[k] = stiffness
        record.contact_damping[k] = 2.0 * DAMPING_RATIO * np.sqrt(stiffness * carried)
        record.contact_friction[k] = contact.friction if contact else field.ground.friction
        wheel = isinstance(contact, Wheel)
        record.contact_rolling[k] = contact.rolling if wheel else record.contact_friction[k]
        record.contact_breaks[k] = contact.breaks_at if contact else FOAM_BREAKS
        steered = wheel and contact.steers and rudder is not None
        record.contact_steers[k] = rudder.slot if steered else -1
        record.contact_steer_ratio[k] = 1.0
    return tuple(name for name, _, _ in contacts)


def mass_inverse(at: Balance, apparent: np.ndarray) -> np.ndarray:
    """(6, 6) inverse of mass and apparent mass about the centre of gravity, body axes.

    apparent: (6, 6) about the datum in the builder's frame (`apparent.mass_matrix`); a motion
    about the centre of gravity moves the datum by v - w x place.
    """
    x, y, z = at.place
    shift = np.eye(6)
    shift[:3, 3:] = [[0.0, -z, y], [z, 0.0, -x], [-y, x, 0.0]]
    turn = np.kron(np.eye(2), TO_BODY)
    mass = turn @ shift.T @ apparent @ shift @ turn
    mass[:3, :3] += at.mass * np.eye(3)
    mass[3:, 3:] += TO_BODY @ at.inertia @ TO_BODY
    return np.linalg.inv(mass)


def _fill_air(record, field: Field) -> None:
    bearing = field.wind.from_bearing
    record.roughness = field.wind.roughness
    record.wind_from_cos, record.wind_from_sin = np.cos(bearing), np.sin(bearing)
    record.wind_north = -field.wind.speed * np.cos(bearing)
    record.wind_east = -field.wind.speed * np.sin(bearing)
    gusts = field.gusts
    record.gust_wind = gusts.wind_at_6_m
    record.pulse_start, record.pulse_lasts = 0.0, 1.0
    if gusts.pulse is not None:
        pulse = gusts.pulse
        record.pulse[:] = (
            -pulse.speed * np.cos(pulse.from_bearing),
            -pulse.speed * np.sin(pulse.from_bearing),
            -pulse.up,
        )
        record.pulse_start, record.pulse_lasts = pulse.start, pulse.lasts


def build(airframe: Airframe, field: Field) -> Model:
    """Raises ValueError for an airframe that weighs nothing or has too many sheets."""
    record = np.zeros(1, dtype=RECORD).view(np.recarray)[0]
    at = balance(parts(airframe))
    strips, lattice = cut(airframe), fine(airframe)
    span = float(np.ptp(strips.quad[..., 1]))
    heights = GROUND_HEIGHTS * span
    reply = collapse(strips, lattice, response(lattice, ground_heights=heights))
    density = air.density(field.ground.elevation, field.temperature)
    record.density, record.gravity = density, air.GRAVITY
    record.mass = at.mass
    record.inertia[:] = TO_BODY @ at.inertia @ TO_BODY
    apparent = mass_matrix(lattice, np.zeros(3), density)
    record.mass_inverse[:] = mass_inverse(at, apparent)
    record.datum[:] = body_place(np.zeros(3), at)
    record.ground_heights[:] = heights
    record.span = span
    _fill_air(record, field)
    record.field_radius = field.ground.radius
    record.flap_factor[:] = section.flap_table()
    fluid = (density, air.viscosity(field.temperature))
    _fill_strips(record, airframe, strips, lattice, at, fluid)
    tables, index = _sheet_table(airframe, strips, reply)
    _pad(index, record.strip_table)
    propellers = _fill_motors(record, airframe, reply, at)
    _fill_electrics(record, airframe)
    _fill_mixing(record, airframe)
    names = _fill_contacts(record, airframe, field, at)
    # Real hinge moments fall short of the inviscid ones (see `section`).
    n = len(strips.chord)
    hinge = reply.reshape(len(reply), n, 4, n, 3)[:, :, 3]
    hinge[..., :2] *= section.HINGE_FROM_INCIDENCE
    hinge[..., 2] *= section.HINGE_FROM_DEFLECTION
    return Model(
        record,
        np.ascontiguousarray(reply.transpose(0, 2, 1)),
        np.ascontiguousarray(np.array(tables)),
        np.ascontiguousarray(propellers),
        strips, at, apparent, names,
    )  # fmt: skip
