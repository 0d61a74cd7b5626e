"""How a person's hands reach the sticks: axes of a gamepad or transmitter, buttons, keys."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from pathlib import Path
from typing import Annotated, Any, Literal

from pydantic import Field as Key
from pydantic import StrictBool, StrictInt

from firstthrow.scenes.hands.bindings import BINDINGS
from firstthrow.sim.describe.config import find, load
from firstthrow.sim.describe.described import Described
from firstthrow.sim.describe.problems import Problem, did_you_mean
from firstthrow.sim.describe.quantities import (
    Fraction,
)

FUNCTIONS = ("throttle", "roll", "pitch", "yaw")
HAT = 100  # buttons from this number are a hat's: up, right, down, left, four for each hat
Raw = Annotated[float, Key(ge=-1.0, le=1.0, strict=True)]  # as the device reads


class Axis(Described):
    """One axis of the device; `invert` until right, back and more throttle are positive."""

    index: StrictInt = Key(ge=0, le=63, description="number of the axis, from 0")
    invert: StrictBool = Key(False, description="when it reads the wrong way round")
    dead_zone: Fraction = Key(0.0, description="about its rest, that counts as none")
    rests_at: Literal["centre", "low", "none"] = Key(
        "centre",
        description='Where it stands when let go: "centre" for a sprung stick, "low" for a trigger '
        'that rests at -1, "none" for a stick that stays where it is put.',
    )
    low: Raw = Key(-1.0, description="what the device reads at the ends and at rest")
    centre: Raw = Key(0.0, description="what the device reads there")
    high: Raw = Key(1.0, description="what the device reads there")
    moves: tuple[str, ...] = Key(
        (),
        description="Of a device that sends mixed channels: the surfaces whose servo it goes to.",
        examples=[["elevon_left"]],
    )


class Switch(Described):
    """A switch that the device sends as an axis: on beyond half its travel, that side of zero."""

    index: StrictInt = Key(ge=0, le=63, description="number of the axis, from 0")
    above: StrictBool = Key(
        True, description="on when it reads more than half, else less than minus half"
    )


class Hands(Described):
    """The sticks of one device. Without any axis, only the keyboard flies."""

    name: str = Key(description="what reports call it", examples=["my gamepad"])
    about: str = Key(description="one line on what it is", examples=["gamepad, mode 2"])
    mode: StrictInt = Key(
        default=2, ge=1, le=4, description="which stick carries what, as it is drawn"
    )
    throttle: Axis | None = Key(None, description="its axis")
    roll: Axis | None = Key(None, description="its axis")
    pitch: Axis | None = Key(None, description="its axis")
    yaw: Axis | None = Key(None, description="its axis")
    throttle_spring: StrictBool = Key(
        False, description="a sprung throttle stick sets how fast, not how much"
    )
    keyboard_rate: Fraction = Key(1.0, description="of the usual pace at which keys push a stick")
    buttons: dict[str, StrictInt] = Key(
        default_factory=dict, description="action -> button number", examples=[{"first_ten": 0}]
    )
    switches: dict[str, Switch] = Key(default_factory=dict, description="action -> switch")
    sends: Literal["sticks", "channels"] = Key(
        "sticks",
        description="What the device sends: the sticks, for the airframe file to mix; or channels "
        "that are mixed already, straight to the servos: then roll, pitch and yaw are the first "
        "three of them, positive with the trailing edge up, on a rudder to the right.",
    )

    @property
    def has_axes(self) -> bool:
        return self.roll is not None

    @property
    def channel_moves(self) -> tuple[tuple[str, ...], ...]:
        """Surfaces of the mixed channels, in their order; empty where the file names none."""
        axes = (self.roll, self.pitch, self.yaw)
        return tuple(axis.moves for axis in axes if axis is not None and axis.moves)


def load_hands(name: str | Path, overrides: Sequence[str] = ()) -> Hands:
    """Hands by name or file. Raises ConfigError with all problems."""
    return load(Hands, find("hands", str(name)), overrides, hands_problems)


def hands_problems(tree: dict[str, Any]) -> Iterator[Problem]:
    """What does not fit together: axes given in part, one axis or button used twice."""
    given = [name for name in FUNCTIONS if isinstance(tree.get(name), dict)]
    if given:
        sends = tree.get("sends") == "channels"
        for name in ("throttle", "roll") if sends else ("throttle", "roll", "pitch"):
            if name not in tree:
                yield (name,), f"missing: wanted a table [{name}], as other axes are given"
    axes = [((name, "index"), tree[name].get("index")) for name in given]
    switches = tree.get("switches")
    if isinstance(switches, dict):
        yield from _unknown(switches, "switches")
        axes += [
            (("switches", action), switch.get("index"))
            for action, switch in switches.items()
            if isinstance(switch, dict)
        ]
    yield from _used_twice(axes, "axis")
    buttons = tree.get("buttons")
    if not isinstance(buttons, dict):
        return
    yield from _unknown(buttons, "buttons")
    for action, number in buttons.items():
        if isinstance(number, int) and number < 0:
            yield ("buttons", action), f"{number}: wanted 0 or more"
    yield from _used_twice([(("buttons", a), n) for a, n in buttons.items()], "button")


def _unknown(table: dict[str, Any], kind: str) -> Iterator[Problem]:
    actions = [binding.action for binding in BINDINGS if not binding.held]
    for action in table:
        if action not in actions:
            yield (kind, action), f"no such action; {did_you_mean(action, actions)}"


def _used_twice(numbers: Sequence[tuple[tuple[str, ...], Any]], noun: str) -> Iterator[Problem]:
    owner: dict[int, str] = {}
    for path, number in numbers:
        if isinstance(number, bool) or not isinstance(number, int):
            continue
        key = path[0] if path[-1] == "index" else path[-1]
        if number in owner:
            yield path, f"{number}: {noun} {number} serves {owner[number]} already"
        owner.setdefault(number, key)
