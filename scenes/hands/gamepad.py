"""A gamepad or a transmitter on a USB lead, through pygame, beside a pyglet window."""

from __future__ import annotations

from collections.abc import Callable
from typing import NamedTuple

from firstthrow.scenes.hands.hands import FUNCTIONS, HAT
from firstthrow.scenes.hands.sdl import pygame
from firstthrow.sim.build.sticks import Sticks
from firstthrow.sim.describe.config import ConfigError

FULL = 32768.0 / 32767.0  # SDL's largest positive value falls short of 1 by one count
SWITCHED = 0.5  # of an axis' travel: a switch is on beyond it
MOVED = 0.02  # an axis counts as alive once it has left its first value by this much
LOW = 0.05  # throttle below this arms the motor
SPRUNG_RATE = 0.7  # of full throttle per second, from a throttle stick that springs back
EVENTS = (
    pygame.JOYDEVICEADDED,
    pygame.JOYDEVICEREMOVED,
    pygame.JOYBUTTONDOWN,
    pygame.JOYHATMOTION,
)
RATES_SET = "rates_set"  # no key's action: a switch was moved
HAT_WAYS = ((0, 1), (1, 0), (0, -1), (-1, 0))  # up, right, down, left, as SDL tells them


def with_dead_zone(value: float, zone: float) -> float:
    """Zero inside the zone, then straight up to full deflection at the end of travel."""
    size = abs(value)
    if size <= zone or zone >= 1.0:
        return 0.0
    return min(1.0, (size - zone) / (1.0 - zone)) * (1.0 if value > 0.0 else -1.0)


class Device(NamedTuple):
    """One that is plugged in."""

    number: int  # that it has while it is plugged in
    name: str
    guid: str
    axes: int
    buttons: int


