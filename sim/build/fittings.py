"""Drag areas of all that is not a sheet, from the sizes in the file: items, wheels, wires.

Blunt bodies at these Reynolds numbers (1e3 of a wire to 5e4 of a pack) are below the drag crisis
and have drag by their shape alone. What has no size has no drag. Not counted: what one part
takes off or adds in the wake of another, and linkages.
"""

from __future__ import annotations

from typing import NamedTuple

import numpy as np

from firstthrow.sim.build.shape import Piece, pieces
from firstthrow.sim.build.weights import AXES, Balance, body_place
from firstthrow.sim.describe.airframe import Airframe, Contact, Item, Wheel

# Drag coefficient over the frontal area of a cylinder along the stream, by length over diameter;
# a box by the circle of the same area. Source: Hoerner, Fluid-Dynamic Drag, 1965, ch. 3; from
# memory, good to 15 %: 1.17 of a disc, 0.85 of a long blunt body; a cube has 1.05 for 0.96 here.
ALONG = np.array([(0.0, 1.17), (0.5, 1.15), (1.0, 0.91), (2.0, 0.85), (4.0, 0.87), (8.0, 0.99)])
# Of a cylinder square to the stream, by the same ratio. Same source, below the drag crisis.
ACROSS = np.array(
    [(0.0, 0.63), (1.0, 0.64), (2.0, 0.68), (5.0, 0.74), (10.0, 0.82), (20.0, 0.91), (40.0, 0.98)]
)
WIRE = 1.1  # of a long wire, 1.0 at Reynolds number 1e3 and 1.2 at 1e4; same source
WHEEL = 0.4  # over diameter times width; 0.25 with a smooth fairing, 0.5 square; same source
WHEEL_WIDTH = 1.0 / 3.0  # of its diameter where the file has none, common practice
SHELTERED = 0.5  # of a part in or on a sheet is felt; between 0.25 and 0.75, our assumption
NEAR = 0.003  # a part this far off a sheet's skin still lies on it [m]
REACH = 0.85  # radius of a stream over the propeller's, between 1 and 0.71 (momentum theory)


class Fitting(NamedTuple):
    """One part: its middle in the builder's frame [m], drag areas aft, right and up [m2]."""

    name: str
    place: np.ndarray
    area: np.ndarray
    size: float  # half its width across the stream [m]


def _blunt(length: float, frontal: float) -> float:
    """Drag area of a blunt body with its length along the stream."""
    if frontal <= 0.0:
        return 0.0
    fineness = length / np.sqrt(4.0 * frontal / np.pi)
    return frontal * float(np.interp(fineness, ALONG[:, 0], ALONG[:, 1]))


def item_areas(item: Item) -> np.ndarray:
    """Drag areas aft, right and up, in the open."""
    if item.shape == "box":
        a, b, c = item.length, item.width, item.height
        return np.array([_blunt(a, b * c), _blunt(b, a * c), _blunt(c, a * b)])
    if item.shape == "rod" and item.diameter:
        long = item.length / item.diameter
        side = item.length * item.diameter
        areas = np.full(3, side * float(np.interp(long, ACROSS[:, 0], ACROSS[:, 1])))
        areas[AXES[item.along]] = _blunt(item.length, 0.25 * np.pi * item.diameter**2)
        return areas
    return np.zeros(3)


def _half_sizes(item: Item) -> np.ndarray:
    if item.shape == "box":
        return 0.5 * np.array([item.length, item.width, item.height])
    half = np.full(3, 0.5 * item.diameter)
    half[AXES[item.along]] = 0.5 * item.length
    return half


def _lies_on(place: np.ndarray, half: np.ndarray, piece: Piece) -> bool:
    """Whether the middle of a part stands over a piece of sheet, its body in it or on its skin."""
    reach = np.abs(piece.normal) @ half + 0.5 * piece.thickness + NEAR
    if abs((place - piece.corners[0]) @ piece.normal) > reach:
        return False
    edges = np.roll(piece.corners, -1, axis=0) - piece.corners
    turns = np.cross(edges, place - piece.corners) @ piece.normal
    return bool(np.all(turns >= 0.0) or np.all(turns <= 0.0))


def _contact_fittings(name: str, contact: Contact) -> list[Fitting]:
    """A wheel and the wire that carries a wheel or a skid, on one side."""
    at, found = np.array([contact.aft, contact.right, contact.up]), []
    top = at
    if isinstance(contact, Wheel):
        wide = contact.width or WHEEL_WIDTH * 2.0 * contact.radius
        top = at + np.array([0.0, 0.0, contact.radius])
        area = WHEEL * 2.0 * contact.radius * wide
        areas = np.array([area, 1.17 * np.pi * contact.radius**2, area])
        found.append(Fitting(name, top, areas, 0.5 * wide))
    if contact.wire:
        long = contact.wire_length or abs(top[2])
        middle = top * [1.0, 1.0, 0.5]
        area = WIRE * contact.wire * long
        found.append(
            Fitting(f"{name}_wire", middle, np.array([area, area, 0.0]), 0.5 * abs(top[2]))
        )
    return found


def fittings(airframe: Airframe) -> list[Fitting]:
    """Every part that has a size, sheltered where it is in or on a sheet."""
    sheets, found = pieces(airframe), []
    for name, item in airframe.items.items():
        areas = item_areas(item)
        if not areas.any():
            continue
        place, half = np.array([item.aft, item.right, item.up]), _half_sizes(item)
        if any(_lies_on(place, half, piece) for piece in sheets):
            areas = SHELTERED * areas
        found.append(Fitting(name, place, areas, float(half[1:].max())))
    for name, contact in {**airframe.wheels, **airframe.skids}.items():
        for one in _contact_fittings(name, contact):
            found.append(one)
            if contact.mirrored:
                found.append(one._replace(place=one.place * [1.0, -1.0, 1.0]))
    return found


def fill_fittings(record, airframe: Airframe, at: Balance) -> None:
    """Into their lumps: the first in free air, one more in the stream of each motor."""
    lumps = np.zeros((1 + record.n_motors, 3))
    moments, grown = np.zeros((*lumps.shape, 3)), np.zeros((record.n_motors, 2))
    for one in fittings(airframe):
        place = body_place(one.place, at)
        area = airframe.corrections.drag * one.area
        left = 1.0
        for k in range(record.n_motors):
            share, growth = _in_stream(record, k, place, one.size)
            share = min(share, left)
            left -= share
            lumps[1 + k] += share * area
            moments[1 + k] += share * area[:, None] * place
            grown[k] += share * area[0] * np.array([growth, 1.0])
        lumps[0] += left * area
        moments[0] += left * area[:, None] * place
    n = len(lumps)
    record.fitting_drag[:n] = lumps
    record.fitting_place[:n] = moments / np.maximum(lumps, 1e-12)[..., None]
    record.fitting_grown[: n - 1] = grown[:, 0] / np.maximum(grown[:, 1], 1e-12)


def _in_stream(record, k: int, place: np.ndarray, size: float) -> tuple[float, float]:
    """Share of a part inside the stream of a motor, and what of the induced speed it meets."""
    offset, radius = place - record.motor_place[k], record.motor_radius[k]
    behind = -offset @ record.motor_axis[k]
    if behind <= 0.0:
        return 0.0, 0.0
    beside = np.linalg.norm(offset + behind * record.motor_axis[k])
    share = 0.5 + 0.5 * (REACH * radius - beside) / max(size, 1e-4)
    return float(np.clip(share, 0.0, 1.0)), float(1.0 + behind / np.hypot(behind, radius))
