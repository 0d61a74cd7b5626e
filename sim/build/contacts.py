"""Where the airframe touches the ground, into its record: wheels, skids, the foam's corners."""

from __future__ import annotations

from math import ceil

import numpy as np

from firstthrow.sim.build.shape import pieces, surface_spans
from firstthrow.sim.build.strips import CannotFly
from firstthrow.sim.build.weights import Balance, body_place
from firstthrow.sim.describe.airframe import Airframe, Contact, Wheel
from firstthrow.sim.describe.field import Field
from firstthrow.sim.describe.sheets import Role
from firstthrow.sim.kernels.integrate import NEAR_CUTS, STEP
from firstthrow.sim.kernels.layout import MAX_CONTACTS

FOAM_STIFFNESS = 1500.0  # a foam corner pressed into turf [N/m], our estimate
FOAM_BREAKS = 5.0  # closing speed that cracks a foam edge [m/s], our estimate
DAMPING_RATIO = 0.4
SWING = 0.55  # of a contact's own swinging in a step, at most [rad]


def _contacts(airframe: Airframe) -> list[tuple[str, np.ndarray, Contact | None]]:
    found: list[tuple[str, np.ndarray, Contact | None]] = []
    for name, contact in {**airframe.wheels, **airframe.skids}.items():
        place = np.array([contact.aft, contact.right, contact.up])
        found.append((name, place, contact))
        if contact.mirrored:
            found.append((name, place * [1.0, -1.0, 1.0], contact))
    if len(found) > MAX_CONTACTS // 2:
        raise CannotFly(f"wheels, skids: {len(found)} of them: wanted {MAX_CONTACTS // 2} or fewer")
    return found + _corners(airframe, MAX_CONTACTS - len(found))


def _corners(airframe: Airframe, room: int) -> list[tuple[str, np.ndarray, None]]:
    """Corners of the foam, the farthest from all others first, so that where there is room for
    some of them only, tips and tails are among them. Those within 3 cm of another are left out."""
    named = [(piece.sheet, corner) for piece in pieces(airframe) for corner in piece.corners]
    place = np.array([corner for _, corner in named])
    gap = np.linalg.norm(place - place.mean(axis=0), axis=1)
    chosen: list[int] = []
    while len(chosen) < room and gap.max() > 0.03:
        chosen.append(int(np.argmax(gap)))
        gap = np.minimum(gap, np.linalg.norm(place - place[chosen[-1]], axis=1))
    return [(named[k][0], named[k][1], None) for k in chosen]


def contact_places(airframe: Airframe, at: Balance) -> np.ndarray:
    """(n, 3) where it can touch, body axes from the centre of gravity [m]."""
    return np.array([body_place(place, at) for _, place, _ in _contacts(airframe)])


def reach(records: np.ndarray) -> np.ndarray:
    """(n,) no part of an airframe that can touch is further from its centre of gravity than this
    [m]; records: (n,) RECORD of the same contacts and motors."""
    contacts, motors = int(records["n_contacts"][0]), int(records["n_motors"][0])
    touch = np.linalg.norm(records["contact_place"][:, :contacts], axis=2)
    discs = np.linalg.norm(records["motor_place"][:, :motors], axis=2)
    discs += records["motor_radius"][:, :motors]
    return np.concatenate([touch, discs], axis=1).max(axis=1, initial=0.0)


def fill_contacts(record, airframe: Airframe, field: Field, at: Balance) -> tuple[str, ...]:
    contacts = _contacts(airframe)
    record.n_contacts = len(contacts)
    spans, quickest = surface_spans(airframe), 0.0
    rudder = next(
        (s for s in spans if airframe.sheets[s.sheet].surfaces[s.surface].role == Role.RUDDER), None
    )
    for k, (_, place, contact) in enumerate(contacts):
        x, y, z = body_place(place, at)
        record.contact_place[k] = (x, y, z)
        stiffness = contact.stiffness if contact else FOAM_STIFFNESS
        push = np.array([0.0, 0.0, 1.0, y, -x, 0.0])
        carried = 1.0 / (push @ record.mass_inverse @ push)
        record.contact_stiffness[k] = stiffness
        quickest = max(quickest, float(np.sqrt(stiffness / carried)))
        record.contact_damping[k] = 2.0 * DAMPING_RATIO * np.sqrt(stiffness * carried)
        record.contact_friction[k] = contact.friction if contact else field.ground.friction
        wheel = contact if isinstance(contact, Wheel) else None
        record.contact_rolling[k] = wheel.rolling if wheel else record.contact_friction[k]
        record.contact_breaks[k] = contact.breaks_at if contact else FOAM_BREAKS
        steered = rudder is not None and wheel is not None and wheel.steers
        record.contact_steers[k] = rudder.slot if rudder is not None and steered else -1
        # A wheel behind turns the other way, as on any tail-dragger.
        record.contact_steer_ratio[k] = 1.0 if x > 0.0 else -1.0
    record.roll_cuts = min(NEAR_CUTS, max(1, ceil(quickest * STEP / SWING)))
    record.reach = reach(np.array([record]))[0]
    return tuple(name for name, _, _ in contacts)
