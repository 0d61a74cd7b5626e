"""The limits of the balance that steady flight sets: what trims ahead, what is stable behind."""

from __future__ import annotations

from typing import NamedTuple

from firstthrow.sim.build.model import Model
from firstthrow.sim.build.moved import rebalanced
from firstthrow.sim.build.sticks import Sticks
from firstthrow.sim.build.unknown_kinds import What
from firstthrow.sim.describe.builder_units import METRIC, Units
from firstthrow.sim.flight.polar import neutral_point_about
from firstthrow.sim.flight.speeds import APPROACH, SLOWEST_SAFE
from firstthrow.sim.flight.trims import NO_THRUST, Kind, Trim, Untrimmed, elevator, trims
from firstthrow.sim.once import once_for
from firstthrow.sim.study.band.flare import TO_SPARE, has_pitch, stall_speed_as_meant
from firstthrow.sim.study.spreads import neutral_spread
from firstthrow.sim.study.subject import Subject
from firstthrow.sim.study.unsure.margin_spread import margin_spreads
from firstthrow.sim.study.verdict import BalanceVerdict

CLOSE = 3e-4  # of the balance [m]: where a search ends
ROUNDS = 8
STEP = 0.06  # of the mean chord: the first step of a search


class Limit(NamedTuple):
    """A limit of the balance aft of the datum [m], or None, and why."""

    aft: float | None
    why: str


class RearLimit(NamedTuple):
    """As a `Limit`, but there always is one."""

    aft: float
    why: str


class Limits(NamedTuple):
    front: Limit
    rear: RearLimit

    @property
    def are_open(self) -> bool:
        """Whether any balance lies between them."""
        return self.front.aft is not None and self.front.aft < self.rear.aft


class Flight(NamedTuple):
    """A steady flight that has to be trimmed: its kind and airspeed [m/s]."""

    kind: Kind
    speed: float

    def words(self, units: Units = METRIC) -> str:
        what = "level flight" if self.kind is Kind.LEVEL else "the glide"
        return f"{what} at {units.speed(self.speed)}"


@once_for(16)
def limits(subject: Subject) -> Limits:
    rear = rear_limit(subject)
    return Limits(front_limit(subject, rear.aft), rear)


def model_at(subject: Subject, aft: float) -> Model:
    """The model with its balance there [m], mass and inertia kept."""
    place = subject.balance.place.copy()
    place[0] = aft
    return rebalanced(subject.model, subject.balance._replace(place=place))


def flown(subject: Subject, aft: float, flight: Flight) -> Trim | Untrimmed:
    """The steady flight with the balance there [m]."""
    model = model_at(subject, aft)
    return trims(model, subject.airframe, [flight.speed], (flight.kind,))[0]


def share_of_travel(subject: Subject, trim: Trim) -> float:
    """What the trim takes of the way from the stick in the middle to right back."""
    neutral, back = (elevator(subject.mixer, Sticks(pitch=p)) for p in (0.0, 1.0))
    return (trim.elevator - neutral) / (back - neutral)


def front_limit(subject: Subject, rear: float) -> Limit:
    """The furthest forward balance [m] at which a fifth of the stick's way back is to spare.

    In level flight with power at SLOWEST_SAFE times, and in the glide at APPROACH times the stall
    speed; that is the stall speed with the margin that the airframe is built for, so that the
    limit does not hang on where the balance is now. The surfaces are taken one standard deviation
    weaker than usual. A fifth stays for a gust, the ground, a late
    hand (common practice, no source). Searched from the rear limit forward, each balance trimmed
    with all its forces. Where thrust does not hold height, the glide alone decides.
    """
    if not has_pitch(subject):
        return Limit(None, BalanceVerdict.NO_PITCH_CONTROL.fact)
    stall, subject = stall_speed_as_meant(subject), weaker(subject)
    asked = (Flight(Kind.LEVEL, SLOWEST_SAFE * stall), Flight(Kind.GLIDE, APPROACH * stall))
    found = [limit for flight in asked if (limit := _trimmed_to(subject, rear, flight))]
    bad = next((limit for limit in found if limit.aft is None), None)
    if bad or not found:
        return bad or Limit(None, "it can neither be held level nor glided")
    return max(found, key=lambda limit: limit.aft or 0.0)


