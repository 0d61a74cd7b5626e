"""Which way every propeller turns and pulls, and which way it must: by the flight's own drive."""

from __future__ import annotations

from enum import StrEnum

from firstthrow.sim.answer import Answer, frozen
from firstthrow.sim.build.model import Model
from firstthrow.sim.build.shape import spoken
from firstthrow.sim.flight.drive_at_rest import equilibrium, refitted
from firstthrow.sim.study.subject import Subject
from firstthrow.sim.units import rpm


class Turning(StrEnum):
    """Of a propeller, seen from behind."""

    CLOCKWISE = "clockwise"
    ANTICLOCKWISE = "anticlockwise"
    STILL = "stands still"


class Pull(StrEnum):
    FORWARD = "forward"
    BACK = "back"
    NOT = "not at all"


@frozen
class PropellerRow(Answer):
    """One motor, standing, at the throttle of the launch; a negative speed is the wrong way."""

    motor: str
    throttle: float
    turns_from_behind: Turning
    must_turn_from_behind: Turning
    speed_rpm: float
    thrust_N: float
    must_thrust_N: float
    pulls: Pull
    problems: tuple[str, ...]
    right_way: bool


def propeller(subject: Subject, k: int) -> PropellerRow:
    """Of motor k."""
    model, airframe = subject.model, subject.airframe
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
    now = equilibrium(alone(model, k), throttle)
    want = equilibrium(alone(refitted(model, sound), k), throttle)
    must = Turning(blade.turns)
    turns = Turning.STILL if now.rotor == 0.0 else must if now.rotor > 0.0 else _other(must)
    problems, u = [], airframe.units
    called = "the propeller" if len(airframe.motors) == 1 else f"the propeller of {spoken(name)}"
    if turns is not must:
        does = turns if turns is Turning.STILL else f"turns {turns}"
        problems.append(f"{called} {does}, seen from behind: it must turn {must}")
    elif now.thrust < 0.75 * want.thrust:
        problems.append(
            f"{called} pulls {u.force(now.thrust)}, not {u.force(want.thrust)}: is it on back "
            "to front?"
        )
    pulls = Pull.FORWARD if now.thrust > 0.0 else Pull.BACK if now.thrust < 0.0 else Pull.NOT
    return PropellerRow(
        motor=name,
        throttle=throttle,
        turns_from_behind=turns,
        must_turn_from_behind=must,
        speed_rpm=rpm(now.rotor),
        thrust_N=now.thrust,
        must_thrust_N=want.thrust,
        pulls=pulls,
        problems=tuple(problems),
        right_way=not problems,
    )


def _other(turns: Turning) -> Turning:
    return Turning.ANTICLOCKWISE if turns is Turning.CLOCKWISE else Turning.CLOCKWISE


def alone(model: Model, k: int) -> Model:
    """The same with motor k as its only one."""
    record = model.record.copy()
    for field in record.dtype.names or ():
        if field.startswith(("motor_", "rotor_")):
            record[field][0] = model.record[field][k]
    record["n_motors"] = 1
    propellers = model.body.propellers.copy()
    propellers[0] = model.body.propellers[k]
    return model.with_body(record, propellers)
