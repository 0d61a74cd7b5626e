"""A gamepad or a transmitter on a USB lead, through pygame, beside a pyglet window.

The switches below must be set before pygame is imported: no window of SDL's own, sticks read
while its dummy window has no focus, and signals left to the program.
"""

from __future__ import annotations

import os

os.environ.setdefault("PYGAME_HIDE_SUPPORT_PROMPT", "1")
os.environ.setdefault("SDL_VIDEODRIVER", "dummy")
os.environ.setdefault("SDL_JOYSTICK_ALLOW_BACKGROUND_EVENTS", "1")
os.environ.setdefault("SDL_NO_SIGNAL_HANDLERS", "1")
os.environ.setdefault("SDL_JOYSTICK_THREAD", "1")

import pygame

from sim.sticks import Sticks

FULL = 32768.0 / 32767.0  # SDL's largest positive value falls short of 1 by one count
MOVED = 0.02  # an axis counts as alive once it has left its first value by this much
LOW = 0.05  # throttle below this arms the motor
SPRUNG_RATE = 0.7  # of full throttle per second, from a throttle stick that springs back
EVENTS = (
    pygame.JOYDEVICEADDED,
    pygame.JOYDEVICEREMOVED,
    pygame.JOYBUTTONDOWN,
)


def with_dead_zone(value: float, zone: float) -> float:
    """Zero inside the zone, then straight up to full deflection at the end of travel."""
    size = abs(value)
    if size <= zone or zone >= 1.0:
        return 0.0
    return min(1.0, (size - zone) / (1.0 - zone)) * (1.0 if value > 0.0 else -1.0)


class Gamepad:
    """One device, the first that is there; another is taken when it goes."""

    def __init__(self, hands):
        self.hands = hands
        self.device: pygame.joystick.JoystickType | None = None
        self.first: list[float] = []
        self.alive: set[int] = set()
        self.armed = False
        self.throttle = 0.0
        self.low_rates = False
        pygame.display.init()
        pygame.joystick.init()

    @property
    def connected(self) -> bool:
        return self.device is not None

    @property
    def name(self) -> str:
        return self.device.get_name() if self.device else ""

    def poll(self) -> list[str]:
        """Call on every frame. Actions whose button went down, and 'plugged', 'unplugged'."""
        pygame.event.pump()
        happened: list[str] = []
        for event in pygame.event.get(EVENTS):
            if event.type == pygame.JOYDEVICEADDED and self.device is None:
                self._open(event.device_index)
                happened.append("plugged")
            elif self.device is None:
                continue
            elif event.type == pygame.JOYDEVICEREMOVED:
                if event.instance_id == self.device.get_instance_id():
                    self._close()
                    happened.append("unplugged")
            elif (
                event.type == pygame.JOYBUTTONDOWN
                and event.instance_id == self.device.get_instance_id()
            ):
                happened += [a for a, b in self.hands.buttons.items() if b == event.button]
        pygame.event.clear()
        if "unplugged" in happened and self.device is None and pygame.joystick.get_count():
            self._open(0)  # one that was there all along
            happened.append("plugged")
        self._watch()
        return happened

    def press(self, action: str) -> None:
        if action == "low_rates":
            self.low_rates = not self.low_rates
        elif action == "motor_off":
            self.armed, self.throttle = False, 0.0

    def restart(self) -> None:
        """A sprung throttle starts shut; a throttle that stays where it is put, stays."""
        self.throttle = 0.0

    def sticks(self, seconds: float) -> Sticks:
        """Sticks now; in the middle, throttle shut, with nothing connected."""
        if self.device is None:
            return Sticks(low_rates=self.low_rates)
        hands = self.hands
        return Sticks(
            roll=self._stick(hands.roll),
            pitch=self._stick(hands.pitch),
            yaw=self._stick(hands.yaw),
            throttle=self._throttle(seconds),
            low_rates=self.low_rates,
        )

    def places(self) -> tuple[float, ...]:
        """Where the assigned axes stand, raw; zero for one that has not moved yet."""
        hands = self.hands
        axes = (hands.roll, hands.pitch, hands.yaw, hands.throttle)
        return tuple(
            self.device.get_axis(axis.index)
            if self.device is not None and axis is not None and axis.index in self.alive
            else 0.0
            for axis in axes
        )

    def close(self) -> None:
        self._close()
        pygame.joystick.quit()
        pygame.display.quit()

    def _open(self, index: int) -> None:
        self.device = pygame.joystick.Joystick(index)
        count = self.device.get_numaxes()
        self.first = [self.device.get_axis(k) for k in range(count)]
        self.alive = set()
        self.armed = False
        self.throttle = 0.0

    def _close(self) -> None:
        # the zeros that SDL sends before it says 'removed' are never read: the device is gone
        if self.device is not None:
            self.device.quit()
        self.device = None
        self.armed, self.throttle = False, 0.0

    def _watch(self) -> None:
        if self.device is None:
            return
        for k, start in enumerate(self.first):
            if k not in self.alive and abs(self.device.get_axis(k) - start) > MOVED:
                self.alive.add(k)

    def _axis(self, axis) -> float:
        """-1..1, inverted as assigned; its rest until the axis has been seen to move."""
        if axis is None:
            return 0.0
        if axis.index not in self.alive:
            return -1.0 if axis.rests_at == "low" else 0.0
        value = max(-1.0, min(1.0, FULL * self.device.get_axis(axis.index)))
        return -value if axis.invert else value

    def _stick(self, axis) -> float:
        return with_dead_zone(self._axis(axis), axis.dead_zone) if axis else 0.0

    def _throttle(self, seconds: float) -> float:
        """0..1; shut until the lever has been seen low, so that no motor starts by surprise."""
        axis = self.hands.throttle
        if axis is None:
            return 0.0
        if self.hands.throttle_spring:
            push = with_dead_zone(self._axis(axis), axis.dead_zone)
            self.throttle = max(0.0, min(1.0, self.throttle + push * SPRUNG_RATE * seconds))
            return self.throttle
        if axis.index not in self.alive:
            return 0.0
        place = 0.5 * (self._axis(axis) + 1.0)
        place = max(0.0, place - 0.5 * axis.dead_zone) / max(0.05, 1.0 - 0.5 * axis.dead_zone)
        if place < LOW:
            self.armed = True
        self.throttle = place if self.armed else 0.0
        return self.throttle
