"""Where on an airframe something can be fixed: on a sheet, along a named rod, at a motor's mount.

Never in the disc of a propeller, and never in a motor. All on the centreline or on a part's own
line fore and aft: who fixes ballast does it there.
"""

from __future__ import annotations

import re
from collections.abc import Iterator
from math import hypot, inf
from typing import NamedTuple

from firstthrow.sim.build.shape import pieces
from firstthrow.sim.describe.airframe import Airframe, Item
from firstthrow.sim.describe.drive import Motor

CLEAR = 0.010  # between what is fixed and a propeller's disc [m]
NEAR = 0.02  # to the side or up, within which one thing is taken to sit on another [m]
BEHIND = 0.06  # of its disc, within which a motor's body is looked for [m]
SHORT = 2.0  # lengths of a rod's diameter, up to which it is the body of a motor beside its disc
# Parts that other parts are fixed to: every rod but a motor, and boxes that have such a word.
BEARING = frozenset(
    ["stick", "boom", "bearer", "box", "nose", "keel", "spine", "rod", "tube", "fuselage", "pod"]
)

Place = tuple[float, float, float]  # aft, right, up [m]


class Stretch(NamedTuple):
    """Of a part that something can be fixed to: from front to rear [m], its line, and how far it
    reaches below and above that."""

    words: str  # such as 'on the slab'
    front: float
    rear: float
    right: float
    up: float
    below: float = 0.0
    above: float = 0.0

    @property
    def ends(self) -> tuple[Place, Place]:
        return (self.front, self.right, self.up), (self.rear, self.right, self.up)

    def has(self, at: Place) -> bool:
        aft, right, up = at
        beside = abs(right - self.right) <= NEAR
        level = -self.below - NEAR <= up - self.up <= self.above + NEAR
        return self.front - 1e-6 <= aft <= self.rear + 1e-6 and beside and level


def stretches(airframe: Airframe) -> list[Stretch]:
    """All of them on the centreline and the motors' mounts, the ones one would name first first."""
    return [*_rods(airframe), *_mounts(airframe), *_sheets(airframe)]


def _half(item: Item) -> float:
    return 0.5 * item.length if item.along == "aft" else 0.0


def _words(name: str) -> set[str]:
    return set(re.split(r"[^a-z]+", name.lower()))


def _bears(name: str) -> bool:
    return bool(_words(name) & BEARING)


def _is_motor(name: str, item: Item, disc: Motor) -> bool:
    """Whether a part is the body that turns a disc: on its line, near it, and called a motor or a
    short rod."""
    beside = hypot(item.right - disc.right, item.up - disc.up) <= NEAR
    if not beside or abs(item.aft - disc.aft) > BEHIND + _half(item):
        return False
    if "motor" in _words(name):
        return not _bears(name)
    return item.shape == "rod" and 0.0 < 2.0 * _half(item) <= SHORT * item.diameter


def _rods(airframe: Airframe) -> Iterator[Stretch]:
    discs = airframe.motors.values()
    for name, item in airframe.items.items():
        turns = any(_is_motor(name, item, disc) for disc in discs)
        if (item.shape == "rod" or _bears(name)) and not turns and _half(item) > 0.0:
            half, words = _half(item), f"along the {name.replace('_', ' ')}"
            tall = 0.5 * (item.height if item.shape == "box" else item.diameter)
            ends = item.aft - half, item.aft + half
            yield Stretch(words, *ends, item.right, item.up, tall, tall)


def body(airframe: Airframe, motor: str) -> tuple[float, float]:
    """Front and rear of a motor with its propeller's disc [m]: the disc alone where no part beside
    it is its body."""
    disc = airframe.motors[motor]
    found = [disc.aft]
    for name, item in airframe.items.items():
        if _is_motor(name, item, disc):
            found += [item.aft - _half(item), item.aft + _half(item)]
    return min(found), max(found)


def mount(airframe: Airframe, motor: str) -> Place:
    """Where a motor is fixed: the end of its body away from its disc; without a body, or with one
    within the disc, beside the disc on the side of what may bear it."""
    disc = airframe.motors[motor]
    front, rear = body(airframe, motor)
    if max(rear - disc.aft, disc.aft - front) < CLEAR:
        bears = [*_rods(airframe), *_sheets(airframe)]
        ahead = min((disc.aft - one.rear for one in bears if one.front < disc.aft), default=inf)
        behind = min((one.front - disc.aft for one in bears if one.rear > disc.aft), default=inf)
        aft = disc.aft + (CLEAR if behind <= ahead else -CLEAR)
    else:
        aft = rear if rear - disc.aft >= disc.aft - front else front
    return aft, disc.right, disc.up


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
        ups = [corner[2] for corner in corners]
        up, words = sum(ups) / len(ups), f"on the {name.replace('_', ' ')}"
        yield Stretch(words, min(aft), max(aft), 0.0, up, up - min(ups), max(ups) - up)


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
