"""What a hard landing does to the picture: a nose bent, a slab folded, shards and earth that lie
about, dust and grass thrown up. Pure."""

from __future__ import annotations

import math

import numpy as np

from firstthrow.scenes.world.meshes import AirframeMesh, Mesh
from firstthrow.sim.flight.outcome import Ending
from firstthrow.sim.units import GRAVITY

NOSE = 0.24  # of the length, from the foremost place: what bends
BENT, FOLDED = math.radians(52.0), math.radians(48.0)  # upwards both
SECONDS = 1.6  # that dust and grass are in the air
PUFFS, BLADES = 14, 30
SOIL, GREEN = (0.50, 0.42, 0.30), (0.27, 0.40, 0.14)
SHARDS, CLODS = 10, 16
ALL_TO_PIECES = 12.0  # [m/s]: from here on what lies about is no larger
FOAM, SHADED, DUG = (0.95, 0.94, 0.90), (0.74, 0.74, 0.72), (0.23, 0.17, 0.11)


def broken(mesh: AirframeMesh, ending: Ending) -> AirframeMesh:
    """As it lies there: the nose bent where it broke on the ground, both halves of a slab that
    folded; any other as it was."""
    if ending == Ending.BROKE:
        front = float(mesh.fixed.places[:, 0].max())
        cut = front - NOSE * mesh.length
        at = np.array([cut, 0.0, 0.0])
        creased = _creased(mesh.fixed, cut)
        fixed = _turned(creased, creased.places[:, 0] > cut + 1e-6, at, _about_y(BENT))
        props = tuple(
            prop._replace(
                place=at + _about_y(BENT) @ (prop.place - at), axis=_about_y(BENT) @ prop.axis
            )
            if prop.place[0] > cut
            else prop
            for prop in mesh.propellers
        )
        return mesh._replace(fixed=fixed, propellers=props)
    if ending == Ending.FOLDED:
        fixed, middle = mesh.fixed, np.zeros(3)
        parts = list(mesh.surfaces)
        for side in (-1.0, 1.0):
            turn = _about_x(-side * FOLDED)
            fixed = _turned(fixed, side * fixed.places[:, 1] > 0.02, middle, turn)
            for k, part in enumerate(parts):
                if side * part.mesh.places[:, 1].mean() > 0.02:
                    whole = np.ones(len(part.mesh.places), dtype=bool)
                    parts[k] = part._replace(
                        mesh=_turned(part.mesh, whole, middle, turn),
                        hinge=turn @ part.hinge,
                        axis=turn @ part.axis,
                    )
        return mesh._replace(fixed=fixed, surfaces=tuple(parts))
    return mesh


def _creased(mesh: Mesh, cut: float) -> Mesh:
    """The same with every triangle that crosses a place along the airframe cut in two there."""
    rows = np.concatenate(mesh, axis=1).reshape(-1, 3, 15)
    ahead = rows[:, :, 0] > cut
    crossing = ahead.any(axis=1) & ~ahead.all(axis=1)
    found = [rows[~crossing].reshape(-1, 15)]
    for corners, before in zip(rows[crossing], ahead[crossing], strict=True):
        alone = int(np.argmax(before)) if before.sum() == 1 else int(np.argmin(before))
        one, left, right = np.roll(corners, -alone, axis=0)
        p, q = (one + (end - one) * (cut - one[0]) / (end[0] - one[0]) for end in (left, right))
        found.append(np.array([one, p, q, p, left, right, p, right, q]))
    return Mesh(*np.split(np.concatenate(found), 5, axis=1))


def _turned(mesh: Mesh, which: np.ndarray, at: np.ndarray, turn: np.ndarray) -> Mesh:
    places, normals, spreads = (a.copy() for a in (mesh.places, mesh.normals, mesh.spreads))
    places[which] = at + (places[which] - at) @ turn.T
    normals[which], spreads[which] = normals[which] @ turn.T, spreads[which] @ turn.T
    return mesh._replace(places=places, normals=normals, spreads=spreads)


def _about_y(angle: float) -> np.ndarray:
    c, s = math.cos(angle), math.sin(angle)
    return np.array([[c, 0.0, s], [0.0, 1.0, 0.0], [-s, 0.0, c]])


def _about_x(angle: float) -> np.ndarray:
    c, s = math.cos(angle), math.sin(angle)
    return np.array([[1.0, 0.0, 0.0], [0.0, c, -s], [0.0, s, c]])


