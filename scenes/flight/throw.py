"""A throw by hand that is not quite the one planned: how it is drawn, how it is done. Pure."""

from __future__ import annotations

import math
from typing import NamedTuple

import numpy as np

from firstthrow.sim.describe.builder_units import METRIC, Units
from firstthrow.sim.kernels.human import HANDS
from firstthrow.sim.kernels.layout import ATTITUDE, POSITION, RATE, VELOCITY
from firstthrow.sim.kernels.rotation import from_angles
from firstthrow.sim.study.odds.scatter import Drawn, Scatter


class Throw(NamedTuple):
    speed: float  # [m/s]
    pitch: float  # [rad]
    bank: float  # [rad]
    slip: float  # [rad] nose beside the throw's direction
    height: float  # [m]
    roll_rate: float  # [rad/s]

    def hold(self, flight) -> None:
        """Holds it as it will be thrown; `flight` is in the hand."""
        state = flight.state
        state[POSITION + 2] = -self.height
        heading = flight.field.heading + self.slip
        state[ATTITUDE : ATTITUDE + 4] = from_angles(self.bank, self.pitch, heading)

    def leave(self, flight) -> None:
        """Gives it its way out of the hand; `flight` was released just now."""
        forward = self.speed / math.sqrt(1.0 + self.slip**2)
        flight.state[VELOCITY : VELOCITY + 3] = forward, -forward * self.slip, 0.0
        flight.state[RATE] = self.roll_rate


def planned(airframe) -> Throw:
    """The throw of the airframe's file. AttributeError when it is not thrown."""
    hand = airframe.launch.hand
    return Throw(hand.speed, hand.pitch, hand.bank, 0.0, hand.height, 0.0)


def drawn(airframe, scatter: Scatter, seed: int, number: int, growth: float = 1.0) -> Throw:
    """The throw of that number, its departure from the planned one times `growth`."""
    hands = np.zeros(1, HANDS)[0]
    case = Drawn(airframe, scatter, hands, False, seed, number, 1).case[0]
    told = (case.speed, case.pitch_up, case.bank, case.slip, case.height, case.roll_rate)
    far = Throw(*map(float, told))
    plan = planned(airframe)
    one = Throw(*(p + growth * (f - p) for p, f in zip(plan, far, strict=True)))
    return one._replace(speed=max(0.5, one.speed), height=max(0.5, one.height))


def words(throw: Throw, plan: Throw, u: Units = METRIC) -> str:
    """'1.2 m/s slower, nose 5° lower, banked 7° right' against the plan; what differs little is
    left out."""
    found = []
    for value, least, unit, more, less in (
        (throw.speed - plan.speed, 0.3, "m/s", "faster", "slower"),
        (math.degrees(throw.pitch - plan.pitch), 2.0, "°", "nose up", "nose down"),
        (math.degrees(throw.bank - plan.bank), 2.0, "°", "banked right", "banked left"),
        (math.degrees(throw.slip), 2.0, "°", "yawed right", "yawed left"),
        (math.degrees(throw.roll_rate), 8.0, "°/s", "rolling right", "rolling left"),
    ):
        if abs(value) >= least:
            size = u.speed(abs(value)) if unit == "m/s" else f"{abs(value):.0f}{unit}"
            found.append(f"{size} {more if value > 0.0 else less}")
    return ", ".join(found) or "as planned"
