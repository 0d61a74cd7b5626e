"""The bench in the window: its panels, and keys, mouse and gamepad that change what flies.

`app` is the window's. The flight goes on, or waits if it was paused; a change is flown from the
next frame.
"""

from __future__ import annotations

from concurrent.futures import Future, ThreadPoolExecutor
from pathlib import Path

from pyglet.window import key

from firstthrow.scenes.flight.eyes import tail_seat
from firstthrow.scenes.hands.bindings import NOW
from firstthrow.scenes.pages import bench_page
from firstthrow.scenes.pages.bench import FASTER, Bench
from firstthrow.scenes.pages.bench_figures import TRIMS, Figures, figures
from firstthrow.scenes.pages.bench_file import target
from firstthrow.scenes.pages.bench_rows import Row, Setup
from firstthrow.scenes.pages.bench_write import WriteScreen
from firstthrow.scenes.pages.screens import ENTER
from firstthrow.scenes.words.instruments import CORNER_HEIGHT, GAP, Rect
from firstthrow.scenes.words.kept_picture import KeptPicture
from firstthrow.scenes.words.placing import whole_pixels
from firstthrow.scenes.words.sheet import BORDER, Sheet
from firstthrow.scenes.world.meshes import airframe_mesh
from firstthrow.sim.build.moved import altered
from firstthrow.sim.build.weights import balance, parts
from firstthrow.sim.describe.airframe import Airframe
from firstthrow.sim.describe.config import ConfigError, load_airframe
from firstthrow.sim.study.subject import Subject

STEPS = {"bench_less": -1, "bench_more": 1}
ROWS = {"bench_up": -1, "bench_down": 1}
# What X11 calls these keys under Shift, on the layouts most in use.
UNSHIFTED = {"GREATER": "PERIOD", "LESS": "COMMA", "COLON": "PERIOD", "SEMICOLON": "COMMA"}
ARROWS = {"UP": "bench_up", "DOWN": "bench_down", "LEFT": "bench_less", "RIGHT": "bench_more"}
OWN = (*STEPS, *ROWS, "copy_setup", "bench_back", "bench_write")
REPEATS_AFTER, REPEATS_EVERY, HURRIES_AFTER = 0.4, 0.08, 1.6  # [s] a key or button is held
WAITING = "..."


