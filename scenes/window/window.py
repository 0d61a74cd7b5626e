"""The window: in the hand, thrown, flown, over, and back in the hand with one key.

It hands the flight the sticks and its time, and draws. It computes no physics.
"""

from __future__ import annotations

import math
import time

import pyglet

from firstthrow.scenes.flight.clock import next_due
from firstthrow.scenes.flight.eyes import Eyes
from firstthrow.scenes.flight.facts import Facts, facts_of
from firstthrow.scenes.flight.flying import Flying
from firstthrow.scenes.flight.posing import pose_of, turn_propellers
from firstthrow.scenes.flight.settings import Settings
from firstthrow.scenes.flight.waiting import Waiting
from firstthrow.scenes.hands.bindings import NOW
from firstthrow.scenes.hands.device_words import device_buttons
from firstthrow.scenes.hands.hands import load_hands
from firstthrow.scenes.hands.person import Thumbs
from firstthrow.scenes.hands.places import places
from firstthrow.scenes.hands.preferences import Preferences, keep, use
from firstthrow.scenes.hands.profiles import load_profile
from firstthrow.scenes.pages.bench_screen import BenchPanel
from firstthrow.scenes.pages.drill import Score
from firstthrow.scenes.pages.screens import Screen
from firstthrow.scenes.window.along import Aids
from firstthrow.scenes.window.judging import Judging
from firstthrow.scenes.window.look import view_name
from firstthrow.scenes.window.opening import SIZE, look_often, open_window, when_display_goes
from firstthrow.scenes.window.opening import TITLE as TITLE  # by which it is found
from firstthrow.scenes.window.pressing import SCREENS, Pressing
from firstthrow.scenes.window.sight import Sight, sight_of
from firstthrow.scenes.words import instruments, what_it_says
from firstthrow.scenes.words.kept_picture import KeptPicture
from firstthrow.scenes.words.lettering import load_fonts
from firstthrow.scenes.words.panels import Panels
from firstthrow.scenes.world.camera import VIEWS, View
from firstthrow.scenes.world.canvas import is_software
from firstthrow.scenes.world.meshes import airframe_mesh
from firstthrow.scenes.world.picture import Pose
from firstthrow.sim.build.model import build
from firstthrow.sim.build.straight import fitted
from firstthrow.sim.build.weights import balance, parts
from firstthrow.sim.describe.replace import trouble
from firstthrow.sim.study.faults import apply
from firstthrow.sim.study.subject import Subject

WORDS_EVERY = 0.1  # [s] between new words on the instruments
FASTEST = 1.0 / 144.0  # [s] least time of a frame; in software 1/60, to leave time for the flight
SCRIPT_STAYS = 3.0  # [s] the outcome of a scripted, timed flight is shown before the window closes


