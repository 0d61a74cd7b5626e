"""The log of a real flight as a record that can be explained, and what such a log cannot tell.

A telemetry log with attitude and sticks is flown again as any record is; what it lacks is made up:
rates from the attitude, velocity from the places, the air from the field's steady wind, rotor speed
from throttle and airspeed. What that and the logger leave unsure is the noise that `Seen` takes.
Of places alone (GPX, IGC, NMEA) only the throw and the path are told.
"""

from __future__ import annotations

from collections.abc import Mapping
from math import radians, sqrt

import numpy as np
from scipy.signal import savgol_filter

from firstthrow.sim.answer import Answer, frozen
from firstthrow.sim.describe.airframe import Airframe
from firstthrow.sim.describe.config import ConfigError
from firstthrow.sim.describe.field import Field
from firstthrow.sim.flight.drive_at_rest import equilibrium
from firstthrow.sim.flight.flight import READINGS
from firstthrow.sim.flight.record import Record, columns, flight_meta, sidecar
from firstthrow.sim.kernels.rotation import from_angles
from firstthrow.sim.kernels.wind import profile
from firstthrow.sim.learn.diagnose import Diagnosis, diagnose
from firstthrow.sim.learn.logs import Track
from firstthrow.sim.learn.stretches import CHANNELS, LOOKS
from firstthrow.sim.study.odds.scatter import Scatter
from firstthrow.sim.study.subject import Subject
from firstthrow.sim.units import rpm

NEEDED = ("roll", "pitch", "heading", "height", "stick_roll", "stick_pitch")
LONGEST = 8.0  # seconds of a flight that are looked at
SMOOTH = 0.6  # over which velocity is told from places [s]
BEFORE = 0.5  # s in the hand
# Of usual loggers, one standard deviation each, common practice, no source: attitude and rates of
# a gyroscope, of places either way, and of the wind against the field's.
ATTITUDE, RATE, PLACE, WIND = radians(1.5), radians(3.0), 0.3, 0.7
UNKNOWN = 1e6  # of what a log does not say
AT_ONCE, NEAR, FAR = 0.5, 0.8, 8.0  # of a throw [s, m, m]
TOLD_FROM = 2.0  # s before a throw that tell when it was
USUAL_THROW = 7.0  # where none is planned [m/s]
SLOW = 2.0  # spreads by which a throw was too slow, to be said
# How fast the acceleration over the ground changes in the first second of simulated throws, by how
# far a parabola's first speed is off on average (0.3 m/s over a second, 2.6 m/s over three).
BENDS = 3.0  # m/s3
CHANGES = 5.0  # m/s2, that acceleration: by how far speeds a second apart differ in such throws
CLOCK = 0.1  # s that times may be unsure by, for a flight to be flown again

LACKS = {
    "stick_roll": "whether the roll stick or a surface worked the wrong way, or a hand did",
    "stick_pitch": "whether the pitch stick or a surface worked the wrong way, or a hand did",
    "roll": "a warped tip, a surface stuck, torn or off, a gust from the side",
    "pitch": "the balance, the reflex, a nose that rose by itself",
    "heading": "a swing of the nose",
    "height": "how high it came, and how steeply it sank",
    "throttle": "whether the throttle was advanced",
    "rpm": "propeller, motor and pack apart",
    "airspeed": "wind and gusts apart from what the airframe did",
}


@frozen
class Logged(Answer):
    """A real flight's log. `cause` is None where it has no attitude or no sticks. `released_s`:
    into the log; `thrown_m_s`: over the ground; heights above the hand, None where it has none;
    `cannot_tell`: what stays open, by what the log lacks."""

    released_s: float
    seconds: float
    thrown_m_s: float
    thrown_spread_m_s: float
    highest_m: float | None
    end_below_hand_m: float | None
    cause: Diagnosis | None
    remarks: tuple[str, ...]
    cannot_tell: tuple[str, ...]


def explained(
    track: Track, airframe: Airframe, field: Field, released: float | None = None
) -> Logged:
    """Raises ConfigError where no throw is found in the log, or `released` lies outside it."""
    if released is not None and not 0.0 <= released <= track.time[-1]:
        problem = f"--released {released:g}: the log has places from 0 to {track.time[-1]:.1f} s"
        raise ConfigError([problem])
    start = release_of(track, airframe) if released is None else released
    inside = (track.time >= start) & (track.time <= start + LONGEST)
    if inside.sum() < 4 or not np.isfinite(track.north[inside]).all():
        raise ConfigError([f"the log has too few places after {start:.1f} s from its first"])
    time = track.time[inside] - start
    places = np.column_stack([track.north[inside], track.east[inside]])
    unsure = track.unsure[inside]
    shortly = (track.time >= start - TOLD_FROM) & (track.time - start <= time[0])
    unsure[0] = np.linalg.norm(track.unsure[shortly])  # when the throw was
    speed, spread = _first_speed(time, places, unsure)
    height = track.height[inside]
    height = height[np.isfinite(height)]
    lacks = lacking(track)
    cause, remarks = None, (*_remarks(airframe, field, speed, spread), *track.remarks)
    if unsure.max() > CLOCK:
        remarks = (*remarks, "where times are as unsure as that no cause is looked for")
    elif not any(name in NEEDED for name in lacks):
        record = as_record(track, airframe, field, start)
        cause = diagnose(record, airframe, field, noise(track))
    return Logged(
        start,
        float(time[-1]),
        speed,
        spread,
        float(height.max() - height[0]) if height.size else None,
        float(height[0] - height[-1]) if height.size else None,
        cause,
        remarks,
        tuple(f"it has no {name.replace('_', ' ')}: {LACKS[name]}" for name in lacks),
    )


