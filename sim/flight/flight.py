"""A flight: the airframe in the hand or on its wheels, released, flown, ended.

`Flight.advance` moves it by whole frames however often it is called; `fly` runs a whole
flight under a pilot, who may be a person, a script, a replay or a simulated human: any
callable from a reading to sticks.
"""

from __future__ import annotations

from collections import deque
from math import atan2, degrees, hypot, inf, sqrt

import numpy as np

from firstthrow.sim.build.controller import Burden, burdens
from firstthrow.sim.build.model import Model, built
from firstthrow.sim.build.sticks import Sticks, mixer, stuck
from firstthrow.sim.build.weights import TO_BODY
from firstthrow.sim.describe.airframe import Airframe
from firstthrow.sim.describe.field import Field
from firstthrow.sim.describe.unusual import most_unusual
from firstthrow.sim.flight.outcome import ENDINGS, Ending, Outcome
from firstthrow.sim.flight.record import columns, reading_type
from firstthrow.sim.flight.speeds import stall_speed
from firstthrow.sim.flight.standing import on_its_feet
from firstthrow.sim.kernels import batch, integrate
from firstthrow.sim.kernels.batch import FRAME_STEPS
from firstthrow.sim.kernels.derivative import derivative
from firstthrow.sim.kernels.gusts import NOISE_SIZE
from firstthrow.sim.kernels.gusts import start as blow
from firstthrow.sim.kernels.layout import (
    AIR,
    ATTITUDE,
    BENDING,
    CHARGE,
    COMMAND_HELD,
    COMMAND_NEXT,
    COMMAND_SIZE,
    COMMAND_THROTTLE,
    COMMAND_TICKS,
    DEFLECTION,
    HINGE,
    MAX_SURFACES,
    MOTOR_CURRENT,
    PACK_CURRENT,
    PACK_VOLTAGE,
    POSITION,
    RATE,
    ROTOR,
    SEPARATED,
    SIZE,
    SPECIFIC_FORCE,
    SUPPLY_VOLTAGE,
    SURFACE,
    THRUST,
    TOUCHING,
    VELOCITY,
    WIND,
)
from firstthrow.sim.kernels.moving import moving, scratch
from firstthrow.sim.kernels.rotation import angles, from_angles, to_field
from firstthrow.sim.units import GRAVITY, mah, rpm

READINGS = 60  # a second, for pilots and records
# How long a launch by `fly` holds with the motor running [s], as the launches of the odds do.
SPIN_UP = batch.HELD_FRAMES / READINGS


