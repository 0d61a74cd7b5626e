"""What there is to be seen first: the airframe over its field, before anything flies it.

A `Look` is plain numbers, which can be kept: only `looked` needs what airframes are described with,
and that takes longer to be loaded than a look to be drawn.
"""

from __future__ import annotations

from typing import NamedTuple

import numpy as np

from firstthrow.scenes.flight.eyes import Eyes
from firstthrow.scenes.flight.settings import Settings
from firstthrow.scenes.world.camera import VIEWS, Pose, View
from firstthrow.scenes.world.meshes import AirframeMesh, Mesh, Part, Propeller, airframe_mesh


class Look(NamedTuple):
    """What there is to be seen first."""

    mesh: AirframeMesh
    heading: float  # [rad] of the pilot
    light: str
    hand: float | None  # [m] the height of the hand that holds it
    pose: Pose
    view: View


KINDS = Look, AirframeMesh, Mesh, Part, Propeller, Pose, View  # what it is made of


def kept_parts(look: Look) -> list[tuple[str, tuple]]:
    """Names and keys under which `world` keeps what the picture of a look is made of."""
    fixed: list[tuple[str, tuple]] = [(name, ()) for name in ("leaves", "clouds", "blades")]
    return [("meadow", (look.heading, look.hand, look.light)), *fixed]


class Still(NamedTuple):
    """Of a reading, all that eyes ask for."""

    u_m_s: float = 0.0
    v_m_s: float = 0.0
    w_m_s: float = 0.0


def view_name(settings: Settings) -> str:
    """Of the view that a window opens with."""
    wanted = settings.preferences.view if settings.preferences else ""
    return wanted if wanted in VIEWS else VIEWS[0]


def hand_of(airframe, launch: str | None) -> float | None:
    """[m] the height of the hand that holds it, by the launch asked for or its own; None where it
    stands on its wheels."""
    kind = launch or airframe.launch.kind
    return airframe.launch.by_hand.height if kind == "hand" else None


def looked(airframe, field, launch: str | None, settings: Settings) -> Look:
    """At an airframe that rests in the hand or on its wheels, the sticks let go."""
    from firstthrow.scenes.flight.resting import resting
    from firstthrow.sim.build.weights import balance, parts

    mesh = airframe_mesh(airframe, balance(parts(airframe)).place)
    rests = resting(airframe, field, launch or airframe.launch.kind)
    still = (0.0,) * len(mesh.propellers)
    place, attitude = np.array([0.0, 0.0, -rests.height]), np.array(rests.attitude)
    pose = Pose(place, attitude, rests.surfaces, still, still, rests.wind)
    view = Eyes(field.heading, mesh, settings).look(view_name(settings), 0.0, pose, Still())
    return Look(mesh, field.heading, field.light, hand_of(airframe, launch), pose, view)
