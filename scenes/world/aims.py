"""The aims of a lesson over the grass: gates of two stakes, and a box on the strip. Needs a current
context to draw; the meshes are pure."""

from __future__ import annotations

import math

import numpy as np
from pyglet import gl

from firstthrow.scenes.world.camera import View
from firstthrow.scenes.world.matrices import camera_matrix, columns
from firstthrow.scenes.world.meadow import turn
from firstthrow.scenes.world.meshes import Mesh, frustum, join, polygon
from firstthrow.scenes.world.picture import Picture
from firstthrow.sim.learn.school.lessons import Box, Gate, Lesson

THICK = 0.11  # [m] of a stake
BAND = 1.5  # [m] of each light and dark band, between the heights that count
WOOD, LIGHT, DARK = (0.45, 0.36, 0.26), (0.97, 0.95, 0.88), (0.10, 0.16, 0.24)
NEXT = (0.92, 0.42, 0.08)  # of what comes next
CHALK = (0.96, 0.95, 0.88)
PENNANTS = 7
ABOVE = 0.05  # [m] that chalk lies over the grass
LINE = 0.35  # [m] of the box's lines


def gate_mesh(gate: Gate, now: bool) -> Mesh:
    """In plan coordinates: banded stakes; the gate that comes `now` has pennants at its top and an
    arrow on the grass that says which way through."""
    across = np.array([*gate.across, 0.0])
    middle = np.array([gate.ahead, gate.right, 0.0])
    low, high = max(0.0, gate.height - gate.tall), gate.height + gate.tall
    parts = []
    for side in (-1.0, 1.0):
        foot = middle + side * gate.half * across
        parts.append(_post(foot, 0.0, low, WOOD))
        edges = np.linspace(low, high, max(2, round((high - low) / BAND) + 1))
        for k in range(len(edges) - 1):
            hue = LIGHT if k % 2 == 0 else (NEXT if now else DARK)
            parts.append(_post(foot, edges[k], edges[k + 1], hue))
    if now:
        parts += _pennants(middle, gate.half * across, high)
        parts.append(_arrow(middle, math.radians(gate.toward)))
    return join(parts)


def box_mesh(box: Box, now: bool) -> Mesh:
    """Chalk lines round it and a cross in its middle; four flags at its corners."""
    hue = NEXT if now else CHALK
    a0, a1 = box.ahead - box.long, box.ahead + box.long
    r0, r1 = box.right - box.wide, box.right + box.wide
    strips = [
        (a0, r0, a1, r0 + LINE),
        (a0, r1 - LINE, a1, r1),
        (a0, r0, a0 + 2.0 * LINE, r1),
        (a1 - 2.0 * LINE, r0, a1, r1),
        (box.ahead - 2.0, box.right - 0.5 * LINE, box.ahead + 2.0, box.right + 0.5 * LINE),
        (box.ahead - LINE, box.right - 1.2, box.ahead + LINE, box.right + 1.2),
    ]
    parts = [
        _flat([(a, r), (b, r), (b, s), (a, s)], CHALK if k < 4 else hue)
        for k, (a, r, b, s) in enumerate(strips)
    ]
    for ahead in (a0, a1):
        for right in (r0, r1):
            foot = np.array([ahead, right, 0.0])
            parts.append(_post(foot, 0.0, 1.3, hue, 0.05))
            tip = foot + np.array([0.0, 0.55, 1.1])
            flag = [foot + np.array([0.0, 0.0, up]) for up in (1.3, 0.85)] + [tip]
            parts.append(polygon(flag, hue, (0.0, 0.0, 1.0)))
    return join(parts)


def _post(foot: np.ndarray, low: float, high: float, hue, thick: float = THICK) -> Mesh:
    if high - low < 0.01:
        return join([])
    up = np.array([0.0, 0.0, 1.0])
    return frustum(foot + low * up, foot + high * up, thick, thick, hue, 6, caps=False)


