"""The check before every flight: what must move where for each stick, and which way it pulls.

Nothing is taken for granted: the surfaces are where the mixing puts them, the air's moment on
them comes from the flight's own strips, and the thrust from the flight's own drive. A movement is
right when the moment it makes turns the airframe the way the stick asks.
"""

from __future__ import annotations

from math import cos, degrees, pi, radians, sin
from typing import NamedTuple

import numpy as np

from firstthrow.sim.build.model import Model
from firstthrow.sim.build.shape import SurfaceSpan, surface_spans
from firstthrow.sim.build.sticks import PITCHES, ROLLS, YAWS, Mixer, Sticks, mixer
from firstthrow.sim.describe.airframe import Airframe
from firstthrow.sim.flight.drive_at_rest import equilibrium, refitted
from firstthrow.sim.flight.evaluate import air_load
from firstthrow.sim.flight.speeds import CRUISE, stall_speed
from firstthrow.sim.study.servos import level_alpha

STILL = radians(0.5)  # a surface that moves less does not answer
SIDESLIP = radians(5.0)
NOTHING = 1e-6  # [N m]
TAKES = {"roll": ROLLS, "pitch": PITCHES, "yaw": YAWS}


class Way(NamedTuple):
    """One movement of a stick, and what the airframe must do."""

    stick: str
    side: float
    name: str
    must: str
    axis: int  # of the moment: 0 roll right, 1 nose up, 2 nose right
    sign: float


WAYS = (
    Way("roll", 1.0, "stick right", "roll right", 0, 1.0),
    Way("roll", -1.0, "stick left", "roll left", 0, -1.0),
    Way("pitch", 1.0, "stick back", "nose up", 1, 1.0),
    Way("pitch", -1.0, "stick forward", "nose down", 1, -1.0),
    Way("yaw", 1.0, "rudder right", "nose right", 2, 1.0),
    Way("yaw", -1.0, "rudder left", "nose left", 2, -1.0),
)
TURNS = (("roll right", "roll left"), ("nose up", "nose down"), ("nose right", "nose left"))


def study(model: Model, airframe: Airframe) -> dict:
    """The whole answer, SI with the unit in each key; angles in degrees, trailing edge up (of
    rudders to the right) positive; moments at the cruise, changes from neutral."""
    speed = CRUISE * stall_speed(model, airframe)
    at = _Air(model, speed, level_alpha(model, speed))
    mix, spans = mixer(airframe), surface_spans(airframe)
    neutral = _angles(airframe, mix, Sticks())
    ways = [_way(airframe, mix, at, way, neutral) for way in WAYS]
    drives = [_drive(model, airframe, k) for k in range(len(airframe.motors))]
    problems = [text for row in (*ways, *drives) for text in row["problems"]]
    return {
        "airframe": airframe.name,
        "speed_m_s": speed,
        "alpha_deg": degrees(at.alpha),
        "neutral": {s.name: _stand(airframe, s, neutral[s.slot]) for s in spans},
        "sticks": [way for way in ways if way["answers"]],
        "propellers": drives,
        "problems": list(dict.fromkeys(problems)),
        "verdict": "wrong" if problems else "ok",
    }


class _Air(NamedTuple):
    model: Model
    speed: float
    alpha: float

    def moment(self, angles: np.ndarray, sideslip: float = 0.0) -> np.ndarray:
        """(3,) roll right, nose up, nose right [N m]; sideslip positive with wind from the right
        of the nose."""
        across = sin(sideslip)
        along = cos(sideslip)
        air = -self.speed * np.array([cos(self.alpha) * along, across, sin(self.alpha) * along])
        return air_load(self.model, air, surfaces=angles)[0][3:]


def surface_of(airframe: Airframe, span: SurfaceSpan):
    return airframe.sheets[span.sheet].surfaces[span.surface]


def is_off(airframe: Airframe, span: SurfaceSpan) -> bool:
    surface = surface_of(airframe, span)
    return surface.off and surface.faulty(span.side)


