"""What the model expects of every note: trims, currents, a dive, a launch, each with its spread.

Steady flights are found by `steady`, started from where the last search ended, so that a small
change of the airframe costs little.
"""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from enum import StrEnum
from math import asin, cos, degrees, radians, sin
from typing import NamedTuple

import numpy as np

from firstthrow.sim.build.model import Model
from firstthrow.sim.build.sticks import PITCHES, ROLLS, YAWS, Sticks, mixer
from firstthrow.sim.describe.airframe import Airframe
from firstthrow.sim.describe.builder_units import Units
from firstthrow.sim.describe.edit import put
from firstthrow.sim.describe.field import STANDARD
from firstthrow.sim.describe.notes import Dive, HandsOff, Notes, Static, Steady
from firstthrow.sim.flight.drive_at_rest import equilibrium
from firstthrow.sim.flight.evaluate import rates_of
from firstthrow.sim.flight.flight import Flight
from firstthrow.sim.flight.steady import Point, place, steady
from firstthrow.sim.flight.trims import surface_word
from firstthrow.sim.kernels.layout import ATTITUDE, PACK_CURRENT, POSITION, RATE, VELOCITY
from firstthrow.sim.kernels.rotation import from_angles, to_field
from firstthrow.sim.learn.believed import Believed

UNKNOWN_SPEED = 0.15  # spread of a speed nobody measured, about the usual one
FASTER = 1.4  # a dive is let go at so many times the glide's speed
LOOKED = 1.0  # how long its nose is watched [s]

# What the words mean, as change of nose or bank with its spread [deg]: our judgement.
DIVE_NOSE = {"pulls up hard": (35, 15), "pulls up": (18, 12), "holds": (2, 6), "tucks": (-12, 8)}
NOSE = {
    "rose hard": (30, 12),
    "rose": (12, 6),
    "held": (0, 5),
    "dropped": (-12, 6),
    "dropped hard": (-30, 12),
}
BANK = {
    "left hard": (-45, 20),
    "left": (-18, 9),
    "level": (0, 6),
    "right": (18, 9),
    "right hard": (45, 20),
}


class What(StrEnum):
    """What a figure of the notes tells of."""

    UP_TRIM = "up trim"
    RIGHT_TRIM = "right trim"
    SINK = "sink"
    THROTTLE = "throttle"
    CURRENT = "current"
    RPM = "rpm"
    THRUST = "thrust"
    NOSE = "nose"
    BANK = "bank"
    CG = "CG"
    MASS = "mass"


Figures = dict[What, float]  # the model's, SI


class Seen(NamedTuple):
    """One figure of the notes: what it is about, its value and its spread, SI."""

    note: str
    what: What
    value: float
    spread: float
    unit: str  # for people, see `units`


def steering(airframe: Airframe) -> tuple[str, ...]:
    """The roles that turn it: what rolls, else what yaws."""
    return ROLLS if surface_word(airframe, ROLLS) else YAWS


def trim_chord(airframe: Airframe, roles: tuple[str, ...]) -> float:
    """The widest surface of these roles, at whose trailing edge millimetres are measured [m]."""
    chords = [
        s.chord
        for sheet in airframe.sheets.values()
        for s in sheet.surfaces.values()
        if s.role in roles
    ]
    return max(chords, default=0.05)


