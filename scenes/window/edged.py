"""Which boxes of the picture have edges to soften: everything else on it ends in haze, in leaves or
in the mown grass. Pure."""

from __future__ import annotations

from collections.abc import Sequence
from itertools import product
from typing import NamedTuple

import numpy as np

from firstthrow.scenes.world.camera import Box, Pose, View
from firstthrow.scenes.world.matrices import (
    NEAR,
    body_matrix,
    camera_matrix,
    propeller_matrix,
    turn_about,
)
from firstthrow.scenes.world.meshes import AirframeMesh, Mesh
from firstthrow.sim.once import once_for

MARGIN = 3  # pixels round what is projected: thin sheets are drawn thicker, far away
TILE = 32  # pixels: the boxes along a line are made of squares so large
STEP = 8.0  # [pixels] along a line from one look at the square it is in to the next
MOST = 0.6  # of the picture; above it, all of it is softened in one go
SPARED = 4  # squares: a box of its own takes as long as softening so many more
FLUSH = 0.95  # cosine of half the angle by which two faces turn that meet without an edge
SMALL = 0.03  # of the picture: what takes no more is softened as a whole, not along its edges


def edges(mesh: Mesh) -> np.ndarray:
    """(m, 2, 3) lines where a face ends, or meets another at an angle."""
    corners = np.round(mesh.places, 4).reshape(-1, 3, 3)
    if not len(corners):
        return np.zeros((0, 2, 3))
    sides = np.stack([corners, np.roll(corners, -1, axis=1)], axis=2).reshape(-1, 2, 3)
    turned = _after(sides[:, 0], sides[:, 1])
    sides[turned] = sides[turned, ::-1]
    normals = np.repeat(mesh.normals[::3], 3, axis=0)
    found, which, count = np.unique(
        sides.reshape(-1, 6), axis=0, return_inverse=True, return_counts=True
    )
    total = np.zeros((len(found), 3))
    np.add.at(total, which.ravel(), normals)
    flush = (count > 1) & (np.linalg.norm(total, axis=1) > FLUSH * count)
    return found[~flush].reshape(-1, 2, 3)


def _after(one: np.ndarray, other: np.ndarray) -> np.ndarray:
    """(n,) whether rows of `one` come after those of `other`, by the first place they differ in."""
    differ = one != other
    first = np.argmax(differ, axis=1)
    rows = np.arange(len(one))
    return one[rows, first] > other[rows, first]


class Edges(NamedTuple):
    """(m, 2, 3) each: of what is fixed, of each surface as built, of each propeller's blades; and
    (8, 3) round all of it, wherever surfaces and blades stand."""

    fixed: np.ndarray
    surfaces: list[np.ndarray]
    blades: list[np.ndarray]
    around: np.ndarray


@once_for(4)
def edges_of(mesh: AirframeMesh) -> Edges:
    reached = [mesh.fixed.places]
    for part in mesh.surfaces:  # up and down by as much as it is deep
        deep = np.abs((part.mesh.places - part.hinge)[:, :1]) * (0.0, 0.0, 1.0)
        reached += [part.mesh.places - deep, part.mesh.places + deep]
    for prop in mesh.propellers:
        reached += [prop.place[None] - prop.radius, prop.place[None] + prop.radius]
    places = np.concatenate(reached)
    return Edges(
        edges(mesh.fixed),
        [edges(part.mesh) for part in mesh.surfaces],
        [edges(prop.blades) for prop in mesh.propellers],
        np.array(list(product(*zip(places.min(0), places.max(0), strict=True)))),
    )


def around(mesh: AirframeMesh, pose: Pose) -> np.ndarray:
    """(8, 3) field axes: corners of a box that an airframe is in as it stands."""
    body = body_matrix(pose)
    return edges_of(mesh).around @ body[:3, :3].T + body[:3, 3]


def lines_of(mesh: AirframeMesh, pose: Pose) -> np.ndarray:
    """(m, 2, 3) field axes: every edge of an airframe as it stands."""
    body, known = body_matrix(pose), edges_of(mesh)
    found = [(known.fixed, body)]
    for part, lines in zip(mesh.surfaces, known.surfaces, strict=True):
        angle = pose.surfaces[part.surface]
        found.append((lines, body @ turn_about(part.hinge, part.axis, angle)))
    for k, (prop, lines) in enumerate(zip(mesh.propellers, known.blades, strict=True)):
        own = propeller_matrix(prop.place, prop.axis, prop.sense * pose.turns[k])
        found.append((lines, body @ own))
    return np.concatenate([lines @ at[:3, :3].T + at[:3, 3] for lines, at in found])


def box_of(camera: np.ndarray, size: tuple[int, int], corners: np.ndarray) -> Box | None:
    """Of the (n, 3) field places round a thing, None where nothing of it is in the picture."""
    wide, tall = size
    ends = corners @ camera[:, :3].T + camera[:, 3]
    depths = ends[:, 3]
    if depths.min() < NEAR:  # as far as it lies before the eye
        ahead = depths >= NEAR
        front, back = ends[ahead][:, None], ends[~ahead][None, :]
        share = (front[..., 3:] - NEAR) / (front[..., 3:] - back[..., 3:])
        ends = np.concatenate([ends[ahead], (front + share * (back - front)).reshape(-1, 4)])
        if not len(ends):
            return None
    places = ends[:, :2] / ends[:, 3:]
    (left, low), (right, high) = places.min(axis=0).tolist(), places.max(axis=0).tolist()
    x0, x1 = _pixel(left, wide, -MARGIN), _pixel(right, wide, MARGIN)
    y0, y1 = _pixel(low, tall, -MARGIN), _pixel(high, tall, MARGIN)
    return (x0, y0, x1 - x0, y1 - y0) if x1 > x0 and y1 > y0 else None


