"""Where on an airframe something can be fixed: on a sheet, along a named rod, at a motor's mount.

Never in the disc of a propeller, and never in a motor. All on the centreline or on a part's own
line fore and aft: who fixes ballast does it there.
"""

from __future__ import annotations

from collections.abc import Iterator
from math import hypot
from typing import NamedTuple

from firstthrow.sim.build.shape import pieces
from firstthrow.sim.describe.airframe import Airframe, Item

CLEAR = 0.010  # between what is fixed and a propeller's disc [m]
NEAR = 0.02  # to the side or up, within which one thing is taken to sit on another [m]
BEHIND = 0.06  # of its disc, within which a motor's body is looked for [m]
# Parts that other parts are fixed to: every rod but a motor, and boxes called so.
BEARING = ("stick", "boom", "bearer", "box", "nose", "keel", "spine", "rod", "tube", "fuselage")

Place = tuple[float, float, float]  # aft, right, up [m]


class Stretch(NamedTuple):
    """Of a part that something can be fixed to: from front to rear [m], and its line."""

    words: str  # such as 'on the slab'
    front: float
    rear: float
    right: float
    up: float

    @property
    def ends(self) -> tuple[Place, Place]:
        return (self.front, self.right, self.up), (self.rear, self.right, self.up)

    def has(self, at: Place) -> bool:
        aft, right, _ = at
        return self.front - 1e-6 <= aft <= self.rear + 1e-6 and abs(right - self.right) <= NEAR


def stretches(airframe: Airframe) -> list[Stretch]:
    """All of them on the centreline and the motors' mounts, the ones one would name first first."""
    return [*_rods(airframe), *_mounts(airframe), *_sheets(airframe)]


def _half(item: Item) -> float:
    return 0.5 * item.length if item.along == "aft" else 0.0


def _is_motor(name: str) -> bool:
    return "motor" in name and not any(word in name for word in BEARING)


def _rods(airframe: Airframe) -> Iterator[Stretch]:
    for name, item in airframe.items.items():
        bears = item.shape == "rod" or any(word in name for word in BEARING)
        if bears and not _is_motor(name) and _half(item) > 0.0:
            half, words = _half(item), f"along the {name.replace('_', ' ')}"
            yield Stretch(words, item.aft - half, item.aft + half, item.right, item.up)


def body(airframe: Airframe, motor: str) -> tuple[float, float]:
    """Front and rear of a motor with its propeller's disc [m]: the disc alone where no part is
    called a motor near it."""
    disc = airframe.motors[motor]
    found = [disc.aft]
    for name, item in airframe.items.items():
        beside = hypot(item.right - disc.right, item.up - disc.up) <= NEAR
        if _is_motor(name) and beside and abs(item.aft - disc.aft) <= BEHIND + _half(item):
            found += [item.aft - _half(item), item.aft + _half(item)]
    return min(found), max(found)


def mount(airframe: Airframe, motor: str) -> Place:
    """Where a motor is fixed: the end of its body away from its disc, or just behind that."""
    disc = airframe.motors[motor]
    front, rear = body(airframe, motor)
    aft = rear if rear - disc.aft >= disc.aft - front else front
    return max(aft, disc.aft + CLEAR) if aft >= disc.aft else aft, disc.right, disc.up


def _mounts(airframe: Airframe) -> Iterator[Stretch]:
    for name in airframe.motors:
        aft, right, up = mount(airframe, name)
        words = "motor mount" if len(airframe.motors) == 1 else f"mount of {name}"
        yield Stretch(f"at the {words}", aft, aft, right, up)


def _sheets(airframe: Airframe) -> Iterator[Stretch]:
    by_name: dict[str, list[tuple[float, float, float]]] = {}
    for piece in pieces(airframe):
        for aft, right, up in piece.corners.tolist():
            if abs(right) < 0.002:
                by_name.setdefault(piece.sheet, []).append((aft, right, up))
    for name, corners in by_name.items():
        aft = [corner[0] for corner in corners]
        up = sum(corner[2] for corner in corners) / len(corners)
        yield Stretch(f"on the {name.replace('_', ' ')}", min(aft), max(aft), 0.0, up)


def is_clear(airframe: Airframe, at: Place) -> bool:
    """Whether it is out of every propeller's disc and of every motor."""
    for name, motor in airframe.motors.items():
        side = hypot(at[1] - motor.right, at[2] - motor.up)
        if side < 0.5 * motor.propeller.size[0] and abs(at[0] - motor.aft) < CLEAR - 1e-9:
            return False
        front, rear = body(airframe, name)
        if side < 0.5 * NEAR and front + 1e-6 < at[0] < rear - 1e-6:
            return False
    return True


def holds(airframe: Airframe, at: Place) -> str:
    """What something there is fixed to, in words; empty where nothing is, or a propeller turns."""
    if not is_clear(airframe, at):
        return ""
    for name, motor in airframe.motors.items():
        front, rear = body(airframe, name)
        beside = hypot(at[1] - motor.right, at[2] - motor.up) <= NEAR
        if beside and front + 1e-6 < at[0] < rear - 1e-6 and at[2] != motor.up:
            return f"{'under' if at[2] < motor.up else 'over'} the motor"
    return next((one.words for one in stretches(airframe) if one.has(at)), "")


def nose(airframe: Airframe) -> Place:
    """The furthest forward that something can be fixed."""
    return min(_clear(airframe), key=lambda at: at[0])


def tail(airframe: Airframe) -> Place:
    """The furthest aft."""
    return max(_clear(airframe), key=lambda at: at[0])


def _clear(airframe: Airframe) -> list[Place]:
    """Ends of what bears, moved off the propellers; on the centreline where any are."""
    found = []
    for one in stretches(airframe):
        ends = [*one.ends]
        for motor in airframe.motors.values():  # or just beside a disc that turns there
            ends += [(motor.aft + way * CLEAR, one.right, one.up) for way in (1.0, -1.0)]
        for name in airframe.motors:
            ends += [(aft, one.right, one.up) for aft in body(airframe, name)]
        found += [at for at in ends if one.has(at) and is_clear(airframe, at)]
    middle = [at for at in found if abs(at[1]) < NEAR]
    return middle or found


def place_words(airframe: Airframe, at: Place) -> str:
    """Where it is from the datum and on what, such as '75 mm ahead of the datum, along the nose
    stick'."""
    away = airframe.units.length(abs(at[0]))
    words = f"{away} {'ahead of' if at[0] < -0.5e-3 else 'behind'} the datum"
    held = holds(airframe, at)
    return f"{words}, {held}" if held else words
