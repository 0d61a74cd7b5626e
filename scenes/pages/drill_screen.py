"""The direction drill in the window: the airframe from behind, answering the sticks; the builder
says by a number key what is wrong with it. The flight's own servos and motor answer."""

from __future__ import annotations

import math
from random import Random

import numpy as np

from firstthrow.scenes.flight.facts import surface_angles
from firstthrow.scenes.hands.bindings import key_words
from firstthrow.scenes.pages.drill import SOUND, question
from firstthrow.scenes.pages.screens import Screen, number_of
from firstthrow.scenes.words.instruments import stick_squares, wrapped
from firstthrow.scenes.words.sheet import Sheet
from firstthrow.scenes.world.camera import Pose, View, level_view
from firstthrow.scenes.world.meshes import airframe_mesh
from firstthrow.sim.build.model import build
from firstthrow.sim.build.sticks import Sticks
from firstthrow.sim.build.straight import fitted
from firstthrow.sim.build.weights import balance, parts
from firstthrow.sim.describe.airframe import HandLaunch
from firstthrow.sim.describe.edit import put
from firstthrow.sim.flight.drive_at_rest import refitted
from firstthrow.sim.flight.flight import Flight
from firstthrow.sim.paper.page import Page, Words, box
from firstthrow.sim.study.faults import FAULTS
from firstthrow.sim.units import from_rpm

HEIGHT = 1.3  # [m] it is held at
SLOWED = 90.0  # [rpm] most that a propeller is drawn to turn, so that the eye sees which way
STEP = 0.2  # [rad] the eye goes round with a press of its keys
ANGLE = math.radians(46.0)  # vertical field of view
ROOM = 0.36  # of the window's width, the page's
WIDE, TALL = 118.0, 206.0  # of the drill's page [mm]
ENTER = ("RETURN", "ENTER", "NUM_ENTER")


