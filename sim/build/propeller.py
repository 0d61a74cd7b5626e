"""Thrust and torque of a propeller from its size alone: blade element momentum theory, at set-up.

All four quadrants: either rotation, air from ahead or from behind, stopped, windmilling. The result
is one table over the angle phi = atan2(V, 0.75 pi n D) between the air at three quarters of the
radius and the propeller's plane; unlike an advance ratio it has no gap at n = 0.

How it is solved. At one radius take the inflow angle as known. The section's force then fixes both
induced velocities over the local airspeed, and with them the direction of the undisturbed air,
V / (Omega r). So inflow angle -> direction is an explicit curve; it is laid out finely once around
the circle and read backwards for every direction of the table. Nothing is iterated, so nothing can
fail to converge. Where the curve folds (two states for one direction) the middle is taken.

Valid for: low tip Mach number (below about 0.5), stiff blades, axial flow.
"""

from __future__ import annotations

from typing import NamedTuple

import numpy as np
from numpy import ndarray

from firstthrow.sim.build.section import normal_force

STATIONS = 20  # radii, cosine-spaced towards the tip
INFLOW_STEP = np.radians(0.25)
TABLE_STEP = np.radians(0.5)
HUB = 0.12  # of the radius: where the blades begin
SWIRL_FLOOR = 0.03  # least through-flow (of the local airspeed) that carries swirl away
AIR_VISCOSITY = 1.46e-5  # kinematic, m2/s at 15 degrees C, sea level: sets the Reynolds number only

# Chord over the chord at 0.75 R, and thickness ratio over that at 0.75 R. The middle between a
# narrow "thin electric" blade (widest at 0.4 R) and a wide "slow-fly" blade (widest at 0.55 R).
# Source: common practice, from memory of published planforms; no one propeller.
PLANFORM = np.array(
    [  # radius over R, chord, thickness ratio
        (0.12, 0.700, 2.00),
        (0.15, 0.790, 1.85),
        (0.20, 0.920, 1.65),
        (0.30, 1.180, 1.35),
        (0.40, 1.310, 1.20),
        (0.50, 1.320, 1.10),
        (0.60, 1.250, 1.04),
        (0.70, 1.100, 1.01),
        (0.75, 1.000, 1.00),
        (0.80, 0.890, 1.00),
        (0.90, 0.645, 1.00),
        (0.95, 0.460, 1.00),
        (1.00, 0.265, 1.00),
    ]
)

# Section at small Reynolds number: one set for all propellers (see _section_force).
LEAST_REYNOLDS, MOST_REYNOLDS = 1e4, 5e5  # beyond these the section is that of the nearer one
SLOPE = 0.94 * 2.0 * np.pi  # lift slope, 1/rad
CAMBER_KEPT, CAMBER_LOST = 0.85, 0.05  # share of the ideal zero-lift angle, and its loss at Re 1e5
CAMBER_KEPT_REVERSED = 0.5
MOST_THICKNESS = 0.15  # a thicker root is a rounded strut: no more camber than this
STALL_ABOVE, STALL_BELOW, STALL_REVERSED = np.radians([15.0, 9.0, 9.0])
STALL_WIDTH = np.radians(2.5)
STALL_DELAY = 3.0
DRAG, DRAG_REVERSED, DRAG_LIFT = 0.022, 0.035, 0.02


class PropellerTable(NamedTuple):
    """T = thrust(phi) rho (V^2 + (0.75 pi n D)^2) D^2; Q = torque(phi) rho (...) D^3;
    torque by radius squared, summed over the blades: drag(phi) rho (...) D.

    V: axial airspeed into the disc from ahead; n: signed rev/s. Positive torque is the air's,
    opposing positive rotation. angle: even steps over -pi..pi, closed (last value = first).
    """

    angle: ndarray  # (n,) rad
    thrust: ndarray  # (n,)
    torque: ndarray  # (n,)
    drag: ndarray  # (n,) its slope by rotor speed is the force at incidence, see `drive`


class Section(NamedTuple):
    """What sets the section's force, arrays (s, 1)."""

    thickness: ndarray  # over the chord
    reynolds: ndarray
    chord_radius: ndarray  # chord over radius, for the delay of stall by rotation
    aspect: float  # blade length over chord, for the separated plate


