"""Gamepads and transmitters in the window: choose one, assign it by the guide, adjust it."""

from __future__ import annotations

from firstthrow.scenes.hands.assignment import Guide
from firstthrow.scenes.hands.bindings import BINDINGS, key_words
from firstthrow.scenes.hands.device_words import MODES, arming_words, axis_words, button_words
from firstthrow.scenes.hands.hands import FUNCTIONS
from firstthrow.scenes.hands.profiles import path_of, save_profile
from firstthrow.scenes.pages.screens import ENTER, Screen, number_of
from firstthrow.scenes.words.instruments import wrapped
from firstthrow.sim.build.straight import CHANNELS, TooManyServos, servos
from firstthrow.sim.describe.replace import trouble
from firstthrow.sim.paper.page import Line, Page, Words, box

X, TOP, RIGHT = 14.0, 192.0, 178.0  # [mm]
ZONE_STEP, MOST_ZONE = 0.01, 0.3
BARS = 12  # axes that are shown
LETTERS = 40  # of a line about a button
WORDS = {binding.action: binding.words for binding in BINDINGS}


class DeviceScreen(Screen):
    """Live bars of the device in use; the guide while it runs."""

    def __init__(self, app):
        self.pad = app.thumbs.gamepad
        self.guide: Guide | None = None
        self.guided = None  # the device that the guide began with
        self.row = 0  # of FUNCTIONS, the one that is adjusted
        self.note = ""
        super().__init__(app)

    def key(self, name: str) -> bool:
        if self.guide is not None:
            return self._guided(self.guide, name)
        number, hands = number_of(name), self.pad.hands
        if number is not None:
            devices = self.pad.devices
            if 0 < number <= len(devices):
                self.pad.choose(devices[number - 1].number)
                self.note = ""
        elif name in ENTER or name == "C":
            self._begin(name == "C")
        elif name in ("UP", "DOWN"):
            self.row = (self.row + (1 if name == "DOWN" else -1)) % len(FUNCTIONS)
        elif name == "M":
            self._keep(hands.model_copy(update={"mode": hands.mode % 4 + 1}))
        elif name in ("I", "LEFT", "RIGHT"):
            self._adjust(name)
        else:
            return False
        return True

    def _begin(self, channels: bool) -> None:
        if not self.pad.connected:
            return
        leads = servos(self.app.sound[0]) if channels else ()
        if len(leads) > len(CHANNELS):
            self.note = str(
                TooManyServos(f"{len(leads)} servos: mixed channels reach {len(CHANNELS)}")
            )
            return
        self.guide, self.note = Guide(leads, self.pad.hands.mode), ""
        self.guided = self.pad.device

    def _guided(self, guide: Guide, name: str) -> bool:
        if name == "ESCAPE" or not self.pad.connected:
            self.guide = None
        elif name in ENTER and guide.done:
            self._keep(guide.hands(self.pad.name))
            self.guide = None
        elif name in ENTER and guide.step.kind == "button":
            guide.skip()
        elif name in ENTER:
            guide.go()
        elif name == "BACKSPACE":
            guide.skip()
        elif name == "END":
            guide.finish()
        elif name == "M":
            guide.mode = guide.mode % 4 + 1
        return True

    def _adjust(self, key: str) -> None:
        """Inverts the chosen function, or widens and narrows its dead zone."""
        hands, function = self.pad.hands, FUNCTIONS[self.row]
        axis = getattr(hands, function)
        if axis is None:
            return
        if key == "I":
            changed = {"invert": not axis.invert}
        else:
            zone = axis.dead_zone + (ZONE_STEP if key == "RIGHT" else -ZONE_STEP)
            changed = {"dead_zone": round(min(MOST_ZONE, max(0.0, zone)), 4)}
        self._keep(hands.model_copy(update={function: axis.model_copy(update=changed)}))

    @property
    def wants_buttons(self) -> bool:
        return self.guide is not None

    def _keep(self, hands) -> None:
        if not self.pad.connected:
            return
        self.pad.assign(hands)
        try:
            path = save_profile(hands, self.pad.name, self.pad.guid)
            self.note = f"Kept: {path.parent} {path.name}"
        except OSError as error:
            self.note = f"Used, but not kept: {trouble(error, in_short=True)}"

    def frame(self, seconds: float, sticks) -> None:
        self.sticks = sticks
        if self.guide is not None and self.pad.device is not self.guided:
            self.guide, self.note = None, "The device has changed: begin again."
        if self.guide is not None:
            self.guide.see(seconds, self.pad.raw(), self.pad.pressed)

    def close(self) -> None:
        super().close()
        self.app.refit()

    def page(self) -> Page:
        parts: list = [Words(X, TOP, "Gamepads and transmitters", 7.0, True)]
        parts += self._modes()
        if not self.pad.connected:
            parts.append(Words(X, TOP - 14.0, "None is plugged in. The keyboard flies.", 4.6))
            parts.append(self._foot(f"{key_words('devices')} or Esc leaves."))
            return Page(tuple(parts))
        guide = self.guide
        parts += self._guide_words(guide) if guide is not None else self._device_words()
        parts += self._bars()
        return Page(tuple(parts))

    def _device_words(self) -> list:
        found: list = []
        for k, device in enumerate(self.pad.devices[:5], start=1):
            mine = device.number == self.pad.device.get_instance_id()
            own = path_of(device.name, device.guid).exists()
            told = f"{device.axes} axes, {device.buttons} buttons, "
            told += "assigned" if own else "usual layout"
            y = TOP - 2.0 - 10.0 * k
            if mine:
                found.append(box(X - 4.0, y - 4.2, RIGHT - X, 9.6, 0.86, 0.6))
            found.append(Words(X, y, f"{k}  {device.name}"[:30], 4.4, True))
            found.append(Words(X + 76.0, y, told, 3.6))
        y = TOP - 13.0 - 10.0 * min(5, len(self.pad.devices))
        for text, bold in (
            (arming_words(self.pad.waiting()) + ".", True),
            (f"Sends {self._sends()}. A number chooses a device.", False),
            ("Enter: guided assignment of raw sticks. C: of mixed channels.", False),
            ("Up, Down: a function.   I: invert.   Left, Right: dead zone.   M: mode.", False),
        ):
            found.append(Words(X, y, text, 4.0, bold))
            y -= 6.4
        for text in wrapped(self.pad.trouble or self.note, 84)[:3]:
            found.append(Words(X, y, text[:90], 3.4))
            y -= 5.0
        found.append(self._foot(f"{key_words('devices')} or Esc leaves."))
        return found

    def _sends(self) -> str:
        mixed = self.pad.hands.sends == "channels"
        return "mixed channels, straight to the servos" if mixed else "raw sticks"

    def _guide_words(self, guide: Guide) -> list:
        count = f"step {guide.at + 1} of {len(guide.steps)}"
        return [
            Words(X, TOP - 14.0, count, 4.0),
            box(X - 4.0, TOP - 46.0, RIGHT - X, 26.0, 0.86, 0.8),
            *(
                Words(X, TOP - 28.0 - 7.0 * k, text, 5.0, True)
                for k, text in enumerate(wrapped(guide.step.prompt, 48))
            ),
            Words(X, TOP - 56.0, guide.told, 4.4),
            self._foot("Esc leaves the guide; nothing is changed then."),
        ]

    def _foot(self, text: str) -> Words:
        return Words(X, 8.0, text, 4.0)

    def _bars(self) -> list:
        """Each axis as it reads, its middle marked, with what it is for; buttons below."""
        found: list = []
        hands, raw = self.pad.hands, self.pad.raw()
        chosen = getattr(hands, FUNCTIONS[self.row]) if self.guide is None else None
        x, wide, y = X + 22.0, 70.0, 112.0
        pitch = 7.4 if len(raw) <= 6 else 5.4
        for k, value in enumerate(raw[:BARS]):
            seen = "" if k in self.pad.alive else "not moved yet"
            name = self._name(k)
            if chosen is not None and chosen.index == k:
                name += f", zone {100 * chosen.dead_zone:.0f} %"
                tall = min(6.6, pitch)
                found.append(box(X - 4.0, y + 0.9 - 0.5 * tall, RIGHT - X, tall, 0.9, 0.4))
            end = x + 0.5 * wide * (1.0 + round(value, 2))
            low, high = sorted((x + 0.5 * wide, end))
            found += [
                Words(X, y - 0.6, f"axis {k}", 3.8),
                box(x, y - 0.8, wide, 3.6, 0.94, 0.2),
                box(low, y - 0.8, max(0.6, high - low), 3.6, 0.15, 0.0),
                Line(((x + 0.5 * wide, y - 1.8), (x + 0.5 * wide, y + 3.8)), 0.3),
                Words(x + wide + 3.0, y - 0.6, name or seen, 3.6, bool(name)),
            ]
            y -= pitch
        return found + self._button_words(y - 1.0)

    def _button_words(self, top: float) -> list:
        """Every button of the device and what it does, in the words of the help, in two columns
        between the bars and the foot; on two lines what is long."""
        own = {number: action for action, number in self._buttons().items()}
        numbers = sorted({*range(self.pad.device.get_numbuttons()), *own})
        columns: tuple[list, list] = [], []
        told = []
        for number in numbers:
            words = WORDS[own[number]] if number in own else "-"
            told.append((wrapped(f"{button_words(number)}: {words}", LETTERS), number in own))
        half = 0.5 * sum(len(lines) for lines, _ in told)
        for lines, used in told:
            column = columns[0] if len(columns[0]) < half else columns[1]
            column += [("   " * (k > 0) + line, used) for k, line in enumerate(lines)]
        pitch = min(5.0, (top - 13.0) / max(1, *map(len, columns)))
        size = min(3.5, 0.75 * pitch)
        return [
            Words(X + 82.0 * k, top - pitch * (row + 0.5), line, size, used)
            for k, column in enumerate(columns)
            for row, (line, used) in enumerate(column)
        ]

    def _name(self, k: int) -> str:
        if self.guide is None:
            return axis_words(self.pad.hands, k)
        mine = [name for name, axis in self.guide.axes.items() if axis.index == k]
        return mine[0] if mine else ""

    def _buttons(self) -> dict[str, int]:
        return self.pad.hands.buttons if self.guide is None else self.guide.buttons

    def _modes(self) -> list:
        """The four stick modes, the one in use framed."""
        now = self.guide.mode if self.guide is not None else self.app.thumbs.gamepad.hands.mode
        x = RIGHT + 8.0
        found: list = [Words(x, TOP, "Stick modes", 5.0, True)]
        for mode, sides in MODES.items():
            y = TOP - 44.0 * mode
            here = mode == now
            found.append(box(x, y, 97.0, 40.0, 0.86 if here else 1.0, 1.0 if here else 0.3))
            found.append(Words(x + 3.0, y + 33.5, f"mode {mode}", 4.2, True))
            if here:
                found.append(Words(x + 94.0, y + 33.5, "in use", 3.6, anchor="right"))
            for k, text in enumerate(sides):
                found += _gate(x + 14.0 + 46.0 * k, y + 9.0, *text.split(", "))
        return found


def _gate(x: float, y: float, upright: str, across: str) -> list:
    """One stick: its box, what it does up and down, and from side to side."""
    size = 18.0
    middle = (x + 0.5 * size, y + 0.5 * size)
    return [
        box(x, y, size, size, 0.95, 0.3),
        Line(((middle[0], y + 2.0), (middle[0], y + size - 2.0)), 0.7),
        Line(((x + 2.0, middle[1]), (x + size - 2.0, middle[1])), 0.7),
        box(middle[0] - 1.8, middle[1] - 1.8, 3.6, 3.6, 0.1, 0.0),
        Words(middle[0], y + size + 1.4, upright, 3.6, anchor="center"),
        Words(middle[0], y - 4.4, across, 3.6, anchor="center"),
    ]