def lacking(track: Track) -> list[str]:
    """What a log does not say, of what tells causes apart."""
    has = {name for name, values in track.also.items() if np.isfinite(values).any()}
    has |= {n for n in ("throttle", "airspeed", "height") if np.isfinite(getattr(track, n)).any()}
    return [name for name in LACKS if name not in has]


def release_of(track: Track, airframe: Airframe) -> float:
    """When it left the hand: from where its way from the place it rested at grows evenly. The
    throw is where it first goes on at half the planned speed for half a second."""
    hand = airframe.launch.hand
    wanted = 0.5 * (hand.speed if hand else USUAL_THROW)
    places, time = np.column_stack([track.north, track.east]), track.time
    ahead = [np.interp(time + AT_ONCE, time, column) for column in places.T]
    fast = np.hypot(*(np.array(ahead) - places.T)) > wanted * AT_ONCE
    if not fast.any():
        raise ConfigError(
            ["no throw is to be seen in the log: say when it was, --released SECONDS"]
        )
    begins = float(time[int(np.argmax(fast))])
    before = (time >= begins - 1.0) & (time <= begins - 0.1)
    rest = np.median(places[before if before.any() else time <= begins], axis=0)
    way = np.hypot(*(places - rest).T)
    flown = (time >= begins) & (time <= begins + 2.0 * AT_ONCE) & (way > NEAR) & (way < FAR)
    if flown.sum() < 2:
        return begins
    grows, start = np.polyfit(time[flown], way[flown], 1)
    return float(np.clip(-start / grows, begins - 0.2, begins + 2.0 * AT_ONCE))


def _first_speed(time, places, unsure) -> tuple[float, float]:
    """Over the ground as it leaves the hand, by a parabola through the places of the first
    second, four at least, and its spread by least squares [m/s]: of the places, of the times
    between them and of the first, and of a path that is no parabola."""
    early = time <= max(1.0, time[3])
    powers = np.vander(time[early], 3)
    slope = np.linalg.pinv(powers)[1]  # times places: the first speed
    speed = float(np.hypot(*(slope @ places[early])))
    # A time that is off moves all places from there on, by the pace over them all; where a clock
    # was set back nobody knows from which on.
    pace = np.linalg.norm(places[early][-1] - places[0]) / time[early][-1]
    moves = np.abs(np.cumsum(slope[::-1])[::-1])
    late = pace * unsure[early] * np.where(unsure[early] > CLOCK, moves.max(), moves)
    bent = BENDS / 6.0 * slope @ time[early] ** 3
    spread = np.linalg.norm([*(PLACE * slope), *late, bent, CHANGES * unsure[0]])
    return speed, float(spread)


def _remarks(airframe: Airframe, field: Field, speed: float, spread: float) -> tuple[str, ...]:
    hand, units = airframe.launch.hand, airframe.units
    if hand is None:
        return ()
    ahead = np.cos(field.wind.from_bearing - field.heading) * field.wind.speed
    through = speed + ahead * profile(hand.height, field.wind.roughness)
    usual = sqrt(spread**2 + WIND**2)
    told = f"{units.throw(through)} ± {units.throw(usual)} through the air"
    told += f", {units.throw(hand.speed)} planned"
    if usual > 0.5 * hand.speed:
        return (f"how fast it was thrown cannot be told from these places and times: {told}",)
    if through < hand.speed - SLOW * sqrt(usual**2 + Scatter().speed ** 2):
        return (f"it was thrown too slowly: about {told}",)
    return (f"thrown at about {told}",)


def noise(track: Track) -> np.ndarray:
    """(looks, CHANNELS) of the log, at the looks of a stretch; see `stretches.NOISE`."""
    ago = np.array(LOOKS) / READINGS
    every = float(np.median(np.diff(track.time)))
    velocity = PLACE * sqrt(12.0 * every / SMOOTH**3)  # of a slope through evenly spread places
    found = np.zeros((len(LOOKS), CHANNELS))
    found[:, 0:3] = np.hypot(sqrt(2.0) * velocity, WIND)
    found[:, 3:6] = sqrt(2.0) * RATE
    found[:, 6:9] = np.hypot(sqrt(2.0) * ATTITUDE, RATE * ago)[:, None]
    found[:, 9] = 0.0 if _tells(track.also, "rpm") else UNKNOWN
    return found


def _tells(also: Mapping[str, np.ndarray], name: str) -> bool:
    return name in also and bool(np.isfinite(also[name]).all())