class Blade(NamedTuple):
    """Stations along one blade, all arrays (s, 1), lengths over the tip radius."""

    radius: ndarray
    width: ndarray  # radial length that the station stands for
    chord: ndarray
    pitch: ndarray  # angle of the flat face to the plane of rotation, rad
    solidity: ndarray  # blades * chord / (2 pi r)
    blades: int
    section: Section


def table(
    diameter: float,
    pitch: float,
    blades: int,
    blade_width: float,
    blade_thickness: float,
    backwards: bool = False,
    reynolds_speed: float = 60.0,
) -> PropellerTable:
    """Table of a propeller of given diameter, pitch, blade width and thickness at 0.75 R, all m.

    reynolds_speed: speed of the blade at 0.75 R [m/s] at which the section data hold. One table
    serves all speeds: a propeller turning at a third of it is overrated, by up to a fifth of its
    thrust (10x4.7 slow-fly, measured); another table for that speed would mend a fifth of that.
    backwards: fitted back to front, round face aft and trailing edge leading. That is the same
    propeller seen from its other end: the table half a turn away with both signs changed.
    Raises ValueError for a size that is no propeller.
    """
    sizes = (diameter, pitch, blade_width, blade_thickness, reynolds_speed)
    if not all(np.isfinite(sizes)) or blades < 1 or min(sizes) <= 0.0:
        raise ValueError(f"a propeller has sizes above zero and a blade, not {sizes}, {blades}")
    blade = _blade(diameter, pitch, blades, blade_width, blade_thickness, reynolds_speed)
    angle = np.linspace(-np.pi, np.pi, round(2.0 * np.pi / TABLE_STEP) + 1)
    columns = _forces(blade, angle)
    for column in columns:
        column[-1] = column[0]
    if backwards:
        return PropellerTable(angle, *(-_half_turn(column) for column in columns))
    return PropellerTable(angle, *columns)


def coefficients(
    propeller: PropellerTable, advance_ratio: ndarray | float
) -> tuple[ndarray, ndarray]:
    """(CT, CP) at advance ratio J = V/(n D), n > 0: CT = T/(rho n^2 D^4), CP = P/(rho n^3 D^5)."""
    ratio = np.asarray(advance_ratio, dtype=float)
    angle = np.arctan2(ratio, 0.75 * np.pi)
    scale = ratio**2 + (0.75 * np.pi) ** 2
    thrust = np.interp(angle, propeller.angle, propeller.thrust)
    torque = np.interp(angle, propeller.angle, propeller.torque)
    return thrust * scale, 2.0 * np.pi * torque * scale