class Expectation:
    """The notes' figures, and the model's of the same, for any values of what is uncertain.

    `seen`: the figures in order; `speeds`: for each steady flight or dive, by name, the airspeed
    told or usual with its spread; these speeds are uncertain too and are fitted along.
    """

    def __init__(self, airframe: Airframe, notes: Notes) -> None:
        self.notes, self.believed = notes, Believed(airframe)
        self.airframe = airframe
        self.usual = self.believed.subject.cruise
        self.speeds: dict[str, tuple[float, float]] = {}
        timed: dict[str, Steady | Dive] = {**notes.steady, **notes.dive}
        for name, one in timed.items():
            spread = getattr(one, "speed_spread", 0.07)
            self.speeds[name] = (
                (one.speed, spread * one.speed)
                if one.speed
                else (self.usual, UNKNOWN_SPEED * self.usual)
            )
        self.seen = tuple(_seen(notes))
        self._points: dict[str, Point] = {}
        self._known: dict[tuple, Figures] = {}

    def expect(self, off: Mapping[str, float], speeds: Mapping[str, float]) -> np.ndarray:
        """(seen,) the model's figures for offsets of the quantities and airspeeds, SI."""
        found: dict[tuple[str, What], float] = {}
        for kind in ("steady", "static", "dive", "hands_off"):
            for name, one in getattr(self.notes, kind).items():
                key = (kind, name, tuple(off.items()), speeds.get(name))
                if key not in self._known:
                    self._known[key] = self._one(one, name, off, speeds)
                found |= {(name, what): v for what, v in self._known[key].items()}
        if self.notes.balance.cg is not None or self.notes.balance.mass is not None:
            at = self.believed.model(off)[1].balance
            found |= {
                ("balance", What.CG): float(at.place[0]),
                ("balance", What.MASS): float(at.mass),
            }
        return np.array([found[seen.note, seen.what] for seen in self.seen])

    def _one(self, one, name: str, off, speeds) -> Figures:
        airframe, model = self.believed.model(off)
        if isinstance(one, Steady):
            return self._steady(one, name, airframe, model, speeds[name])
        if isinstance(one, Static):
            return _static(one, model)
        if isinstance(one, Dive):
            return self._dive(one, name, airframe, model, speeds[name])
        return _launched(one, airframe, model)

    def _point(
        self,
        name: str,
        airframe: Airframe,
        model: Model,
        kind: str,
        speed: float,
        throttle: float,
    ) -> Point:
        side = "roll" if surface_word(airframe, ROLLS) else "yaw"
        steered = surface_word(airframe, ROLLS + YAWS)
        free = ["alpha", "sideslip", "bank", "pitch", side if steered else "turn"]
        free += ["back"] if surface_word(airframe, PITCHES) else []
        free += ["throttle"] if kind == "level" else []
        start = self._points.get(name) or Point(speed, alpha=0.12, pitch=0.1, throttle=throttle)
        straight = mixer(airframe).without_expo()
        path = 0.0 if kind == "level" else None
        at, _ = steady(model, straight, start._replace(speed=speed), tuple(free), path)
        # The first point found is where every later search starts, so that a figure does not
        # depend on the order in which it is asked for.
        self._points.setdefault(name, at)
        return at

    def _steady(
        self, one: Steady, name: str, airframe: Airframe, model: Model, speed: float
    ) -> Figures:
        throttle = {"glide": 0.0, "level": 0.5}.get(one.kind, 1.0)
        if one.kind == "climb" and one.throttle is not None:
            throttle = one.throttle
        at = self._point(name, airframe, model, one.kind, speed, throttle)
        mix = mixer(airframe)
        state, command = place(mix.without_expo(), at)
        _, report = rates_of(model, state, command)
        side = at.roll * mix.most[0] if surface_word(airframe, ROLLS) else at.yaw * mix.most[2]
        return {
            What.UP_TRIM: trim_chord(airframe, PITCHES)
            * mix.pitch_sense
            * sin(at.back * mix.most[1]),
            What.RIGHT_TRIM: trim_chord(airframe, steering(airframe)) * sin(side),
            What.SINK: float(to_field(*state[ATTITUDE : ATTITUDE + 4], *state[VELOCITY:RATE])[2]),
            What.THROTTLE: at.throttle,
            What.CURRENT: float(report[PACK_CURRENT]),
        }

    def _dive(
        self, one: Dive, name: str, airframe: Airframe, model: Model, speed: float
    ) -> Figures:
        """Nose-up change in the second after letting go [rad]."""
        at = self._point(name, airframe, model, "glide", speed, 0.0)
        straight = mixer(airframe).without_expo()
        state, _ = place(straight, at)
        fast = FASTER * speed
        # Held in the dive: what lift it has carries its weight across the path.
        alpha = at.alpha * cos(one.angle) / FASTER**2
        state[ATTITUDE : ATTITUDE + 4] = from_angles(0.0, alpha - one.angle, 0.0)
        state[VELOCITY:RATE] = fast * np.array([cos(alpha), 0.0, sin(alpha)])
        state[RATE : RATE + 3] = 0.0
        state[POSITION + 2] = -300.0
        unexpo = put(airframe, ("mixing", "expo"), type(airframe.mixing.expo)())
        flight = Flight(unexpo, STANDARD, None, 0, model)
        sticks = Sticks(pitch=at.back)
        flight.start_at(state, sticks)
        flight.advance(LOOKED, sticks)
        return {What.NOSE: radians(flight.reading().pitch_deg) - (alpha - one.angle)}