class BenchPanel:
    def __init__(self, app, file: Path | None):
        self.app, self.file = app, file
        self.open = False
        self.note = ""
        self.begun: Bench | None = None  # see `bench`
        self.flies: tuple | None = None  # (airframe, field) of the model in use
        self.stale = False  # a change is not flown yet
        self.held: str | None = None  # action of the key or button that repeats
        self.held_key, self.held_for, self.due = "", 0.0, 0.0
        # the row that the mouse draws, as it was then; where it was taken; its value
        self.slid: tuple[Row, float, float] | None = None
        self.worker: ThreadPoolExecutor | None = None
        self.jobs: list[Future] = []
        self.found: Figures | None = None
        self.asked_rates = False
        self.left: Sheet | None = None  # see `_sheets`
        self.right: Sheet | None = None
        self.pictures = KeptPicture(app.renderer), KeptPicture(app.renderer)
        self.scale = 1.0
        app.window.push_handlers(
            on_mouse_press=self._press,
            on_mouse_drag=self._drag,
            on_mouse_release=self._let_go,
            on_mouse_scroll=self._scroll,
        )

    @property
    def bench(self) -> Bench:
        """From the first time it is used."""
        if self.begun is None:
            self.begun = Bench(Setup(*self.app.sound), self._written())
        return self.begun

    def _written(self) -> Airframe | None:
        """What the file says; None where there is none, or it cannot be read any more."""
        try:
            return load_airframe(self.file) if self.file is not None else None
        except ConfigError:  # changed since it was read: what flies is all there is to compare
            return None

    @property
    def corner(self) -> str:
        """For the line in the corner; empty while the airframe is as it came."""
        bench = self.begun
        if bench is None or (bench.now == bench.first and bench.at == 0):
            return ""
        return f"set-up {bench.letter}   "

    @property
    def visible(self) -> bool:
        return self.open and self.app.screen is None and not self.app.helping

    @property
    def covers(self) -> bool:
        """Whether the panels take the places of cards."""
        return self.visible

    def act(self, action: str, steps: int = 1) -> bool:
        """Whether the action is the bench's and done; others go on to the window."""
        if action == "bench":
            self._toggle()
        elif action == "bench_balance":
            self._to_balance()
        elif action == "other_setup":
            self.bench.swap()
            self.stale = True
        elif action == "quit" and self.visible:
            self._toggle()
        elif action not in OWN:
            return False
        elif self.visible:
            self._own(action, steps)
        return True

    def _to_balance(self) -> None:
        """Opens, if need be, at the row of the balance."""
        if not self.visible:
            self._toggle()
        paths = [row.path for row in self.bench.rows]
        if ("cg",) in paths:
            self.bench.row = paths.index(("cg",))

    def _own(self, action: str, steps: int) -> None:
        bench, self.note = self.bench, ""
        if action in ROWS:
            bench.move(ROWS[action])
        elif action in STEPS:
            bench.step(STEPS[action] * steps)
            self.stale = True
        elif action == "copy_setup":
            bench.copy()
            self.note = f"Set-up {bench.other} is now the same as {bench.letter}."
        elif action == "bench_back":
            bench.back()
            self.stale = True
        elif action == "bench_write":
            if self.file is None:
                self.note = "There is no airframe file to write to."
            else:
                self.app.show(WriteScreen)

    def use(self, setup: Setup) -> None:
        """A set-up that comes from elsewhere, in place of the one in use; flown at once."""
        self.bench.setups[self.bench.at] = setup
        self._fly()

    def kept(self, path: Path, note: str) -> None:
        """The set-up in use has been written, to the file of that path or to an own copy of it."""
        self.note = note
        self.bench.keep()
        self.file = target(path)  # an own copy holds this now, and not what was copied

    def _toggle(self) -> None:
        self.open, self.held, self.slid, self.note = not self.open, None, None, ""
        if self.open:
            self.app.keys.clear()
            self.left, self.right = self._laid_out()
            self._work_out()

    def key(self, name: str, modifiers: int) -> bool:
        """A key by pyglet's name, pressed; whether the bench has used it."""
        if not self.visible:
            return False
        if modifiers & key.MOD_SHIFT:
            name = UNSHIFTED.get(name, name)
        paused = self.app.rehearsal.clock.paused
        name = "ENTER" if name in ENTER else name
        action = ARROWS.get(name) if paused and name in ARROWS else NOW.actions.get(name)
        if action not in OWN:
            return False
        self.act(action, FASTER if modifiers & key.MOD_SHIFT else 1)
        if action in STEPS or action in ROWS:
            self.held, self.held_key, self.held_for, self.due = action, name, 0.0, REPEATS_AFTER
        return True

    def key_up(self, name: str) -> None:
        name = UNSHIFTED.get(name, name)
        if name in UNSHIFTED.values():
            # Shift let go before the key: pyglet on X11 would take the key, called otherwise when
            # it went down, to be down still, and swallow its next press
            alike = [n for n, plain in UNSHIFTED.items() if plain == name]
            for other in (name, *alike):
                getattr(self.app.window, "pressed_keys", set()).discard(getattr(key, other))
        if name == self.held_key:
            self.let_go()

    def let_go(self) -> None:
        """No key repeats any more."""
        self.held, self.held_key = None, ""

    def pressed(self, action: str) -> None:
        """A button of the gamepad, which repeats for as long as it is down."""
        if self.visible and (action in STEPS or action in ROWS):
            self.held, self.held_key, self.held_for, self.due = action, "", 0.0, REPEATS_AFTER

    def frame(self, wall_seconds: float) -> None:
        self._repeat(min(wall_seconds, 0.1))
        if self.stale:
            self.stale = False
            self._fly()
            if self.open:
                self._work_out()

    def _repeat(self, seconds: float) -> None:
        if self.held is None or not self.visible:
            return
        if not self.held_key and not self.app.thumbs.gamepad.holds(self.held):
            self.held = None
            return
        self.held_for += seconds
        if self.held_for >= self.due:
            self.due = self.held_for + REPEATS_EVERY
            self.act(self.held, FASTER if self.held_for > HURRIES_AFTER else 1)

    def _fly(self) -> None:
        """The set-up in use, from now on: under the fault card that is drawn, if one is."""
        app, rehearsal = self.app, self.app.rehearsal
        before, app.sound = app.with_fault(app.fault), tuple(self.bench.now)
        now = app.with_fault(app.fault)
        model = altered(rehearsal.model, before, now)
        app.models = {app.fault: model}
        app.drill_models.clear()
        airframe, told = app.led(app.fault, now[0])
        rehearsal.refit(airframe, now[1], model, **told)
        app.facts = app.known_of(airframe)
        if before[0].items != now[0].items:
            app.mesh = app.eyes.mesh = airframe_mesh(airframe, balance(parts(airframe)).place)
            app.eyes.tail = tail_seat(app.mesh)
            app.picture.wear(app.mesh)

    def _work_out(self) -> Figures:
        """Figures at once; trims as they are found, by a worker beside the flight."""
        subject = Subject(*self.bench.now, model=self.app.rehearsal.model)
        self.asked_rates = self._low_rates
        found = self.found = figures(subject, self.asked_rates)
        for job in self.jobs:
            job.cancel()
        if self.worker is None:
            self.worker = ThreadPoolExecutor(1)
        self.jobs = [self.worker.submit(trim, subject) for trim in TRIMS]
        return found

    @property
    def _low_rates(self) -> bool:
        return bool(self.app.rehearsal.sticks.low_rates)

    def trims(self) -> tuple[tuple[str, str], ...]:
        """What is known of them by now."""
        titles = ("level", "let go, motor off", "let go, launch throttle")
        return tuple(
            job.result() if job.done() and not job.cancelled() else (title, WAITING)
            for title, job in zip(titles, self.jobs, strict=True)
        )

    @property
    def _state(self) -> str:
        rehearsal = self.app.rehearsal
        if rehearsal.clock.paused:
            return "waits, paused"
        return "is in the hand" if rehearsal.held else "is down" if rehearsal.over else "flies"

    def draw(self) -> None:
        """Over the instruments."""
        if not self.visible:
            return
        left, right = self._sheets()
        found = self.found
        if found is None or self.asked_rates != self._low_rates:
            found = self._work_out()
        bench = self.bench
        flown = self.tall, self._state, self.note, "low" if self._low_rates else "high"
        verdict = self.app.judging.words if self.app.judging.is_wanted else ""
        told = bench.now, bench.part, found, self.trims(), self.tall, verdict
        left.show_for(
            (*bench.setups, bench.at, bench.row, bench.part, *flown),
            lambda: bench_page.rows_page(bench, *flown),
        )
        right.show_for(told, lambda: bench_page.figures_page(*told))
        fine = self.app.canvas.width / self.app.panels.width
        for sheet, paper, kept in zip((left, right), self.papers, self.pictures, strict=True):
            box = whole_pixels(paper, fine)
            if not kept.shows(sheet.page, box):
                sheet.batch.draw()
                kept.keep(sheet.page, box)
            sheet.rim.draw()

    def resize(self) -> None:
        """The window or the text has another size."""
        self.left = self.right = None

    def _sheets(self) -> tuple[Sheet, Sheet]:
        """Both panels, laid out anew after a resize."""
        if self.left is None or self.right is None:
            self.left, self.right = self._laid_out()
        return self.left, self.right

    def _laid_out(self) -> tuple[Sheet, Sheet]:
        """A panel at each side, as tall as the line in the corner and the tags leave."""
        panels = self.app.panels
        wide, high = panels.width, panels.height
        across = wide / (bench_page.WIDE + bench_page.NARROW + 3.0 * GAP)
        scale = self.scale = min(self.app.scale, across)
        low = panels.below + GAP * scale
        top = high - (CORNER_HEIGHT + 2.0 * GAP) * panels.scale
        self.tall = max(
            bench_page.HEAD + bench_page.FOOT + 2.0 * bench_page.ROW, (top - low) / scale
        )
        size = bench_page.WIDE, bench_page.NARROW
        lefts = GAP * scale, wide - (bench_page.NARROW + GAP) * scale
        self.corner_at = [(left, low) for left in lefts]
        left, right = (
            Sheet(
                (unit * scale + 2 * BORDER, self.tall * scale + 2 * BORDER),
                left - BORDER,
                low - BORDER,
            )
            for unit, left in zip(size, lefts, strict=True)
        )
        return left, right

    @property
    def papers(self) -> list[Rect]:
        """Where the panels lie in the window; none while they are not shown."""
        if not self.visible or self.left is None:
            return []
        widths, tall = (bench_page.WIDE, bench_page.NARROW), self.tall * self.scale
        return [
            Rect(left, low, unit * self.scale, tall)
            for (left, low), unit in zip(self.corner_at, widths, strict=True)
        ]

    def has(self, x: float, y: float) -> bool:
        """Whether a point of the window is on a panel, or held from there."""
        if self.visible and self.slid is not None:
            return True
        return any(
            paper.x <= x <= paper.x + paper.width and paper.y <= y <= paper.y + paper.height
            for paper in self.papers
        )

    def _spot(self, x: float, y: float):
        """What is under the mouse on the left panel; None for nothing."""
        (left, low), scale = self.corner_at[0], self.scale
        across, up = (x - left) / scale, (y - low) / scale
        for spot in bench_page.spots(self.bench, self.tall):
            r = spot.rect
            if r.x <= across <= r.x + r.width and r.y <= up <= r.y + r.height:
                return spot
        return None

    def _press(self, x, y, button, modifiers):
        if isinstance(self.app.screen, WriteScreen):
            self.app.screen.click(x, y)
            return True
        if not self.has(x, y):
            return None
        spot = self._spot(x, y)
        if spot is None:
            return True
        bench = self.bench
        if spot.action == "setup":
            if spot.row != bench.at:
                self.act("other_setup")
            return True
        if spot.row >= 0:
            bench.row = spot.row
        if spot.action == "row":
            row = bench.chosen
            self.slid = (row, x, bench.value(row)) if row.path else None
        else:
            self.act(spot.action, FASTER if modifiers & key.MOD_SHIFT else 1)
        return True

    def _drag(self, x, y, dx, dy, buttons, modifiers):
        if self.slid is None:
            return True if self.has(x, y) else None
        row, start, at = self.slid
        self.bench.set(bench_page.slid(row, at, (x - start) / self.scale), row)
        self.stale = True
        return True

    def _let_go(self, x, y, button, modifiers):
        self.slid = None

    def _scroll(self, x, y, scroll_x, scroll_y):
        if not self.has(x, y):
            return None
        spot = self._spot(x, y)
        if spot is not None and spot.row >= 0 and spot.action != "setup":
            self.bench.row = spot.row
            self.act("bench_more" if scroll_y > 0 else "bench_less")
        return True

    def close(self) -> None:
        if self.worker is not None:
            self.worker.shutdown(wait=True, cancel_futures=True)