def strewn(place: np.ndarray, travel: np.ndarray, span: float) -> tuple:
    """(3n, 3) corners of triangles and (3n, 4) their tints: what stays where an airframe of that
    span broke on the grass, shards of foam that stand up and the earth it dug into on its way; the
    slower it came, the smaller."""
    size = span * min(1.0, float(np.linalg.norm(travel)) / ALL_TO_PIECES)
    chance = np.random.default_rng(5)
    ground = np.array([place[0], place[1], 0.0])
    along = np.array([travel[0], travel[1], 0.0])
    speed = float(np.linalg.norm(along))
    along = along / speed if speed > 1e-6 else np.array([1.0, 0.0, 0.0])
    side, up = np.array([-along[1], along[0], 0.0]), np.array([0.0, 0.0, -1.0])
    corners, tints = [], []
    for _ in range(SHARDS):
        spot = ground + size * (along * chance.uniform(-0.5, 1.5) + side * chance.normal(0.0, 0.5))
        turn, lean = chance.uniform(0.0, 2.0 * math.pi), chance.uniform(0.3, 1.2)
        flat = math.cos(turn) * along + math.sin(turn) * side
        rising = math.cos(lean) * (math.cos(turn) * side - math.sin(turn) * along)
        rising = rising + math.sin(lean) * up
        wide, tall = size * chance.uniform(0.05, 0.13), size * chance.uniform(0.06, 0.16)
        skew = chance.uniform(-0.5, 0.8)
        foot, far = spot - 0.5 * wide * flat, spot + 0.5 * wide * flat
        left, right = foot + tall * rising, far + tall * (rising + skew * flat)
        corners += [foot, far, left, left, far, right]
        tints += [(*(FOAM if chance.uniform() < 0.6 else SHADED), 1.0)] * 6
    for k in range(CLODS):
        back = size * (-1.6 * (k + 0.5) / CLODS + 0.4)
        spot = ground + back * along + 0.07 * size * chance.normal(0.0, 1.0) * side
        wide, tall = size * chance.uniform(0.06, 0.12), size * chance.uniform(0.03, 0.07)
        top = spot + tall * up
        ring = [
            spot + wide * (math.cos(a) * along + 0.6 * math.sin(a) * side)
            for a in np.linspace(0.0, 2.0 * math.pi, 7)[:-1] + chance.uniform(0.0, 1.0)
        ]
        for n in range(6):
            corners += [ring[n], ring[(n + 1) % 6], top]
            tints += [(*(np.array(DUG) * (0.8 + 0.1 * n)), 1.0)] * 3
    return np.array(corners), np.array(tints)


def thrown_up(place: np.ndarray, travel: np.ndarray, seconds: float, eye: np.ndarray) -> tuple:
    """(3n, 3) corners of triangles and (3n, 4) their tints, so long after an impact at a place on
    the grass, of an airframe that came with a velocity `travel` [m/s]."""
    chance = np.random.default_rng(3)
    ground = np.array([place[0], place[1], 0.0])
    along = np.array([travel[0], travel[1], 0.0])
    speed = float(np.linalg.norm(along))
    along = along / max(speed, 1e-6)
    hard = min(1.0, 0.25 + float(np.linalg.norm(travel)) / 14.0)
    away = ground - eye
    side = np.array([-away[1], away[0], 0.0])
    side, up = side / max(1e-6, float(np.linalg.norm(side))), np.array([0.0, 0.0, -1.0])
    left = 1.0 - seconds / SECONDS
    corners, tints = [], []
    for _ in range(PUFFS):
        way = along * chance.uniform(0.2, 1.6) + side * chance.normal(0.0, 0.6)
        spot = ground + hard * (1.0 - math.exp(-2.2 * seconds)) * way
        spot = spot + hard * up * chance.uniform(0.1, 0.7) * (1.0 - math.exp(-1.6 * seconds))
        size = hard * (0.12 + 0.5 * seconds) * chance.uniform(0.6, 1.2)
        for k in range(8):
            for n, turn in enumerate((None, k, k + 1)):
                ray = np.zeros(3)
                if turn is not None:
                    angle = 0.25 * math.pi * turn
                    ray = math.cos(angle) * side + 0.8 * math.sin(angle) * up
                corners.append(spot + size * ray)
                tints.append((*SOIL, 0.34 * left if n == 0 else 0.0))
    for _ in range(BLADES):
        start = hard * (along * chance.uniform(0.5, 3.5) + side * chance.normal(0.0, 1.0))
        rise = hard * chance.uniform(1.2, 3.6)
        spot = ground + seconds * start + up * (rise * seconds - 0.5 * GRAVITY * seconds**2)
        spot[2] = min(spot[2], -0.01)
        spun = chance.uniform(0.0, 6.3) + 7.0 * seconds
        long = 0.055 * (math.cos(spun) * side + math.sin(spun) * up)
        wide = 0.012 * (math.cos(spun) * up - math.sin(spun) * side)
        corners += [spot - wide, spot + wide, spot + long]
        tints += [(*GREEN, 1.0)] * 3
    return np.array(corners), np.array(tints)
