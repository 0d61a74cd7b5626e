"""Mass, centre of gravity and inertia from the parts.

Thin plates: the inertia of a plane quad is exact (second moments of its two triangles),
with its thickness added as for a slab. Boxes, rods and points by the parallel-axis theorem.
Source: any text on statics; checked against closed forms in the tests.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from typing import NamedTuple

import numpy as np

from firstthrow.sim.build.shape import Piece, SurfaceSpan, area, pieces_of, planes, spans_of
from firstthrow.sim.describe.airframe import Airframe, Item
from firstthrow.sim.describe.materials import MATERIALS
from firstthrow.sim.describe.sheets import Sheet, Spar
from firstthrow.sim.once import once_for

AXES = {"aft": 0, "right": 1, "up": 2}


class Part(NamedTuple):
    """A lump: place of its own centre [m], inertia about that centre [kg m2], builder's frame."""

    name: str
    mass: float
    place: np.ndarray
    inertia: np.ndarray  # (3, 3)
    source: str  # measured, guessed, or computed from the material


class Balance(NamedTuple):
    mass: float
    place: np.ndarray  # centre of gravity from the datum [m]
    inertia: np.ndarray  # (3, 3) about it, builder's frame


class Lumps(NamedTuple):
    """Parts as arrays."""

    names: tuple[str, ...]
    mass: np.ndarray  # (n,)
    place: np.ndarray  # (n, 3)
    inertia: np.ndarray  # (n, 3, 3)

    def balance(self) -> Balance:
        """Raises ValueError when there is nothing to balance."""
        mass = float(self.mass.sum())
        if not mass > 0.0:
            raise ValueError("the airframe weighs nothing: give its sheets or items a mass")
        place = self.mass @ self.place / mass
        offset = self.place - place
        inertia = self.inertia.sum(axis=0) + _to_inertia((self.mass * offset.T) @ offset)
        return Balance(mass, place, inertia)


def stacked(found: tuple[Part, ...]) -> Lumps:
    return Lumps(
        tuple(part.name for part in found),
        np.array([part.mass for part in found]),
        np.array([part.place for part in found]).reshape(-1, 3),
        np.array([part.inertia for part in found]).reshape(-1, 3, 3),
    )


def _second_moment(points: np.ndarray) -> np.ndarray:
    """Mean of x x^T over a triangle: (sum x x^T + 9 c c^T) / 12."""
    centre = points.mean(axis=0)
    return (points.T @ points + 9.0 * np.outer(centre, centre)) / 12.0


def _to_inertia(second: np.ndarray) -> np.ndarray:
    return np.trace(second) * np.eye(3) - second


def plate(name: str, pieces_: list[Piece], areal_density: float, source: str) -> Part:
    """A flat part made of quads of one areal density [kg/m2]."""
    mass, first, second = 0.0, np.zeros(3), np.zeros((3, 3))
    for piece in pieces_:
        c = piece.corners
        for triangle in (c[[0, 1, 2]], c[[0, 2, 3]]):
            size = 0.5 * np.linalg.norm(
                np.cross(triangle[1] - triangle[0], triangle[2] - triangle[0])
            )
            lump = areal_density * size
            mass += float(lump)
            first += lump * triangle.mean(axis=0)
            second += lump * _second_moment(triangle)
            second += lump * piece.thickness**2 / 12.0 * np.outer(piece.normal, piece.normal)
    place = first / mass
    return Part(name, mass, place, _to_inertia(second - mass * np.outer(place, place)), source)


def _box(mass: float, size: Sequence[float] | np.ndarray) -> np.ndarray:
    return _to_inertia(np.diag(np.square(size)) * mass / 12.0)


def item_part(name: str, item: Item) -> Part:
    size = np.array([item.length, item.width, item.height])
    if item.shape == "rod":
        # Across it a round rod is as lazy as a box of this width.
        size = np.full(3, np.sqrt(0.75) * item.diameter)
        size[AXES[item.along]] = item.length
    elif item.shape == "point":
        size = np.zeros(3)
    place = np.array([item.aft, item.right, item.up])
    return Part(name, item.mass, place, _box(item.mass, size), item.known)


def section_area(spar: Spar) -> float:
    """Cross-section of a spar [m2]."""
    if spar.section == "strip":
        return spar.outside * spar.width
    return 0.25 * np.pi * (spar.outside**2 - spar.inside**2)


def spar_part(name: str, spar: Spar) -> Part:
    mass = MATERIALS[spar.material].density * section_area(spar) * spar.length
    place = np.array([spar.aft, spar.right, spar.up])
    return Part(name, mass, place, _box(mass, (0.0, spar.length, 0.0)), "computed")


def _sheet_parts(
    name: str, sheet: Sheet, all_pieces: tuple[Piece, ...], spans: tuple[SurfaceSpan, ...]
) -> list[Part]:
    fixed = [p for p in all_pieces if p.sheet == name and p.surface < 0]
    areal = MATERIALS[sheet.material].density * sheet.thickness
    source = "computed"
    if sheet.mass is not None:
        areal, source = sheet.mass / sum(area(p.corners) for p in fixed), "measured"
    parts = [plate(name, fixed, areal, source)]
    for span in spans:
        if span.sheet != name:
            continue
        surface = sheet.surfaces[span.surface]
        moving = [p for p in all_pieces if p.surface == span.slot]
        if not moving:  # torn off
            continue
        thick = surface.thickness or sheet.thickness
        density = MATERIALS[surface.material or sheet.material].density
        size = sum(area(p.corners) for p in moving)
        if surface.mass is None:
            parts.append(plate(span.name, moving, density * thick, "computed"))
        else:
            parts.append(plate(span.name, moving, surface.mass / size, "measured"))
    mirrored = len(planes(name, sheet)) > 1
    for spar_name, spar in sheet.spars.items():
        parts.append(spar_part(spar_name, spar))
        if mirrored and spar.right != 0.0:
            parts.append(
                spar_part(f"{spar_name}_left", spar.model_copy(update={"right": -spar.right}))
            )
    return parts


@once_for(16)
def _all_sheet_parts(sheets: Mapping[str, Sheet]) -> tuple[Part, ...]:
    """Worked out once for the same sheets, whatever else changes."""
    every, spans = pieces_of(sheets), spans_of(sheets)
    return tuple(
        part for name, sheet in sheets.items() for part in _sheet_parts(name, sheet, every, spans)
    )


@once_for(16)
def parts(airframe: Airframe) -> tuple[Part, ...]:
    found = list(_all_sheet_parts(airframe.sheets))
    found += [item_part(name, item) for name, item in airframe.items.items()]
    for name, motor in airframe.motors.items():
        disc = motor.propeller
        place = np.array([motor.aft, motor.right, motor.up])
        inertia = _box(disc.mass, (0.0, disc.size[0], 0.0))
        found.append(Part(f"{name}_propeller", disc.mass, place, inertia, "measured"))
    if airframe.corrections.balance:
        shift = np.array([airframe.corrections.balance, 0.0, 0.0])
        found = [part._replace(place=part.place + shift) for part in found]
    return tuple(found)


def balance(found: tuple[Part, ...]) -> Balance:
    """Raises ValueError when there is nothing to balance."""
    return stacked(found).balance()


TO_BODY = np.diag([-1.0, 1.0, -1.0])  # builder's frame to body axes


def body_place(place: Sequence[float] | np.ndarray, at: Balance) -> np.ndarray:
    """Builder's place to body axes about the centre of gravity."""
    return (np.asarray(place) - at.place) @ TO_BODY
