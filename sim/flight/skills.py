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
    """What hands are, apart from the airframe they fly. Invented skills tune themselves to each
    airframe; hands that were measured (`study.hands`) bring what was seen of them."""

    delay: float  # eye to nerve [s]
    lag: float  # of the muscles [s]
    crossover: float  # [rad/s]
    stick_speed: float  # fastest stick, full throws a second
    dead_zone: float  # attitude error that goes unseen [rad]
    wrong_chance: float  # that the first correction on an axis goes the wrong way
    wrong_for: float  # until that is noticed [s]
    wander: float  # what the eye wanders whatever it sees, root mean square [rad]
    misjudged: float  # spread of speed and height as seen, over what they are
    crossover_roll: float | None = None  # None: as that of pitch [rad/s]
    lead_pitch: float | None = None  # None: what the airframe asks [s]
    lead_roll: float | None = None
    trimming: float | None = None  # None: well below the crossover [1/s]
    remnant: float = 0.0  # root mean square over that of the error seen
    remnant_time: float = 0.3  # of its filter [s]


SKILLS = {
    "beginner": Skill(0.35, 0.20, 1.2, 2.5, np.radians(6.0), 0.15, 0.6, np.radians(3.0), 0.15),
    "club": Skill(0.25, 0.12, 2.2, 4.0, np.radians(3.0), 0.04, 0.4, np.radians(1.5), 0.10),
    "expert": Skill(0.20, 0.10, 3.2, 6.0, np.radians(1.5), 0.01, 0.3, np.radians(0.7), 0.05),
}
TRIMMING = 0.1  # of the crossover: well below it, so that it takes no phase there
MOST_LEAD = 0.6  # [s], our assumption: more is not seen from outside
MOST_GAIN = 4.0  # full stick for 14 degrees, our assumption
SHOWN_PITCH, SHOWN_BANK = COORDINATES.index("pitch"), COORDINATES.index("bank")
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


class Motion(NamedTuple):
    """Small motions about a steady flight, dx/dt = matrix x + push u, in the coordinates of
    `modes`; u: (2,) pitch stick and the stick that rolls."""

    matrix: np.ndarray  # (n, n)
    push: np.ndarray  # (n, 2) by a whole stick

    def response(self, frequency: float) -> tuple[complex, complex]:
        """Pitch angle per pitch stick and bank per stick that rolls [rad], at rad/s."""
        resolvent = 1j * frequency * np.eye(len(self.matrix)) - self.matrix
        found = np.linalg.solve(resolvent, self.push)
        return complex(found[SHOWN_PITCH, 0]), complex(found[SHOWN_BANK, 1])


def stick_motion(model: Model, airframe: Airframe, trim: Trim) -> Motion:
    """How the airframe answers the sticks about a trim; its servos are taken as quick."""
    matrix = system_matrix(model, trim.state, trim.command)
    table = mixer(airframe)
    base = trim.sticks
    found = []
    rolls = Stick.YAW if steers_by_rudder(airframe) else Stick.ROLL
    for stick in (Stick.PITCH, rolls):
        ends = []
        for move in (0.05, -0.05):
            sticks = base.pushed(stick, getattr(base, stick) + move)
            state = trim.state.copy()
            moved = table.command(sticks) - table.command(base)
            surfaces = model.record.n_surfaces
            state[SURFACE : SURFACE + surfaces] += moved[:surfaces]
            ends.append(coordinate_rates(model, state, trim.command))
        found.append((ends[0] - ends[1]) / 0.1)
    return Motion(matrix, np.array(found).T)


def gain_and_lead(
    response: complex, crossover: float, own_lead: float | None = None
) -> tuple[float, float]:
    """Stick per radian, and lead [s], that make the loop cross over with a quarter turn of lag;
    with a lead of one's own, however large, just cross over.

    Nothing for a stick that does not move the airframe.
    """
    if abs(response) < 1e-9:
        return 0.0, 0.0
    if own_lead is not None:
        return 1.0 / (abs(response) * float(np.hypot(1.0, own_lead * crossover))), own_lead
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
    found.remnant, found.remnant_time = skill.remnant, skill.remnant_time
    found.trimming = TRIMMING * skill.crossover if skill.trimming is None else skill.trimming
    found.throttle, found.course = throttle, course
    found.rudder = float(steers_by_rudder(airframe))
    used_to = habitual(model, airframe)
    meant(found, model, airframe, used_to)
    trim = operating_point(*used_to, throttle)
    pitch = roll = (1.0, 0.2)
    if trim is not None:
        motion, rolls_at = stick_motion(*used_to, trim), skill.crossover_roll or skill.crossover
        answer = motion.response(skill.crossover)[0]
        pitch = gain_and_lead(answer, skill.crossover, skill.lead_pitch)
        roll = gain_and_lead(motion.response(rolls_at)[1], rolls_at, skill.lead_roll)
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
    phases = 2.0 * np.pi * shares[:, 4:].reshape(len(hands), 2, len(WANDERS))
    hands["wander_begins"] = np.stack([np.cos(phases), np.sin(phases)], axis=-1)