def weaker(subject: Subject) -> Subject:
    """The same with surfaces that turn less air, by one standard deviation of their effect."""
    off = {one.key: -one.spread for one in subject.unknowns if one.what is What.EFFECT}
    return subject.deviated(off)


def _trimmed_to(subject: Subject, rear: float, flight: Flight) -> Limit | None:
    """Where the stick has a fifth left; None for level flight that thrust does not hold.

    By secants, and half the step where there is no trim: the stick's way is nearly a straight
    line in the balance.
    """
    at, step = rear, -STEP * subject.chord
    trim = flown(subject, at, flight)
    if isinstance(trim, Untrimmed):
        if flight.kind is Kind.LEVEL and (trim.why == NO_THRUST or not subject.airframe.motors):
            return None
        return Limit(None, f"{flight.words(subject.airframe.units)}: {trim.why}")
    left = 1.0 - TO_SPARE - share_of_travel(subject, trim)
    for _ in range(ROUNDS):
        trim = flown(subject, at + step, flight)
        if isinstance(trim, Untrimmed):
            step *= 0.5
            continue
        was, at = left, at + step
        left = 1.0 - TO_SPARE - share_of_travel(subject, trim)
        if was == left:
            break
        # No longer steps than a chord: where the elevator hardly works there is no limit near.
        step = max(-subject.chord, min(subject.chord, left * step / (was - left)))
        if abs(step) < CLOSE:
            break
    keeps = f"{100.0 * TO_SPARE:.0f} % of the elevator is left"
    there = flight.words(subject.airframe.units)
    return Limit(at, f"further forward less than {keeps} in {there}")


def rear_limit(subject: Subject) -> RearLimit:
    """The furthest aft balance [m] with margin to spare at the launch and in a dive.

    At the launch's trim, with power, the static margin exceeds the airframe's least one by a
    standard deviation of the neutral point there; and at no incidence, as in a fast dive, where the
    neutral point lies furthest forward, it is not less than that deviation.
    """
    airframe, chord = subject.airframe, subject.chord
    unsure = neutral_spread(subject).total
    wanted, there = airframe.least_margin * chord + unsure, 0.0
    dive = subject.neutral_point - unsure
    least = f"{100.0 * airframe.least_margin:.0f} % static margin"
    flight = _launch(subject)
    at = subject.neutral_point - wanted
    for _ in range(ROUNDS):
        model = model_at(subject, at)
        trim = _steady(subject, model, flight)
        if isinstance(trim, Untrimmed):
            why = f"further aft less than {least} is sure at no incidence"
            return RearLimit(subject.neutral_point - wanted, why)
        if not there:
            there = _unsure_at(subject, model, trim)
            wanted = airframe.least_margin * chord + there
        was, at = at, neutral_point_about(model, trim.state, trim.command) - wanted
        if abs(at - was) < CLOSE or at > dive:
            break
    if at >= dive:
        return RearLimit(dive, "further aft it is not sure to come out of a fast dive by itself")
    fast = airframe.units.speed(flight.speed)
    return RearLimit(at, f"further aft less than {least} is sure at {fast}")


def _unsure_at(subject: Subject, model: Model, trim: Trim) -> float:
    """Standard deviation of the neutral point about a trim of another balance [m]."""
    there = Subject(subject.airframe, subject.field, model)
    return margin_spreads(there, [trim], 0.0)[0] * subject.chord


def _launch(subject: Subject) -> Flight:
    """Level flight as fast as it is thrown, but not slower than is safe."""
    throw, speed = subject.airframe.launch.thrown, SLOWEST_SAFE * stall_speed_as_meant(subject)
    if throw is not None:
        speed = max(speed, throw.speed)
    return Flight(Kind.LEVEL, speed)


def _steady(subject: Subject, model: Model, flight: Flight) -> Trim | Untrimmed:
    """Level, or the glide where there is no such level flight."""
    found: Trim | Untrimmed = Untrimmed(flight.kind, flight.speed, "")
    for kind in (flight.kind, Kind.GLIDE):
        found = trims(model, subject.airframe, [flight.speed], (kind,))[0]
        if isinstance(found, Trim):
            break
    return found
