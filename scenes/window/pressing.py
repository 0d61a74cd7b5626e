"""What keys, and what the gamepad does beside its sticks, mean to the window just now."""

from __future__ import annotations

import pyglet
from pyglet.window import key

from firstthrow.scenes.hands.bindings import HELD, NOW
from firstthrow.scenes.pages.devices import DeviceScreen
from firstthrow.scenes.pages.drill_screen import DrillScreen
from firstthrow.scenes.pages.evening_screen import EveningScreen
from firstthrow.scenes.pages.exercises_screen import ExercisesScreen
from firstthrow.scenes.pages.keys_page import KeysScreen
from firstthrow.scenes.pages.lessons_screen import LessonsScreen
from firstthrow.scenes.pages.screens import DirectionsScreen, FaultScreen

SCREENS = {
    "directions": DirectionsScreen,
    "drill": DrillScreen,
    "faults": FaultScreen,
    "devices": DeviceScreen,
    "keys": KeysScreen,
    "exercises": ExercisesScreen,
    "lessons": LessonsScreen,
    "evening": EveningScreen,
}
BESIDE = frozenset(("bigger", "smaller", "low_rates", "motor_off"))  # work with a page open, too
HELPING = BESIDE | {"help", "quit", *SCREENS}  # and all that work with the keys' own page open


class Pressing:
    """`app` is the window's: an open page hears of a key first, then the bench, then the flight."""

    def __init__(self, app):
        self.app = app
        self.unplugged = False
        app.window.push_handlers(
            on_key_press=self.key_down,
            on_key_release=self.key_up,
            on_deactivate=self.let_go_of_all,
        )

    def key_down(self, symbol: int, modifiers: int):
        app, name = self.app, self.name_of(symbol)
        action = NOW.actions.get(name)
        if app.asking and action != "quit":
            app.stay()
            return pyglet.event.EVENT_HANDLED
        if app.screen is not None and app.screen.key(name):
            return pyglet.event.EVENT_HANDLED
        if app.bench.key(name, modifiers):
            return pyglet.event.EVENT_HANDLED
        if app.helping and action not in HELPING:
            app.help_page += {"LEFT": -1, "RIGHT": 1}.get(name, 0)
            return pyglet.event.EVENT_HANDLED
        if action in HELD:
            app.keys.add(action)
        elif app.screen is not None:
            own = isinstance(app.screen, SCREENS.get(action or "", ()))
            if action == "quit" or own:
                app.leave()
            elif action in SCREENS or action in BESIDE:
                app.act(action)
        elif action is not None:
            app.act(action)
        return pyglet.event.EVENT_HANDLED  # else Escape would close the window behind our back

    def key_up(self, symbol: int, modifiers: int):
        name = self.name_of(symbol)
        self.app.keys.discard(NOW.actions.get(name))
        self.app.bench.key_up(name)

    def name_of(self, symbol: int) -> str:
        """By its place on the keyboard."""
        return self.app.places.name(symbol, key.symbol_string(symbol))

    def let_go_of_all(self) -> None:
        """Keys that come up while another window has them are not told of."""
        self.app.keys.clear()
        self.app.bench.let_go()

    def gamepad(self, happened: str) -> None:
        """An action, 'plugged' or 'unplugged'."""
        app = self.app
        if happened == "unplugged":
            self.unplugged = True
            keys = app.thumbs.keyboard
            throttle = f"{100 * keys.throttle:.0f} %" if keys.throttle else "shut"
            rates = "low" if keys.low_rates else "high"
            app.waiting.hold(
                "The gamepad was unplugged. The keyboard has the sticks: throttle "
                f"{throttle}, {rates} rates."
            )
            if app.screen is not None:
                app.screen.unplugged()
        elif happened == "plugged":
            if self.unplugged and app.waiting.paused:
                name = app.thumbs.gamepad.name
                app.waiting.hold(f"{name} is plugged in: arm it as at the start.")
            self.unplugged = False
            if app.screen is None:
                app.refit()
        elif app.asking and happened != "quit":
            app.stay()
        elif app.screen is not None and happened not in BESIDE:
            own = isinstance(app.screen, SCREENS.get(happened, ()))
            if (happened == "quit" or own) and not app.screen.wants_buttons:
                app.leave()
            else:
                app.screen.act(happened)
        elif not app.helping or happened in HELPING:
            app.act(happened)
            app.bench.pressed(happened)