class App:
    """Everything behind one open window. `frame` does one turn; `loop` does them all."""

    keys_of: type[Pressing] = Pressing

    def __init__(
        self,
        rehearsal: Flying,
        hands,
        size: tuple[int, int] = SIZE,
        fault: str = "",
        settings: Settings = Settings(),  # noqa: B008 immutable
        sight: Sight | None = None,
    ):
        self.rehearsal = rehearsal
        airframe, field = rehearsal.airframe, rehearsal.field
        self.sound = (airframe, field)  # as described, before any fault card
        self.as_built = self.sound  # before anything was changed on the bench
        self.models = {"": rehearsal.model}  # by fault card
        self.fault = ""
        self.drill_models: dict = {}
        self.score = Score()
        self.screen: Screen | None = None
        self.channels = False  # whether the servos are led as the device in use sends
        self.facts = self.known_of(airframe)
        pad_hands = hands if hands.has_axes else load_hands("gamepad-mode-2")
        # a layout that was asked for by name goes before what the device was assigned
        self.thumbs = Thumbs(hands, pad_hands, None if hands.has_axes else load_profile)
        shown = airframe, field, rehearsal.launch
        sight = sight or sight_of(*shown, open_window(size, settings.unseen))
        self.window, self.renderer, self.canvas = sight.window, sight.renderer, sight.canvas
        self.mesh, self.picture = sight.mesh, sight.picture
        self.view_name, self.eyes = view_name(settings), Eyes(field.heading, self.mesh, settings)
        load_fonts()
        self.least_frame = 1.0 / 60.0 if is_software(self.renderer) else FASTEST
        self.seen_from = self.eyes.standing.eye  # [m] the eye of the last picture
        self.keeps = settings.preferences is not None
        self.preferences = settings.preferences or Preferences()
        use(self.preferences)
        self.scale = self.preferences.text_size or instruments.suited(size[1])
        self.places = places(self.window)
        NOW.printed, NOW.buttons = self.places.printed, None
        self.instruments = True
        self.tags = tuple(KeptPicture(self.renderer) for _ in instruments.TAGS)
        self.helping, self.help_page = False, 0
        self.asking = False  # whether to leave
        self.card: instruments.Card | None = None  # shown now
        self.waiting = Waiting(rehearsal)
        self.keys: set[str] = set()
        self.running = True
        self.turns = [0.0 for _ in self.mesh.propellers]
        self.words_at = -math.inf
        self.now = 0.0  # [s] of wall time this window has run
        self.idle = 0.0  # [s] with nothing in the air
        self.canvas.fit(*self.window.get_framebuffer_size())
        self._fit()
        self.window.push_handlers(
            on_close=self._close, on_resize=self._resize, on_hide=self._hidden
        )
        self.pressing = self.keys_of(self)
        self.aids = Aids(self, settings)
        self.judging = Judging(self, settings.unseen)
        self.bench = BenchPanel(self, settings.airframe_file)
        # What is done last where the display goes.
        self.cut_off = [lambda: self.rehearsal.stop(), self.judging.close]
        if settings.drill:
            self.act("first_ten")
        if fault:
            self.set_fault(fault)

    def loop(self) -> None:
        """Until the person leaves. Ctrl-C passes through; the flight is closed either way."""
        when_display_goes(*self.cut_off)
        look_often()
        before = due = time.perf_counter()
        try:
            while self.running:
                start = time.perf_counter()
                self.frame(start - before)
                before, now = start, time.perf_counter()
                due = next_due(due, now, self.least_frame)
                time.sleep(max(0.0, due - now))
        finally:
            self.close()

    def frame(self, wall_seconds: float) -> None:
        """One turn: what the person did, the flight's share of time, the picture."""
        self.window.switch_to()
        self.window.dispatch_events()
        if not self.running:
            return
        for happened in self.thumbs.poll():
            self.pressing.gamepad(happened)
        self.now += wall_seconds
        NOW.buttons = device_buttons(self.thumbs)
        sticks = self.thumbs.sticks(min(wall_seconds, 0.1), self.keys)
        self.rehearsal.frame(wall_seconds, sticks)
        if self.screen is not None:
            self.screen.frame(wall_seconds, sticks)
        self.aids.frame(wall_seconds)
        self.judging.frame(wall_seconds)
        self.bench.frame(wall_seconds)
        self._leave_when_idle(wall_seconds)
        self.draw(wall_seconds)
        self.window.flip()

    def draw(self, wall_seconds: float) -> None:
        self.card = self._card() if self.screen is None else None
        scene = self.screen.scene() if self.screen is not None else None
        if scene is None:
            pose = self._pose(wall_seconds)
            scene = pose, self._view(min(wall_seconds, 0.1), pose)
        pose, view = scene
        self.seen_from = view.eye
        edges, hidden = None, []
        if self.screen is None:
            self.panels.show_card(self.card, self.help_page)
            edges, hidden = self.aids.edges(view, pose), self.aids.hidden()
        self.canvas.begin(edges)
        self.picture.draw(view, self.canvas.width, self.canvas.height, pose, hidden=hidden)
        if self.screen is None:
            self.aids.draw(view, pose)
        else:
            self.screen.draw_beside()
        self.canvas.show(edges)
        if self.screen is not None:
            self.screen.draw()
            return
        if self.now - self.words_at >= WORDS_EVERY:
            self.words_at = self.now
            self.panels.say(*what_it_says.words(self))
        self.panels.mode = self.thumbs.mode
        self.panels.move(self.rehearsal.reading)
        self.panels.draw(self.instruments, self.canvas.width / self.panels.width)
        self.aids.draw_over()
        self.bench.draw()

    def act(self, action: str) -> None:
        """Does what a key or a button asks for once; unknown actions do nothing."""
        rehearsal = self.rehearsal
        self.words_at = -math.inf
        self.thumbs.press(action)
        if self.bench.act(action) or self.aids.act(action):
            return
        if action == "release":
            rehearsal.release()
        elif action == "again":
            rehearsal.again()
            self._afresh()
            self.refit()
        elif action == "hand_over":
            rehearsal.hand_over()
        elif action == "pause":
            self.waiting.pause(not rehearsal.clock.paused)
        elif action == "slower":
            rehearsal.clock.slower()
        elif action == "view":
            self.view_name = VIEWS[(VIEWS.index(self.view_name) + 1) % len(VIEWS)]
            self.remember(view=self.view_name)
        elif action == "zoom":
            self.eyes.standing.zooms = not self.eyes.standing.zooms
        elif action == "figures":
            self.instruments = not self.instruments
        elif action in ("bigger", "smaller"):
            self.scale = instruments.next_scale(self.scale, 1 if action == "bigger" else -1)
            self._resize(*self.window.get_framebuffer_size())
            self.remember(text_size=self.scale)
        elif action == "help":
            self.helping, self.help_page = not self.helping, 0
            self.waiting.cover() if self.helping else self.waiting.uncover()
        elif action in SCREENS:
            self.show(SCREENS[action])
        elif action == "quit":
            self._leave_by_steps()

    def remember(self, **chosen) -> str:
        """Takes up what the person chose, and keeps it for the next time where it may; a sentence
        where that cannot be."""
        self.preferences = self.preferences.model_copy(update=chosen)
        use(self.preferences)
        if not self.keeps:
            return ""
        try:
            keep(self.preferences)
        except OSError as error:
            return f"Used, but not kept: {trouble(error)}"
        return ""

    def _leave_by_steps(self) -> None:
        """What is open closes first; then it asks; then it leaves."""
        if self.helping:
            self.act("help")
        elif self.asking:
            self.running = False
        else:
            self.asking = True
            self.waiting.cover()

    def stay(self) -> None:
        """Any other key answers the question whether to leave."""
        if self.asking:
            self.asking = False
            self.waiting.uncover()
            self.words_at = -math.inf

    def show(self, kind: type[Screen]) -> None:
        """Opens a page over the flight, which waits."""
        if self.screen is not None:
            self.screen.close()
        self.helping = False
        self.waiting.cover()
        self.screen = kind(self)

    def leave(self) -> None:
        """Closes the page; the flight goes on unless it was paused before, or has to be."""
        if self.screen is not None:
            self.screen.close()
            self.screen = None
            self.refit()  # to a device that came or went behind the page
            self.waiting.uncover()
            self.words_at = -math.inf

    def set_fault(self, name: str) -> None:
        """Back in the hand with a fault card, or with none for an empty name."""
        airframe, field = self.with_fault(name)
        if name not in self.models:
            self.models[name] = build(airframe, field)
        airframe, told = self.led(name, airframe)
        self.rehearsal.change(airframe, field, self.models[name], **told)
        self.fault = name
        self.wear(airframe)
        self._afresh()

    def with_fault(self, name: str) -> tuple:
        """Airframe and field with a fault card, or with none for an empty name."""
        return apply(name, *self.sound) if name else self.sound

    def led(self, fault: str, airframe) -> tuple:
        """The airframe with its servos led as the device in use sends, and what a record must
        know beside it."""
        told: dict[str, object] = {}
        if fault:
            told = {"fault": fault, "described_si": self.sound[0].model_dump(mode="json")}
        if self.sound is not self.as_built:
            told["field"] = self.sound[1]
        straight, self.channels = None, self.thumbs.wants_channels
        if self.channels and not self.rehearsal.scripted:
            straight = fitted(airframe, self.thumbs.gamepad.hands.channel_moves)
        if straight is not None:
            airframe, told = straight.airframe, {**told, "sends": "channels"}
        self.thumbs.straight = self.rehearsal.straight = straight
        return airframe, told

    def refit(self) -> None:
        """Flies on with other servo leads where the device in use sends otherwise."""
        if self.channels != self.thumbs.wants_channels and not self.rehearsal.scripted:
            airframe, field = self.with_fault(self.fault)
            airframe, told = self.led(self.fault, airframe)
            self.rehearsal.refit(airframe, field, self.rehearsal.model, **told)

    def known_of(self, airframe) -> Facts:
        """What the words need to know of an airframe that flies."""
        flying = self.rehearsal
        subject = None if flying.recorded else Subject(airframe, flying.field, model=flying.model)
        return facts_of(airframe, flying.launch, subject, flying.straight)

    def wear(self, airframe) -> None:
        """Draws another airframe from now on, and speaks of it."""
        self.facts = self.known_of(airframe)
        self.mesh = airframe_mesh(airframe, balance(parts(airframe)).place)
        self.turns = [0.0 for _ in self.mesh.propellers]
        self.picture.wear(self.mesh)
        self.eyes.wear(self.mesh)
        self._resize(*self.window.get_framebuffer_size())

    def _afresh(self) -> None:
        self.thumbs.restart()
        self.eyes.afresh()
        self.aids.launching.restart()
        self.waiting.because = ""

    def close(self) -> None:
        """Ends and keeps the flight that goes on, and lets go of window and gamepad."""
        self.rehearsal.stop()
        self.thumbs.close()
        self.aids.close()
        self.judging.close()
        self.bench.close()
        if self.window.context is not None:
            self.window.close()

    def _close(self):
        self.running = False
        return pyglet.event.EVENT_HANDLED

    def _hidden(self):
        if not self.rehearsal.over:
            self.waiting.hold("The window was hidden.")

    def _leave_when_idle(self, wall_seconds: float) -> None:
        """A run of limited length closes by itself, so that nothing waits for ever."""
        rehearsal = self.rehearsal
        if rehearsal.seconds is None:
            return
        waiting = rehearsal.over or not rehearsal.flown
        self.idle = self.idle + wall_seconds if waiting else 0.0
        limit = SCRIPT_STAYS if rehearsal.pilot is not None else rehearsal.seconds
        if rehearsal.clock.paused or (rehearsal.pilot is not None and not rehearsal.over):
            return
        if self.idle > limit:
            self.running = False

    def _resize(self, width: int, height: int) -> None:
        self.canvas.fit(*self.window.get_framebuffer_size())
        self._fit()

    def _fit(self) -> None:
        """Instruments and pages for the window's size."""
        wide, tall = self.window.get_size()
        self.panels = Panels(wide, tall, self.scale, self.facts, self.thumbs.mode, self.tags)
        if self.screen is not None:
            self.screen.resize()
        if hasattr(self, "bench"):
            self.bench.resize()
        self.words_at = -math.inf

    def _pose(self, wall_seconds: float) -> Pose:
        turn_propellers(self.turns, self.rehearsal, self.facts, wall_seconds)
        return pose_of(self.rehearsal, self.facts, self.turns)

    def _view(self, seconds: float, pose: Pose) -> View:
        return self.eyes.look(self.view_name, seconds, pose, self.rehearsal.reading)

    @property
    def can_look_round(self) -> bool:
        """Whether mouse and keys turn a free view now."""
        return self.rehearsal.clock.paused and self.screen is None and not self.helping

    def takes_mouse(self, x: float, y: float) -> bool:
        """Whether something on the window itself is there to be dragged."""
        return self.bench.has(x, y)

    def _card(self) -> instruments.Card | None:
        return what_it_says.card(self)
