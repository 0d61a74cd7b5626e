"""The person's sticks, from the keyboard or from a gamepad, whichever was last moved."""

from __future__ import annotations

from scenes.gamepad import Gamepad
from scenes.keyboard import Keyboard
from sim.sticks import Sticks

TAKES_OVER = 0.15  # movement of a gamepad's axis that takes the airframe from the keyboard
FLYING_KEYS = frozenset(
    (
        "pitch_forward", "pitch_back", "roll_left", "roll_right",
        "throttle_up", "throttle_down", "yaw_left", "yaw_right",
    )
)  # fmt: skip


class Thumbs:
    """`hands` sets the keyboard's pace and the drawn mode; `pad_hands` a gamepad's axes."""

    def __init__(self, hands, pad_hands):
        self.mode = hands.mode
        self.keyboard = Keyboard(hands.keyboard_rate)
        self.gamepad = Gamepad(pad_hands)
        self.by_gamepad = False
        self.resting = self.gamepad.places()  # when the keyboard took over

    @property
    def source(self) -> str:
        return "gamepad" if self.by_gamepad else "keyboard"

    def poll(self) -> list[str]:
        """The gamepad's actions of this frame; its going takes the sticks to the keyboard."""
        happened = self.gamepad.poll()
        if "plugged" in happened:
            self.resting = self.gamepad.places()
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
            return keys
        pad = self.gamepad.sticks(seconds)
        roll, pitch = self.keyboard.roll_trim, self.keyboard.pitch_trim
        return pad._replace(
            roll=max(-1.0, min(1.0, pad.roll + roll)), pitch=max(-1.0, min(1.0, pad.pitch + pitch))
        )

    def close(self) -> None:
        self.gamepad.close()