def as_record(track: Track, airframe: Airframe, field: Field, released: float) -> Record:
    """At the readings of a record, from half a second before the release."""
    last = min(float(track.time[-1]), released + LONGEST)
    count = int((last - released + BEFORE) * READINGS)
    time = np.arange(count) / READINGS - BEFORE
    names = columns(airframe)
    found = dict.fromkeys(names, np.zeros(count)) | {"time_s": time}

    def at(values: np.ndarray, usual: float = 0.0) -> np.ndarray:
        known = np.isfinite(values)
        if not known.any():
            return np.full(count, usual)
        return np.interp(time + released, track.time[known], values[known])

    hand = airframe.launch.hand
    angles = {name: at(np.unwrap(track.also[name])) for name in ("roll", "pitch", "heading")}
    turned = np.array([from_angles(*row) for row in zip(*angles.values(), strict=True)])
    places = np.column_stack([at(track.north), at(track.east), -at(track.height)])
    places -= np.median(places[: int(BEFORE * READINGS)], axis=0)
    places[:, 2] -= hand.height if hand else 0.0
    begins = int(BEFORE * READINGS)
    window = min(2 * int(0.5 * SMOOTH * READINGS) + 1, 2 * ((count - begins - 1) // 2) + 1)
    over = np.zeros((count, 3))
    flying = places[begins:]
    over[begins + 1 :] = savgol_filter(flying, window, 2, 1, 1 / READINGS, axis=0)[1:]
    rates = _rates(track, at, angles)
    body = _into_body(turned, over)
    wind = _wind(field, -places[:, 2])
    throttle = np.clip(at(track.throttle, hand.throttle if hand else 1.0), 0.0, 1.0)
    sticks = {f"stick_{n}": at(track.also.get(f"stick_{n}", np.array([np.nan]))) for n in _STICKS}
    found |= {"north_m": places[:, 0], "east_m": places[:, 1], "height_m": -places[:, 2]}
    found |= dict(zip([f"attitude_{axis}" for axis in "wxyz"], turned.T, strict=True))
    found |= {f"{name}_deg": np.degrees(value) for name, value in angles.items()}
    found |= dict(zip(("u_m_s", "v_m_s", "w_m_s"), body.T, strict=True))
    found |= dict(zip(("p_deg_s", "q_deg_s", "r_deg_s"), np.degrees(rates).T, strict=True))
    found |= dict(zip([f"wind_{n}_m_s" for n in ("north", "east", "down")], wind.T, strict=True))
    found |= sticks | {"throttle": throttle}
    air = np.linalg.norm(over - wind, axis=1)
    rotors = at(track.also["rpm"]) if _tells(track.also, "rpm") else None
    if rotors is None:
        rotors = _rotors(Subject(airframe, field), throttle, air)
    found |= {f"motor_{name}_rpm": rpm(1.0) * rotors for name in airframe.motors}
    rows = np.column_stack([found[name] for name in names])
    meta = sidecar(airframe, flight_meta(field, launch="hand", pilot="thumbs"))
    return Record(names, rows, meta)


_STICKS = ("roll", "pitch", "yaw")


def _rates(track: Track, at, angles: dict[str, np.ndarray]) -> np.ndarray:
    """(n, 3) body rates: as logged, else from the attitude [rad/s] (e.g. Stevens and Lewis)."""
    roll, pitch, heading = angles.values()
    drolls, dpitches, turns = (
        savgol_filter(value, 13, 2, 1, 1 / READINGS) for value in (roll, pitch, heading)
    )
    own = np.column_stack(
        [
            drolls - np.sin(pitch) * turns,
            np.cos(roll) * dpitches + np.sin(roll) * np.cos(pitch) * turns,
            np.cos(roll) * np.cos(pitch) * turns - np.sin(roll) * dpitches,
        ]
    )
    for k, name in enumerate(("roll_rate", "pitch_rate", "yaw_rate")):
        if _tells(track.also, name):
            own[:, k] = at(track.also[name])
    return own


def _into_body(turned: np.ndarray, over: np.ndarray) -> np.ndarray:
    """(n, 3) velocities over the ground in body axes; turned: quaternions body to field."""
    w, v = turned[:, :1], -turned[:, 1:]
    across = 2.0 * np.cross(v, over)
    return over + w * across + np.cross(v, across)


def _wind(field: Field, height: np.ndarray) -> np.ndarray:
    """(n, 3) the field's steady wind [m/s]."""
    share = np.array([profile(max(h, 0.1), field.wind.roughness) for h in height.tolist()])
    bearing, speed = field.wind.from_bearing, field.wind.speed
    return np.column_stack(
        [-speed * np.cos(bearing) * share, -speed * np.sin(bearing) * share, 0 * share]
    )


def _rotors(subject: Subject, throttle: np.ndarray, air: np.ndarray) -> np.ndarray:
    """(n,) speed of the rotors as they would settle [rad/s]."""
    if not subject.airframe.motors:
        return np.zeros(len(throttle))
    speed = float(np.median(air))
    steps = np.linspace(0.0, 1.0, 9)
    found = [abs(equilibrium(subject.model, float(x), speed).rotor) for x in steps]
    return np.interp(throttle, steps, found)
