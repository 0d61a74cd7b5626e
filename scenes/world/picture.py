"""Draws the meadow and the airframe with OpenGL 3.3; needs a current context.

It is told where the eye is and how the airframe stands, and works nothing out but the picture.
"""

from __future__ import annotations

import math
from typing import Any

import numpy as np
from pyglet import gl

from firstthrow.scenes.world import shaders
from firstthrow.scenes.world.camera import Pose, View, projection_matrix, rotation, view_matrix
from firstthrow.scenes.world.meadow import STRIP, Meadow, sock_droop, turn
from firstthrow.scenes.world.meshes import AirframeMesh, Mesh

HAZE = (0.80, 0.86, 0.88)
SUN_BEARING, SUN_HEIGHT = math.radians(-142.0), math.radians(48.0)  # behind the left shoulder
NEAR, FAR = 0.06, 1200.0
BLADES_FADE = (700.0, 2200.0)  # [rpm] between which blades blur into a disc
SHADOW = (0.07, 0.10, 0.05)


def sun_direction(heading: float) -> np.ndarray:
    """Unit vector towards the sun, field axes, for a pilot who faces `heading` [rad]."""
    bearing = heading + SUN_BEARING
    level = math.cos(SUN_HEIGHT)
    return np.array([level * math.cos(bearing), level * math.sin(bearing), -math.sin(SUN_HEIGHT)])


def shadow_matrix(sun: np.ndarray, lift: float = 0.015) -> np.ndarray:
    """(4, 4) that lays every point along the sun's ray onto a plane `lift` above the ground."""
    matrix = np.eye(4)
    matrix[0, 2], matrix[1, 2] = -sun[0] / sun[2], -sun[1] / sun[2]
    matrix[2] = [0.0, 0.0, 0.0, -lift]
    return matrix


def camera_matrix(view: View, aspect: float) -> np.ndarray:
    """(4, 4) from field axes to clip space; `aspect` is width over height."""
    return projection_matrix(view.height_angle, aspect, NEAR, FAR) @ view_matrix(view)


def body_matrix(pose: Pose) -> np.ndarray:
    matrix = np.eye(4)
    matrix[:3, :3] = rotation(tuple(pose.attitude))
    matrix[:3, 3] = pose.place
    return matrix


def turn_about(point: np.ndarray, axis: np.ndarray, angle: float) -> np.ndarray:
    """(4, 4) rotation about a line. Source: Rodrigues' formula."""
    x, y, z = axis
    cross = np.array([[0.0, -z, y], [z, 0.0, -x], [-y, x, 0.0]])
    matrix = np.eye(4)
    matrix[:3, :3] += math.sin(angle) * cross + (1.0 - math.cos(angle)) * (cross @ cross)
    matrix[:3, 3] = point - matrix[:3, :3] @ point
    return matrix


def propeller_matrix(place: np.ndarray, axis: np.ndarray, angle: float) -> np.ndarray:
    """(4, 4) from a propeller drawn round the x axis to its place, turned by `angle`."""
    matrix = np.eye(4)
    side = np.cross([0.0, 0.0, 1.0], axis)
    side = side / np.linalg.norm(side)
    matrix[:3, :3] = np.column_stack([axis, side, np.cross(axis, side)])
    matrix[:3, 3] = place
    return matrix @ turn_about(np.zeros(3), np.array([1.0, 0.0, 0.0]), angle)


def sock_matrix(place: np.ndarray, wind: tuple[float, float], heading: float) -> np.ndarray:
    """(4, 4) that hangs the sock at its mast, along the wind and drooping in a light one."""
    speed = math.hypot(*wind)
    bearing = math.atan2(wind[1], wind[0]) if speed > 0.05 else heading + 0.7
    droop = sock_droop(speed)
    c, s = math.cos(bearing), math.sin(bearing)
    along = np.array([c * math.cos(droop), s * math.cos(droop), math.sin(droop)])
    side = np.array([-s, c, 0.0])
    matrix = np.eye(4)
    matrix[:3, :3] = np.column_stack([along, side, np.cross(along, side)])
    matrix[:3, 3] = place
    return matrix


