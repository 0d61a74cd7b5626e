"""Skill levels, and the gains a pilot of some skill takes up on a given airframe.

By McRuer's crossover model the pilot tunes himself until pilot and airframe together look
like w_c / s near w_c: lead makes up the airframe's phase to a quarter turn of lag, and the gain
makes the loop one there. Delay and lag then leave the phase margin 90 deg - w_c (delay + lag).

Source: McRuer and Jex, IEEE Trans. HFE-8 (1967): visual delay with nerves about 0.2-0.3 s,
muscle lag about 0.1-0.2 s, crossover 3-5 rad/s for a trained pilot in a cockpit with an
easy airframe (ranges from memory). Ours is the assumption that a pilot who stands in a field
and judges attitude from outside crosses over at a third to two thirds of that, by skill, and
how often the first move is wrong.
"""

from __future__ import annotations

from statistics import NormalDist
from typing import NamedTuple

import numpy as np

from firstthrow.sim.build.model import Model
from firstthrow.sim.build.moved import rebalanced
from firstthrow.sim.build.sticks import Mixer, Stick, Sticks, mixer
from firstthrow.sim.build.weights import balance, parts
from firstthrow.sim.describe.airframe import Airframe
from firstthrow.sim.flight import polar
from firstthrow.sim.flight.habits import meant
from firstthrow.sim.flight.modes import COORDINATES, coordinate_rates, system_matrix
from firstthrow.sim.flight.speeds import CRUISE, stall_speed
from firstthrow.sim.flight.trims import Kind, Trim, balanced_at, hands_off, steady_ones, trims
from firstthrow.sim.kernels.human import HANDS, WANDERS
from firstthrow.sim.kernels.layout import SURFACE


class Skill(NamedTuple):
    delay: float  # eye to nerve [s]
    lag: float  # of the muscles [s]
    crossover: float  # [rad/s]
    stick_speed: float  # fastest stick, full throws a second
    dead_zone: float  # attitude error that goes unseen [rad]
    wrong_chance: float  # that the first correction on an axis goes the wrong way
    wrong_for: float  # until that is noticed [s]
    wander: float  # remnant of the sticks as an attitude, root mean square [rad]
    misjudged: float  # spread of speed and height as seen, over what they are


SKILLS = {
    "beginner": Skill(0.35, 0.20, 1.2, 2.5, np.radians(6.0), 0.15, 0.6, np.radians(3.0), 0.15),
    "club": Skill(0.25, 0.12, 2.2, 4.0, np.radians(3.0), 0.04, 0.4, np.radians(1.5), 0.10),
    "expert": Skill(0.20, 0.10, 3.2, 6.0, np.radians(1.5), 0.01, 0.3, np.radians(0.7), 0.05),
}
TRIMMING = 0.1  # of the crossover: well below it, so that it takes no phase there
MOST_LEAD = 0.6  # [s], our assumption: more is not seen from outside
MOST_GAIN = 4.0  # full stick for 14 degrees, our assumption
NORMAL = NormalDist()
CHANCES = 4 + 2 * len(WANDERS)  # deviates that a pilot takes


def habitual(model: Model, airframe: Airframe) -> tuple[Model, Airframe]:
    """The airframe balanced as its builder wants it: what the hands are used to.

    Nobody is tuned to a first flight's faults; our assumption is that the pilot brings the
    habits of the same airframe with its wanted margin, and meets the one he has thrown.
    """
    _, chord, _ = polar.reference(model)
    aft = polar.neutral_point(model) - airframe.margin * chord
    try:
        wanted = balanced_at(airframe, aft)
    except ValueError:  # nothing on it can be moved
        return model, airframe
    return rebalanced(model, balance(parts(wanted))), wanted


def operating_point(model: Model, airframe: Airframe, throttle: float) -> Trim | None:
    """The steady flight the hands are tuned at: hands off at the launch throttle, else level
    flight at the cruise; None when the airframe has neither."""
    trim = hands_off(model, airframe, throttle)
    if trim is not None:
        return trim
    found = trims(model, airframe, [CRUISE * stall_speed(model, airframe)], (Kind.LEVEL,))
    return next(iter(steady_ones(found)), None)


def steers_by_rudder(airframe: Airframe) -> bool:
    """Whether the roll stick moves nothing and the yaw stick something: then that one rolls it."""
    table = mixer(airframe)
    return not _moves(table, Stick.ROLL) and _moves(table, Stick.YAW)


