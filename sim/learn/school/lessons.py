"""The lessons in their order, each with an aim that stands on the field: gates and a landing box.

Places are plan coordinates: metres ahead of the launch point and to its right, as the pilot faces.
Gates are the same for every airframe, so that marks can be held beside each other; how far apart
they stand suits turns of 20 m radius, 30 degrees of bank at 10.6 m/s.
"""

from __future__ import annotations

import math
from typing import NamedTuple

from firstthrow.sim.describe.field import Field

WIND_FROM = math.radians(40.0)  # left of straight ahead
STIRS = 0.9  # of the wind at 10 m, at 6 m over grass: that by which turbulence goes
STRIP_BOX = (25.0, 0.0)  # where the landing box lies on the mown strip [m]


class Gate(NamedTuple):
    """Two stakes, passed between in one direction."""

    ahead: float  # [m] of the middle between them
    right: float  # [m]
    toward: float  # [deg] of flight through it: 0 away from the pilot, 90 to the right
    half: float  # [m] from the middle to a stake
    height: float = 6.0  # [m] of the middle
    tall: float = 4.5  # [m] from the middle to the top, and to the bottom

    @property
    def across(self) -> tuple[float, float]:
        """(ahead, right) unit from the middle to the stake on the right of one who flies through"""
        angle = math.radians(self.toward)
        return -math.sin(angle), math.cos(angle)


class Box(NamedTuple):
    """Where it is to come to rest."""

    ahead: float
    right: float
    long: float = 15.0  # [m] from the middle to its far end
    wide: float = 4.0  # [m] from the middle to its side


class Lesson(NamedTuple):
    name: str  # as it is typed
    title: str
    aim: str  # one sentence
    gates: tuple[Gate, ...]  # in the order they are flown
    box: Box | None = None  # after the gates
    seconds: float = 60.0  # it is over by then
    stays: float = 0.0  # [s] after the release that it must be in the air
    wind: float = 0.0  # [m/s] at least, from ahead on the left
    faulty: bool = False  # something is wrong with the airframe


AWAY = Gate(50.0, 0.0, 0.0, 7.0)
HOME = Gate(10.0, 14.0, 180.0, 9.0)
BOX = Box(*STRIP_BOX)
LEFT = (Gate(45.0, 0.0, 0.0, 7.0), Gate(66.0, -22.0, -90.0, 9.0), Gate(40.0, -44.0, 180.0, 10.0))


def mirrored(gates: tuple[Gate, ...]) -> tuple[Gate, ...]:
    """Left for right."""
    return tuple(gate._replace(right=-gate.right, toward=-gate.toward) for gate in gates)


CROSSING = Gate(45.0, 0.0, 0.0, 8.0)
LESSONS = (
    Lesson(
        "first-ten",
        "First ten seconds",
        "Through two wide gates straight ahead, and still flying ten seconds after the launch.",
        (AWAY._replace(half=9.0), Gate(80.0, 0.0, 0.0, 12.0)),
        seconds=20.0,
        stays=10.0,
    ),
    Lesson(
        "straight",
        "Straight ahead",
        "Through three narrow gates in a line, at an even height.",
        tuple(Gate(ahead, 0.0, 0.0, 5.0, 6.0, 3.5) for ahead in (45.0, 70.0, 95.0)),
        seconds=30.0,
    ),
    Lesson(
        "left",
        "Turn left",
        "Away through the first gate, left through the second, back through the third.",
        LEFT,
    ),
    Lesson(
        "right",
        "Turn right",
        "Away through the first gate, right through the second, back through the third.",
        mirrored(LEFT),
    ),
    Lesson(
        "eight",
        "Figure of eight",
        "Round to the left and round to the right, each time through the gate in the middle.",
        (
            CROSSING,
            Gate(45.0, -46.0, 180.0, 12.0),
            CROSSING,
            Gate(45.0, 46.0, 180.0, 12.0),
            CROSSING,
        ),
        seconds=90.0,
    ),
    Lesson(
        "home",
        "Come home",
        "Away through the far gate, round, and back through the one at your right.",
        (Gate(60.0, 0.0, 0.0, 7.0), HOME),
    ),
    Lesson(
        "land",
        "Land on the strip",
        "Away through the gate, round, and down in the box on the strip.",
        (AWAY,),
        BOX,
        90.0,
    ),
    Lesson(
        "wind",
        "In wind",
        "Away, home, and down in the box, in a wind from ahead on the left.",
        (AWAY, HOME),
        BOX,
        120.0,
        wind=4.0,
    ),
    Lesson(
        "fault",
        "With a fault",
        "Something is wrong with it: away through the gate, and down in the box.",
        (AWAY,),
        BOX,
        90.0,
        faulty=True,
    ),
)
BY_NAME = {lesson.name: lesson for lesson in LESSONS}
FAULTS = ("warped-tip", "slow-throw", "low-throttle", "weak-pack", "gust-at-release")  # mild ones


def in_wind(lesson: Lesson, field: Field) -> Field:
    """The field with at least the lesson's wind, from ahead on the left, and its turbulence."""
    if field.wind.speed >= lesson.wind:
        return field
    bearing = field.heading - WIND_FROM
    wind = field.wind.model_copy(update={"speed": lesson.wind, "from_bearing": bearing})
    gusts = field.gusts.model_copy(update={"wind_at_6_m": STIRS * lesson.wind})
    return field.model_copy(update={"wind": wind, "gusts": gusts})


def after(name: str) -> Lesson:
    """The next; the last is followed by itself."""
    names = list(BY_NAME)
    return LESSONS[min(len(LESSONS) - 1, names.index(name) + 1)]