class Flight:
    """One flight of an airframe. Raises ValueError when the airframe has no such launch."""

    def __init__(
        self,
        airframe: Airframe,
        field: Field,
        launch: str | None = None,
        seed: int = 0,
        model: Model | None = None,
    ) -> None:
        self.seed = seed
        self.launch = launch or airframe.launch.kind
        if getattr(airframe.launch, self.launch) is None:
            raise ValueError(f"{airframe.name} has no [launch.{self.launch}] in its file")
        self.columns = columns(airframe)
        self._reading = reading_type(self.columns)
        self._lag: deque[np.ndarray] = deque([np.zeros(COMMAND_SIZE)])
        self._fit(airframe, field, model or built(airframe, field))
        self._moving = moving()
        self.state, self._command, self._gust, self.report, events, self._late, self._before = (
            self._moving
        )
        self._events = events[0]
        self._scratch = scratch()
        self.outcome: Outcome | None = None
        self.held = self.launch == "hand"
        self._sticks = Sticks()
        self._random = np.random.default_rng(seed)
        self._noise = np.zeros((FRAME_STEPS, NOISE_SIZE))
        self._frames = 0  # flown whole since the release; negative in the hand
        self._ended = 0.0  # how far into the next one the flight ended [s]
        self._owed = 0.0  # seconds not yet flown
        if self._gusty:
            blow(self._random.standard_normal((2, NOISE_SIZE)), self._gust)
        self._place()
        self._evaluate()

    def _fit(self, airframe: Airframe, field: Field, model: Model) -> None:
        """What follows from the airframe, the field and their model alone."""
        self.airframe, self.field, self.model = airframe, field, model
        self._mixer = mixer(airframe)
        self._back = airframe.launch.by_hand.back if self.launch == "hand" else 0.0
        record = model.record
        self._servo_torque = record.servo_torque[: record.n_surfaces].tolist()
        self._gusty = bool(record.gust_wind > 0.0)
        self.stall_speed = stall_speed(model, airframe)
        delays = [servo.delay for servo in airframe.servos.values()]
        late = round(max(delays, default=0.0) / STEP)
        self._frames_late, self._ticks_late = divmod(late, FRAME_STEPS)
        length = self._frames_late + 2
        before = [self._lag[0]] * length + list(self._lag)
        self._lag = deque(before, maxlen=length)  # commands of frames on their way to the servos

    @property
    def end(self) -> Outcome:
        """Of a flight that has ended, as those that `fly` gives have. Raises ValueError before."""
        if self.outcome is None:
            raise ValueError(f"still flying after {self.time:.1f} s")
        return self.outcome

    @property
    def time(self) -> float:
        """Seconds since the release; negative in the hand."""
        return self._frames / READINGS + self._ended

    def _place(self) -> None:
        """Put the airframe into the hand, or onto its wheels."""
        heading = self.field.heading
        if self.launch == "hand":
            hand = self.airframe.launch.by_hand
            self.state[POSITION + 2] = -hand.height
            self.state[ATTITUDE : ATTITUDE + 4] = from_angles(hand.bank, hand.pitch, heading)
        else:
            height, pitch = on_its_feet(self.model)
            self.state[POSITION + 2] = -height
            self.state[ATTITUDE : ATTITUDE + 4] = from_angles(0.0, pitch, heading)
        self._command[:] = self._mixer.command(Sticks())
        self._lag.extend([self._command.copy()] * len(self._lag))
        surfaces = self.model.record.n_surfaces
        self.state[SURFACE : SURFACE + surfaces] = self._command[:surfaces]
        for slot, angle in stuck(self.airframe).items():
            self.state[SURFACE + slot] = angle

    @property
    def burdens(self) -> tuple[Burden, ...]:
        """What the controllers bear now, in the order of the motors."""
        airframe, events = self.airframe, self._events
        currents = self.report[MOTOR_CURRENT : MOTOR_CURRENT + len(airframe.motors)]
        how = currents, events.overload, events.dead
        return burdens(tuple(airframe.motors), airframe.controller, *how)

    @property
    def standing(self) -> bool:
        """On its wheels, where it has not rolled yet."""
        return self.launch == "ground" and not self._events.moved

    def stand(self) -> None:
        """Time begins anew, for as long as it stands on its wheels."""
        if self.standing:
            self._frames = 0

    def hold(self, seconds: float) -> None:
        """In the hand: say that the release comes in so many seconds, which sets the time."""
        if self.held:
            self._frames = -round(seconds * READINGS)

    def release(self) -> None:
        """Leave the hand with the launch's speed along the nose."""
        if not self.held or self.outcome:
            return
        self.held = False
        self._frames, self._owed = 0, 0.0
        self.state[VELOCITY] = self.airframe.launch.by_hand.speed
        self._late[:] = self._before[:] = 0.0
        self._evaluate()

    def start_at(self, state: np.ndarray, sticks: Sticks) -> None:
        """Be flying in a given state (SIZE,), as if `sticks` had been held for long."""
        self.held, self._frames, self._owed = False, 0, 0.0
        self.state[:] = state
        self._sticks = sticks
        self._command[:] = self._mixer.command(sticks)
        self._lag.extend([self._command.copy()] * len(self._lag))
        self._late[:] = self._before[:] = 0.0
        self._evaluate()

    def refit(self, airframe: Airframe, field: Field, model: Model) -> None:
        """Go on as another airframe of the same sheets and motors, with its model.

        The airframe does not jump: every point of it keeps its place and velocity, so that a
        centre of gravity moved by r takes its own, x + r and v + w x r (rigid body). Attitude,
        rates, rotors, surfaces, charge, gusts and time stay; what the sticks ask for is mixed
        anew with the next step. In the hand, the hand holds the new centre of gravity.
        Raises ValueError when surfaces or motors are not the same.
        """
        if columns(airframe) != self.columns:
            raise ValueError(f"{airframe.name}: other surfaces or motors than those that fly")
        shift = TO_BODY @ (model.balance.place - self.model.balance.place)
        state = self.state
        if self.held:
            hand, before = airframe.launch.by_hand, self.airframe.launch.by_hand
            state[POSITION + 2] -= hand.height - before.height
        else:
            state[POSITION : POSITION + 3] += to_field(*state[ATTITUDE : ATTITUDE + 4], *shift)
            state[VELOCITY : VELOCITY + 3] += np.cross(state[RATE : RATE + 3], shift)
        self._fit(airframe, field, model)
        self._before[:] = 0.0
        self._evaluate()

    def advance(self, seconds: float, sticks: Sticks) -> None:
        """Fly on by whole frames of 1/60 s; what does not fill one is carried over."""
        if self.outcome:
            return
        if self._back and self.time < batch.HELD_BACK:
            sticks = sticks._replace(pitch=max(sticks.pitch, self._back))
        self._sticks = sticks
        asked = self._mixer.command(sticks)
        self._owed += seconds
        frames = int(self._owed * READINGS + 1e-6)
        self._owed -= frames / READINGS
        for _ in range(frames):
            self._fly_frame(asked)
            if self._events.word != integrate.FLYING:
                self.outcome = self._ending()
                return

    def _fly_frame(self, asked: np.ndarray) -> None:
        """Surfaces by the commands that reach the servos meanwhile, motors by the last."""
        self._lag.append(asked)
        command, size = self._command, MAX_SURFACES
        older, newer = self._lag[0][:size], self._lag[1][:size]
        command[:size] = older if self._ticks_late else newer
        command[COMMAND_THROTTLE:COMMAND_HELD] = asked[COMMAND_THROTTLE:COMMAND_HELD]
        command[COMMAND_HELD] = float(self.held)
        command[COMMAND_NEXT : COMMAND_NEXT + size] = newer
        command[COMMAND_TICKS] = self._ticks_late
        if self._gusty:
            self._noise[:] = self._random.standard_normal(self._noise.shape)
        flown = integrate.advance(
            self.model.body, self._moving, self._noise, STEP, self.time, self._scratch
        )
        if self._events.word == integrate.FLYING:
            self._frames += 1
        else:
            self._ended = flown * STEP

    def _evaluate(self) -> None:
        """Fill the report for the present state without moving."""
        state, command, gust, report, *_ = self._moving
        rates = np.zeros(SIZE)
        for _ in range(2):  # the servos' current uses the hinge moments of the pass before
            derivative(self.model.body, state, command, gust, rates, report, self._scratch)

    def _ending(self) -> Outcome:
        word = ENDINGS[int(self._events.word)]
        value = float(self._events.value)
        at = f"after {self.time:.1f} s"
        match word:
            case Ending.BROKE:
                part = self.model.contact_names[int(value)] if value >= 0 else "something"
                told = self.airframe.units.speed(hypot(*self.state[VELOCITY : VELOCITY + 3]), 0)
                return Outcome(word, f"The {part} broke on the ground at {told}, {at}.")
            case Ending.FOLDED:
                met = "on the ground, " if self.report[TOUCHING] else ""
                load = f"{met}at {value:.1f} times its weight"
                return Outcome(word, f"{word.sentence} {load}, {at}.")
            case Ending.DIVERGED:
                unusual = most_unusual(self.airframe)
                look = (
                    f"look at {unusual}, far from what is usual"
                    if unusual
                    else "please keep the record"
                )
                return Outcome(word, f"{word.sentence} {at}; {look}.")
        return Outcome(word, f"{word.sentence} {at}.")

    def finish(self, word: Ending, text: str) -> None:
        """End a flight that the physics has not ended: time up, stopped by the person."""
        if self.outcome is None:
            self.outcome = Outcome(word, text)

    def reading(self):
        """The present row of the record, see `record.columns`."""
        s, report, sticks = self.state.tolist(), self.report.tolist(), self._sticks
        asked = self._command.tolist()
        attitude, velocity = s[ATTITUDE : ATTITUDE + 4], s[VELOCITY : VELOCITY + 3]
        roll, pitch, heading = angles(*attitude)
        u, v, w = (-x for x in report[AIR : AIR + 3])
        airspeed = sqrt(u * u + v * v + w * w)
        north, east, down = s[POSITION : POSITION + 3]
        climb = 0.0 if self.held else -to_field(*attitude, *velocity)[2]
        row = [
            self.time,
            north,
            east,
            -down,
            *attitude,
            degrees(roll),
            degrees(pitch),
            degrees(heading) % 360.0,
            *velocity,
            *(degrees(x) for x in s[RATE : RATE + 3]),
            airspeed,
            degrees(atan2(w, u)) if airspeed > 0.2 else 0.0,
            degrees(atan2(v, hypot(u, w))) if airspeed > 0.2 else 0.0,
            climb,
            -report[SPECIFIC_FORCE + 2] / GRAVITY,
            float(sticks.roll),
            float(sticks.pitch),
            float(sticks.yaw),
            float(sticks.throttle),
            float(sticks.low_rates),
            report[PACK_VOLTAGE],
            report[PACK_CURRENT],
            mah(s[CHARGE]),
            report[SUPPLY_VOLTAGE],
            report[SEPARATED],
            report[BENDING],
            self.stall_speed,
            *report[WIND : WIND + 3],
        ]
        for k in range(len(self.airframe.motors)):
            row += [rpm(s[ROTOR + k]), report[THRUST + k], report[MOTOR_CURRENT + k]]
        for k, torque in enumerate(self._servo_torque):
            angle, load = degrees(report[DEFLECTION + k]), report[HINGE + k] / torque
            row += [angle, degrees(asked[k]), load]
        return self._reading(*row)


STEP = integrate.STEP


def _seconds(time: float) -> str:
    return f"{time:.0f} s" if time >= 1.0 else f"{time:.2f} s"


def fly(
    airframe: Airframe,
    field: Field,
    pilot,
    seconds: float,
    launch: str | None = None,
    seed: int = 0,
    record=None,
    model: Model | None = None,
) -> Flight:
    """A whole flight without a window, at most `seconds` after the release.

    In a hand launch the pilot's sticks already move surfaces and motor for SPIN_UP before the
    release. `record`, when given, receives a reading 60 times a second.
    """
    flight = Flight(airframe, field, launch, seed, model)
    flight.hold(SPIN_UP)
    end = seconds if np.isfinite(seconds) else inf
    reading = flight.reading()
    while True:
        if record is not None:
            record.write(reading)
        if flight.outcome:
            break
        if flight.held and flight.time >= -1e-9:
            flight.release()
        if not flight.held and flight.time >= end - 1e-9:
            flight.finish(Ending.TIME_UP, f"Still flying after {_seconds(flight.time)}.")
            break
        flight.advance(1.0 / READINGS, pilot(reading))
        reading = flight.reading()
    return flight