def _angles(airframe: Airframe, mix: Mixer, sticks: Sticks) -> np.ndarray:
    """(surfaces,) [rad]: where they stand, with those that are stuck where they stick."""
    found = np.array(mix.angles(sticks))
    for span in surface_spans(airframe):
        surface = surface_of(airframe, span)
        if surface.stuck is not None and surface.faulty(span.side):
            found[span.slot] = surface.stuck
        if is_off(airframe, span):
            found[span.slot] = 0.0
    return found


def _stand(airframe: Airframe, span: SurfaceSpan, angle: float) -> dict:
    """`angle` trailing edge down [rad]."""
    chord = surface_of(airframe, span).chord
    return {
        "angle_up_deg": degrees(-angle) + 0.0,
        "edge_up_m": chord * sin(-angle) + 0.0,
        "off": is_off(airframe, span),
    }


def _way(airframe: Airframe, mix: Mixer, at: _Air, way: Way, neutral: np.ndarray) -> dict:
    sticks = Sticks(**{way.stick: way.side})
    angles = _angles(airframe, mix, sticks)
    rest = at.moment(neutral)
    change = at.moment(angles) - rest
    spans = surface_spans(airframe)
    moved = [s for s in spans if abs(angles[s.slot] - neutral[s.slot]) > STILL]
    motors = _differential(at.model, airframe, mix, way)
    change[2] += motors.pop("moment", 0.0)
    by_yaw = way.stick == "roll" and not _takers(airframe, "roll") and bool(moved)
    axis, must = (2, TURNS[2][int(way.sign < 0.0)]) if by_yaw else (way.axis, way.must)
    does = way.sign * change[axis]
    row = {
        "stick": way.stick,
        "name": way.name,
        "must": f"{must}, and roll with it" if by_yaw else must,
        "answers": bool(moved or motors or _takers(airframe, way.stick)),
        "surfaces": {},
        "motors": motors,
        "moment_roll_right_N_m": float(change[0]),
        "moment_nose_up_N_m": float(change[1]),
        "moment_nose_right_N_m": float(change[2]),
        "turns": TURNS[axis][int(way.sign * does < 0.0)] if abs(does) > NOTHING else "nothing",
        "right_way": bool(does > NOTHING),
        "problems": [],
    }
    for span in spans:
        one = neutral.copy()
        one[span.slot] = angles[span.slot]
        helps = way.sign * (at.moment(one) - rest)[axis]
        row["surfaces"][span.name] = _moved(airframe, span, angles, neutral, helps)
    if not row["answers"]:
        return row
    if not row["right_way"]:
        told = "does nothing" if row["turns"] == "nothing" else f"makes it {row['turns']}"
        row["problems"].append(f"{way.name} {told}: it must {_to(must)}")
    elif by_yaw:
        row |= _leans(at, neutral, way)
    for span in _takers(airframe, way.stick):
        row["problems"] += _complaints(airframe, span, row["surfaces"][span.name], way)
    return row


def _to(must: str) -> str:
    return must if must.startswith("roll") else f"bring the {must}"


def _takers(airframe: Airframe, stick: str) -> list[SurfaceSpan]:
    return [s for s in surface_spans(airframe) if surface_of(airframe, s).role in TAKES[stick]]


def _moved(airframe: Airframe, span: SurfaceSpan, angles, neutral, helps: float) -> dict:
    stand = _stand(airframe, span, angles[span.slot])
    before = _stand(airframe, span, neutral[span.slot])
    upright = airframe.sheets[span.sheet].stance == "upright"
    turned = neutral[span.slot] - angles[span.slot]
    moves = abs(turned) > STILL
    ways = ("right", "left") if upright else ("up", "down")
    return {
        **stand,
        "moves_deg": degrees(turned) + 0.0,
        "moves_edge_m": stand["edge_up_m"] - before["edge_up_m"],
        "moves": ways[int(turned < 0.0)] if moves else "still",
        "helps_N_m": float(helps),
    }


def _complaints(airframe: Airframe, span: SurfaceSpan, moved: dict, way: Way) -> list[str]:
    called = words(span.name)
    if moved["off"]:
        return [f"the {called} is not there"]
    if moved["moves"] == "still":
        return [f"the {called} does not move with {way.name}"]
    if moved["helps_N_m"] < -NOTHING:
        return [f"the {called} moves the wrong way with {way.name}"]
    return []


