"""How hard and how fast it must be thrown, and what masters the motor's torque as it leaves."""

from __future__ import annotations

from math import degrees, radians, sqrt

from firstthrow.sim.answer import Answer, frozen
from firstthrow.sim.build.sticks import ROLLS
from firstthrow.sim.describe.airframe import Airframe, LaunchKind
from firstthrow.sim.describe.builder_units import Units
from firstthrow.sim.describe.edit import put
from firstthrow.sim.flight.pilot import hands_off, launch_throttle
from firstthrow.sim.flight.speeds import LEAST_THROW
from firstthrow.sim.study.launch import ALONE, LaunchPlan, launch_plan
from firstthrow.sim.study.odds.arm import most_speed
from firstthrow.sim.study.odds.steady import launched
from firstthrow.sim.study.subject import Subject
from firstthrow.sim.units import GRAVITY

LESS_THROTTLE, FASTER = 0.2, 1.0  # what is tried: of full throttle; [m/s]
TILT, TRIM = radians(2.0), radians(0.5)  # of the motor to one side; of roll trim
LEVEL = 3.0  # a bank below it after so short a time is none [deg]
HELPS = 1.0  # what a change has to take off the bank to be told [deg]


@frozen
class Mastered(Answer):
    """One change at the throw by itself, and the bank that it leaves, right wing down."""

    text: str
    bank_deg: float


@frozen
class Torque(Answer):
    """How it banks by itself in the first moment after the throw, right wing down."""

    seconds: float
    throttle: float
    bank_deg: float
    motor_off_bank_deg: float
    ways: tuple[Mastered, ...]  # each flown; what leaves least bank first

    @property
    def words(self) -> str:
        now, off = _bank(self.bank_deg), _bank(self.motor_off_bank_deg)
        told = (
            f"left alone for {self.seconds:.1f} s at {100.0 * self.throttle:.0f} % throttle it "
            f"{now}, with the motor off it {off}"
        )
        if abs(self.bank_deg) < LEVEL:
            return f"The motor's torque is mastered: {told}."
        helping = [w for w in self.ways if abs(w.bank_deg) < abs(self.bank_deg) - HELPS]
        if not helping:
            return f"The motor's torque: {told}; hold it with the stick."
        ways = "; ".join(f"with {way.text} it {_bank(way.bank_deg)}" for way in helping)
        does = "masters" if abs(helping[0].bank_deg) < LEVEL else "lessens"
        return f"The motor's torque: {told}. What {does} it, each by itself: {ways}."


def _bank(deg: float) -> str:
    if abs(deg) < 0.5:
        return "keeps its wings level"
    return f"banks {abs(deg):.0f} deg {'right' if deg > 0.0 else 'left'}"


def torque(subject: Subject) -> Torque | None:
    """None for what has no motor or is not thrown."""
    airframe = subject.airframe
    if not airframe.motors or airframe.launch.kind != LaunchKind.HAND:
        return None
    throttle = launch_throttle(airframe)
    now, off = _left_alone(subject, throttle), _left_alone(subject, 0.0)
    tried = [] if abs(now) < LEVEL else _changes(subject, -1.0 if now > 0.0 else 1.0)
    ways = [
        Mastered(text, _left_alone(subject.changed(after), launch_throttle(after)))
        for text, after in tried
    ]
    ways.sort(key=lambda way: abs(way.bank_deg))
    return Torque(ALONE, throttle, now, off, tuple(ways))


def _changes(subject: Subject, side: float) -> list[tuple[str, Airframe]]:
    """What a builder can do about it; `side`: +1 rolls it to the right."""
    airframe = subject.airframe
    hand, u = airframe.launch.by_hand, airframe.units
    way = "right" if side > 0.0 else "left"
    found = []
    if hand.throttle > LESS_THROTTLE + 0.1:
        less = hand.throttle - LESS_THROTTLE
        after = put(airframe, ("launch", "hand", "throttle"), less)
        found.append((f"{100.0 * less:.0f} % throttle", after))
    speed = hand.speed + FASTER
    if speed <= most_speed(subject, hand):
        after = put(airframe, ("launch", "hand", "speed"), speed)
        found.append((f"a throw of {u.throw(speed)}", after))
    tilted = {
        name: motor.model_copy(update={"right_tilt": motor.right_tilt + side * TILT})
        for name, motor in airframe.motors.items()
    }
    after = airframe.model_copy(update={"motors": tilted})
    found.append((f"{degrees(TILT):.0f} deg more side thrust to the {way}", after))
    if any(s.role in ROLLS for sheet in airframe.sheets.values() for s in sheet.surfaces.values()):
        trim = airframe.mixing.roll_trim + side * TRIM
        after = put(airframe, ("mixing", "roll_trim"), trim)
        found.append((f"{degrees(TRIM):.1f} deg more roll trim to the {way}", after))
    return found


def _left_alone(subject: Subject, throttle: float) -> float:
    """Bank after the first moment with the sticks in the middle [deg]."""
    _, after = launched(subject, hands_off(throttle), ALONE)
    return float(after[-1].roll_deg)


def throw_words(plan: LaunchPlan, mass: float, u: Units) -> str:
    """How hard and how fast it must be thrown, or how long it rolls, in one sentence."""
    roll = plan.steady_pilot
    if plan.throw_m_s is None or plan.arm_m_s is None or plan.height_m is None:
        if roll.ground_roll_m is None or roll.lift_off_m_s is None:
            return f"It does not get off its wheels: {roll.text.rstrip('.')}."
        return (
            f"No throw: it rolls {u.distance(roll.ground_roll_m)} at "
            f"{100.0 * plan.throttle:.0f} % throttle and lifts off at "
            f"{u.speed(roll.lift_off_m_s)}."
        )
    least = LEAST_THROW * plan.stall_speed_m_s
    speed, share = plan.throw_m_s, plan.throw_m_s / plan.arm_m_s
    hard = (
        f"{100.0 * share:.0f} % of what an arm gives {u.mass(mass)}"
        if share <= 1.005
        else f"more than an arm gives {u.mass(mass)}, {u.throw(plan.arm_m_s)}"
    )
    lands = u.distance(level_reach(speed, plan.height_m), 1)
    return (
        f"Throw it at {u.throw(speed)}: {hard}, as hard as a ball thrown level from there that "
        f"lands {lands} ahead; below {u.speed(least)} "
        f"{'the motor has to carry it' if plan.throttle else 'it sinks'}."
    )


def asked(subject: Subject) -> tuple[str, ...]:
    """Both answers, a sentence or two each; the second only where a motor pulls at the throw."""
    turned = torque(subject)
    thrown = throw_words(launch_plan(subject), subject.mass, subject.airframe.units)
    return (thrown, turned.words) if turned else (thrown,)


def level_reach(speed: float, height: float) -> float:
    """How far ahead a ball lands that is thrown level [m]: free fall, no drag."""
    return speed * sqrt(2.0 * height / GRAVITY)