def _static(one: Static, model: Model) -> Figures:
    at = equilibrium(model, one.throttle, 0.0, one.charge)
    return {What.CURRENT: at.pack_current, What.RPM: abs(at.rotor), What.THRUST: at.thrust}


def _side_trim(airframe: Airframe) -> float:
    mixing = airframe.mixing
    return mixing.roll_trim if steering(airframe) == ROLLS else mixing.yaw_trim


def _launched(one: HandsOff, airframe: Airframe, model: Model) -> Figures:
    """Change of nose and bank from the release to `after`, or the ground [rad]."""
    update = {k: v for k in ("speed", "pitch", "throttle") if (v := getattr(one, k)) is not None}
    hand = airframe.launch.by_hand.model_copy(update=update)
    mixing = airframe.mixing
    mixing = mixing.model_copy(
        update={
            "reflex": mixing.reflex
            + mixer(airframe).pitch_sense * asin(one.up_trim / trim_chord(airframe, PITCHES)),
            ("roll_trim" if steering(airframe) == ROLLS else "yaw_trim"): _side_trim(airframe)
            + asin(one.right_trim / trim_chord(airframe, steering(airframe))),
        }
    )
    thrown = airframe.model_copy(
        update={"mixing": mixing, "launch": airframe.launch.model_copy(update={"hand": hand})}
    )
    flight = Flight(thrown, STANDARD, "hand", 0, model)
    sticks = Sticks(throttle=hand.throttle)
    flight.advance(1.0, sticks)
    flight.release()
    before = flight.reading()
    while flight.time < one.after and flight.outcome is None:
        flight.advance(1.0 / 60.0, sticks)
    after = flight.reading()
    return {
        What.NOSE: radians(after.pitch_deg - before.pitch_deg),
        What.BANK: radians(after.roll_deg - before.roll_deg),
    }


def _seen(notes: Notes) -> Iterator[Seen]:
    """Every figure of the notes with its spread."""
    for name, one in notes.steady.items():
        if one.up_trim is not None:
            yield Seen(name, What.UP_TRIM, one.up_trim, one.trim_spread, "mm")
        if one.right_trim is not None:
            yield Seen(name, What.RIGHT_TRIM, one.right_trim, one.trim_spread, "mm")
        if one.sink is not None:
            yield Seen(name, What.SINK, one.sink, one.sink_spread, "m/s")
        if one.throttle is not None and one.kind == "level":
            yield Seen(name, What.THROTTLE, one.throttle, one.throttle_spread, "%")
        if one.current is not None:
            yield Seen(name, What.CURRENT, one.current, one.current_spread * one.current, "A")
    for name, bench in notes.static.items():
        for what, unit in ((What.CURRENT, "A"), (What.RPM, "rpm"), (What.THRUST, "N")):
            value = getattr(bench, what)
            if value is not None:
                yield Seen(name, what, value, getattr(bench, f"{what}_spread") * value, unit)
    for name, dive in notes.dive.items():
        value, spread = DIVE_NOSE[dive.nose]
        yield Seen(name, What.NOSE, radians(value), radians(spread), "deg")
    for name, thrown in notes.hands_off.items():
        for what, words in ((What.NOSE, NOSE), (What.BANK, BANK)):
            if getattr(thrown, what) is not None:
                value, spread = words[getattr(thrown, what)]
                yield Seen(name, what, radians(value), radians(spread), "deg")
    known = notes.balance
    if known.cg is not None:
        yield Seen("balance", What.CG, known.cg, known.cg_spread, "mm")
    if known.mass is not None:
        yield Seen("balance", What.MASS, known.mass, known.mass_spread * known.mass, "g")


def shown(seen: Seen, value: float, u: Units) -> str:
    """A figure for people, in their units."""
    from firstthrow.sim.units import to_unit

    match seen.unit:
        case "mm":
            return u.length(value, 1 + u.inches)
        case "m/s":
            return u.speed(value, 2)
        case "g":
            return u.mass(value)
        case "N":
            return u.force(value, 2)
    number = degrees(value) if seen.unit == "deg" else to_unit(value, seen.unit)
    return f"{number:.{1 if seen.unit == 'A' else 0}f} {seen.unit}"
