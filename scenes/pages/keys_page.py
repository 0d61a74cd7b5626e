"""Which key and which button does what: looked up, and changed by pressing another."""

from __future__ import annotations

from firstthrow.scenes.hands.bindings import BINDINGS, NOW, key_words, words_of
from firstthrow.scenes.hands.device_words import button_words
from firstthrow.scenes.hands.preferences import swapped
from firstthrow.scenes.hands.profiles import save_profile
from firstthrow.scenes.pages.screens import LEFT, Screen
from firstthrow.sim.describe.replace import trouble
from firstthrow.sim.paper.page import Page, Words, box

ENTER = ("RETURN", "ENTER", "NUM_ENTER")
ROWS = 22  # shown at once
TOP, PITCH = 168.0, 7.0  # [mm]
KEY_AT, BUTTON_AT = 178.0, 232.0


class KeysScreen(Screen):
    """One row a binding; Enter, then the new key or button."""

    def __init__(self, app):
        self.at = 0
        self.asks = False  # for the new key or button of the row
        self.note = ""
        super().__init__(app)

    @property
    def action(self) -> str:
        return BINDINGS[self.at].action

    @property
    def wants_buttons(self) -> bool:
        return self.asks

    def key(self, name: str) -> bool:
        if self.asks:
            self.asks = False
            if name != "ESCAPE":
                self._put_key(name)
            return True
        if name in ("UP", "DOWN"):
            self.at = (self.at + (1 if name == "DOWN" else -1)) % len(BINDINGS)
            self.note = ""
        elif name in ENTER:
            self.asks, self.note = True, ""
        elif name == "BACKSPACE":
            self._usual()
        else:
            return False
        return True

    def frame(self, seconds: float, sticks) -> None:
        pressed = self.app.thumbs.gamepad.pressed
        if self.asks and pressed:
            self.asks = False
            self._put_button(pressed[0])

    def _put_key(self, name: str) -> None:
        chosen = self.app.preferences
        keys = swapped(chosen.keys, self.action, name)
        self.note = self.app.remember(keys=keys)

    def _usual(self) -> None:
        usual = BINDINGS[self.at].key
        self.note = self.app.remember(keys=swapped(self.app.preferences.keys, self.action, usual))

    def _put_button(self, number: int) -> None:
        """On the device in use; another action that had the button loses it."""
        pad = self.app.thumbs.gamepad
        if BINDINGS[self.at].held:
            self.note = "A stick does this, not a button."
            return
        buttons = {a: n for a, n in pad.hands.buttons.items() if n != number}
        hands = pad.hands.model_copy(update={"buttons": {**buttons, self.action: number}})
        pad.hands = hands
        try:
            save_profile(hands, pad.name, pad.guid)
        except OSError as error:
            self.note = f"Used, but not kept: {trouble(error, in_short=True)}"

    def page(self) -> Page:
        pad = self.app.thumbs.gamepad
        buttons = pad.hands.buttons if pad.connected else {}
        told = (
            "Press the new key or button now. Esc: as it was."
            if self.asks
            else (
                "Up and Down choose. Enter, then another key or button. Backspace: the usual key. "
                f"{key_words('keys')} or Esc leaves."
            )
        )
        parts: list = [
            Words(LEFT, 190.0, "Keys and buttons", 7.0, True),
            Words(LEFT, 182.0, told, 4.0, self.asks),
            Words(KEY_AT, TOP + 6.0, "key", 4.0, True),
            Words(BUTTON_AT, TOP + 6.0, pad.name[:22] if pad.connected else "no device", 4.0, True),
        ]
        first = max(0, min(self.at - ROWS // 2, len(BINDINGS) - ROWS))
        for k, binding in enumerate(BINDINGS[first : first + ROWS]):
            y = TOP - PITCH * (k + 0.6)
            here = first + k == self.at
            if here:
                parts.append(box(LEFT - 4.0, y - 2.0, 277.0, PITCH - 0.2, 0.86, 0.6))
            own = NOW.keys[binding.action]
            number = buttons.get(binding.action)
            parts += [
                Words(LEFT, y, binding.words, 4.2, here),
                Words(KEY_AT, y, words_of(own), 4.2, own != binding.key),
                Words(BUTTON_AT, y, "" if number is None else button_words(number), 4.2),
            ]
        parts.append(Words(LEFT, 5.0, self.note, 3.6, True))
        return Page(tuple(parts))