class DrillScreen(Screen):
    """Question after question until the person leaves; the score is the window's."""

    def __init__(self, app, random: Random | None = None):
        self.random = random or Random()
        app.act("again")
        app.rehearsal.clock.paused = True
        self.chosen = 0  # number of the answer given, 0 while none is
        self.turn = 0.12  # [rad] of the eye, from straight behind to the left
        super().__init__(app)
        self._ask("")

    def resize(self) -> None:
        wide, tall = self.app.window.get_size()
        self.sheet = Sheet((ROOM * wide, tall))

    def next(self) -> None:
        """Another question."""
        self._ask(self.asked.fault)

    def _ask(self, last: str) -> None:
        """With another fault than the last one's; the sound airframe's flight beside it to compare
        the pull with."""
        airframe, field = self.app.sound
        self.asked = question(_in_hand(airframe), field, self.random, last, self._led)
        self.chosen = 0
        self.flight = self._flight(self.asked.airframe, self.asked.fault)
        self.other = self._flight(self._led(_in_hand(airframe)), "")
        self._wear(self.asked.airframe)
        self.reading, self.planned = self.flight.reading(), self.other.reading()
        self.sticks = Sticks()
        self.app.thumbs.restart()

    def key(self, name: str) -> bool:
        number = number_of(name)
        if name in ENTER and self.chosen:
            self.next()
        elif number and not self.chosen and number <= len(self.asked.answers):
            self.chosen = number
            self.app.score.count(self.asked.fault, self.asked.is_right(number))
        elif name in ("COMMA", "PERIOD"):
            self.turn += STEP if name == "COMMA" else -STEP
        else:
            return number is not None or name in ENTER
        return True

    def frame(self, seconds: float, sticks: Sticks) -> None:
        seconds = min(seconds, 0.05)
        self.sticks = sticks._replace(low_rates=False)
        for flight in (self.flight, self.other):
            flight.advance(seconds, self.sticks)
        self.reading, self.planned = self.flight.reading(), self.other.reading()
        for k, rpm in enumerate(self._rpm(SLOWED)):
            turned = from_rpm(rpm) * seconds
            self.app.turns[k] = (self.app.turns[k] + turned) % (2.0 * math.pi)

    def scene(self) -> tuple[Pose, View]:
        """The airframe level in the hand, filling the room beside the page."""
        now, facts = self.reading, self.app.facts
        heading = self.app.rehearsal.field.heading
        place = np.array([0.0, 0.0, -HEIGHT])
        attitude = np.array([math.cos(0.5 * heading), 0.0, 0.0, math.sin(0.5 * heading)])
        angles = tuple(map(math.radians, surface_angles(now, facts)))
        pose = Pose(
            place,
            attitude,
            angles,
            tuple(self.app.turns),
            self._rpm(SLOWED),
            (now.wind_north_m_s, now.wind_east_m_s),
            1e3,
        )
        bearing = heading + math.pi + self.turn
        away = 1.75 * max(self.app.mesh.span, 1.2 * self.app.mesh.length)
        back = np.array([math.cos(bearing), math.sin(bearing), 0.0])
        eye = place + away * back + np.array([0.0, 0.0, -0.28 * away])
        wide, tall = self.app.window.get_size()
        reach = math.tan(0.5 * ANGLE) * wide / tall  # half the picture's width a metre ahead
        left = np.cross([0.0, 0.0, -1.0], -back)  # of the eye: the page takes that side
        aim = place + 0.94 * ROOM * reach * away * left
        return pose, level_view(eye, aim - eye, ANGLE)

    def close(self) -> None:
        super().close()
        self.app.set_fault(self.app.fault)

    def page(self) -> Page:
        score, asked = self.app.score, self.asked
        x, y = 7.0, TALL - 15.0
        parts: list = [
            Words(x, y, "What is wrong with it?", 7.4, True),
            Words(x, y - 8.0, "Move the sticks, run the motor: a number answers.", 3.6),
            Words(x, y - 14.0, "Comma and full stop walk round it.", 3.6),
            *self._sticks(x, y - 43.0),
            *self._pull(x + 52.0, y - 24.0),
        ]
        y -= 54.0
        for k, answer in enumerate(asked.answers, start=1):
            mark = ""
            if self.chosen:
                mark = "right" if answer.fault in asked.right else ""
                if k == self.chosen:
                    mark = "right, your answer" if mark else "WRONG, your answer"
                    parts.append(box(x - 2.5, y - 5.6, WIDE - 9.0, 10.2, 0.86, 0.6))
            parts.append(Words(x, y, f"{k}", 4.8, True))
            parts.append(Words(x + 8.0, y, answer.words, 4.5, bool(mark)))
            parts.append(Words(x + 8.0, y - 4.2, mark, 3.2, True))
            y -= 10.4
        y -= 3.0
        if self.chosen:
            for k, line in enumerate(self._verdict()):
                parts.append(Words(x, y - 6.4 * k, line, 4.2 if k else 5.2, k == 0))
        told = f"{score.right} of {score.asked} right" if score.asked else "no answers yet"
        leave = f"{key_words('drill')} or Esc leaves"
        parts += [
            Words(x, 8.0, told, 5.0, True),
            Words(x, 2.6, leave, 3.6),
        ]
        return Page(tuple(parts), WIDE, TALL)

    def _verdict(self) -> list[str]:
        asked = self.asked
        right = asked.is_right(self.chosen)
        if asked.fault == SOUND:
            line = "All moves as it must."
        else:
            line = f"{FAULTS[asked.fault].line[0].upper()}{FAULTS[asked.fault].line[1:]}."
        lines = ["Right." if right else "No.", *wrapped(line, 50)]
        if len(asked.right) > 1:
            names = " and ".join(a.words for a in asked.answers if a.fault in asked.right)
            lines += wrapped(f"From behind, '{names}' look alike: follow the leads.", 50)
        return [*lines, "Enter: the next one."]

    def _sticks(self, x: float, y: float) -> list:
        """Both sticks as they stand, in the person's mode."""
        sticks, size = self.sticks, 20.0
        places = stick_squares(
            self.app.thumbs.mode, sticks.roll, sticks.pitch, sticks.yaw, sticks.throttle
        )
        found: list = []
        for k, (right, away) in enumerate(places):
            left = x + 24.0 * k
            knob_x = left + 0.5 * (size - 4.0) * (1.0 + round(right, 2))
            knob_y = y + 0.5 * (size - 4.0) * (1.0 + round(away, 2))
            found += [box(left, y, size, size, 0.9, 0.3), box(knob_x, knob_y, 4.0, 4.0, 0.1, 0.0)]
        return found

    def _pull(self, x: float, y: float) -> list:
        """What a spring scale at the tail shows, and what it should."""
        u = self.app.facts.units
        now, plan = self._thrust(self.reading), self._thrust(self.planned)
        way = "forward" if now > 0.05 else "BACK" if now < -0.05 else ""
        return [
            Words(x, y, "spring scale at the tail", 3.9),
            Words(x, y - 7.5, f"{u.force(abs(now))} {way}", 5.2, True),
            Words(x, y - 14.0, f"as planned {u.force(plan)}", 3.9),
        ]

    def _thrust(self, reading) -> float:
        return sum(getattr(reading, f"motor_{name}_thrust_N") for name in self.app.facts.motors)

    def _rpm(self, most: float) -> tuple[float, ...]:
        speeds = [getattr(self.reading, f"motor_{name}_rpm") for name in self.app.facts.motors]
        return tuple(math.copysign(min(abs(rpm), most), rpm) for rpm in speeds)

    def _led(self, airframe):
        """With servos that follow channels where those of the flight do."""
        straight = self.app.thumbs.straight
        led = None if straight is None else fitted(airframe, straight.servos)
        return airframe if led is None else led.airframe

    def _flight(self, airframe, fault: str) -> Flight:
        """In the hand. Models are kept; one is built anew only for other sheets."""
        sound, field = self.app.sound
        kept = self.app.drill_models
        if "" not in kept:
            kept[""] = build(_in_hand(sound), field)
        if airframe.sheets == sound.sheets:
            same = airframe.motors == sound.motors
            return Flight(
                airframe, field, "hand", model=kept[""] if same else refitted(kept[""], airframe)
            )
        if fault not in kept:
            kept[fault] = build(airframe, field)
        return Flight(airframe, field, "hand", model=kept[fault])

    def _wear(self, airframe) -> None:
        app = self.app
        app.mesh = airframe_mesh(airframe, balance(parts(airframe)).place)
        app.turns = [0.0 for _ in app.mesh.propellers]
        app.picture.wear(app.mesh)


def _in_hand(airframe):
    """Held level at a height that shows it well."""
    hand = HandLaunch.model_construct(speed=1.0, pitch=0.0, bank=0.0, height=HEIGHT, throttle=0.5)
    return put(airframe, ("launch", "hand"), hand)