class Gamepad:
    """The device in use: the one chosen, else the first; another is taken when it goes.

    `hands` is what a device gets that has no profile; `profile` (name, guid) -> hands or None
    finds the others. A device that comes back is taken again before any other.
    """

    def __init__(self, hands, profile: Callable | None = None):
        self.usual = self.hands = hands
        self.profile = profile
        self.known: dict[int, pygame.joystick.JoystickType] = {}
        self.device: pygame.joystick.JoystickType | None = None
        self.wanted = ""  # identity of the device last chosen
        self.trouble = ""  # what is wrong with its profile
        self.first: list[float] = []
        self.alive: set[int] = set()
        self.armed = False
        self.throttle = 0.0
        self.low_rates = False
        self.switched: dict[str, bool] = {}
        self.pressed: list[int] = []  # buttons that went down since the last poll
        pygame.display.init()
        pygame.joystick.init()

    @property
    def connected(self) -> bool:
        return self.device is not None

    @property
    def name(self) -> str:
        return self.device.get_name() if self.device else ""

    @property
    def guid(self) -> str:
        return self.device.get_guid() if self.device else ""

    @property
    def devices(self) -> tuple[Device, ...]:
        """All that are plugged in, in the order in which they came."""
        return tuple(
            Device(n, d.get_name(), d.get_guid(), d.get_numaxes(), d.get_numbuttons())
            for n, d in self.known.items()
        )

    def poll(self) -> list[str]:
        """Call on every frame. Actions whose button or switch was moved, 'plugged', 'unplugged'."""
        pygame.event.pump()
        happened: list[str] = []
        self.pressed = []
        for event in pygame.event.get(EVENTS):
            if event.type == pygame.JOYDEVICEADDED:
                happened += self._added(event.device_index)
            elif event.type == pygame.JOYDEVICEREMOVED:
                happened += self._removed(event.instance_id)
            elif self.device is None or event.instance_id != self.device.get_instance_id():
                continue
            elif event.type == pygame.JOYBUTTONDOWN:
                self.pressed.append(event.button)
            elif event.type == pygame.JOYHATMOTION and tuple(event.value) in HAT_WAYS:
                self.pressed.append(HAT + 4 * event.hat + HAT_WAYS.index(tuple(event.value)))
        pygame.event.clear()
        self._watch()
        for action, number in self.hands.buttons.items():
            happened += [action] * self.pressed.count(number)
        return happened + self._switches()

    def choose(self, number: int) -> bool:
        """Takes the device of that number; whether it is there."""
        if number not in self.known:
            return False
        self._take(self.known[number])
        return True

    def assign(self, hands) -> None:
        """Other hands for the device in use; it has to be armed anew."""
        self.hands = hands
        self.armed, self.throttle, self.switched = False, 0.0, {}

    def holds(self, action: str) -> bool:
        """Whether the button of an action is down now."""
        number = self.hands.buttons.get(action)
        if self.device is None or number is None:
            return False
        if number < HAT:
            return number < self.device.get_numbuttons() and bool(self.device.get_button(number))
        hat, way = divmod(number - HAT, len(HAT_WAYS))
        if hat >= self.device.get_numhats():
            return False
        return tuple(self.device.get_hat(hat)) == HAT_WAYS[way]

    def raw(self) -> list[float]:
        """Every axis of the device as it reads, -1..1; empty with none."""
        if self.device is None:
            return []
        return [
            max(-1.0, min(1.0, FULL * self.device.get_axis(k)))
            for k in range(self.device.get_numaxes())
        ]

    def waiting(self) -> tuple[str, ...]:
        """What has to happen before the motor is armed; empty when it is, or with no device."""
        if self.device is None or self.armed or self.hands.throttle is None:
            return ()
        still = [
            name
            for name in FUNCTIONS
            if (axis := getattr(self.hands, name)) is not None and axis.index not in self.alive
        ]
        return tuple(f"move {name}" for name in still) or ("throttle low",)

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

    def held(self) -> Sticks:
        """As the thumbs hold them, before any dead zone; throttle left out."""
        hands = self.hands
        return Sticks(self._axis(hands.roll), self._axis(hands.pitch), self._axis(hands.yaw))

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
        self._drop()
        self.known.clear()
        pygame.joystick.quit()
        pygame.display.quit()

    def _added(self, index: int) -> list[str]:
        try:
            device = pygame.joystick.Joystick(index)
        except pygame.error:  # gone again before it could be opened
            return []
        self.known[device.get_instance_id()] = device
        if self.device is not None:
            return []
        if self.wanted and device.get_guid() != self.wanted and len(self.known) > 1:
            return []
        self._take(device)
        return ["plugged"]

    def _removed(self, number: int) -> list[str]:
        gone = self.known.pop(number, None)
        if self.device is None or self.device.get_instance_id() != number:
            return []
        # the zeros that SDL sends before it says 'removed' are never read: the device is gone
        self._drop()
        if gone is not None:
            gone.quit()
        if not self.known:
            return ["unplugged"]
        self._take(next(iter(self.known.values())))  # one that was there all along
        return ["unplugged", "plugged"]

    def _take(self, device) -> None:
        self.device, self.wanted = device, device.get_guid()
        self.first = [device.get_axis(k) for k in range(device.get_numaxes())]
        self.alive = set()
        self.hands, self.trouble = self.usual, ""
        if self.profile is not None:
            try:
                self.hands = self.profile(device.get_name(), self.wanted) or self.usual
            except ConfigError as error:
                self.trouble = str(error)
        self.armed, self.throttle, self.switched = False, 0.0, {}

    def _drop(self) -> None:
        self.device = None
        self.armed, self.throttle = False, 0.0

    def _watch(self) -> None:
        if self.device is None:
            return
        for k, start in enumerate(self.first):
            if k not in self.alive and abs(self.device.get_axis(k) - start) > MOVED:
                self.alive.add(k)
        if not self.armed and self.waiting() == ("throttle low",):
            self.armed = self._is_low()

    def _is_low(self) -> bool:
        axis = self.hands.throttle
        if self.hands.throttle_spring:
            return with_dead_zone(self._axis(axis), axis.dead_zone) <= 0.0
        return self._place(axis) < LOW

    def _switches(self) -> list[str]:
        """Actions of switches that were moved on. One for rates sets them when it is moved, to
        what it says now, which is told as `RATES_SET`."""
        found = []
        for action, switch in self.hands.switches.items():
            if self.device is None or switch.index not in self.alive:
                continue
            place = self.device.get_axis(switch.index)
            on = place > SWITCHED if switch.above else place < -SWITCHED
            before = self.switched.get(action)
            self.switched[action] = on
            if action == "low_rates":
                if on != before:
                    self.low_rates = on
                    found.append(RATES_SET)
            elif on and before is False:
                found.append(action)
        return found

    def _axis(self, axis) -> float:
        """-1..1, inverted as assigned; its rest until the axis has been seen to move."""
        if axis is None or self.device is None:
            return 0.0
        if axis.index not in self.alive:
            return -1.0 if axis.rests_at == "low" else 0.0
        value = FULL * self.device.get_axis(axis.index) - axis.centre
        most = axis.high - axis.centre if value > 0.0 else axis.centre - axis.low
        value = max(-1.0, min(1.0, value / max(0.05, most)))
        return -value if axis.invert else value

    def _stick(self, axis) -> float:
        return with_dead_zone(self._axis(axis), axis.dead_zone) if axis else 0.0

    def _throttle(self, seconds: float) -> float:
        """0..1; shut until all axes have been seen to move and the lever has been low, so that
        no motor starts by surprise."""
        axis = self.hands.throttle
        if axis is None or not self.armed:
            return 0.0
        if self.hands.throttle_spring:
            push = with_dead_zone(self._axis(axis), axis.dead_zone)
            self.throttle = max(0.0, min(1.0, self.throttle + push * SPRUNG_RATE * seconds))
        else:
            self.throttle = self._place(axis)
        return self.throttle

    def _place(self, axis) -> float:
        """0..1 of a lever that stays where it is put, over the whole of its travel."""
        value = FULL * self.device.get_axis(axis.index) if self.device is not None else 0.0
        place = (value - axis.low) / max(0.05, axis.high - axis.low)
        place = 1.0 - place if axis.invert else place
        return min(1.0, max(0.0, place - 0.5 * axis.dead_zone) / max(0.05, 1.0 - axis.dead_zone))
