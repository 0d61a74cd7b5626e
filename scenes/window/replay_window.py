"""The window of a replay: the flight's own, with a bar to drag and keys that move time."""

from __future__ import annotations

from pathlib import Path

import pyglet

from firstthrow.scenes.flight.replay import Replay
from firstthrow.scenes.flight.settings import Settings
from firstthrow.scenes.hands.bindings import Binding, words_of
from firstthrow.scenes.hands.hands import load_hands
from firstthrow.scenes.window.opening import SIZE
from firstthrow.scenes.window.pressing import Pressing
from firstthrow.scenes.window.timeline import Timeline
from firstthrow.scenes.window.window import App
from firstthrow.scenes.words import instruments
from firstthrow.scenes.world.snapshot import save
from firstthrow.sim.describe.replace import trouble
from firstthrow.sim.flight.record import unused

PACE = 4.0  # seconds of flight a second, while a key that moves time is down
JUMP = 0.1  # [s] its first touch

BINDINGS = (
    Binding("play", "SPACE", "play, or stop"),
    Binding("back", "LEFT", "back in time", True),
    Binding("on", "RIGHT", "on in time", True),
    Binding("row_back", "COMMA", "one reading back"),
    Binding("row_on", "PERIOD", "one reading on"),
    Binding("start", "HOME", "to the start"),
    Binding("end", "END", "to the end"),
    Binding("slower", "T", "slow motion: full, half, quarter"),
    Binding("view", "V", "next view: standing, towed, riding, tail"),
    Binding("roll_left", "A", "free view: round to the left", True),
    Binding("roll_right", "D", "free view: round to the right", True),
    Binding("pitch_forward", "W", "free view: higher", True),
    Binding("pitch_back", "S", "free view: lower", True),
    Binding("throttle_up", "Q", "free view: nearer", True),
    Binding("throttle_down", "E", "free view: further", True),
    Binding("zoom", "Z", "eye that narrows on a far airframe, or not"),
    Binding("steady", "J", "horizon held level when riding, or not"),
    Binding("streamer", "B", "streamer of the last seconds shown or hidden"),
    Binding("tracing", "G", "tracing of the other record shown or hidden"),
    Binding("mute", "M", "sound on or off"),
    Binding("figures", "F", "instruments shown or hidden"),
    Binding("bigger", "EQUAL", "larger text"),
    Binding("smaller", "MINUS", "smaller text"),
    Binding("picture", "F12", "keep the picture as a PNG file beside the record"),
    Binding("help", "F1", "this page"),
    Binding("quit", "ESCAPE", "leave"),
)
KEYS = {**{b.key: b for b in BINDINGS}, "P": BINDINGS[0]}


class ReplayKeys(Pressing):
    """Keys of the replay in place of the flight's."""

    def key_down(self, symbol: int, modifiers: int):
        name = self.name_of(symbol)
        binding = KEYS.get(name)
        if self.app.asking and (binding is None or binding.action != "quit"):
            self.app.stay()
            return pyglet.event.EVENT_HANDLED
        if self.app.helping and name in ("LEFT", "RIGHT"):
            self.app.help_page += 1 if name == "RIGHT" else -1
            return pyglet.event.EVENT_HANDLED
        if binding is not None and binding.held:
            self.app.keys.add(binding.action)
        if binding is not None and (not binding.held or binding.action in ("back", "on")):
            self.app.act(binding.action)
        return pyglet.event.EVENT_HANDLED

    def key_up(self, symbol: int, modifiers: int):
        binding = KEYS.get(self.name_of(symbol))
        if binding is not None:
            self.app.keys.discard(binding.action)


