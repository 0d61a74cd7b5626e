"""The person's sticks, from the keyboard or from a gamepad, whichever was last moved."""

from __future__ import annotations

from collections.abc import Callable

from firstthrow.scenes.hands.gamepad import RATES_SET, Gamepad
from firstthrow.scenes.hands.keyboard import Keyboard
from firstthrow.sim.build.sticks import Sticks
from firstthrow.sim.build.straight import Straight

TAKES_OVER = 0.15  # movement of a gamepad's axis that takes the airframe from the keyboard
FLYING_KEYS = frozenset(
    (
        "pitch_forward",
        "pitch_back",
        "roll_left",
        "roll_right",
        "throttle_up",
        "throttle_down",
        "yaw_left",
        "yaw_right",
    )
)


class Thumbs:
    """`hands` sets the keyboard's pace and the drawn mode; `pad_hands` the axes of a gamepad for
    which `profile` (see `Gamepad`) knows none."""

    def __init__(self, hands, pad_hands, profile: Callable | None = None):
        self.own_mode = hands.mode
        self.keyboard = Keyboard(hands.keyboard_rate)
        self.gamepad = Gamepad(pad_hands, profile)
        self.straight: Straight | None = None  # servos follow channels: keys get mixed here
        self.by_gamepad = False
        self.resting = self.gamepad.places()  # when the keyboard took over

    @property
    def source(self) -> str:
        return "gamepad" if self.by_gamepad else "keyboard"

    @property
    def mode(self) -> int:
        """1..4, of the one who flies."""
        return self.gamepad.hands.mode if self.by_gamepad else self.own_mode

    @property
    def waiting(self) -> tuple[str, ...]:
        """What keeps the motor of the gamepad that flies from being armed."""
        return self.gamepad.waiting() if self.by_gamepad else ()

    @property
    def wants_channels(self) -> bool:
        """Whether the device in use sends channels that are mixed already."""
        return self.gamepad.connected and self.gamepad.hands.sends == "channels"

    def poll(self) -> list[str]:
        """The gamepad's actions of this frame; its going takes the sticks to the keyboard."""
        happened = self.gamepad.poll()
        if "plugged" in happened:
            self.resting = self.gamepad.places()
        if RATES_SET in happened:
            self.keyboard.low_rates = self.gamepad.low_rates
        if not self.gamepad.connected:
            self.by_gamepad = False
        return happened

    def press(self, action: str) -> None:
        self.keyboard.press(action)
        self.gamepad.press(action)

    def restart(self) -> None:
        self.keyboard.restart()
        self.gamepad.restart()

    def sticks(self, seconds: float, held: set[str]) -> Sticks:
        """Sticks of whoever flies, after another `seconds` with the `held` actions down."""
        places = self.gamepad.places()
        moved = max(abs(a - b) for a, b in zip(places, self.resting, strict=True))
        if held & FLYING_KEYS:
            self.by_gamepad, self.resting = False, places
        elif moved > TAKES_OVER:
            self.by_gamepad = True
        keys = self.keyboard.sticks(seconds, held)
        if not self.by_gamepad:
            return self._mixed(keys)
        pad = self.gamepad.sticks(seconds)
        if self.straight is not None and self.wants_channels:
            return pad  # trims are the transmitter's own
        roll, pitch = self.keyboard.roll_trim, self.keyboard.pitch_trim
        pad = pad._replace(
            roll=max(-1.0, min(1.0, pad.roll + roll)), pitch=max(-1.0, min(1.0, pad.pitch + pitch))
        )
        return self._mixed(pad)

    def held(self, sticks: Sticks) -> Sticks:
        """These sticks as the person's thumbs hold them: without a gamepad's dead zone."""
        return self.gamepad.held() if self.by_gamepad else sticks

    def _mixed(self, sticks: Sticks) -> Sticks:
        return sticks if self.straight is None else self.straight.channels(sticks)

    def close(self) -> None:
        self.gamepad.close()