def words(name: str) -> str:
    """'left elevon' for elevon_left."""
    stem, _, side = name.rpartition("_")
    sided = stem and side in ("left", "right")
    return f"{side} {stem}".replace("_", " ") if sided else name


def _leans(at: _Air, neutral: np.ndarray, way: Way) -> dict:
    """Whether a nose swung to that side lifts the wing that comes forward."""
    slip = -way.sign * SIDESLIP  # nose right: the wind comes from the left
    rolls = way.sign * (at.moment(neutral, slip) - at.moment(neutral))[0]
    facts: dict = {"roll_moment_of_5_deg_sideslip_N_m": float(way.sign * rolls)}
    if rolls <= NOTHING:
        facts["right_way"] = False
        facts["problems"] = [f"{way.name} swings the nose, but the wing does not roll with it"]
    return facts


def _differential(model: Model, airframe: Airframe, mix: Mixer, way: Way) -> dict:
    """Two motors that a stick tells apart: change of throttle by name, and about what moment
    it gives, the motors standing and thrust taken as proportional to throttle [N m]."""
    half = mix.throttles(Sticks(throttle=0.5))
    asked = mix.throttles(Sticks(**{way.stick: way.side}, throttle=0.5))
    found: dict = {}
    moment = 0.0
    for k, (name, motor) in enumerate(airframe.motors.items()):
        more = asked[k] - half[k]
        if abs(more) > 0.01:
            found[name] = {"throttle_change": more}
            moment -= more * equilibrium(_alone(model, k), 1.0).thrust * motor.right
    return {**found, "moment": moment} if found else {}


def _drive(model: Model, airframe: Airframe, k: int) -> dict:
    """One motor, standing, at the throttle of the launch: which way it turns and pulls."""
    name, motor = list(airframe.motors.items())[k]
    throttle = getattr(airframe.launch, airframe.launch.kind).throttle or 0.5
    blade = motor.propeller
    sound_motor = motor.model_copy(
        update={
            "leads_swapped": False,
            "propeller": blade.model_copy(update={"backwards": False}),
        }
    )
    sound = airframe.model_copy(update={"motors": {**airframe.motors, name: sound_motor}})
    now = equilibrium(_alone(model, k), throttle)
    want = equilibrium(_alone(refitted(model, sound), k), throttle)
    must, other = blade.turns, _other(blade.turns)
    turns = "stands still" if now.rotor == 0.0 else must if now.rotor > 0.0 else other
    row = {
        "motor": name,
        "throttle": throttle,
        "turns_from_behind": turns,
        "must_turn_from_behind": must,
        "speed_rpm": now.rotor * 30.0 / pi,
        "thrust_N": now.thrust,
        "must_thrust_N": want.thrust,
        "pulls": "forward" if now.thrust > 0.0 else "back" if now.thrust < 0.0 else "not at all",
        "problems": [],
    }
    called = "the propeller" if len(airframe.motors) == 1 else f"the propeller of {words(name)}"
    if turns != must:
        row["problems"].append(f"{called} {_turning(turns)}, seen from behind: it must turn {must}")
    elif now.thrust < 0.75 * want.thrust:
        row["problems"].append(
            f"{called} pulls {now.thrust:.1f} N, not {want.thrust:.1f}: is it on back to front?"
        )
    row["right_way"] = not row["problems"]
    return row


def _turning(turns: str) -> str:
    return turns if turns == "stands still" else f"turns {turns}"


def _other(turns: str) -> str:
    return "anticlockwise" if turns == "clockwise" else "clockwise"


def _alone(model: Model, k: int) -> Model:
    """The same with motor k as its only one."""
    record = model.record.copy()
    for field in record.dtype.names:
        if field.startswith(("motor_", "rotor_")):
            record[field][0] = model.record[field][k]
    record["n_motors"] = 1
    propellers = model.propellers.copy()
    propellers[0] = model.propellers[k]
    return model._replace(record=record, propellers=propellers)
