"""Where an airframe is before it flies: in the hand, or on its wheels; compiles nothing."""

from __future__ import annotations

from math import cos, sin
from typing import NamedTuple

from firstthrow.sim.build.sticks import mixer, stuck
from firstthrow.sim.build.weights import balance, parts
from firstthrow.sim.kernels.rotation import from_angles
from firstthrow.sim.kernels.wind import profile


class Resting(NamedTuple):
    height: float  # of the centre of gravity [m]
    pitch: float  # [rad]
    attitude: tuple[float, ...]  # quaternion w, x, y, z
    surfaces: tuple[float, ...]  # with the sticks let go, in slot order [rad]
    wind: tuple[float, float]  # at its height, north and east [m/s]


def resting(airframe, field, kind: str) -> Resting:
    """By the `kind` of launch, "hand" or "ground", which the airframe has to have."""
    if kind == "hand":
        hand = airframe.launch.by_hand
        height, pitch, bank = hand.height, hand.pitch, hand.bank
    else:
        # only what stands on wheels needs what models are built with, which takes long to load
        from firstthrow.sim.build.contacts import contact_places
        from firstthrow.sim.flight.standing import stand

        height, pitch = stand(contact_places(airframe, balance(parts(airframe))))
        bank = 0.0
    attitude = tuple(from_angles(bank, pitch, field.heading))
    stands = dict(enumerate(mixer(airframe).let_go())) | stuck(airframe)
    blows = field.wind.speed * profile(height, field.wind.roughness)
    towards = -blows * cos(field.wind.from_bearing), -blows * sin(field.wind.from_bearing)
    return Resting(height, pitch, attitude, tuple(stands.values()), towards)
