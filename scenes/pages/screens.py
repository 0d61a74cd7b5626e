"""Pages that lie over the flight for a while, hold it, and take the keys."""

from __future__ import annotations

from firstthrow.scenes.hands.bindings import NOW, key_words
from firstthrow.scenes.words.instruments import begun
from firstthrow.scenes.words.sheet import Sheet
from firstthrow.sim.describe.config import ConfigError
from firstthrow.sim.paper import directions as directions_page
from firstthrow.sim.paper.page import Line, Page, Words, box, tick_box
from firstthrow.sim.study import directions
from firstthrow.sim.study.faults import FAULTS, apply
from firstthrow.sim.study.subject import Subject

LEFT = 14.0  # margin of a page [mm]
ENTER = ("RETURN", "ENTER", "NUM_ENTER")


class Screen:
    """One such page; `app` is the window's. The window asks it for all of the following."""

    sheet: Sheet  # made by `resize`

    def __init__(self, app):
        self.app = app
        self.resize()

    def resize(self) -> None:
        """The window has another size; also called at the start."""
        if hasattr(self, "sheet"):
            self.sheet.show(None)
        self.sheet = Sheet(self.app.window.get_size())

    def key(self, name: str) -> bool:
        """A key by pyglet's name, pressed; whether the page has used it."""
        return False

    @property
    def wants_buttons(self) -> bool:
        """Whether the next button is to be assigned, and does not leave the page."""
        return False

    def act(self, action: str) -> None:
        """What a button of the gamepad stands for, pressed."""

    def unplugged(self) -> None:
        """The gamepad has gone, and the keyboard has the sticks."""

    def frame(self, seconds: float, sticks) -> None:
        """Once for each frame, with the person's sticks."""

    def scene(self):
        """(Pose, View) to be drawn behind the page; None for the flight as it stands."""
        return None

    def draw_beside(self) -> None:
        """Into the scene's own canvas, once that is drawn."""

    def page(self) -> Page:
        """What the sheet shows now."""
        raise NotImplementedError

    def draw(self) -> None:
        self.sheet.show(self.page())
        self.sheet.draw()

    def close(self) -> None:
        """The person has left the page; what it drew goes at once, not when memory is swept."""
        self.sheet.show(None)


class DirectionsScreen(Screen):
    """The direction check of the airframe as it is now, faults and all."""

    def __init__(self, app):
        super().__init__(app)
        airframe, field = app.with_fault(app.fault)  # its own mixing, whatever the device sends
        found = directions.study(Subject(airframe, field))
        self.whole = directions_page.page(airframe, found)

    def page(self) -> Page:
        return self.whole


def number_of(name: str) -> int | None:
    """The digit of a key, of the top row or the pad."""
    digit = name.removeprefix("NUM_").removeprefix("_")
    return int(digit) if len(digit) == 1 and digit.isdigit() else None


def choosing(takes: str, page: str) -> str:
    """How a row of a page is chosen and taken and the page left, in words of the device in use."""
    down, take, leave = "Up and Down choose", "Enter", f"{key_words(page)} or Esc leaves"
    buttons = NOW.buttons
    if buttons is not None:
        if "view" in buttons:
            down = f"{key_words('view')}: down (or Up and Down)"
        if "release" in buttons:
            take = key_words("release")
    return begun(f"{down}, {take} {takes}, {leave}.")


class Rows(Screen):
    """A page of rows, of which one is chosen and taken."""

    at = 0  # the row chosen
    count: int

    def key(self, name: str) -> bool:
        if name in ("UP", "DOWN"):
            self.at = (self.at + (1 if name == "DOWN" else -1)) % self.count
        elif name in ENTER:
            self.take()
        else:
            return False
        return True

    def act(self, action: str) -> None:
        """On a gamepad the button that throws takes the row, the one of the views goes down."""
        if action == "release":
            self.take()
        elif action == "view":
            self.key("DOWN")

    def take(self) -> None:
        """What the row chosen stands for."""
        raise NotImplementedError


class FaultScreen(Rows):
    """All fault cards; one is chosen with the arrow keys and Enter."""

    def __init__(self, app):
        super().__init__(app)
        self.names = ["", *FAULTS]
        self.refused = {name: _refusal(name, app) for name in FAULTS}
        self.at, self.count = self.names.index(app.fault), len(self.names)

    def take(self) -> None:
        chosen = self.names[self.at]
        if not self.refused.get(chosen):
            self.app.leave()
            self.app.set_fault(chosen)

    def page(self) -> Page:
        top = 190.0
        parts: list = [
            Words(LEFT, top, "Fault cards", 7.0, True),
            Words(
                LEFT,
                top - 8.0,
                f"What goes wrong in the next flights. {choosing('takes it', 'faults')}",
                4.0,
            ),
        ]
        step = min(11.5, (top - 26.0) / len(self.names))  # all of them on the page
        for k, name in enumerate(self.names):
            y = top - 20.0 - step * k
            chosen, here = name == self.app.fault, k == self.at
            if here:
                parts.append(box(LEFT - 4.0, y - 0.32 * step, 277.0, 0.88 * step, 0.86, 0.6))
            parts.append(tick_box(LEFT, y - 0.6, 4.6))
            if chosen:
                parts.append(_cross(LEFT, y - 0.6, 4.6))
                parts.append(_cross(LEFT, y - 0.6, 4.6, True))
            line = FAULTS[name].line if name else "nothing goes wrong"
            if self.refused.get(name):
                line = f"not here: {self.refused[name]}"
            parts.append(Words(LEFT + 9.0, y, name or "none", 4.4, True))
            parts.append(Words(LEFT + 68.0, y, line, 4.2))
        return Page(tuple(parts))


def _cross(x: float, y: float, size: float, other: bool = False) -> Line:
    ends = ((x, y), (x + size, y + size)) if not other else ((x, y + size), (x + size, y))
    return Line(ends, 0.7)


def _refusal(name: str, app) -> str:
    """Why this airframe cannot have the fault; empty if it can."""
    try:
        apply(name, app.sound[0], app.sound[1])
    except ConfigError as error:
        return str(error).split(": ", 1)[-1]
    return ""