class Picture:
    """The scene on the card. `airframe` may be replaced; `heading` is fixed."""

    def __init__(self, airframe: AirframeMesh, surroundings: Meadow, heading: float):
        self.airframe = airframe
        self.meadow = surroundings
        self.heading = heading
        self.sun = sun_direction(heading)
        self.shadow = shadow_matrix(self.sun)
        self.solid = shaders.program(shaders.SOLID_VERTEX, shaders.SOLID_FRAGMENT)
        self.grass = shaders.program(shaders.GRASS_VERTEX, shaders.GRASS_FRAGMENT)
        self.sky = shaders.program(shaders.SKY_VERTEX, shaders.SKY_FRAGMENT)
        self.cloud = shaders.program(shaders.CLOUD_VERTEX, shaders.CLOUD_FRAGMENT)
        self._fixed_uniforms()
        self.ground_list = self.grass.vertex_list(
            len(surroundings.grass_plan),
            gl.GL_TRIANGLES,
            place=("f", surroundings.grass_places.ravel().tolist()),
            plan=("f", surroundings.grass_plan.ravel().tolist()),
        )
        corners = (-1.0, -1.0, 3.0, -1.0, -1.0, 3.0)
        self.sky_list = self.sky.vertex_list(3, gl.GL_TRIANGLES, corner=("f", corners))
        self.cloud_list = self.cloud.vertex_list(
            len(surroundings.clouds),
            gl.GL_TRIANGLES,
            place=("f", surroundings.clouds.ravel().tolist()),
            density=("f", surroundings.cloud_density.tolist()),
        )
        self.meadow_list = self.list_of(surroundings.solid)
        self.sock_list = self.list_of(surroundings.sock)
        someone = surroundings.thrower.triangles > 0
        self.thrower_list = self.list_of(surroundings.thrower) if someone else None
        self._airframe_lists()

    def wear(self, airframe: AirframeMesh) -> None:
        """Draws another airframe from now on."""
        mine = [self.fixed_list, *self.part_lists, *self.blade_lists, *self.disc_lists]
        for shown in mine:
            shown.delete()
        self.airframe = airframe
        self._airframe_lists()

    def _airframe_lists(self) -> None:
        airframe = self.airframe
        self.fixed_list = self.list_of(airframe.fixed)
        self.part_lists = [self.list_of(part.mesh) for part in airframe.surfaces]
        self.blade_lists = [self.list_of(p.blades) for p in airframe.propellers]
        self.disc_lists = [self.list_of(p.disc) for p in airframe.propellers]

    @property
    def triangles(self) -> int:
        own, around = self.airframe, self.meadow
        count = around.solid.triangles + around.sock.triangles + around.thrower.triangles
        count += (len(around.grass_plan) + len(around.clouds)) // 3
        count += 2 * (own.fixed.triangles + sum(p.mesh.triangles for p in own.surfaces))
        return count + sum(p.blades.triangles + p.disc.triangles for p in own.propellers)

    def draw(self, view: View, width: int, height: int, pose: Pose) -> None:
        """Fills the current framebuffer, `width` x `height` pixels."""
        aspect = width / max(1, height)
        looking = view_matrix(view)
        camera = camera_matrix(view, aspect)
        gl.glViewport(0, 0, width, height)
        gl.glEnable(gl.GL_DEPTH_TEST)
        gl.glDepthFunc(gl.GL_LEQUAL)
        gl.glDepthMask(gl.GL_TRUE)
        gl.glDisable(gl.GL_BLEND)
        gl.glClear(gl.GL_DEPTH_BUFFER_BIT | gl.GL_STENCIL_BUFFER_BIT)
        body = body_matrix(pose)
        moved = [
            (shown, body @ turn_about(part.hinge, part.axis, pose.surfaces[part.surface]))
            for part, shown in zip(self.airframe.surfaces, self.part_lists, strict=True)
        ]
        # near things first: what they hide costs nothing
        self.solid.use()
        self.solid["camera"] = columns(camera)
        self.solid["eye"] = view.eye.tolist()
        self.solid["alpha"] = 1.0
        self.solid["haze_colour"] = HAZE
        self.solid["grow"] = least_growth(view, pose.place, height)
        self.draw_list(self.fixed_list, body)
        for shown, matrix in moved:
            self.draw_list(shown, matrix)
        self._draw_blades(body, pose)
        self.draw_list(self.sock_list, sock_matrix(self.meadow.sock_place, pose.wind, self.heading))
        self.draw_list(self.meadow_list, np.eye(4))
        if self.thrower_list is not None:
            self.draw_list(self.thrower_list, walked(pose.gone, self.heading))
        self._draw_grass(camera, view)
        self._draw_sky(view, looking, camera, aspect)
        self._draw_shadow(body, moved)
        self._draw_discs(body, pose)
        gl.glDisable(gl.GL_DEPTH_TEST)
        gl.glDepthMask(gl.GL_TRUE)

    def _fixed_uniforms(self) -> None:
        self.solid.use()
        self.solid["sun"] = self.sun.tolist()
        self.solid["pitch"] = max(0.10, 0.5 * self.airframe.length)
        self.grass.use()
        self.grass["haze_colour"] = HAZE
        self.grass["strip"] = STRIP
        self.sky.use()
        self.sky["sun"] = self.sun.tolist()
        self.sky["haze_colour"] = HAZE

    def list_of(self, mesh: Mesh):
        arrays = zip(("place", "normal", "colour", "paint", "spread"), mesh, strict=True)
        data: dict[str, Any] = {name: ("f", array.ravel().tolist()) for name, array in arrays}
        return self.solid.vertex_list(len(mesh.places), gl.GL_TRIANGLES, **data)

    def draw_list(self, shown, matrix: np.ndarray) -> None:
        self.solid["model"] = columns(matrix)
        shown.draw(gl.GL_TRIANGLES)

    def _draw_grass(self, camera: np.ndarray, view: View) -> None:
        self.grass.use()
        self.grass["camera"] = columns(camera)
        self.grass["eye"] = view.eye[:2].tolist()
        self.ground_list.draw(gl.GL_TRIANGLES)

    def _draw_sky(self, view: View, looking: np.ndarray, camera: np.ndarray, aspect: float) -> None:
        reach = math.tan(0.5 * view.height_angle)
        self.sky.use()
        self.sky["turn"] = looking[:3, :3].ravel().tolist()  # transposed: eye to field
        self.sky["reach"] = (reach * aspect, reach)
        self.sky_list.draw(gl.GL_TRIANGLES)
        gl.glDepthMask(gl.GL_FALSE)
        gl.glEnable(gl.GL_BLEND)
        gl.glBlendFunc(gl.GL_SRC_ALPHA, gl.GL_ONE_MINUS_SRC_ALPHA)
        self.cloud.use()
        self.cloud["camera"] = columns(camera)
        self.cloud_list.draw(gl.GL_TRIANGLES)

    def _draw_shadow(self, body: np.ndarray, moved: list) -> None:
        """Every pixel darkened once, however many parts lie over it."""
        gl.glEnable(gl.GL_STENCIL_TEST)
        gl.glStencilFunc(gl.GL_EQUAL, 0, 0xFF)
        gl.glStencilOp(gl.GL_KEEP, gl.GL_KEEP, gl.GL_INCR)
        gl.glEnable(gl.GL_POLYGON_OFFSET_FILL)
        gl.glPolygonOffset(-1.0, -4.0)
        self.solid.use()
        self.solid["alpha"] = 0.62
        self.solid["haze_colour"], self.solid["flat_colour"] = SHADOW, 1.0
        for shown, matrix in [(self.fixed_list, body), *moved]:
            self.draw_list(shown, self.shadow @ matrix)
        self.solid["haze_colour"], self.solid["flat_colour"] = HAZE, 0.0
        gl.glDisable(gl.GL_POLYGON_OFFSET_FILL)
        gl.glDisable(gl.GL_STENCIL_TEST)

    def _draw_blades(self, body: np.ndarray, pose: Pose) -> None:
        for k, prop in enumerate(self.airframe.propellers):
            if blade_share(pose.rpm[k]) > 0.99:
                own = propeller_matrix(prop.place, prop.axis, prop.sense * pose.turns[k])
                self.draw_list(self.blade_lists[k], body @ own)

    def _draw_discs(self, body: np.ndarray, pose: Pose) -> None:
        """Blades that have become a blur: a disc, and a ghost of the blades in it."""
        self.solid.use()
        for k, prop in enumerate(self.airframe.propellers):
            share = blade_share(pose.rpm[k])
            if share > 0.99:
                continue
            own = propeller_matrix(prop.place, prop.axis, prop.sense * pose.turns[k])
            self.solid["alpha"] = 0.24 * (1.0 - share)
            self.draw_list(self.disc_lists[k], body @ own)
            self.solid["alpha"] = 0.30 + 0.70 * share
            self.draw_list(self.blade_lists[k], body @ own)


def walked(seconds: float, heading: float) -> np.ndarray:
    """(4, 4) that takes the thrower aside and behind the pilot in the seconds after a throw."""
    share = min(1.0, max(0.0, seconds) / 4.0)
    matrix = np.eye(4)
    matrix[:3, 3] = turn(heading) @ np.array([-7.0 * share, 2.5 * math.sin(math.pi * share), 0.0])
    return matrix


def least_growth(view: View, place: np.ndarray, height: int) -> float:
    """How far [m] the faces of a thin sheet at `place` move apart to cover a pixel's height."""
    distance = float(np.linalg.norm(place - view.eye))
    pixel = 2.0 * distance * math.tan(0.5 * view.height_angle) / max(1, height)
    return max(0.0, 0.65 * pixel - 0.002)


def blade_share(rpm: float) -> float:
    """1 while the blades are seen one by one, 0 when only their disc is."""
    slow, fast = BLADES_FADE
    return min(1.0, max(0.0, (fast - abs(rpm)) / (fast - slow)))


def columns(matrix: np.ndarray) -> list[float]:
    return matrix.T.ravel().tolist()