def _pixel(place: float, size: int, margin: int) -> int:
    """Of -1..1 across `size` pixels, moved by a margin, within them."""
    return int(min(max(0.5 * size * (1.0 + place) + margin, 0), size))


def through(view: View, size: tuple[int, int], mesh: AirframeMesh, pose: Pose) -> Box:
    """Of an airframe that is looked at closely, whatever of the picture it takes."""
    found = box_of(camera_matrix(view, size[0] / size[1]), size, around(mesh, pose))
    return (0, 0, *size) if found is None else found


def boxes_along(camera: np.ndarray, size: tuple[int, int], lines: np.ndarray) -> list[Box]:
    """Of the (m, 2, 3) lines in field axes: together they hold every pixel that one crosses."""
    wide, tall = size
    ends = lines @ camera[:, :3].T + camera[:, 3]
    one, other = ends[:, 0], ends[:, 1]
    start, end = np.zeros(len(lines)), np.ones(len(lines))
    bounds = [(one[:, 3] - NEAR, other[:, 3] - NEAR)]
    bounds += [
        (one[:, 3] + side * one[:, axis], other[:, 3] + side * other[:, axis])
        for axis in (0, 1)
        for side in (1.0, -1.0)
    ]
    with np.errstate(divide="ignore", invalid="ignore"):
        for a, b in bounds:  # Source: Liang and Barsky 1984: what is left of a line inside
            cut = a / (a - b)
            start = np.where(a < 0.0, np.maximum(start, np.where(b < 0.0, 2.0, cut)), start)
            end = np.where((b < 0.0) & (a >= 0.0), np.minimum(end, cut), end)
    seen = start < end
    one, way = one[seen], (other - one)[seen]
    start, end = start[seen], end[seen]
    first, last = (_pixels(one + share[:, None] * way, size) for share in (start, end))
    counts = 2 + (np.abs(last - first).max(axis=1) / STEP).astype(int)
    which = np.repeat(np.arange(len(counts)), counts)
    at = np.arange(len(which)) - np.repeat(np.cumsum(counts) - counts, counts)
    share = at / (counts[which] - 1)
    places = first[which] + share[:, None] * (last - first)[which]
    marked = np.zeros((tall // TILE + 1, wide // TILE + 1), dtype=bool)
    for x in (-MARGIN - 1, MARGIN + 1):
        for y in (-MARGIN - 1, MARGIN + 1):
            columns = np.clip(places[:, 0] + x, 0, wide - 1).astype(int) // TILE
            marked[np.clip(places[:, 1] + y, 0, tall - 1).astype(int) // TILE, columns] = True
    return _joined(marked)


def _pixels(ends: np.ndarray, size: tuple[int, int]) -> np.ndarray:
    """(n, 2) from clip space; a line is straight in both."""
    return 0.5 * np.array(size) * (1.0 + ends[:, :2] / ends[:, 3:])


def _joined(marked: np.ndarray) -> list[Box]:
    """Boxes over all marked squares: a run in a row joins the box that ends below it, where that
    takes in few squares more."""
    change = np.diff(np.pad(marked.astype(np.int8), ((0, 0), (1, 1))), axis=1)
    starts, ends = np.argwhere(change == 1).tolist(), np.argwhere(change == -1).tolist()
    found: list[tuple[int, int, int, int]] = []
    growing: list[tuple[int, int, int, int]] = []  # left, first row, right, row after the last
    for (row, left), (_, right) in zip(starts, ends, strict=True):
        found += [box for box in growing if box[3] < row]
        growing = [box for box in growing if box[3] >= row]
        for k, (west, first, east, due) in enumerate(growing):
            wide = max(east, right) - min(west, left)
            taken = (east - west) * (due - first) + right - left
            if wide * (row + 1 - first) - taken <= SPARED:
                growing[k] = min(west, left), first, max(east, right), row + 1
                break
        else:
            growing.append((left, row, right, row + 1))
    return [
        (TILE * left, TILE * first, TILE * (right - left), TILE * (due - first))
        for left, first, right, due in found + growing
    ]


def boxes(
    view: View,
    size: tuple[int, int],
    things: Sequence[np.ndarray],
    airframes: Sequence[tuple[AirframeMesh, Pose]],
) -> list[Box] | None:
    """Round things (n, 3) and airframes, all in field axes; None where they take so much that the
    whole picture is softened more cheaply."""
    camera = camera_matrix(view, size[0] / size[1])
    found = [box for places in things if (box := box_of(camera, size, places)) is not None]
    near = []
    for mesh, pose in airframes:
        box = box_of(camera, size, around(mesh, pose))
        if box is None:
            continue
        if box[2] * box[3] < SMALL * size[0] * size[1]:
            found.append(box)
        else:
            near.append(lines_of(mesh, pose))
    if near:
        found += boxes_along(camera, size, np.concatenate(near))
    if sum(wide * tall for _, _, wide, tall in found) > MOST * size[0] * size[1]:
        return None
    return found
