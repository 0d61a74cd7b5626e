"""Where the airframe touches the ground, into its record: wheels, skids, the foam's corners."""

from __future__ import annotations

import numpy as np

from sim.airframe import Airframe, Contact, Wheel
from sim.field import Field
from sim.layout import MAX_CONTACTS, body_place
from sim.shape import pieces, surface_spans
from sim.weights import Balance

FOAM_STIFFNESS = 1500.0  # a foam corner pressed into turf [N/m], our estimate
FOAM_BREAKS = 5.0  # closing speed that cracks a foam edge [m/s], our estimate
DAMPING_RATIO = 0.4


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


def fill_contacts(record, airframe: Airframe, field: Field, at: Balance) -> tuple[str, ...]:
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
    # No part of the airframe that touches is further from the centre of gravity than this.
    far = [np.linalg.norm(record.contact_place[: len(contacts)], axis=1).max(initial=0.0)]
    far += [
        np.linalg.norm(record.motor_place[k]) + record.motor_radius[k]
        for k in range(record.n_motors)
    ]
    record.reach = max(far)
    return tuple(name for name, _, _ in contacts)
