"""How fast an arm throws an airframe of some mass: what a plan may ask for.

The arm gives the same work whatever it throws, shared between the airframe and the arm's own
moving mass: speed = speed of an empty hand / sqrt(1 + mass / arm's mass). Balls of 0.2 to 0.8 kg
were thrown so within some 5 % (overarm throws after van den Tillaar and Ettema 2004, from
memory); an airframe is pushed level and with care, which the speed of the empty hand says, our
assumption: film ten throws of your own.
"""

from __future__ import annotations

from math import sqrt

from firstthrow.sim.describe.airframe import HandLaunch
from firstthrow.sim.study.odds.scatter import Scatter
from firstthrow.sim.study.subject import Subject

RUN = 2.5  # of a running start with an airframe held high [m/s], our assumption


def arm_speed(mass: float, arm: Scatter | None = None) -> float:
    """The fastest throw, standing, of a mass [kg]; [m/s]."""
    arm = arm or Scatter()
    return arm.arm_speed / sqrt(1.0 + mass / arm.arm_mass)


def most_speed(subject: Subject, hand: HandLaunch) -> float:
    """The fastest throw of an airframe, its running start included [m/s]."""
    return arm_speed(subject.mass) + hand.run


def mass_for(speed: float, arm: Scatter | None = None) -> float:
    """The heaviest [kg] that an arm, standing, throws so fast [m/s]; nothing beyond its own
    speed."""
    arm = arm or Scatter()
    return max(0.0, arm.arm_mass * ((arm.arm_speed / speed) ** 2 - 1.0))