def _pennants(middle: np.ndarray, reach: np.ndarray, height: float) -> list[Mesh]:
    """A cord from stake to stake that sags a little, and light and dark flags on it."""
    found = []
    shares = np.linspace(-1.0, 1.0, PENNANTS + 1)
    places = [
        middle + s * reach + np.array([0.0, 0.0, height - 0.35 * (1.0 - s * s)]) for s in shares
    ]
    for k in range(PENNANTS):
        a, b = places[k], places[k + 1]
        tip = 0.5 * (a + b) - np.array([0.0, 0.0, 1.0])
        found.append(polygon([a, b, tip], NEXT if k % 2 == 0 else LIGHT, (0.0, 0.0, 1.0)))
    return found


def _arrow(middle: np.ndarray, toward: float) -> Mesh:
    """Flat, 5 m long."""
    c, s = math.cos(toward), math.sin(toward)

    def placed(corners) -> list[tuple[float, float]]:
        return [(middle[0] + c * a - s * r, middle[1] + s * a + c * r) for a, r in corners]

    shaft = placed([(-2.5, -0.35), (0.5, -0.35), (0.5, 0.35), (-2.5, 0.35)])
    head = placed([(0.5, -1.3), (2.8, 0.0), (0.5, 1.3)])
    return join([_flat(shaft, CHALK), _flat(head, CHALK)])


def _flat(corners, hue) -> Mesh:
    return polygon([(a, r, ABOVE) for a, r in corners], hue, (0.0, 0.0, 1.0))


class Aims:
    """One lesson's aims in the card's memory, each as it looks now and as it looks otherwise."""

    def __init__(self, picture: Picture, lesson: Lesson, heading: float):
        self.picture, self.lesson = picture, lesson
        to_field = turn(heading)
        self.shown: dict[tuple, object] = {}
        self.places: dict = {}  # (n, 3) of each, field axes
        for aim in dict.fromkeys(self._order):
            for now in (False, True):
                plan = gate_mesh(aim, now) if isinstance(aim, Gate) else box_mesh(aim, now)
                turned = plan._replace(
                    places=plan.places @ to_field.T, normals=plan.normals @ to_field.T
                )
                self.places[aim] = np.unique(turned.places, axis=0)
                self.shown[aim, now] = picture.still_list(turned)

    @property
    def _order(self) -> tuple:
        return (*self.lesson.gates, *((self.lesson.box,) if self.lesson.box else ()))

    def _coming(self, at: int):
        return self._order[at] if at < len(self._order) else None

    def middle(self, at: int) -> np.ndarray | None:
        """Field place of the middle of the aim of that number; None after the last."""
        coming = self._coming(at)
        return None if coming is None else self.places[coming].mean(axis=0)

    def draw(self, view: View, aspect: float, at: int) -> None:
        """Into the current canvas, over the finished scene; `at` is the number of the next aim."""
        coming = self._coming(at)
        still = self.picture.still
        still.use()
        still["camera"] = columns(camera_matrix(view, aspect))
        still["eye"] = view.eye.tolist()
        still["model"] = columns(np.eye(4))
        gl.glEnable(gl.GL_DEPTH_TEST)
        gl.glDepthMask(gl.GL_TRUE)
        gl.glDisable(gl.GL_BLEND)
        gl.glEnable(gl.GL_POLYGON_OFFSET_FILL)  # chalk over the grass, however far
        gl.glPolygonOffset(-2.0, -8.0)
        for aim in self.places:
            self.shown[aim, aim == coming].draw(gl.GL_TRIANGLES)  # type: ignore[attr-defined]
        gl.glDisable(gl.GL_POLYGON_OFFSET_FILL)
        gl.glDisable(gl.GL_DEPTH_TEST)

    def delete(self) -> None:
        for one in self.shown.values():
            one.delete()  # type: ignore[attr-defined]
