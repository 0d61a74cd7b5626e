"""Guided assignment of any device: rest, sweep, centre, push where asked, buttons. No window.

Call `see` on every frame with what the device reads, `go` when the person says so; each step
says in `prompt` what to do and in `told` what has been seen so far.
"""

from __future__ import annotations

import math
from typing import NamedTuple

from firstthrow.scenes.hands.hands import Axis, Hands, Switch
from firstthrow.sim.build.shape import spoken
from firstthrow.sim.build.sticks import Stick
from firstthrow.sim.build.straight import Led

TRAVEL = 0.5  # of the whole -1..1: an axis that moved less was not swept
PUSHED = 0.6  # of the way from rest to the end counts as pushed
ALONE = 0.7  # the others stay under this share of the pushed one
HELD = 0.5  # [s] a push is held
SPRUNG = 0.4  # of half the travel: a throttle that rests nearer the middle is sprung
LEAST_ZONE, MOST_ZONE = 0.01, 0.25
ACTIONS = (
    ("release", "throw"),
    ("again", "back in the hand"),
    ("low_rates", "low rates"),
    ("view", "next view"),
    ("pause", "pause"),
    ("trim_up", "trim nose up"),
    ("trim_down", "trim nose down"),
    ("trim_left", "trim left"),
    ("trim_right", "trim right"),
    ("motor_off", "throttle shut"),
)


class Step(NamedTuple):
    kind: str  # rest, sweep, centre, push, button, done
    prompt: str
    target: str = ""  # function or action
    moves: tuple[str, ...] = ()  # surfaces of a mixed channel


STICKS = (
    Step("push", "Push the stick for ROLL to the right and hold it.", "roll"),
    Step("push", "Pull the stick for PITCH back, towards you, and hold it.", "pitch"),
    Step("push", "Push the stick for YAW to the right and hold it.", "yaw"),
)
START = (
    Step("rest", "Let go of everything, throttle down. Then Enter."),
    Step("sweep", "Move every stick, lever and switch to all its ends, a few times. Then Enter."),
    Step("centre", "Let go again, sticks in the middle, throttle down. Then Enter."),
)
THROTTLE = Step("push", "Push the THROTTLE all the way up and hold it.", "throttle")
OPTIONAL = ("pitch", "yaw")


ENDS = {
    (Stick.ROLL, 1.0): "to the right",
    (Stick.ROLL, -1.0): "to the left",
    (Stick.PITCH, 1.0): "back",
    (Stick.PITCH, -1.0): "forward",
    (Stick.YAW, 1.0): "the rudder stick to the right",
    (Stick.YAW, -1.0): "the rudder stick to the left",
}


def channel_steps(servos: tuple[Led, ...]) -> tuple[Step, ...]:
    """Pushes that send each servo's surface up (an upright one to the right) and, where two share
    the mix, leave the other: both sticks to a corner."""
    steps = []
    for channel, led in zip(Stick, servos, strict=False):
        called = spoken(led.first.name).upper()
        way = "right" if led.first.upright else "up"
        prompt = f"Hold {_pushed(led.raised_by)}: the {called} goes {way}."
        steps.append(Step("push", prompt, channel, led.names))
    return tuple(steps)


def _pushed(ends: dict[Stick, float]) -> str:
    """'the stick back AND to the left, the corner'."""
    told = [
        ENDS[stick, ends[stick]] for stick in (Stick.PITCH, Stick.ROLL, Stick.YAW) if stick in ends
    ]
    whole = " AND ".join(told)
    if Stick.PITCH in ends or Stick.ROLL in ends:
        whole = f"the stick {whole}"
    return f"{whole}, the corner" if Stick.PITCH in ends and Stick.ROLL in ends else whole


