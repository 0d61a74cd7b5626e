"""Pack, controller, motors, propellers and servos of an airframe, into its record."""

from __future__ import annotations

from functools import lru_cache

import numpy as np

from firstthrow.sim.build.apparent import swinging
from firstthrow.sim.build.controller import fill_controller
from firstthrow.sim.build.propeller import table as propeller_table
from firstthrow.sim.build.section import EFFECT, angle_of
from firstthrow.sim.build.shape import surface_spans
from firstthrow.sim.build.stream import held_shares, swirl_share
from firstthrow.sim.build.strips import Strips
from firstthrow.sim.build.weights import Balance, body_place, parts
from firstthrow.sim.describe.airframe import Airframe, Corrections
from firstthrow.sim.describe.drive import Motor
from firstthrow.sim.kernels.drive import RIM, TORQUE_SHAPE
from firstthrow.sim.kernels.integrate import MOST_TICKS, STEP
from firstthrow.sim.kernels.parameters import pad

# Rest voltage of one cell by charge left, every 5 %. Source: charts in common use, no primary
# source; good to 0.05 V between 10 and 90 %.
CELL_REST = np.array(
    [
        3.27,
        3.61,
        3.69,
        3.71,
        3.73,
        3.75,
        3.77,
        3.79,
        3.80,
        3.82,
        3.84,
        3.85,
        3.87,
        3.91,
        3.95,
        3.98,
        4.02,
        4.08,
        4.11,
        4.15,
        4.20,
    ]
)

# Hinge moment of a surface by its angle, over its chord squared, width and dynamic pressure: no
# more than that of a whole plate about its leading edge, pi/2. Source: thin-aerofoil theory.
MOST_PRESSED = 0.5 * np.pi
# Play of a surface from which it swings on its hinge [rad]; less is taken up by the load at once.
# Our judgement: servos in good order have less, and keep long steps.
SWINGS = np.radians(2.0)
PROPELLER_STEPS = 800  # of the table round the circle of inflow angles


def _axis(motor: Motor) -> np.ndarray:
    """Direction of thrust in body axes."""
    return np.array(
        [
            np.cos(motor.down) * np.cos(motor.right_tilt),
            np.cos(motor.down) * np.sin(motor.right_tilt),
            np.sin(motor.down),
        ]
    )


_table = lru_cache(maxsize=64)(propeller_table)


def propeller_rows(motor: Motor, known: Corrections = Corrections()) -> np.ndarray:  # noqa: B008
    """(steps + 1, 6) shapes of thrust and torque, their slopes by the inflow angle, and the drag's
    shape and slope, at even steps of its diamond coordinate (see `section`)."""
    blade = motor.propeller
    diameter, pitch = blade.size
    found = _table(
        diameter,
        known.propeller_pitch * pitch,
        blade.blades,
        blade.blade_width,
        blade.blade_thickness,
        blade.backwards,
    )
    angle = angle_of(np.linspace(-2.0, 2.0, PROPELLER_STEPS + 1))
    thrust = known.propeller * known.propeller_thrust * found.thrust
    torque, drag = (
        known.propeller * known.propeller_torque * v for v in (found.torque, found.drag)
    )
    columns = [thrust, torque, *(np.gradient(v, found.angle) for v in (thrust, torque))]
    columns += [drag, np.gradient(drag, found.angle)]
    return np.column_stack([np.interp(angle, found.angle, v) for v in columns])


