"""Draws the meadow and the airframe with OpenGL 3.3; needs a current context.

It is told where the eye is and how the airframe stands, and works nothing out but the picture.
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from typing import Protocol

import numpy as np
from pyglet import gl

from firstthrow.scenes.world import shaders
from firstthrow.scenes.world.camera import Box, Pose, View, cross
from firstthrow.scenes.world.foliage import Foliage
from firstthrow.scenes.world.kept import kept
from firstthrow.scenes.world.leaves import Plants
from firstthrow.scenes.world.levels import levels
from firstthrow.scenes.world.light import LIGHTS, NOON, Light
from firstthrow.scenes.world.matrices import (
    WALKED,
    body_matrix,
    camera_matrix,
    columns,
    in_sight,
    propeller_matrix,
    shadow_matrix,
    sock_matrix,
    turn_about,
    walked,
)
from firstthrow.scenes.world.meadow import Meadow, Turf, Water, for_one_side, meadow
from firstthrow.scenes.world.meshes import AirframeMesh, Mesh
from firstthrow.scenes.world.sky import Sky, WaterFace
from firstthrow.scenes.world.textures import layered
from firstthrow.scenes.world.turf import SIZE, TILE, blades, layers

BLADES_FADE = (700.0, 2200.0)  # [rpm] between which blades blur into a disc
SEEN_WHOLE = 10.0  # radii from which on a disc is as dark as it gets
FAINT = 0.5  # of that; below it only the tracing of the blades is drawn
SHADOW = (0.07, 0.10, 0.05)
DARK_EDGE, LIGHT_EDGE = (0.12, 0.14, 0.16), (1.3, 1.28, 1.2)  # before the light falls on them
MEADOW = Meadow, Mesh, Plants, Turf, Water  # what it is made of
SKYLINE = math.radians(3.0), math.radians(5.5)  # hills and hedges end, and trees


class Picture:
    """The scene on the card. `airframe` may be replaced; `heading` is fixed."""

    def __init__(
        self, airframe: AirframeMesh, surroundings: Meadow, heading: float, light: Light = NOON
    ):
        self.airframe = airframe
        self.meadow = surroundings
        self.heading = heading
        self.light = light
        self.sun = light.towards(heading)
        self.shadow = shadow_matrix(self.sun)
        self.solid = shaders.program(shaders.SOLID_VERTEX, shaders.SOLID_FRAGMENT)
        self.grass = shaders.program(shaders.GRASS_VERTEX, shaders.GRASS_FRAGMENT)
        self.still = shaders.program(shaders.STILL_VERTEX, shaders.STILL_FRAGMENT)
        self._fixed_uniforms()
        self.ground_list = self._turf(surroundings.rough)
        self.mown_list = self._turf(surroundings.mown)
        picture = kept("blades", (), lambda: levels(blades()[:, :, None]))
        self.blades = layered(layers(picture))
        self.sky = Sky(heading, self.sun, light)
        self.foliage = Foliage(surroundings.plants, self.sun, light)
        self.water = WaterFace(surroundings.water, self.sun, light)
        self.solid_list = self.still_list(surroundings.solid)
        self.sheet_list = self.still_list(surroundings.sheets)
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
        self.fixed_list = self.list_of(for_one_side(airframe.fixed))
        self.part_lists = [self.list_of(for_one_side(part.mesh)) for part in airframe.surfaces]
        self.blade_lists = [self.list_of(p.blades) for p in airframe.propellers]
        self.disc_lists = [self.list_of(p.disc) for p in airframe.propellers]

    @property
    def triangles(self) -> int:
        own, around = self.airframe, self.meadow
        count = sum(mesh.triangles for mesh in (around.solid, around.sheets, around.sock))
        count += around.thrower.triangles
        count += (len(around.rough.plan) + len(around.mown.plan)) // 3
        count += self.sky.triangles + self.foliage.triangles + self.water.triangles
        count += 2 * (own.fixed.triangles + sum(p.mesh.triangles for p in own.surfaces))
        return count + sum(p.blades.triangles + p.disc.triangles for p in own.propellers)

    def hard(self, pose: Pose) -> list[np.ndarray]:
        """(n, 3) field places round each thing that is seen with straight edges."""
        things = [*self.meadow.hard]
        if self.thrower_list is not None and pose.gone < WALKED:
            matrix = walked(pose.gone, self.heading)
            things.append(self.meadow.stands + matrix[:3, 3])
        return things

    def draw(
        self,
        view: View,
        width: int,
        height: int,
        pose: Pose,
        corner: tuple[int, int] = (0, 0),
        alone: bool = False,
        hidden: Sequence[Box] = (),
    ) -> None:
        """Fills `width` x `height` pixels of the current framebuffer from a `corner`; `alone`
        leaves out all but airframe, grass and sky; what is `hidden` will be drawn over."""
        aspect = width / max(1, height)
        camera = camera_matrix(view, aspect)
        gl.glViewport(*corner, width, height)
        gl.glEnable(gl.GL_DEPTH_TEST)
        gl.glDepthFunc(gl.GL_LEQUAL)
        gl.glDepthMask(gl.GL_TRUE)
        gl.glDisable(gl.GL_BLEND)
        gl.glClear(gl.GL_DEPTH_BUFFER_BIT | gl.GL_STENCIL_BUFFER_BIT)
        _close_off(hidden)
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
        self.solid["haze_colour"] = self.light.haze
        self.solid["grow"] = least_growth(view, pose.place, height)
        self.solid["edge"] = edge_colour(view, pose.place)
        self._draw_airframe(body, moved, pose)
        self.sky.draw(view, camera, (*corner, width, height), alone)
        if alone:
            if sees_ground(view, aspect):
                self._draw_grass(camera, view, height)
            _blend()
            self._draw_discs(body, pose, view.eye)
            gl.glDisable(gl.GL_DEPTH_TEST)
            gl.glDepthMask(gl.GL_TRUE)
            return
        person = self._person(camera, pose)
        self.solid.use()
        for shown, matrix in person:
            self.draw_list(shown, matrix)
        self.draw_list(self.sock_list, sock_matrix(self.meadow.sock_place, pose.wind, self.heading))
        self._draw_still(camera, view)
        self.water.draw(view, camera)
        self._draw_grass(camera, view, height)
        self.foliage.draw(view, camera)
        _blend()
        self._draw_shadow([(self.fixed_list, body), *moved, *person])
        self._draw_discs(body, pose, view.eye)
        gl.glDisable(gl.GL_DEPTH_TEST)
        gl.glDepthMask(gl.GL_TRUE)

    def _fixed_uniforms(self) -> None:
        self.solid.use()
        self.solid["sun"] = self.sun.tolist()
        self.solid["edge"] = DARK_EDGE
        self.solid["sunlight"], self.solid["above"] = self.light.sun, self.light.above
        self.solid["below"] = self.light.below
        for program in (self.grass, self.still):
            program.use()
            program["haze_colour"] = self.light.haze
        self.grass.use()
        self.grass["blades"] = 0

    def _turf(self, turf: Turf):
        return shaders.triangles(
            self.grass,
            place=turf.places,
            plan=turf.plan / TILE,
            tone=turf.colours * self.light.on_grass,
        )

    def still_list(self, mesh: Mesh):
        """Of what keeps its light, wherever it moves."""
        tones = lit(mesh, self.sun, self.light)
        return shaders.triangles(self.still, place=mesh.places, tone=tones)

    def _draw_still(self, camera: np.ndarray, view: View) -> None:
        self.still.use()
        self.still["camera"] = columns(camera)
        self.still["eye"] = view.eye.tolist()
        self.still["model"] = columns(np.eye(4))
        gl.glEnable(gl.GL_CULL_FACE)
        self.solid_list.draw(gl.GL_TRIANGLES)
        gl.glDisable(gl.GL_CULL_FACE)
        self.sheet_list.draw(gl.GL_TRIANGLES)

    def list_of(self, mesh: Mesh):
        names = ("place", "normal", "colour", "paint", "spread")
        return shaders.triangles(self.solid, **dict(zip(names, mesh, strict=True)))

    def draw_list(self, shown, matrix: np.ndarray) -> None:
        self.solid["model"] = columns(matrix)
        shown.draw(gl.GL_TRIANGLES)

    def _draw_grass(self, camera: np.ndarray, view: View, height: int) -> None:
        self.grass.use()
        self.grass["camera"] = columns(camera)
        self.grass["eye"] = view.eye.tolist()
        self.grass["shrinks"] = math.sqrt(texels(view, height))
        gl.glActiveTexture(gl.GL_TEXTURE0)
        gl.glBindTexture(gl.GL_TEXTURE_2D_ARRAY, self.blades)
        self.mown_list.draw(gl.GL_TRIANGLES)
        self.ground_list.draw(gl.GL_TRIANGLES)

    def _person(self, camera: np.ndarray, pose: Pose) -> list[tuple]:
        """The thrower, while any of him or of his shadow may be seen."""
        if self.thrower_list is None:
            return []
        matrix = walked(pose.gone, self.heading)
        around = self.meadow.stands + matrix[:3, 3]
        cast = around @ self.shadow[:3, :3].T + self.shadow[:3, 3]
        seen = in_sight(camera, np.concatenate([around, cast]))
        return [(self.thrower_list, matrix)] if seen else []

    def _draw_shadow(self, things: list) -> None:
        """Every pixel darkened once, however many parts lie over it."""
        gl.glEnable(gl.GL_STENCIL_TEST)
        gl.glStencilFunc(gl.GL_EQUAL, 0, 0xFF)
        gl.glStencilOp(gl.GL_KEEP, gl.GL_KEEP, gl.GL_INCR)
        gl.glEnable(gl.GL_POLYGON_OFFSET_FILL)
        gl.glPolygonOffset(-1.0, -4.0)
        self.solid.use()
        self.solid["alpha"] = self.light.shadow
        self.solid["haze_colour"], self.solid["flat_colour"] = SHADOW, 1.0
        for shown, matrix in things:
            self.draw_list(shown, self.shadow @ matrix)
        self.solid["haze_colour"], self.solid["flat_colour"] = self.light.haze, 0.0
        gl.glDisable(gl.GL_POLYGON_OFFSET_FILL)
        gl.glDisable(gl.GL_STENCIL_TEST)

    def _draw_airframe(self, body: np.ndarray, moved: list, pose: Pose) -> None:
        gl.glEnable(gl.GL_CULL_FACE)
        self.draw_list(self.fixed_list, body)
        for shown, matrix in moved:
            self.draw_list(shown, matrix)
        gl.glDisable(gl.GL_CULL_FACE)
        self._draw_blades(body, pose)

    def _draw_blades(self, body: np.ndarray, pose: Pose) -> None:
        for k, prop in enumerate(self.airframe.propellers):
            if blade_share(pose.rpm[k]) > 0.99:
                own = propeller_matrix(prop.place, prop.axis, prop.sense * pose.turns[k])
                self.draw_list(self.blade_lists[k], body @ own)

    def _draw_discs(self, body: np.ndarray, pose: Pose, eye: np.ndarray) -> None:
        """Blades that have become a blur: a disc, and a tracing of the blades in it; an eye close
        behind looks through."""
        self.solid.use()
        for k, prop in enumerate(self.airframe.propellers):
            share = blade_share(pose.rpm[k])
            if share > 0.99:
                continue
            own = propeller_matrix(prop.place, prop.axis, prop.sense * pose.turns[k])
            hub = body[:3, :3] @ prop.place + body[:3, 3]
            seen = min(1.0, float(np.linalg.norm(hub - eye)) / (SEEN_WHOLE * prop.radius))
            if seen > FAINT:
                self.solid["alpha"] = 0.18 * seen * (1.0 - share)
                self.draw_list(self.disc_lists[k], body @ own)
            self.solid["alpha"] = 0.30 * seen * (1.0 - share) + share
            self.draw_list(self.blade_lists[k], body @ own)


class Seen(Protocol):
    """A field, as far as it is seen."""

    @property
    def heading(self) -> float:
        """[rad] that the pilot faces."""
        ...

    @property
    def light(self) -> str: ...


def picture_of(airframe: AirframeMesh, field: Seen, hand: float | None) -> Picture:
    """Over a field in its light; with a thrower who holds it at a height [m], or None."""
    light = LIGHTS[field.light]
    key = field.heading, hand, field.light
    around = kept("meadow", key, lambda: meadow(field.heading, hand, light), *MEADOW)
    return Picture(airframe, around, field.heading, light)


def _blend() -> None:
    """What is seen through lies over what is there, and hides nothing."""
    gl.glDepthMask(gl.GL_FALSE)
    gl.glEnable(gl.GL_BLEND)
    gl.glBlendFunc(gl.GL_SRC_ALPHA, gl.GL_ONE_MINUS_SRC_ALPHA)


def _close_off(boxes: Sequence[Box]) -> None:
    """Nothing gets nearer to the eye than these, so nothing is drawn there."""
    if not boxes:
        return
    gl.glEnable(gl.GL_SCISSOR_TEST)
    gl.glClearDepth(0.0)
    for box in boxes:
        gl.glScissor(*box)
        gl.glClear(gl.GL_DEPTH_BUFFER_BIT)
    gl.glClearDepth(1.0)
    gl.glDisable(gl.GL_SCISSOR_TEST)


def lit(mesh: Mesh, sun: np.ndarray, light: Light) -> np.ndarray:
    """(3n, 3) colours with the light on them, as `shaders.SOLID_VERTEX` works it out."""
    day = np.clip(mesh.normals @ sun, 0.0, None)[:, None]
    sky = (0.5 - 0.5 * mesh.normals[:, 2])[:, None]
    below, above = np.array(light.below), np.array(light.above)
    return mesh.colours * (below + sky * (above - below) + day * np.array(light.sun))


def edge_colour(view: View, place: np.ndarray) -> tuple[float, ...]:
    """Of a sheet's rim: light where the airframe is seen before hedges and hills, dark before the
    sky."""
    to = place - view.eye
    height = math.atan2(-to[2], math.hypot(to[0], to[1]))
    low, high = SKYLINE
    share = min(1.0, max(0.0, (height - low) / (high - low)))
    return tuple(d * share + b * (1.0 - share) for d, b in zip(DARK_EDGE, LIGHT_EDGE, strict=True))


def least_growth(view: View, place: np.ndarray, height: int) -> float:
    """How far [m] the faces of a thin sheet at `place` move apart to cover a pixel's height."""
    distance = float(np.linalg.norm(place - view.eye))
    pixel = 2.0 * distance * math.tan(0.5 * view.height_angle) / max(1, height)
    return max(0.0, 0.65 * pixel - 0.002)


def sees_ground(view: View, aspect: float) -> bool:
    """Whether any of the picture lies below the horizon."""
    up = math.tan(0.5 * view.height_angle)
    right = cross(view.ahead, view.up)
    sideways = abs(float(right[2])) * up * aspect
    return float(view.ahead[2]) + abs(float(view.up[2])) * up + sideways > 0.0


def texels(view: View, height: int) -> float:
    """How long a pixel is on level ground 1 m away along the gaze, in texels of the blades: it
    grows as the square of that distance, and the lower the eye is; with what rounds it to the
    nearest power of two."""
    pixel = 2.0 * math.tan(0.5 * view.height_angle) / max(1, height)
    return math.sqrt(2.0) * pixel / max(0.05, -float(view.eye[2])) * SIZE / TILE


def blade_share(rpm: float) -> float:
    """1 while the blades are seen one by one, 0 when only their disc is."""
    slow, fast = BLADES_FADE
    return min(1.0, max(0.0, (fast - abs(rpm)) / (fast - slow)))