class Guide:
    """One run of the guide. `servos` for a device that sends mixed channels."""

    def __init__(self, servos: tuple[Led, ...] = (), mode: int = 2):
        self.mode, self.sends = mode, "channels" if servos else "sticks"
        pushes = channel_steps(servos) if servos else STICKS
        buttons = tuple(
            Step("button", f"Press the button, or move the switch, for: {words}.", action)
            for action, words in ACTIONS
        )
        self.steps = (*START, THROTTLE, *pushes, *buttons, Step("done", "Done. Enter keeps it."))
        self.at = 0
        self.complaint = ""
        self.now: list[float] = []
        self.rest: list[float] = []
        self.low: list[float] = []
        self.high: list[float] = []
        self.noise: list[tuple[float, float]] = []  # least and most since the step began
        self.zero: list[float] = []
        self.shake: list[float] = []  # how far each axis wanders by itself
        self.axes: dict[str, Axis] = {}
        self.sprung = False
        self.buttons: dict[str, int] = {}
        self.switches: dict[str, Switch] = {}
        self.held = 0.0  # [s] the present push
        self.candidate = -1
        self.released = True  # sticks are back in the middle since the last push

    @property
    def step(self) -> Step:
        return self.steps[self.at]

    @property
    def done(self) -> bool:
        return self.step.kind == "done"

    @property
    def told(self) -> str:
        """What has been seen in this step."""
        kind = self.step.kind
        if self.complaint:
            return self.complaint
        if kind == "sweep":
            return f"{len(self.swept())} of {len(self.now)} axes have moved"
        if kind == "push":
            if not self.released:
                return "let go first"
            return "hold it" if self.candidate >= 0 else "Backspace leaves this one out"
        if kind == "button":
            return "Enter leaves this one out; End leaves out all that follow"
        return ""

    def swept(self) -> list[int]:
        """Axes that have been moved."""
        return [k for k in range(len(self.low)) if self.high[k] - self.low[k] > TRAVEL]

    def see(self, seconds: float, axes: list[float], pressed: list[int]) -> None:
        """What the device reads now, and the buttons that went down since the last time."""
        self.now = list(axes)
        if len(self.noise) != len(axes):
            self.noise = [(a, a) for a in axes]
        self.noise = [(min(a, n[0]), max(a, n[1])) for a, n in zip(axes, self.noise, strict=True)]
        kind = self.step.kind
        if kind == "sweep":
            self.low = [min(a, b) for a, b in zip(axes, self.low or axes, strict=True)]
            self.high = [max(a, b) for a, b in zip(axes, self.high or axes, strict=True)]
        elif kind == "push":
            self._push(seconds)
        elif kind == "button":
            self._button(pressed)

    def go(self) -> None:
        """The person says: next. Stays, with a complaint, where something is missing."""
        self.complaint = ""
        kind = self.step.kind
        if kind == "rest":
            self.rest, self.low, self.high = list(self.now), list(self.now), list(self.now)
        elif kind == "sweep" and len(self.swept()) < 2:
            self.complaint = "fewer than two axes have moved: move them to their ends"
            return
        elif kind == "centre":
            self.zero = list(self.now)
            self.shake = [high - low for low, high in self.noise]
        elif kind == "push":
            self.complaint = "hold the stick there, or Backspace leaves it out"
            return
        if not self.done:
            self._next()

    def skip(self) -> None:
        """Leaves the present function out; throttle and the first stick cannot be."""
        if self.step.kind == "button" or self.step.target in OPTIONAL:
            self._next()
        else:
            self.complaint = "this one is needed"

    def finish(self) -> None:
        """Leaves out all buttons that have not been asked for yet."""
        if self.step.kind == "button":
            self.at = len(self.steps) - 1

    def hands(self, name: str) -> Hands:
        """What was found. ValueError while it is not done."""
        if not self.done:
            raise ValueError("the guide is not through")
        return Hands(
            name=name,
            about=f"{name}, assigned by the guide",
            mode=self.mode,
            sends=self.sends,
            throttle_spring=self.sprung,
            buttons=self.buttons,
            switches=self.switches,
            **self.axes,
        )

    def _next(self) -> None:
        self.at += 1
        self.complaint, self.held, self.candidate, self.released = "", 0.0, -1, False
        self.noise = [(a, a) for a in self.now]

    def _shares(self) -> list[float]:
        """How far each axis is from its centre, signed, 1 at its end; 0 for what cannot be used."""
        used = {axis.index for axis in self.axes.values()}
        shares = []
        for k, value in enumerate(self.now):
            away = value - self.zero[k]
            most = self.high[k] - self.zero[k] if away > 0.0 else self.zero[k] - self.low[k]
            able = k in self.swept() and k not in used and most > 0.1
            shares.append(away / most if able else 0.0)
        return shares

    def _push(self, seconds: float) -> None:
        shares = self._shares()
        sizes = [abs(share) for share in shares]
        if not self.released:
            self.released = max(sizes, default=0.0) < 0.5 * PUSHED and self._used_home()
            return
        order = sorted(range(len(sizes)), key=lambda k: -sizes[k])
        best = order[0] if order else -1
        second = sizes[order[1]] if len(order) > 1 else 0.0
        if best < 0 or sizes[best] < PUSHED or second > ALONE * sizes[best]:
            self.candidate, self.held = -1, 0.0
            return
        self.held = self.held + seconds if best == self.candidate else 0.0
        self.candidate = best
        if self.held >= HELD:
            self._take(best, shares[best] < 0.0)

    def _used_home(self) -> bool:
        """Whether axes already assigned, but a throttle that stays where it is put, are back."""
        for name, axis in self.axes.items():
            if name == "throttle" and not self.sprung:
                continue
            away = abs(self.now[axis.index] - self.zero[axis.index])
            if away > 0.5 * PUSHED * max(0.1, self.high[axis.index] - self.zero[axis.index]):
                return False
        return True

    def _take(self, k: int, invert: bool) -> None:
        low, high, zero = self.low[k], self.high[k], self.zero[k]
        target, rests = self.step.target, "centre"
        if target == "throttle":
            half = 0.5 * (high - low)
            self.sprung = abs(zero - 0.5 * (high + low)) < SPRUNG * half
            rests = "centre" if self.sprung else "none"
            zero = zero if self.sprung else 0.5 * (high + low)
        zone = math.ceil(200.0 * self.shake[k]) / 100.0 + LEAST_ZONE
        if target == "throttle" and self.sprung:
            zone = max(zone, 0.1)
        if self.sends == "channels" and target != "throttle":
            # the middle is the servo's, not where reflex or trim hold it; and nothing is lost
            low, zero, high, zone = -1.0, 0.0, 1.0, 0.0
        self.axes[target] = Axis(
            index=k,
            invert=invert,
            dead_zone=f"{100 * min(MOST_ZONE, zone):.0f} %",
            rests_at=rests,
            low=max(-1.0, low),
            centre=max(-1.0, min(1.0, zero)),
            high=min(1.0, high),
            moves=self.step.moves,
        )
        self._next()

    def _button(self, pressed: list[int]) -> None:
        for number in pressed:
            if number not in self.buttons.values():
                self.buttons[self.step.target] = number
                self._next()
                return
        used = {axis.index for axis in self.axes.values()}
        used |= {switch.index for switch in self.switches.values()}
        for k in self.swept():
            low, high = self.noise[k]
            if k not in used and high - low > TRAVEL and abs(self.now[k]) > 0.5:
                self.switches[self.step.target] = Switch(index=k, above=self.now[k] > 0.0)
                self._next()
                return