def _least_inertia(record, airframe: Airframe, k: int, rows: np.ndarray) -> float:
    """The inertia [kg m2] of a rotor that the integrator can just follow: no figure of a real
    drive, but a propeller of a gram on a strong motor would be quicker than its step.

    Motor and propeller hold the rotor's speed by kt^2/R and dQ/d(omega) [N m s]; over the inertia
    that is a rate, kept to one over a step. Real rotors follow in 20 to 110 ms, 5 steps and more.
    """
    kt, radius = record.motor_kt[k], record.motor_radius[k]
    fastest = airframe.pack.cells * CELL_REST[-1] / kt
    torque = abs(rows[PROPELLER_STEPS // 2, TORQUE_SHAPE]) * record.density * (2.0 * radius) ** 3
    by_air = 2.0 * torque * (RIM * radius) ** 2 * fastest
    return float((kt**2 / record.motor_resistance[k] + by_air) * STEP)


def _fill_rotor(record, airframe: Airframe, k: int, motor: Motor) -> np.ndarray:
    """Motor and propeller by themselves, wherever they sit; the propeller's table."""
    blade = motor.propeller
    record.motor_radius[k] = 0.5 * blade.size[0]
    record.motor_drive[k] = -1.0 if motor.leads_swapped else 1.0
    record.motor_kt[k] = 1.0 / motor.kv
    record.motor_resistance[k] = motor.resistance + airframe.controller.resistance
    record.motor_no_load[k] = motor.no_load_current
    rows = propeller_rows(motor, airframe.corrections)
    inertia = blade.mass * blade.size[0] ** 2 / 12.0
    least = _least_inertia(record, airframe, k, rows)
    record.rotor_inertia[k] = max(inertia, least)
    record.most_ticks = min(record.most_ticks, int(record.rotor_inertia[k] / least))
    return rows


def refill(record, airframe: Airframe) -> list[np.ndarray]:
    """Motors, propellers, pack and controller of another description, where they sit; the
    propellers' tables."""
    _fill_pack(record, airframe)
    record.most_ticks = MOST_TICKS
    return [_fill_rotor(record, airframe, k, m) for k, m in enumerate(airframe.motors.values())]


def fill_motors(
    record, airframe: Airframe, strips: Strips, reply: np.ndarray, at: Balance
) -> np.ndarray:
    tables = []
    record.n_motors, record.most_ticks = len(airframe.motors), MOST_TICKS
    n = record.n_strips
    for k, motor in enumerate(airframe.motors.values()):
        record.motor_place[k] = body_place((motor.aft, motor.right, motor.up), at)
        record.motor_axis[k] = _axis(motor)
        record.motor_sense[k] = 1.0 if motor.propeller.turns == "clockwise" else -1.0
        record.motor_table[k] = k
        tables.append(_fill_rotor(record, airframe, k, motor))
        offset = record.strip_place[:, :n].T - record.motor_place[k]
        axial = offset @ record.motor_axis[k]
        radial = offset - axial[:, None] * record.motor_axis[k]
        pad(-axial, record.stream_behind[k])
        pad(np.sum(radial * record.strip_span[:, :n].T, axis=1), record.stream_along[k])
        pad(np.sum(radial * record.strip_normal[:, :n].T, axis=1), record.stream_up[k])
        radius = record.motor_radius[k]
        behind = record.stream_behind[k, :n]
        pad(1.0 + behind / np.sqrt(behind**2 + radius**2), record.stream_grown[k])
        reach = 1.1 * radius  # a stream grows no wider (see `drive.add_stream`)
        near = (np.abs(record.stream_along[k, :n]) < reach + 0.5 * record.strip_width[:n]) & (
            np.abs(record.stream_up[k, :n]) < reach
        )
        pad(near & (behind > 0.0), record.stream_near[k])
        record.stream_swirl[k] = swirl_share(record, k, reply, n)
        record.stream_held[k] = held_shares(record, k, airframe, strips, reply)
    return np.array(tables) if tables else np.zeros((1, 3, 6))


def _fill_pack(record, airframe: Airframe) -> None:
    pack, controller = airframe.pack, airframe.controller
    record.capacity = pack.capacity
    record.charge_at_start = pack.charge
    record.pack_resistance = pack.cells * pack.resistance
    record.rest_voltage[:] = pack.cells * CELL_REST
    record.cutoff_voltage = pack.cells * controller.cutoff
    fill_controller(record, controller)


def fill_electrics(record, airframe: Airframe) -> None:
    controller = airframe.controller
    _fill_pack(record, airframe)
    record.supply_voltage = controller.supply
    record.supply_limit = controller.supply_limit
    record.radio_reach = airframe.receiver.reach or 0.0
    spans = surface_spans(airframe)
    for span in spans:
        surface = airframe.sheets[span.sheet].surfaces[span.surface]
        servo = airframe.servos[surface.servo]
        faulty = surface.faulty(span.side)
        ratio = surface.arm / surface.horn  # surface angle per servo angle
        ratio *= surface.follows if faulty and surface.follows else 1.0
        jammed = faulty and (surface.stuck is not None or surface.off)
        record.servo_speed[span.slot] = 0.0 if jammed else np.radians(60.0) / servo.speed * ratio
        if surface.stuck is not None:
            record.stuck_at[span.slot] = surface.stuck
        record.servo_band[span.slot] = 0.5 * servo.dead_band * ratio
        record.surface_slop[span.slot] = servo.slop * ratio + surface.slop / surface.horn
        # Both sides of a joined surface hang on one servo.
        share = 0.5 if surface.joined and span.side else 1.0
        record.servo_torque[span.slot] = share * servo.torque / ratio
        record.servo_idle[span.slot] = share * servo.idle_current
        record.servo_stall[span.slot] = share * servo.stall_current
        record.surface_travel[span.slot] = surface.travel
        width = (span.outer - span.inner) * (1.0 - surface.torn * faulty)
        record.surface_press[span.slot] = MOST_PRESSED * surface.chord**2 * width
        record.surface_effect[span.slot] = airframe.corrections.effect * EFFECT[surface.gap]


def fill_swinging(record, airframe: Airframe, strips: Strips) -> None:
    """Surfaces with so much play that they swing on their hinges, each an even plate.

    Both halves of a joined surface hold each other against what rolls, and are left still.
    """
    record.n_swinging = 0
    every = parts(airframe)  # an item may bear the name of a surface, and comes after it
    masses = {part.name: part.mass for part in reversed(every)}
    chord = strips.flap * strips.chord
    area = chord * strips.width * strips.cover
    carried, damped = swinging(strips)
    pad(0.5 * strips.chord - 0.5 * chord, record.strip_hung)
    for span in surface_spans(airframe):
        k, mine = span.slot, strips.surface == span.slot
        record.surface_inertia[k] = 0.0
        if record.surface_slop[k] < SWINGS or span.described.joined or not mine.any():
            continue
        mass = masses[span.name] * area[mine] / area[mine].sum()
        heavy = mass @ chord[mine] ** 2 / 3.0
        record.surface_inertia[k] = heavy + record.density * carried[mine].sum()
        record.surface_damping[k] = record.density * damped[mine].sum()
        record.strip_unbalance[np.flatnonzero(mine)] = 0.5 * mass * chord[mine]
        record.n_swinging += 1