def _half_turn(values: ndarray) -> ndarray:
    """Values of a closed table, read half a turn further."""
    open_end = values[:-1]
    turned = np.roll(open_end, open_end.size // 2)
    return np.append(turned, turned[0])


def _blade(
    diameter: float, pitch: float, blades: int, width: float, thickness: float, speed: float
) -> Blade:
    """Stations of a blade whose flat face is a true screw: tan(pitch angle) = P / (2 pi r)."""
    edge = np.linspace(0.0, 0.5 * np.pi, STATIONS + 1)
    edges = HUB + (1.0 - HUB) * np.sin(edge)
    radius = (0.5 * (edges[1:] + edges[:-1]))[:, None]
    tip = 0.5 * diameter
    chord = width / tip * np.interp(radius, PLANFORM[:, 0], PLANFORM[:, 1])
    ratio = thickness / width * np.interp(radius, PLANFORM[:, 0], PLANFORM[:, 2])
    reynolds = speed * radius / 0.75 * chord * tip / AIR_VISCOSITY
    section = Section(ratio, reynolds, chord / radius, (1.0 - HUB) * tip / width)
    return Blade(
        radius,
        np.diff(edges)[:, None],
        chord,
        np.arctan2(pitch, 2.0 * np.pi * radius * tip),
        blades * chord / (2.0 * np.pi * radius),
        blades,
        section,
    )


def _forces(blade: Blade, angle: ndarray) -> tuple[ndarray, ndarray, ndarray]:
    """Thrust, torque and drag columns at each direction `angle` (n,) of the air at 0.75 R."""
    inflow = np.arange(-np.pi, np.pi - 0.5 * INFLOW_STEP, INFLOW_STEP)[None, :]
    axial, turning, _, _ = _undisturbed(blade, inflow)
    wanted_axial = np.sin(angle)[None, :]
    wanted_turning = np.cos(angle)[None, :] * blade.radius / 0.75
    wanted = np.arctan2(wanted_axial, wanted_turning)
    phi = _invert(np.arctan2(axial, turning), inflow[0], wanted)
    axial, turning, normal, along = _undisturbed(blade, phi)
    # local airspeed squared over V^2 + (0.75 Omega R)^2
    speed2 = (wanted_axial**2 + wanted_turning**2) / (axial**2 + turning**2)
    # 1/2 rho W^2 c dr per blade; lengths over R = D/2
    load = 0.5 * blade.blades * blade.chord * blade.width * speed2
    thrust = np.sum(load * normal, axis=0) / 4.0
    torque = np.sum(load * along * blade.radius, axis=0) / 8.0
    drag = np.sum(load * along / blade.radius, axis=0) / 2.0
    return thrust, torque, drag


def _undisturbed(blade: Blade, phi: ndarray) -> tuple[ndarray, ndarray, ndarray, ndarray]:
    """Air far ahead over the local airspeed W, for inflow angle phi: (V/W, Omega r/W, Cn, Ct).

    Momentum: dT = 4 pi r rho F v_a |u| dr, dQ = 4 pi r^2 rho F v_t |u| dr, with F the tip and hub
    loss, v_a and v_t the induced velocities at the disc, u = V + v_a the flow through it, so that
    W^2 sigma Cn / (4 F) = v_a |u|. Cn is along the thrust, Ct against the rotation.
    Source: Glauert, Airplane Propellers, in Durand, Aerodynamic Theory IV, 1935; Ning, Wind
    Energy 17(9), 2014 for the inflow angle as the one unknown. From memory.
    """
    sine, cosine = np.sin(phi), np.cos(phi)
    lift, drag = _section_force(blade.section, blade.pitch - phi, cosine**2)
    normal = lift * cosine - drag * sine
    along = lift * sine + drag * cosine
    loss = _tip_hub_loss(blade, np.abs(sine))
    # induced velocity that the same load would give at rest, over W
    rest = np.sqrt(np.maximum(blade.solidity * np.abs(normal) / (4.0 * loss), 1e-12))
    sign = np.where(normal >= 0.0, 1.0, -1.0)
    through = sign * sine / rest
    axial = sign * rest * _climb(through)
    induced = through - _climb(through)  # over `rest`, in the direction of the thrust: positive
    flow = np.hypot(rest / induced, SWIRL_FLOOR)
    turning = cosine + blade.solidity * along / (4.0 * loss * flow)
    return axial, turning, normal, along


def _climb(through: ndarray) -> ndarray:
    """Axial airspeed of a rotor against the flow through it, both over the induced speed at rest.

    Momentum theory for |through| >= 1: climb = through - 1/|through|: propeller and light windmill.
    Between, where momentum theory fails (vortex ring, turbulent windmill), the smooth curve with
    the same values and slopes at both ends that gives a thrust coefficient of 2 at no through-flow.
    Source: Buhl, NREL/TP-500-36834, 2005 for the value 2; from memory.
    """
    inside = np.clip(through, -1.0, 1.0)
    bridge = -1.5 + inside + 0.5 * inside**2 + (1.5 - np.sqrt(2.0)) * (1.0 - inside**2) ** 2
    size = np.maximum(np.abs(through), 1.0)
    return np.where(np.abs(through) < 1.0, bridge, through - 1.0 / size)


def _tip_hub_loss(blade: Blade, sine: ndarray) -> ndarray:
    """Prandtl's factor for a finite number of blades at the tip and at the hub.

    Source: Prandtl's appendix to Betz, 1919, with the local inflow angle after Glauert, 1935.
    """
    half = 0.5 * blade.blades / np.maximum(sine, 1e-6)
    tip = np.exp(-half * (1.0 - blade.radius) / blade.radius)
    hub = np.exp(-half * (blade.radius - HUB) / HUB)
    return np.maximum((2.0 / np.pi) ** 2 * np.arccos(tip) * np.arccos(hub), 1e-4)


def _invert(direction: ndarray, inflow: ndarray, wanted: ndarray) -> ndarray:
    """Inflow angle for each wanted direction (s, n).

    At each station direction (s, m) goes once round while inflow (m,) goes once round.
    """
    turn = 2.0 * np.pi
    inflows = np.concatenate([inflow - turn, inflow, inflow + turn])
    found = np.empty_like(wanted)
    for row, (curve, want) in enumerate(zip(direction, wanted, strict=True)):
        once = np.unwrap(curve)
        whole = np.concatenate([once - turn, once, once + turn])
        rising = np.maximum.accumulate(whole)
        falling = np.minimum.accumulate(whole[::-1])[::-1]
        found[row] = np.interp(want, 0.5 * (rising + falling), inflows)
    return found


def _section_force(section: Section, alpha: ndarray, rotation: ndarray) -> tuple[ndarray, ndarray]:
    """(cl, cd) of a flat-bottomed section, its flat face at any angle alpha [rad] to the air.

    Attached, nose or trailing edge leading, faired into the separated plate. rotation: share of
    the airspeed squared that comes from turning, 0..1; it delays the stall. alpha (s, n).
    Zero lift: the mean line of a flat-bottomed section of thickness t is an arc rising t/2 over
    the chord c; thin-aerofoil theory gives -2 (t/2)/c = -t/c rad to the flat face. The boundary
    layer takes part of it: Clark Y, t/c 0.117, -5.7 degrees at large Reynolds number for -6.7.
    With the trailing edge leading, the round nose behind takes more.
    Source: thin-aerofoil theory of the arc; separated plate ECN-RX-01-004, 2001; delay of stall
    Snel, Houwink, Bosschers, ECN-C--93-052, 1993, from memory. The other constants lie within what
    is remembered of wind-tunnel tests of model sections (slope 0.85 to 1 of 2 pi, largest lift
    1.1 to 1.4, drag 0.015 to 0.03 at Re 1e5); within that spread they were set once, for all
    propellers together, against eleven measured ones. They are not a theory.
    Valid for: Re 1e4 to 5e5, thickness up to about 15 %. Friction grows by Re^-1/2, as laminar
    friction does (Blasius), on to the slowest: 1.5e4 was measured.
    """
    scale = 1e5 / np.clip(section.reynolds, LEAST_REYNOLDS, MOST_REYNOLDS)
    camber = np.minimum(section.thickness, MOST_THICKNESS)
    ahead = _wrap(alpha + camber * (CAMBER_KEPT - CAMBER_LOST * scale))
    behind = _wrap(alpha - np.pi - camber * CAMBER_KEPT_REVERSED)
    attached = _between(ahead, STALL_BELOW, STALL_ABOVE)
    reversed_ = _between(behind, STALL_REVERSED, STALL_REVERSED)
    line = SLOPE * np.where(np.abs(ahead) < 0.5 * np.pi, np.sin(ahead), np.sin(behind))
    friction = DRAG * np.sqrt(scale)
    smooth = friction + DRAG_LIFT * np.square(line - 0.4)
    rough = DRAG_REVERSED * np.sqrt(scale) + DRAG_LIFT * np.square(line)
    normal = normal_force(alpha, section.aspect)
    # rotation gives back part of the attached lift; with no suction at the edge, as normal force
    delay = np.minimum(STALL_DELAY * section.chord_radius**2, 0.8) * rotation
    delay = delay * np.clip(np.cos(ahead), 0.0, 1.0) ** 4
    normal = normal + delay * (line - normal * np.cos(alpha))
    apart = 1.0 - attached - reversed_
    lift = (attached + reversed_) * line + apart * normal * np.cos(alpha)
    drag = attached * smooth + reversed_ * rough
    return lift, drag + apart * (friction + normal * np.sin(alpha))


def _between(angle: ndarray, below: float, above: float) -> ndarray:
    """1 between -below and above, 0 outside, faired over STALL_WIDTH."""
    up = 1.0 / (1.0 + np.exp(np.clip((angle - above) / STALL_WIDTH, -50.0, 50.0)))
    down = 1.0 / (1.0 + np.exp(np.clip((-angle - below) / STALL_WIDTH, -50.0, 50.0)))
    return up * down


def _wrap(angle: ndarray) -> ndarray:
    """The same angle within -pi..pi."""
    return np.remainder(angle + np.pi, 2.0 * np.pi) - np.pi