def _moves(table: Mixer, stick: Stick) -> bool:
    middle = Sticks(throttle=0.5)
    full = middle.pushed(stick, 1.0)
    return bool(np.any(table.command(full) != table.command(middle)))


def stick_response(
    model: Model, airframe: Airframe, trim: Trim, frequency: float
) -> tuple[complex, complex]:
    """Pitch angle per pitch stick and bank per stick that rolls [rad] at a frequency [rad/s]."""
    matrix = system_matrix(model, trim.state, trim.command)
    resolvent = 1j * frequency * np.eye(len(matrix)) - matrix
    table = mixer(airframe)
    base = trim.sticks
    found = []
    rolls = Stick.YAW if steers_by_rudder(airframe) else Stick.ROLL
    for stick, angle in ((Stick.PITCH, "pitch"), (rolls, "bank")):
        ends = []
        for move in (0.05, -0.05):
            sticks = base.pushed(stick, getattr(base, stick) + move)
            state = trim.state.copy()
            moved = table.command(sticks) - table.command(base)
            surfaces = model.record.n_surfaces
            state[SURFACE : SURFACE + surfaces] += moved[:surfaces]
            ends.append(coordinate_rates(model, state, trim.command))
        push = (ends[0] - ends[1]) / 0.1
        found.append(complex(np.linalg.solve(resolvent, push)[COORDINATES.index(angle)]))
    return found[0], found[1]


def gain_and_lead(response: complex, crossover: float) -> tuple[float, float]:
    """Stick per radian, and lead [s], that make the loop cross over with a quarter turn of lag.

    Nothing for a stick that does not move the airframe.
    """
    if abs(response) < 1e-9:
        return 0.0, 0.0
    short = -0.5 * np.pi - np.angle(response)
    short = (short + np.pi) % (2.0 * np.pi) - np.pi
    lead = float(np.clip(np.tan(np.clip(short, 0.0, 1.5)) / crossover, 0.0, MOST_LEAD))
    gain = 1.0 / (abs(response) * np.hypot(1.0, lead * crossover))
    return float(min(gain, MOST_GAIN)), lead


def hands(
    skill: Skill, model: Model, airframe: Airframe, throttle: float, course: float = 0.0
) -> np.record:
    """HANDS of `human` for a pilot of this skill used to this airframe, as yet without chance:
    the first moves are right, the hands do not wander, speed and height are seen as they are.

    throttle: of the launch; course: of the launch, clockwise from north [rad]. Where no steady
    flight exists to tune at, the gains are those of half stick for half a radian.
    """
    found = np.zeros(1, HANDS)[0]
    found.delay, found.lag = skill.delay, skill.lag
    found.stick_speed, found.dead_zone = skill.stick_speed, skill.dead_zone
    found.wrong_for, found.wrong_pitch, found.wrong_roll = skill.wrong_for, 1.0, 1.0
    found.trimming = TRIMMING * skill.crossover
    found.throttle, found.course = throttle, course
    found.rudder = float(steers_by_rudder(airframe))
    used_to = habitual(model, airframe)
    meant(found, model, airframe, used_to)
    trim = operating_point(*used_to, throttle)
    pitch = roll = (1.0, 0.2)
    if trim is not None:
        answers = stick_response(*used_to, trim, skill.crossover)
        pitch, roll = (gain_and_lead(answer, skill.crossover) for answer in answers)
    found.gain_pitch, found.lead_pitch = pitch
    found.gain_roll, found.lead_roll = roll
    return found


def chance_moves(hands: np.ndarray, skill: Skill, deviates: np.ndarray) -> None:
    """What chance does to pilots of a skill, into (count,) HANDS.

    deviates: (count, CHANCES) normal ones.
    """
    shares = np.vectorize(NORMAL.cdf)(deviates)  # each as likely as any other
    wrong = shares[:, :2] < skill.wrong_chance
    hands["wrong_pitch"], hands["wrong_roll"] = np.where(wrong, -1.0, 1.0).T
    seen = np.exp(skill.misjudged * deviates[:, 2:4])
    hands["speed_seen"], hands["height_seen"] = seen.T
    hands["wander"] = skill.wander
    phases = 2.0 * np.pi * shares[:, 4:]
    hands["wander_phase"] = phases.reshape(len(hands), 2, len(WANDERS))
