"""Keys held down become sticks that move, and centre, at a thumb's pace.

A tap gives a small deflection, a longer press a growing one, up to full stick; letting go
brings the stick smoothly back. Pure: the window says which actions are held and for how long.
"""

from __future__ import annotations

import math

from firstthrow.sim.build.sticks import Sticks

FIRST_RATE = 0.7  # of full stick per second in the first moments of a press
FULL_RATE = 2.2  # and once the press has lasted
RAMP = 0.35  # [s] from the first to the full rate
RETURN = 0.07  # [s] time constant back to the centre
THROTTLE_RATE = 0.7  # of full throttle per second
TRIM_STEP = 0.02  # of full stick for each press
TRIM_LIMIT = 0.4


class Lever:
    """One sprung stick axis, pushed by two keys."""

    def __init__(self) -> None:
        self.place = 0.0
        self.pressed = 0.0  # [s] the same key has been down

    def move(self, seconds: float, push: int, pace: float = 1.0) -> float:
        """Place (-1..1) after `seconds` with `push` -1, 0 or 1."""
        if push == 0:
            self.pressed = 0.0
            self.place *= math.exp(-seconds / RETURN)
            if abs(self.place) < 1e-3:
                self.place = 0.0
            return self.place
        if self.place * push < 0.0:  # the other way: first come back as fast as a spring
            self.pressed = 0.0
            self.place *= math.exp(-seconds / RETURN)
            if abs(self.place) < 0.05:
                self.place = 0.0
        self.pressed += seconds
        ramp = min(1.0, self.pressed / RAMP)
        rate = FIRST_RATE + (FULL_RATE - FIRST_RATE) * ramp
        self.place = max(-1.0, min(1.0, self.place + push * pace * rate * seconds))
        return self.place


class Keyboard:
    """All sticks by keys; `pace` scales how fast the keys push them."""

    def __init__(self, pace: float = 1.0) -> None:
        self.pace = pace
        self.roll, self.pitch, self.yaw = Lever(), Lever(), Lever()
        self.throttle = 0.0
        self.low_rates = True  # keys are coarser than thumbs: start gently
        self.roll_trim = 0.0
        self.pitch_trim = 0.0

    def restart(self) -> None:
        """Sticks let go and throttle shut; trims and rates stay as the pilot set them."""
        self.roll, self.pitch, self.yaw = Lever(), Lever(), Lever()
        self.throttle = 0.0

    def press(self, action: str) -> None:
        """A key that acts once: throttle shut, rates, trims. Other actions are ignored."""
        if action == "motor_off":
            self.throttle = 0.0
        elif action == "low_rates":
            self.low_rates = not self.low_rates
        elif action == "trim_down":
            self.pitch_trim = _held_in(self.pitch_trim - TRIM_STEP, TRIM_LIMIT)
        elif action == "trim_up":
            self.pitch_trim = _held_in(self.pitch_trim + TRIM_STEP, TRIM_LIMIT)
        elif action == "trim_left":
            self.roll_trim = _held_in(self.roll_trim - TRIM_STEP, TRIM_LIMIT)
        elif action == "trim_right":
            self.roll_trim = _held_in(self.roll_trim + TRIM_STEP, TRIM_LIMIT)

    def sticks(self, seconds: float, held: frozenset[str] | set[str]) -> Sticks:
        """Sticks after another `seconds` with the `held` actions down."""
        roll = self.roll.move(seconds, _push(held, "roll_right", "roll_left"), self.pace)
        pitch = self.pitch.move(seconds, _push(held, "pitch_back", "pitch_forward"), self.pace)
        yaw = self.yaw.move(seconds, _push(held, "yaw_right", "yaw_left"), self.pace)
        push = _push(held, "throttle_up", "throttle_down")
        self.throttle = max(0.0, min(1.0, self.throttle + push * THROTTLE_RATE * seconds))
        return Sticks(
            roll=_held_in(roll + self.roll_trim, 1.0),
            pitch=_held_in(pitch + self.pitch_trim, 1.0),
            yaw=yaw,
            throttle=self.throttle,
            low_rates=self.low_rates,
        )


def _push(held: frozenset[str] | set[str], more: str, less: str) -> int:
    return (more in held) - (less in held)


def _held_in(value: float, limit: float) -> float:
    return max(-limit, min(limit, value))