class ReplayApp(App):
    """`path` is the record's, by which pictures are called."""

    keys_of = ReplayKeys
    rehearsal: Replay
    timeline: Timeline  # made by `_fit`

    def __init__(self, replay: Replay, path: Path, size=SIZE, settings: Settings = Settings()):  # noqa: B008
        self.path = path
        self.with_timeline = True
        self.dragged = False  # the bar has the mouse
        self.told = ""  # of the picture kept last
        super().__init__(replay, load_hands("keyboard"), size, settings=settings)
        self.window.set_caption(f"Firstthrow replay: {path.name}")
        self.window.push_handlers(
            on_mouse_press=self._press, on_mouse_release=self._let_go, on_mouse_drag=self._pull
        )

    def frame(self, wall_seconds: float) -> None:
        step = PACE * min(wall_seconds, 0.1)
        push = ("on" in self.keys) - ("back" in self.keys)
        if push:
            self.rehearsal.seek(self.rehearsal.time + push * step)
        super().frame(wall_seconds)

    def draw(self, wall_seconds: float) -> None:
        super().draw(wall_seconds)
        if self.with_timeline and self.instruments and not self.helping:
            self.timeline.draw(self.told or f"{self._state()}   F1: keys")

    def _state(self) -> str:
        replay = self.rehearsal
        if replay.over:
            return replay.ending.text
        if replay.clock.paused:
            return "stopped"
        rate = replay.clock.rate
        return "plays" if rate == 1.0 else f"plays, time x {rate:g}"

    def act(self, action: str) -> None:
        replay = self.rehearsal
        self.told = ""
        if action in ("play", "pause"):
            if replay.over:
                replay.again()
            else:
                replay.clock.paused = not replay.clock.paused
        elif action in ("back", "on"):
            replay.seek(replay.time + (JUMP if action == "on" else -JUMP))
        elif action in ("row_back", "row_on"):
            replay.clock.paused = True
            replay.step(1 if action == "row_on" else -1)
        elif action == "start":
            replay.seek(replay.start)
        elif action == "end":
            replay.seek(replay.end)
        elif action == "picture":
            self._keep_picture()
        elif action == "view" and self.eyes.free:
            self.eyes.free = False
        elif action == "again":
            replay.again()
        elif action == "help":
            self.helping, self.help_page = not self.helping, 0
        elif action in WINDOWS:
            super().act(action)
        self.words_at = -1e9

    @property
    def can_look_round(self) -> bool:
        return not self.helping

    def takes_mouse(self, x: float, y: float) -> bool:
        return self.dragged or (self.with_timeline and self.instruments and self.timeline.has(x, y))

    def _press(self, x, y, button, modifiers):
        if self.takes_mouse(x, y):
            self.dragged = True
            self.rehearsal.seek(self.timeline.time_at(x))

    def _pull(self, x, y, dx, dy, buttons, modifiers):
        if self.dragged:
            self.rehearsal.seek(self.timeline.time_at(x))

    def _let_go(self, x, y, button, modifiers):
        self.dragged = False

    def _hidden(self):
        self.rehearsal.clock.paused = True

    def _fit(self) -> None:
        super()._fit()
        self.timeline = Timeline(self.rehearsal, self.window.get_size(), self.panels.scale)

    def _keep_picture(self) -> None:
        name = f"{self.path.stem}-{max(0.0, self.rehearsal.time):.2f}s.png"
        path = unused(self.path.with_name(name))
        super().draw(0.0)
        try:
            save(self.window, path)
        except OSError as error:
            self.told = f"not kept: {trouble(error)}"
        else:
            self.told = f"kept: {path.name}"

    def _card(self) -> instruments.Card | None:
        if self.asking:
            return instruments.leave_card()
        if self.helping:
            lines = tuple(f"{words_of(b.key):<13}{b.words}" for b in BINDINGS)
            return instruments.Card(
                "Keys of the replay", lines, ("Drag the bar to move in time.",), table=True
            )
        return None


WINDOWS = frozenset(
    (
        "slower",
        "view",
        "zoom",
        "steady",
        "streamer",
        "tracing",
        "mute",
        "figures",
        "bigger",
        "smaller",
        "quit",
    )
)
